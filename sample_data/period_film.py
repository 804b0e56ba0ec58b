"""A period of a whole game as its film has it: cut out of the game, in the film's own time.

The film begins as the runners come out for the period and ends a little after the horn. Everything between is on it, in
the time that it takes, dead time too. Its truth has the ids of the game's, so that what the picture adds, where on the
floor shots and lost balls were, can be put back into the game.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace
from typing import Any

from sample_data.match import WALKS_OUT_S
from sample_data.script import ms
from sample_data.sim import AFTER_S, Simulated
from sample_data.truth import Goalie, Period, Truth

_TIMES = ("at_ms", "start_ms", "end_ms", "drawn_ms", "settled_ms")
_TABLES = (
    "possessions", "runs", "screens", "shots", "turnovers", "whistles", "face_offs", "loose_balls", "penalties",
    "lines", "clocks",
)  # fmt: skip


def begins(truth: Truth, number: int) -> int:
    """The moment of the game at which a period's film begins.

    Parameters
    ----------
    truth : Truth
        A whole game's.
    number : int
        The period.

    Returns
    -------
    int
        Milliseconds from the game's first.
    """
    return _period(truth, number).start_ms - ms(WALKS_OUT_S)


def score_before(truth: Truth, number: int) -> tuple[int, int]:
    """Goals of ours and theirs before a period's film begins."""
    until = begins(truth, number)
    return replace(truth, shots=tuple(shot for shot in truth.shots if shot.at_ms < until)).score()


def period_film(made: Simulated, number: int, seconds: float) -> Simulated:
    """A period as its film has it.

    Parameters
    ----------
    made : Simulated
        The game, with this period on film.
    number : int
        The period.
    seconds : float
        What is later on the film is left out.

    Returns
    -------
    Simulated
        Truth and script in the film's time, with all that begins in it; `Truth.kind` is ``period``.
    """
    truth, period = made.truth, _period(made.truth, number)
    from_ms = begins(truth, number)
    to_ms = min(period.end_ms + ms(AFTER_S), from_ms + ms(seconds))
    rows: dict[str, Any] = {
        name: tuple(_shifted(row, from_ms) for row in getattr(truth, name) if from_ms <= _when(row) < to_ms)
        for name in (*_TABLES, "grades")
    }
    in_goal = {one.team: one for one in truth.goalies if one.at_ms < to_ms}
    start_ms = period.start_ms - from_ms
    cut = replace(
        truth,
        kind="period",
        length_ms=to_ms - from_ms,
        periods=(replace(_shifted(period, from_ms), whole=period.end_ms < to_ms),),
        goalies=tuple(Goalie(start_ms, one.team, one.player) for one in in_goal.values()),
        **rows,
    )
    return Simulated(cut, made.script.later(-from_ms / 1000))


def with_places(game: Truth, film: Truth) -> Truth:
    """A game whose shots and lost balls are where its film shows them.

    Parameters
    ----------
    game : Truth
        The whole game.
    film : Truth
        That of its film.

    Returns
    -------
    Truth
        The game's, with places from the film's.
    """
    there: tuple[Any, ...] = (*film.shots, *film.turnovers)
    seen: Mapping[str, Any] = {row.id: row for row in there}

    def placed(row: Any) -> Any:
        return replace(row, x_m=seen[row.id].x_m, y_m=seen[row.id].y_m) if row.id in seen else row

    return replace(
        game, shots=tuple(placed(row) for row in game.shots), turnovers=tuple(placed(row) for row in game.turnovers)
    )


def _period(truth: Truth, number: int) -> Period:
    return next(one for one in truth.periods if one.number == number)


def _when(row: Any) -> int:
    return int(next(getattr(row, name) for name in ("at_ms", "drawn_ms", "start_ms") if hasattr(row, name)))


def _shifted(row: Any, from_ms: int) -> Any:
    held = {field.name: getattr(row, field.name) for field in fields(row) if field.name in _TIMES}
    return replace(row, **{name: value - from_ms for name, value in held.items() if value is not None})

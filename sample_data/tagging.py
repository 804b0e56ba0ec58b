"""A truth as a careful coach would mark it: the entries of one book.

Every fact that the vocabulary can hold is marked at its own moment. A set is named while its run is on, once it can be
told; what a run came to is marked at its end; the strength is put right where penalties alone would not tell it. The
entries fold back to tables that say what the truth says.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import zip_longest
from typing import Any

from sample_data.truth import Penalty, Possession, Run, Truth
from tagger.marks.entries import Entry
from tagger.texts.units import Unit

LEVELS = ("main", "whole")
_WHOLE_ONLY = {
    "screen": ("coverage", "kind", "setter_next", "side"),
    "look": ("open",),
    "shot": ("feeder2", "place"),
    "turnover": ("where",),
    "faceoff": ("ours", "theirs"),
    "whistle": ("reason",),
}
_WHOLE_KINDS = ("loose_ball", "grade")
_REASONS = {"out_of_play": "out_of_play", "penalty": "penalty", "illegal_pick": "other", "shot_clock": "other"}


@dataclass(frozen=True)
class Marked:
    """One mark before it is an entry; `order` keeps marks of one moment in the order in which they are entered."""

    at_ms: int
    order: int
    kind: str
    answers: Mapping[str, Any]


def tag(
    truth: Truth,
    game: str,
    film: str,
    *,
    level: str = "whole",
    by: str = "anna",
    date: str = "",
    lines: Sequence[Unit] = (),
) -> list[Entry]:
    """The entries of a careful coach's book.

    Parameters
    ----------
    truth : Truth
        What happened.
    game : str
        The game's id; ids of entries are made of it, so that the same truth gives the same entries.
    film : str
        Id of the game's film.
    level : str
        ``main`` for a first pass, ``whole`` for everything.
    by : str
        The tagger.
    date : str
        The game's date; the wall time of an entry is that evening's.
    lines : sequence of Unit
        Our lines: their changes are marked too, in a sitting of its own after everything else. None: left out.

    Returns
    -------
    list of Entry
        In the order in which they were entered.

    Raises
    ------
    ValueError
        If the level is not one of `LEVELS`.
    """
    if level not in LEVELS:
        raise ValueError(f"level is {level}; give one of {', '.join(LEVELS)}")
    marks = sorted(_marks(truth, level), key=lambda mark: (mark.at_ms, mark.order))
    marks += sorted(_changes(truth, lines), key=lambda mark: (mark.at_ms, mark.order))
    entries = []
    for n, mark in enumerate(marks, 1):
        answers = {code: value for code, value in mark.answers.items() if value is not None}
        wall = f"{date}T{19 + n // 1800:02d}:{n // 30 % 60:02d}:{n * 2 % 60:02d}Z" if date else ""
        entries.append(
            Entry(
                id=f"{game}-{by}-{n:04d}",
                n=n,
                by=by,
                does="mark",
                kind=mark.kind,
                film=film,
                at_ms=mark.at_ms,
                answers=answers,
                wall=wall,
            )
        )
    return entries


def _marks(truth: Truth, level: str) -> Iterable[Marked]:
    yield Marked(0, 0, "detail", {"level": level})
    for mark in (*_frame_of_play(truth), *_possessions(truth), *_events(truth), *_notes(truth), *_strengths(truth)):
        if level == "whole":
            yield mark
        elif mark.kind not in _WHOLE_KINDS:
            left_out = _WHOLE_ONLY.get(mark.kind, ())
            answers = {
                code: value
                for code, value in mark.answers.items()
                if code not in left_out and not code.startswith("role.")
            }
            yield Marked(mark.at_ms, mark.order, mark.kind, answers)


def _frame_of_play(truth: Truth) -> Iterable[Marked]:
    """Periods, face-offs, whistles that stop play, the clock, goalkeepers."""
    for period in truth.periods:
        yield Marked(period.start_ms, 1, "period_start", {"number": str(period.number)})
        for goalie in truth.goalies if period is truth.periods[0] else ():
            yield Marked(period.start_ms, 2, "goalie", {"team": goalie.team, "what": "in", "player": goalie.player})
        if period.whole:
            yield Marked(period.end_ms, 99, "period_end", {})
    for face_off in truth.face_offs:
        answers = {"won": face_off.won_by, "ours": face_off.ours, "theirs": face_off.theirs}
        yield Marked(face_off.at_ms, 4, "faceoff", answers)
    for whistle in truth.whistles:
        if whistle.why in _REASONS:
            yield Marked(whistle.at_ms, 60, "whistle", {"to": whistle.ball_to, "reason": _REASONS[whistle.why]})
    for clock in truth.clocks:
        if clock.runs:
            yield Marked(clock.at_ms, 3, "clock", {"clock": round(clock.left_s)})


def _possessions(truth: Truth) -> Iterable[Marked]:
    runs: dict[str, list[Run]] = {}
    for run in truth.runs:
        runs.setdefault(run.possession, []).append(run)
    first_screen: dict[str, int] = {}
    for screen in truth.screens:
        first_screen.setdefault(screen.run, screen.at_ms)
    for possession in truth.possessions:
        yield Marked(possession.start_ms, 10, "possession", {"team": possession.team, "gained": possession.gained})
        if possession.settled_ms is not None:
            yield Marked(possession.settled_ms, 12, "settled", {})
        flowed = False
        for run in sorted(runs.get(possession.id, []), key=lambda one: one.order):
            yield from _run(run, first_screen.get(run.id), flowed)
            flowed = run.ended == "flowed"


def _run(run: Run, screen_ms: int | None, flowed: bool) -> Iterable[Marked]:
    """What names the run, and what ended it where no shot, lost ball or whistle did."""
    if flowed:
        told_ms = run.start_ms
    else:
        seen_ms = run.start_ms + (run.end_ms - run.start_ms) // 2 if screen_ms is None else screen_ms - 200
        told_ms = min(max(seen_ms, run.start_ms + 20), max(run.start_ms, run.end_ms - 20))
    if run.phase == "set":
        roles = {f"role.{role}": number for role, number in run.roles.items()}
        yield Marked(told_ms, 20, "set", {"set": run.set, "side": run.side, **roles})
    elif run.phase == "family":
        yield Marked(told_ms, 20, "family", {"family": run.set, "side": run.side})
    elif run.phase == "freelance":
        yield Marked(told_ms, 20, "freelance", {})
    elif run.phase == "transition" and run.ended != "settled":
        yield Marked(max(run.start_ms, run.end_ms - 20), 20, "transition", {})
    if run.ended in ("pull_out", "broken"):
        yield Marked(run.end_ms, 14, run.ended, {})
    if run.look is not None:
        yield Marked(run.end_ms, 15 if run.ended != "shot" else 41, "look", {"look": run.look, "open": run.look_open})


def _events(truth: Truth) -> Iterable[Marked]:
    for screen in truth.screens:
        answers = {
            "free": screen.free, "setter": screen.setter, "user": screen.user, "coverage": screen.coverage,
            "kind": screen.kind, "setter_next": screen.setter_next, "side": screen.side,
        }  # fmt: skip
        yield Marked(screen.at_ms, 30, "screen", answers)
    for shot in truth.shots:
        told: dict[str, Any] = {
            "shooter": shot.shooter, "result": shot.result, "recovered": shot.recovered, "cause": shot.cause,
            "feeder": shot.feeder, "feeder2": shot.feeder2,
        }  # fmt: skip
        yield Marked(shot.at_ms, 40, "shot", {**told, "place": [shot.x_m, shot.y_m]})
    for lost in truth.turnovers:
        yield Marked(lost.at_ms, 40, "turnover", {"player": lost.player, "kind": lost.kind, "where": lost.where})
    for loose in truth.loose_balls:
        yield Marked(loose.at_ms, 6, "loose_ball", {"team": loose.team, "player": loose.player})
    for penalty in truth.penalties:
        answers = {"team": penalty.team, "player": penalty.player, "kind": "minor", "delayed": "yes"}
        yield Marked(penalty.drawn_ms, 35, "penalty", answers)
    flowed = {run.id for run in truth.runs if run.ended == "flowed"}
    for grade in truth.grades:
        answers = {"player": grade.player, "checkpoint": grade.checkpoint, "grade": grade.grade}
        order = 16 if grade.run in flowed else 42  # before the next set's mark, which stands on the same frame
        yield Marked(grade.at_ms, order, "grade", answers)


def _changes(truth: Truth, lines: Sequence[Unit]) -> Iterable[Marked]:
    """Our line changes: the line that went out, and whoever of it stayed off, man for man."""
    for change in truth.lines if lines else ():
        if change.team != "ours":
            continue
        unit = max(lines, key=lambda one: len(set(one.players) & set(change.players)))
        off = [number for number in unit.players if number not in change.players]
        on = [number for number in change.players if number not in unit.players]
        swaps = list(zip_longest(off, on))
        first = dict(zip(("out", "in"), swaps[0], strict=True)) if swaps else {}
        yield Marked(change.at_ms, 50, "line", {"team": "ours", "line": unit.code, **first})
        for order, (out, comes) in enumerate(swaps[1:], 51):
            yield Marked(change.at_ms, order, "line", {"team": "ours", "out": out, "in": comes})


def _notes(truth: Truth) -> Iterable[Marked]:
    """Our goals off a screen are starred for showing; players are named by number."""
    freed = {screen.run: screen for screen in truth.screens if screen.free in ("user", "setter")}
    for shot in truth.shots:
        screen = freed.get(shot.run)
        if screen is not None and shot.team == "ours" and shot.result == "goal":
            text = f"Show this: #{screen.setter} stood still, #{screen.user} waited for it, #{shot.shooter} scored."
            yield Marked(shot.at_ms, 70, "note", {"text": text, "star": "yes"})


def _strengths(truth: Truth) -> Iterable[Marked]:
    """The strength said wherever it changes, and after a penalty that was waved away."""
    served = [penalty for penalty in truth.penalties if penalty.end_ms > penalty.start_ms > 0]
    moments = {penalty.start_ms for penalty in served}
    moments |= {penalty.end_ms + (penalty.ended == "goal") for penalty in served}
    for penalty in truth.penalties:
        if penalty not in served:
            after = [one.start_ms for one in _after_stops(truth) if one.start_ms > penalty.drawn_ms]
            moments |= set(after[:1])
    for at_ms in sorted(moments):
        yield Marked(
            at_ms,
            13,
            "strength",
            {"strength": f"{_runners(served, 'ours', at_ms)}v{_runners(served, 'theirs', at_ms)}"},
        )


def _runners(served: list[Penalty], team: str, at_ms: int) -> int:
    return 5 - sum(one.team == team and one.start_ms <= at_ms < one.end_ms for one in served)


def _after_stops(truth: Truth) -> list[Possession]:
    stops = sorted(whistle.at_ms for whistle in truth.whistles if whistle.stops)
    found = []
    ended = -1
    for possession in truth.possessions:
        if any(ended <= stop <= possession.start_ms for stop in stops):
            found.append(possession)
        ended = possession.end_ms
    return found

"""Do two taggers see the same game: marks paired in time, answers compared, and the list of what to watch together.

Two books of one game are compared. Marks of a kind are paired so that as many as possible find a partner within a
tolerance, and then so that the paired ones lie as near as possible. Nearest-first would leave marks over that had a
partner. Agreement on *whether* something happened (F), on *what* it was (Cohen's κ, per question) and on *whose ball*
it was second by second (κ over time) are three figures, side by side; one in place of three hides a kind that is far
off.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis import rate
from analysis.codes import whole, words
from analysis.stats.kappa import Kappa, band, f_measure, kappa, pair, percentage_error, time_kappa

if TYPE_CHECKING:
    from numpy.typing import NDArray

TOLERANCE_MS = 2000
KAPPA_METHOD = "cohen; fleiss, cohen & everitt"
KINDS: dict[str, tuple[str, ...]] = {
    "possessions": ("team", "gained", "ended"),
    "runs": ("set", "side", "phase", "look", "look_open"),
    "screens": ("free", "setter", "user", "coverage", "kind", "setter_next", "side"),
    "shots": ("shooter", "result", "feeder", "feeder2", "recovered", "cause"),
    "turnovers": ("player", "kind", "where"),
    "faceoffs": ("won",),
    "loose_balls": ("team", "player"),
    "penalties": ("team", "player", "kind"),
    "whistles": ("to", "reason"),
    "grades": ("player", "checkpoint", "grade"),
}


def marks_agreed(
    one: Mapping[str, pd.DataFrame], other: Mapping[str, pd.DataFrame], *, tolerance_ms: float = TOLERANCE_MS
) -> pd.DataFrame:
    """Say for each kind whether two books hold the same events.

    Parameters
    ----------
    one, other : mapping of str to DataFrame
        Event tables of the same games, from two books.
    tolerance_ms : float
        The furthest that partners may lie apart.

    Returns
    -------
    DataFrame
        One row per kind: `kind` string; `one`, `other`, `paired` Int64; `f` Float64; `error_percent` Float64:
        percentage error of the counts per team (or in all); `apart_ms` Float64: median distance of the paired;
        `one_only_ids`, `other_only_ids`: ids without a partner.

    Notes
    -----
    Stretches are paired by their beginnings.
    """
    rows: list[dict[str, Any]] = []
    for kind in KINDS:
        first, second = one[kind], other[kind]
        pairs = _pairs(first, second, tolerance_ms)
        apart = [abs(int(_times(first)[a]) - int(_times(second)[b])) for a, b in pairs]
        rows.append(
            {
                "kind": kind,
                "one": len(first),
                "other": len(second),
                "paired": len(pairs),
                "f": f_measure(len(pairs), len(first), len(second)),
                "error_percent": percentage_error(*_totals(first, second)),
                "apart_ms": float(np.median(apart)) if apart else float("nan"),
                "one_only_ids": _left(first, {a for a, _ in pairs}),
                "other_only_ids": _left(second, {b for _, b in pairs}),
            }
        )
    return pd.DataFrame(
        {
            "kind": rate.label([row["kind"] for row in rows]),
            **{name: pd.array([row[name] for row in rows], dtype="Int64") for name in ("one", "other", "paired")},
            **{
                name: rate.number(np.array([row[name] for row in rows], dtype=np.float64))
                for name in ("f", "error_percent", "apart_ms")
            },
            **{name: rate.tuples([row[name] for row in rows]) for name in ("one_only_ids", "other_only_ids")},
        }
    )


def answers_agreed(
    one: Mapping[str, pd.DataFrame], other: Mapping[str, pd.DataFrame], *, tolerance_ms: float = TOLERANCE_MS
) -> pd.DataFrame:
    """Say for each question whether two books answer it alike, of the events that both hold.

    Parameters
    ----------
    one, other, tolerance_ms
        As in `marks_agreed`.

    Returns
    -------
    DataFrame
        One row per kind and question that both answered at least once: `kind`, `question` string; `both` Int64:
        answered by both ("none" and "can't see" are answers); `one_only`, `other_only` Int64: answered by one of
        them; `agreed`, `by_chance`, `kappa`, `kappa_lo`, `kappa_hi` Float64; `band` string; `one_ids`, `other_ids`:
        pairs that were answered differently, in the same order; `method` string (Cohen's κ with the interval of Fleiss,
        Cohen & Everitt), `level` Float64.
    """
    rows: list[dict[str, Any]] = []
    for kind, questions in KINDS.items():
        first, second = one[kind], other[kind]
        pairs = _pairs(first, second, tolerance_ms)
        a, b = (np.array([pair_[side] for pair_ in pairs], dtype=np.intp) for side in (0, 1))
        ids = words(first["id"])[a], words(second["id"])[b]
        for question in questions:
            said = words(first[question])[a], words(second[question])[b]
            both = (said[0] != "") & (said[1] != "")
            if not both.any():
                continue
            found = kappa(_crossed(said[0][both], said[1][both]))
            split = both & (said[0] != said[1])
            rows.append(
                {
                    "kind": kind,
                    "question": question,
                    "both": int(both.sum()),
                    "one_only": int(((said[0] != "") & ~both).sum()),
                    "other_only": int(((said[1] != "") & ~both).sum()),
                    "agreed": found.agreed,
                    "by_chance": found.by_chance,
                    "kappa": found.kappa,
                    "kappa_lo": found.lo,
                    "kappa_hi": found.hi,
                    "band": band(found.kappa),
                    "one_ids": tuple(ids[0][split]),
                    "other_ids": tuple(ids[1][split]),
                }
            )
    whole_numbers, numbers = (
        ("both", "one_only", "other_only"),
        ("agreed", "by_chance", "kappa", "kappa_lo", "kappa_hi"),
    )
    return pd.DataFrame(
        {
            **{name: rate.label([row[name] for row in rows]) for name in ("kind", "question")},
            **{name: pd.array([row[name] for row in rows], dtype="Int64") for name in whole_numbers},
            **{name: rate.number(np.array([row[name] for row in rows], dtype=np.float64)) for name in numbers},
            "band": rate.label([row["band"] for row in rows]),
            **{name: rate.tuples([row[name] for row in rows]) for name in ("one_ids", "other_ids")},
            "method": pd.array([KAPPA_METHOD] * len(rows), dtype="string"),
            "level": pd.array([0.95] * len(rows), dtype="Float64"),
        }
    )


def possession_agreed(
    one: Mapping[str, pd.DataFrame], other: Mapping[str, pd.DataFrame], *, unit_ms: int = 1000, tolerance: int = 1
) -> Kappa:
    """Work out κ of whose ball it was, second by second.

    Parameters
    ----------
    one, other : mapping of str to DataFrame
        Event tables of the same games, from two books.
    unit_ms : int
        Length of a unit.
    tolerance : int
        In units, see `time_kappa`.

    Returns
    -------
    Kappa
        Over all units from the first beginning to the last end of either book, "nobody's" among the states.
    """
    states: tuple[list[str], list[str]] = ([], [])
    games = sorted(set(words(one["possessions"]["game"])) | set(words(other["possessions"]["game"])))
    for game in games:
        held = [_held(tables["possessions"], game) for tables in (one, other)]
        edges = np.concatenate([*(start for start, _, _ in held), *(end for _, end, _ in held)])
        first, last = int(edges.min()), int(edges.max())
        at = np.arange(first, max(last, first + 1), unit_ms) + unit_ms // 2
        for side, (start, end, team) in enumerate(held):
            seen = np.full(len(at), "nobody", dtype=object)
            for begin, stop, whose in zip(start, end, team, strict=True):
                seen[(at >= begin) & (at < stop)] = whose
            states[side].extend(seen.tolist())
    return time_kappa(states[0], states[1], tolerance)


def disagreements(
    one: Mapping[str, pd.DataFrame], other: Mapping[str, pd.DataFrame], *, tolerance_ms: float = TOLERANCE_MS
) -> pd.DataFrame:
    """List what two books see differently, as marks to watch together.

    Parameters
    ----------
    one, other, tolerance_ms
        As in `marks_agreed`.

    Returns
    -------
    DataFrame
        One row per disagreement, in order of game and time: `game`, `kind` string; `at_ms` Int64; `question` string
        (missing where the event stands in one book only); `one`, `other` string: the answers; `ids`: the rows to
        watch, of either book.
    """
    rows: list[tuple[str, int, str, str | None, str | None, str | None, tuple[str, ...]]] = []
    for kind, questions in KINDS.items():
        first, second = one[kind], other[kind]
        pairs = _pairs(first, second, tolerance_ms)
        ids = words(first["id"]), words(second["id"])
        games, times = (words(first["game"]), words(second["game"])), (_times(first), _times(second))
        for side, frame in enumerate((first, second)):
            alone = set(range(len(frame))) - {pair_[side] for pair_ in pairs}
            rows += [
                (games[side][at], int(times[side][at]), kind, None, "seen" if side == 0 else None,
                 "seen" if side == 1 else None, (ids[side][at],))
                for at in sorted(alone)
            ]  # fmt: skip
        for question in questions:
            said = words(first[question]), words(second[question])
            rows += [
                (games[0][a], int(times[0][a]), kind, question, said[0][a], said[1][b], (ids[0][a], ids[1][b]))
                for a, b in pairs
                if said[0][a] and said[1][b] and said[0][a] != said[1][b]
            ]
    rows.sort(key=lambda row: (row[0], row[1], row[2], row[3] or ""))
    game, at_ms, kinds, asked, ones, others, both = (
        [list(column) for column in zip(*rows, strict=True)] if rows else [[]] * 7
    )
    return pd.DataFrame(
        {
            "game": rate.label(game),
            "kind": rate.label(kinds),
            "at_ms": pd.array(at_ms, dtype="Int64"),
            "question": rate.label(asked),
            "one": rate.label(ones),
            "other": rate.label(others),
            "ids": rate.tuples(both),
        }
    )


def _times(frame: pd.DataFrame) -> NDArray[np.int64]:
    return whole(frame["at_ms"] if "at_ms" in frame else frame["start_ms"])


def _pairs(first: pd.DataFrame, second: pd.DataFrame, tolerance_ms: float) -> list[tuple[int, int]]:
    games, others = words(first["game"]), words(second["game"])
    times, other_times = _times(first), _times(second)
    made: list[tuple[int, int]] = []
    for game in sorted(set(games.tolist()) & set(others.tolist())):
        one, other = (
            np.flatnonzero((games == game) & (times >= 0)),
            np.flatnonzero((others == game) & (other_times >= 0)),
        )
        made += [(int(one[a]), int(other[b])) for a, b in pair(times[one], other_times[other], tolerance_ms)]
    return made


def _left(frame: pd.DataFrame, taken: set[int]) -> tuple[str, ...]:
    return tuple(name for at, name in enumerate(words(frame["id"]).tolist()) if at not in taken)


def _totals(first: pd.DataFrame, second: pd.DataFrame) -> tuple[list[int], list[int]]:
    if "team" not in first:
        return [len(first)], [len(second)]
    teams = [words(frame["team"]).tolist() for frame in (first, second)]
    names = sorted({*teams[0], *teams[1]})
    return [teams[0].count(name) for name in names], [teams[1].count(name) for name in names]


def _crossed(first: NDArray[np.object_], second: NDArray[np.object_]) -> NDArray[np.float64]:
    names = sorted({*first.tolist(), *second.tolist()})
    place = {name: at for at, name in enumerate(names)}
    table = np.zeros((len(names), len(names)))
    np.add.at(table, ([place[name] for name in first], [place[name] for name in second]), 1)
    return table


def _held(possessions: pd.DataFrame, game: str) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.object_]]:
    own = possessions[(words(possessions["game"]) == game) & possessions["start_ms"].notna().to_numpy(dtype=bool)]
    start, end = whole(own["start_ms"]), whole(own["end_ms"])
    return start, np.where(end < 0, start, end), words(own["team"])

"""The event tables: the contract between what was tagged and what is worked out from it.

One tidy table per kind of thing. Every row carries the game and the book it came from, the ids of what it stands
in (possession, run), an id of its own, and `marks`: the ids of the marks it was computed from, so that any number
built on the row can be watched. Times are whole milliseconds on the game's time line; `end_ms` is exclusive, and the
mark that closes a stretch stands exactly there. `clock_s` is seconds left in the period, missing where the film does
not give it. Players are text ("00" is not "0").

Three things are kept apart: a question that was skipped is missing (NA), `none` says that there was none, and
`unseen` says that somebody looked and could not tell. Where a player of ours was erased, `somebody` stands in place of
his number: a man who was known, and is nobody in particular now.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas as pd

VERSION = 3
"""2: who is on the floor, who goes off and comes on (lines), re-picks (screens). 3: text stands in quotes and begins
nothing that a spreadsheet would reckon out. Tables of older versions are read too."""
NONE = "none"
UNSEEN = "unseen"
SOMEBODY = "somebody"
OURS = "ours"
THEIRS = "theirs"
FREELANCE = "freelance"


class TablesError(Exception):
    """Event tables that cannot be read back: says which file, what is wrong and what to do."""


class TablesVersionError(TablesError, ValueError):
    """Tables written by a newer floorbook."""


class TableShapeError(TablesError, ValueError):
    """A file that is not the table its name says."""


@dataclass(frozen=True)
class Column:
    """One column of an event table.

    Attributes
    ----------
    name : str
        As in the header line.
    kind : str
        "text", "int", "float", "flag" (true, false or missing) or "ids" (mark ids, space between them in CSV).
    about : str
        What it says, with its unit.
    """

    name: str
    kind: str
    about: str

    @property
    def of_players(self) -> bool:
        """Whether players' numbers stand in it: what it says then begins with "number" or "numbers"."""
        return self.kind == "text" and self.about.split(None, 1)[0].rstrip(",") in ("number", "numbers")


def _columns(text: str) -> tuple[Column, ...]:
    found = []
    for line in filter(None, map(str.strip, text.splitlines())):
        name, kind, about = line.split(None, 2)
        found.append(Column(name, kind, about))
    return tuple(found)


_HEAD = """
    game text the game's id
    book text whose book the marks are from
    id text the row's own id
"""
_IN_RUN = """
    possession text id of the possession it falls in, missing if none
    run text id of the run it falls in, missing if none
"""
_AT = """
    period int number of the period, from 1
    at_ms int when, ms of game time line
    clock_s int seconds left in the period
"""
_TAIL = """
    marks ids the marks that the row was computed from
"""

TABLES: dict[str, tuple[Column, ...]] = {
    "periods": _columns(
        _HEAD
        + """
    period int number of the period, from 1
    start_ms int first ms
    end_ms int end, exclusive; missing while open
"""
        + _TAIL
    ),
    "possessions": _columns(
        _HEAD
        + """
    period int number of the period
    team text ours or theirs
    strength text runners of the team with the ball v the others, "e" after a side with an empty net: 5v5, 5v4, 6ev5
    gained text faceoff, loose_ball, turnover, save, missed_shot, whistle, unseen
    crossed flag whether the ball crossed centre
    settled_ms int when the offence was in place, missing if not marked
    start_ms int first ms
    end_ms int end, exclusive
    clock_s int seconds left in the period at the start
    ended text goal, save, missed_shot, turnover, violation, whistle, period_end; missing when unknown
"""
        + _TAIL
    ),
    "runs": _columns(
        _HEAD
        + """
    possession text id of its possession
    period int number of the period
    team text ours or theirs
    strength text as in possessions
    order int place within the possession, from 1
    set text code of the set (ours) or family (theirs), missing if none was named
    side text left, right, unseen
    phase text set, family, freelance, transition, second_chance, broken, not_tagged
    parent text id of the run whose shot was recovered (second chance)
    settled_ms int when its possession settled, missing if not marked
    start_ms int first ms
    end_ms int end, exclusive
    clock_s int seconds left in the period at the start
    look text code of the look, none, unseen
    look_open text code of a look that was open and not taken, none, unseen
    ended text shot, turnover, whistle, pull_out, broken, flowed, settled, period_end; missing when unknown
    penalty_drawn flag a penalty against the defence during the run
"""
        + _TAIL
    ),
    "screens": _columns(
        _HEAD
        + _IN_RUN
        + _AT
        + """
    team text ours or theirs
    kind text on_ball, off_ball, double, unseen
    side text left, right, middle, unseen
    setter text number
    user text number
    coverage text switched, stayed, under, doubled, shown, blown, unseen
    free text user, setter, third_man, nobody, illegal, unseen
    setter_next text rolled, popped, slipped, stayed, unseen
    again flag a re-pick: marked as set again by the same two
"""
        + _TAIL
    ),
    "shots": _columns(
        _HEAD
        + _IN_RUN
        + _AT
        + """
    team text ours or theirs
    strength text as in possessions
    shooter text number
    feeder text number, none, unseen
    feeder2 text number, none, unseen
    result text goal, saved, post, wide, blocked, waved_off, dump, unseen
    recovered text yes, no, dead, unseen
    x_m float metres towards the attacked goal from centre
    y_m float metres to the left facing it
    cause text why a goal against: beaten, late_switch, no_help, bad_change, rebound, goalkeeper, unseen
"""
        + _TAIL
    ),
    "turnovers": _columns(
        _HEAD
        + _IN_RUN
        + _AT
        + """
    team text who lost it: ours or theirs
    strength text as in possessions
    player text number
    kind text bad_pass, stripped, dropped, stepped_out, illegal_pick, crease, shot_clock, advance, unseen
    where text own_end, far_end, unseen
"""
        + _TAIL
    ),
    "roles": _columns(
        _HEAD
        + _IN_RUN
        + """
    role text the set's role, by code
    player text number
"""
        + _TAIL
    ),
    "faceoffs": _columns(_HEAD + _AT + "won text ours, theirs, unseen\nours text number\ntheirs text number\n" + _TAIL),
    "loose_balls": _columns(_HEAD + _IN_RUN + _AT + "team text who won it\nplayer text number\n" + _TAIL),
    "penalties": _columns(
        _HEAD
        + _IN_RUN
        + _AT
        + """
    team text against whom: ours, theirs
    player text number
    kind text minor, major, bench, misconduct
    delayed text yes: arm up and play goes on; no
"""
        + _TAIL
    ),
    "whistles": _columns(
        _HEAD
        + _IN_RUN
        + _AT
        + """
    to text whose ball next: ours, theirs, faceoff, unseen
    reason text out_of_play, penalty, push, injury, time_out, other
"""
        + _TAIL
    ),
    "clock": _columns(_HEAD + _AT + _TAIL),
    "fresh_clocks": _columns(_HEAD + _IN_RUN + _AT + _TAIL),
    "goalies": _columns(_HEAD + _AT + "team text ours, theirs\nwhat text in, out\nplayer text number\n" + _TAIL),
    "lines": _columns(
        _HEAD
        + _AT
        + """
    team text ours, theirs
    unit text the line on the floor after the change: code of ours from lines.toml; first, second, third, special
    players text numbers on the floor after the change, space between; missing where that is not known
    out text number who goes off, unseen
    in text number who comes on, unseen
    bad text yes, no
"""
        + _TAIL
    ),
    "grades": _columns(
        _HEAD
        + _IN_RUN
        + _AT
        + "player text number\ncheckpoint text code of the set's checkpoint\ngrade text plus, minus, not_gradable\n"
        + _TAIL
    ),
    "notes": _columns(
        _HEAD
        + _IN_RUN
        + _AT
        + "text text what was said\nplayers text numbers named with # in it, space between\nstar flag starred\n"
        + _TAIL
    ),
    "detail": _columns(
        _HEAD
        + """
    start_ms int from when, ms of game time line
    end_ms int until when, exclusive; missing: to the end
    level text basic, main, whole, question
    looks_for text kinds and questions looked for, space between: `screen`, `screen.coverage`
"""
        + _TAIL
    ),
}

SINCE = {"lines": {"players": 2, "out": 2, "in": 2}, "screens": {"again": 2}}
"""Columns that came after version 1, with the version that brought them."""
_DTYPES = {"text": "string", "int": "Int64", "float": "Float64", "flag": "boolean", "ids": "object"}


def frames(rows: Mapping[str, Iterable[Mapping[str, Any]]]) -> dict[str, pd.DataFrame]:
    """Turn folded rows into data frames with the contract's types.

    Parameters
    ----------
    rows : mapping of str to iterable of mapping
        Table name → rows; a missing table is empty, a missing value is NA.

    Returns
    -------
    dict of str to DataFrame
        Every table of `TABLES`, columns in order; text as "string", whole numbers as "Int64", numbers as "Float64",
        flags as "boolean", `marks` as tuples of ids.
    """
    return {name: frame(list(rows.get(name, ())), columns) for name, columns in TABLES.items()}


def frame(rows: Sequence[Mapping[str, Any]], columns: tuple[Column, ...]) -> pd.DataFrame:
    """One table's rows as a frame with the contract's types.

    Parameters
    ----------
    rows : sequence of mapping
        A missing value is NA.
    columns : tuple of Column
        The table's.

    Returns
    -------
    DataFrame
        As in `frames`.
    """
    import pandas as pd

    made: dict[str, Any] = {}
    for column in columns:
        values = [row.get(column.name) for row in rows]
        if column.kind == "ids":
            made[column.name] = pd.Series([tuple(value or ()) for value in values], dtype="object")
        else:
            made[column.name] = pd.Series(values, dtype=_DTYPES[column.kind])
    return pd.DataFrame(made, columns=[column.name for column in columns])

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

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from tagger.marks.plain import plain_vocabulary

if TYPE_CHECKING:
    import pandas as pd

WRITING = 5
"""The version in which what a file says was last written otherwise. 2: who is on the floor, who goes off and comes on
(lines), re-picks (screens). 3: text stands in quotes and begins nothing that a spreadsheet would reckon out. 5: a
possession that began with a loose ball is gained by what that came loose from (possessions), and a place that nobody
answered was not looked for (detail). A new table or column is `since` the next version: `version_of` finds it. Tables
of older versions are read too."""
NONE = "none"
UNSEEN = "unseen"
SOMEBODY = "somebody"
OURS = "ours"
THEIRS = "theirs"
OTHERS = "others"
"""Whose man is meant: of the side that the row's team plays against."""
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
        "text", "int", "float", "flag" (true or false; missing where nothing could tell, but in a kind's own table false
        where it was skipped), or "ids" (mark ids, space between them in CSV).
    about : str
        What it says, with its unit.
    since : int
        The version of the tables that brought it.
    of_theirs : bool
        Whether the players in it are the other team's, whoever has the ball.
    of_others : bool
        Whether they are of the side that the row's own team plays against.
    free : bool
        Whether it is a person's own words, in which names may stand.
    """

    name: str
    kind: str
    about: str
    since: int = 1
    of_theirs: bool = False
    of_others: bool = False
    free: bool = False

    @property
    def of_players(self) -> bool:
        """Whether players' numbers stand in it: what it says then begins with "number" or "numbers"."""
        return self.kind == "text" and self.about.split(None, 1)[0].rstrip(",") in ("number", "numbers")


Tables = Mapping[str, tuple[Column, ...]]
"""Table name → its columns in order."""
_NAME = re.compile(r"[a-z][a-z0-9_]*\Z")
COLUMN_KINDS = ("text", "int", "float", "flag", "ids")


def column_of(line: str) -> Column:
    """A column as one line says it: its name, its kind, and what it says.

    Parameters
    ----------
    line : str
        As "shooter text number".

    Returns
    -------
    Column
        That column.

    Raises
    ------
    ValueError
        A word is missing, the name is none, or there is no such kind of column.
    """
    words = line.split(None, 2)
    if len(words) < 3 or words[1] not in COLUMN_KINDS or not _NAME.match(words[0]):
        raise ValueError(f"“{line}” is no column; it is a name, one of {', '.join(COLUMN_KINDS)}, and what it says")
    name, kind, about = words
    return Column(name, kind, about)


def _columns(text: str, since: int = 1) -> tuple[Column, ...]:
    return tuple(replace(column_of(line), since=since) for line in filter(None, map(str.strip, text.splitlines())))


_HEAD = _columns("""
    game text the game's id
    book text whose book the marks are from
    id text the row's own id
""")
_IN_RUN = _columns("""
    possession text id of the possession it falls in, missing if none
    run text id of the run it falls in, missing if none
""")
_AT = _columns("""
    period int number of the period, from 1
    at_ms int when, ms of game time line
    clock_s int seconds left in the period
""")
_TAIL = _columns("""
    marks ids the marks that the row was computed from
""")

_WORKED_OUT: Tables = {
    "periods": _columns("""
    period int number of the period, from 1
    start_ms int first ms
    end_ms int end, exclusive; missing while open
"""),
    "possessions": _columns("""
    period int number of the period
    team text ours or theirs
    strength text runners of the team with the ball v the others, "e" after a side with an empty net: 5v5, 5v4, 6ev5
    gained text faceoff, turnover, save, missed_shot, whistle; loose_ball where it came loose from none of them; unseen
    crossed flag whether the ball crossed centre
    settled_ms int when the offence was in place, missing if not marked
    start_ms int first ms
    end_ms int end, exclusive
    clock_s int seconds left in the period at the start
    ended text goal, save, missed_shot, turnover, violation, whistle, period_end; missing when unknown
"""),
    "runs": (
        *_columns("""
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
"""),
        *_columns("between text codes of two sets, space between, between which whoever tagged was unsure", since=4),
    ),
    "roles": (
        *_IN_RUN,
        *_columns("""
    role text the set's role, by code
    player text number
"""),
    ),
    "detail": _columns("""
    start_ms int from when, ms of game time line
    end_ms int until when, exclusive; missing: to the end
    level text basic, main, whole, question
    looks_for text kinds and questions looked for, space between: `screen`, `screen.coverage`
"""),
}
"""Tables that are worked out of many marks, and the roles, of which a set mark may have several rows."""
_ORDER = (
    *("periods", "possessions", "runs", "screens", "shots", "turnovers", "roles", "faceoffs", "loose_balls"),
    *("penalties", "whistles", "clock", "fresh_clocks", "goalies", "lines", "grades", "notes", "detail"),
)
"""The order in which `tables.json` lists the tables of version 3; a newer one stands after them."""


def tables_of(kinds: Iterable[Mapping[str, Any]]) -> dict[str, tuple[Column, ...]]:
    """All event tables: those that are worked out, and one for each kind of mark that has a table of its own.

    Parameters
    ----------
    kinds : iterable of mapping
        The vocabulary's.

    Returns
    -------
    dict of str to tuple of Column
        Table name → columns, in the order in which they are listed.

    Raises
    ------
    ValueError
        A column that is none, or a table or a column that stands twice.
    """
    made = {name: _brought((*_HEAD, *own, *_TAIL), min(one.since for one in own)) for name, own in _WORKED_OUT.items()}
    for kind in kinds:
        if "table" in kind:
            name = kind["table"]["name"]
            if name in made or not _NAME.match(name):
                right = "stands twice" if name in made else "is no name: small letters, digits and _"
                raise ValueError(f"the table of kind “{kind['code']}”: “{name}” {right}")
            made[name] = _columns_of_kind(kind)
    places = {name: place for place, name in enumerate(_ORDER)}
    return {name: made[name] for name in sorted(made, key=lambda name: places.get(name, len(places)))}


def _columns_of_kind(kind: Mapping[str, Any]) -> tuple[Column, ...]:
    table = kind["table"]
    since: Mapping[str, int] = table.get("columns_since", {})
    whose = {one["code"]: one.get("whose") for one in kind["questions"]}
    free = {one["code"] for one in kind["questions"] if one["type"] == "text"}
    own = []
    for line in table.get("columns", ()):
        try:
            column = column_of(line)
        except ValueError as fault:
            raise ValueError(f"the table of kind “{kind['code']}”: {fault}") from None
        name = column.name
        theirs, others = whose.get(name) == THEIRS, whose.get(name) == OTHERS
        own.append(replace(column, since=since.get(name, 1), of_theirs=theirs, of_others=others, free=name in free))
    columns = (*_HEAD, *(_IN_RUN if table.get("in_run", True) else ()), *_AT, *own, *_TAIL)
    names = [column.name for column in columns]
    for name in names:
        if names.count(name) > 1:
            raise ValueError(f"the table of kind “{kind['code']}” has two columns “{name}”")
    return _brought(columns, table.get("since", 1))


def _brought(columns: tuple[Column, ...], since: int) -> tuple[Column, ...]:
    """Columns of a table that a version brought: none is older than it."""
    return tuple(replace(column, since=max(column.since, since)) for column in columns)


def version_of(tables: Tables) -> int:
    """The version of tables: that of the newest column, and no older than how they are written.

    Parameters
    ----------
    tables : mapping of str to tuple of Column
        Which there are.

    Returns
    -------
    int
        A file of a newer one is refused; one of an older one is read without what it did not have.
    """
    return max(WRITING, *(column.since for columns in tables.values() for column in columns))


TABLES: Tables = tables_of(plain_vocabulary()["kinds"])
"""The event tables of the package's own vocabulary."""
VERSION = version_of(TABLES)
"""Their version."""
_DTYPES = {"text": "string", "int": "Int64", "float": "Float64", "flag": "boolean", "ids": "object"}


def frames(*books: Mapping[str, Iterable[Mapping[str, Any]]], tables: Tables = TABLES) -> dict[str, pd.DataFrame]:
    """Turn folded rows into data frames with the contract's types.

    Parameters
    ----------
    *books : mapping of str to iterable of mapping
        Table name → rows, each book's under the one before; a missing table is empty, a missing value is NA.
    tables : mapping of str to tuple of Column, optional
        Which tables there are; those of the package's own vocabulary when left out.

    Returns
    -------
    dict of str to DataFrame
        Every table of them, columns in order; text as "string", whole numbers as "Int64", numbers as "Float64",
        flags as "boolean", `marks` as tuples of ids.
    """
    return {
        name: frame([row for rows in books for row in rows.get(name, ())], columns) for name, columns in tables.items()
    }


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

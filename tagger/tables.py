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

import csv
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas as pd

VERSION = 2
"""2: who is on the floor, who goes off and comes on (lines), re-picks (screens). Tables of version 1 are read too."""
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

_SINCE = {"lines": {"players": 2, "out": 2, "in": 2}, "screens": {"again": 2}}
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
    return {name: _frame(list(rows.get(name, ())), columns) for name, columns in TABLES.items()}


def _frame(rows: Sequence[Mapping[str, Any]], columns: tuple[Column, ...]) -> pd.DataFrame:
    import pandas as pd

    made: dict[str, Any] = {}
    for column in columns:
        values = [row.get(column.name) for row in rows]
        if column.kind == "ids":
            made[column.name] = pd.Series([tuple(value or ()) for value in values], dtype="object")
        else:
            made[column.name] = pd.Series(values, dtype=_DTYPES[column.kind])
    return pd.DataFrame(made, columns=[column.name for column in columns])


def write_csv(tables: Mapping[str, pd.DataFrame], folder: Path, about: Mapping[str, Any]) -> list[Path]:
    """Write the event tables as CSV files (RFC 4180) with `tables.json` beside them.

    Every file is written beside its place and renamed when whole.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        As `frames` makes them.
    folder : Path
        Made if missing.
    about : mapping
        Written to `tables.json` beside the version: season, games, books, journal heads.

    Returns
    -------
    list of Path
        What was written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name, columns in TABLES.items():
        target = folder / f"{name}.csv"
        beside = folder / f"{name}.csv.part"
        with beside.open("w", encoding="utf-8", newline="") as out:
            writer = csv.writer(out, lineterminator="\r\n")
            writer.writerow([column.name for column in columns])
            frame = tables[name]
            for row in zip(*(_texts(frame[column.name], column.kind) for column in columns), strict=True):
                writer.writerow(row)
        beside.replace(target)
        written.append(target)
    target = folder / "tables.json"
    beside = folder / "tables.json.part"
    beside.write_text(json.dumps({"version": VERSION, **about}, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
    beside.replace(target)
    return [*written, target]


def _texts(series: pd.Series, kind: str) -> list[str]:
    if kind == "ids":
        return [" ".join(value) for value in series]
    if kind == "flag":
        return ["" if value is None else ("true" if value else "false") for value in _plain(series)]
    if kind == "float":
        return ["" if value is None else repr(float(value)) for value in _plain(series)]
    return ["" if value is None else str(value) for value in _plain(series)]


def _plain(series: pd.Series) -> list[Any]:
    return [None if missing else value for value, missing in zip(series.tolist(), series.isna().tolist(), strict=True)]


def read_csv(folder: Path) -> dict[str, pd.DataFrame]:
    """Read event tables back with the right types.

    Parameters
    ----------
    folder : Path
        As `write_csv` left it, of this version or an older one.

    Returns
    -------
    dict of str to DataFrame
        As from `frames`; columns that an older version did not have are missing throughout.

    Raises
    ------
    TableShapeError
        A file is missing, or its header is not the table's.
    TablesVersionError
        The tables were written by a newer floorbook.
    """
    try:
        about = json.loads((folder / "tables.json").read_text(encoding="utf-8"))
        version = int(about["version"])
    except (OSError, ValueError, KeyError, TypeError) as fault:
        raise TableShapeError(f"{folder}: no readable tables.json there; write the tables again") from fault
    if version > VERSION:
        raise TablesVersionError(
            f"{folder}: tables of version {version}, this floorbook reads up to {VERSION}; update it"
        )
    return {name: _read_one(folder / f"{name}.csv", columns, version) for name, columns in TABLES.items()}


def _read_one(path: Path, whole: tuple[Column, ...], version: int) -> pd.DataFrame:
    since = _SINCE.get(path.stem, {})
    columns = [column for column in whole if since.get(column.name, 1) <= version]
    names = [column.name for column in columns]
    try:
        with path.open(encoding="utf-8", newline="") as text:
            reader = csv.reader(text)
            header = next(reader, [])
            if header != names:
                raise TableShapeError(f"{path.name}: the first line is not this table's header; write the tables again")
            rows = []
            for row in reader:
                if len(row) != len(names):
                    raise TableShapeError(
                        f"{path.name}, line {reader.line_num}: {len(row)} fields where {len(names)} belong; "
                        "write the tables again"
                    )
                rows.append(
                    {c.name: _value(cell, c.kind, path, reader.line_num) for c, cell in zip(columns, row, strict=True)}
                )
    except OSError as fault:
        raise TableShapeError(f"{path.name}: cannot be read; write the tables again") from fault
    return _frame(rows, whole)


def _value(cell: str, kind: str, path: Path, line: int) -> Any:
    if kind == "ids":
        return tuple(cell.split())
    if cell == "":
        return None
    try:
        if kind == "int":
            return int(cell)
        if kind == "float":
            return float(cell)
        if kind == "flag":
            return {"true": True, "false": False}[cell]
    except (ValueError, KeyError) as fault:
        raise TableShapeError(f"{path.name}, line {line}: “{cell}” is not a {kind}; write the tables again") from fault
    return cell

"""Who of our players is marked in a stretch of a game: by every column of every event table that holds their numbers.

Which columns these are follows from the tables' own documentation (`Column.of_players`), so that one that is added
later is asked too. A row counts for the moment it stands at and for the whole run that it stands in; a line that goes
over the boards and a goalkeeper who goes in count until the next such mark.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Set
from typing import Any

from tagger.tables import OURS, SOMEBODY, TABLES, THEIRS, Tables

EVER = 1 << 60
STANDING = {"lines": "players", "goalies": "player"}
"""Tables of which a row holds until the next one of the same team, and the column that says who stands there."""


def columns_of(tables: Tables) -> dict[str, tuple[str, ...]]:
    """Which columns hold numbers of ours; the face-off's `theirs` is the other team's man.

    Parameters
    ----------
    tables : mapping of str to tuple of Column
        Which tables there are.

    Returns
    -------
    dict of str to tuple of str
        Event table → its columns, where it has any.
    """
    return {
        table: names
        for table, columns in tables.items()
        if (names := tuple(column.name for column in columns if column.of_players and not column.of_theirs))
    }


def _names_ours(table: str, column: str, team: str | None, of_others: Set[tuple[str, str]]) -> bool:
    """Whether a column's numbers can be ours in a row of a team; nobody knows of an unknown one."""
    return team != (OURS if (table, column) in of_others else THEIRS)


COLUMNS: Mapping[str, tuple[str, ...]] = columns_of(TABLES)
"""Those of the package's own vocabulary."""


class MarkedPlayers:
    """Who of ours is marked when, in one game's book.

    Parameters
    ----------
    rows : mapping of str to iterable of mapping
        The book's event tables, as folded. An unknown team counts as ours: rather one too many.
    tables : mapping of str to tuple of Column
        Which tables there are; those of the package's own vocabulary when left out.
    """

    def __init__(self, rows: Mapping[str, Iterable[Mapping[str, Any]]], tables: Tables = TABLES) -> None:
        found: dict[str, list[tuple[int, int]]] = {}
        others = {(name, one.name) for name, columns in tables.items() for one in columns if one.of_others}
        runs, possessions = _spans(rows.get("runs", ())), _spans(rows.get("possessions", ()))
        for table, columns in columns_of(tables).items():
            for row in rows.get(table, ()):
                team = row.get("team")
                own = [column for column in columns if _names_ours(table, column, team, others)]
                numbers = {number for column in own for number in _numbers(row.get(column))}
                for number in numbers:
                    found.setdefault(number, []).extend(_when(row, runs, possessions))
        for number, span in _standing(rows):
            found.setdefault(number, []).append(span)
        self._spans = {number: _merged(spans) for number, spans in found.items()}

    @property
    def numbers(self) -> tuple[str, ...]:
        """Everybody of ours who is marked anywhere in it."""
        return tuple(sorted(self._spans))

    def spans(self, number: str) -> list[tuple[int, int]]:
        """When one of ours is marked.

        Parameters
        ----------
        number : str
            His.

        Returns
        -------
        list of tuple of int
            From and until (exclusive), ms of game time line, in order, none touching another.
        """
        return list(self._spans.get(number, ()))

    def within(self, start_ms: int, end_ms: int) -> list[str]:
        """Who of ours is marked in a stretch.

        Parameters
        ----------
        start_ms, end_ms : int
            On the game's time line, end exclusive.

        Returns
        -------
        list of str
            Numbers, in order.
        """
        return [number for number in self.numbers if _touches(self._spans[number], start_ms, end_ms)]


def _numbers(cell: Any) -> list[str]:
    """Who is in a cell: one number or several, and who was erased; `none` and `unseen` are nobody."""
    return [word for word in str(cell).split() if word.isdigit() or word == SOMEBODY] if cell is not None else []


def _spans(rows: Iterable[Mapping[str, Any]]) -> dict[str, tuple[int, int]]:
    return {str(row["id"]): (int(row["start_ms"]), _end(row.get("end_ms"))) for row in rows}


def _end(end_ms: Any) -> int:
    return EVER if end_ms is None else int(end_ms)


def _when(
    row: Mapping[str, Any], runs: Mapping[str, tuple[int, int]], possessions: Mapping[str, tuple[int, int]]
) -> list[tuple[int, int]]:
    found = []
    if row.get("at_ms") is not None:
        found.append((int(row["at_ms"]), int(row["at_ms"]) + 1))
    run = runs.get(str(row.get("run")))
    if run is not None:
        found.append(run)
    if not found:  # of neither moment nor run: the possession, else the whole game
        found.append(possessions.get(str(row.get("possession")), (0, EVER)))
    return found


def _standing(rows: Mapping[str, Iterable[Mapping[str, Any]]]) -> Iterable[tuple[str, tuple[int, int]]]:
    ends = {row.get("period"): _end(row.get("end_ms")) for row in rows.get("periods", ())}
    for table, column in STANDING.items():
        ours = sorted((row for row in rows.get(table, ()) if row.get("team") != THEIRS), key=lambda row: row["at_ms"])
        for place, row in enumerate(ours):
            if row.get("what") == "out":
                continue
            until = int(ours[place + 1]["at_ms"]) if place + 1 < len(ours) else EVER
            if table == "lines":  # a period's beginning makes the floor unknown
                until = min(until, ends.get(row.get("period"), EVER))
            for number in _numbers(row.get(column)):
                yield number, (int(row["at_ms"]), max(until, int(row["at_ms"]) + 1))


def _merged(spans: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    made: list[tuple[int, int]] = []
    for start, end in sorted(spans):
        if made and start <= made[-1][1]:
            made[-1] = (made[-1][0], max(made[-1][1], end))
        else:
            made.append((start, end))
    return made


def _touches(spans: list[tuple[int, int]], start_ms: int, end_ms: int) -> bool:
    place = bisect_left(spans, (end_ms,)) - 1  # the last that begins before the end
    return place >= 0 and spans[place][1] > start_ms

"""What holds of every fold, whatever was entered. `broken` names what does not; an empty list is a sound fold."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Any

from tagger import tables
from tagger.marks.entries import Entry
from tagger.marks.fold import Folded
from tagger.marks.resolve import resolve
from tagger.marks.vocabulary import Language

Row = Mapping[str, Any]
IN_A_RUN = ("screens", "shots", "turnovers", "penalties", "whistles", "roles")


def broken(language: Language, entries: list[Entry], folded: Folded) -> list[str]:
    """What does not hold of a fold.

    Parameters
    ----------
    language : Language
        The vocabulary.
    entries : list of Entry
        What was folded.
    folded : Folded
        What came of it.

    Returns
    -------
    list of str
        One line for each miss.
    """
    return [
        *_places(language, entries, folded),
        *_ids(folded),
        *_inside(folded),
        *_whole(folded),
        *_order(folded),
    ]


def _places(language: Language, entries: list[Entry], folded: Folded) -> Iterator[str]:
    """Every mark stands in exactly one place of the log and has at most the one row of its kind, or is listed."""
    marks, _ = resolve(entries)
    if Counter(line.mark.id for line in folded.log) != Counter(mark.id for mark in marks):
        yield "a mark is not exactly once in the log"
    listed = {problem.of for problem in folded.problems}
    rows = {name: Counter(row["id"] for row in table) for name, table in folded.rows.items()}
    for line in folded.log:
        mark = line.mark
        table = language.traits[mark.kind].table if mark.kind in language.traits else ""
        standing = not mark.removed and line.game_ms is not None
        if table and rows[table][mark.id] != int(standing):
            yield f"{mark.kind} {mark.id} has {rows[table][mark.id]} rows in {table}"
        needs = language.kinds[mark.kind]["needs"] if mark.kind in language.kinds else {}
        if standing and "ball" in needs and line.possession is None and mark.id not in listed:
            yield f"{mark.kind} {mark.id} stands in no possession and is not listed"


def _ids(folded: Folded) -> Iterator[str]:
    many = Counter(row["id"] for table in folded.rows.values() for row in table)
    yield from (f"{one} is the id of {n} rows" for one, n in many.items() if n > 1)


def _inside(folded: Folded) -> Iterator[str]:
    """Children lie inside their parents: rows in runs, runs in possessions, possessions in periods."""
    runs = {row["id"]: row for row in folded.rows["runs"]}
    possessions = {row["id"]: row for row in folded.rows["possessions"]}
    for row in runs.values():
        if not _holds(possessions.get(row["possession"]), row["start_ms"], row["end_ms"]):
            yield f"run {row['id']} lies outside its possession"
        if row["parent"] is not None and runs.get(row["parent"], {}).get("possession") != row["possession"]:
            yield f"run {row['id']} has a parent elsewhere"
    for name in IN_A_RUN:
        for row in folded.rows[name]:
            run = runs.get(row["run"]) if row["run"] is not None else None
            if row["run"] is not None and (run is None or run["possession"] != row["possession"]):
                yield f"{name} {row['id']} is of a run that is not there"
            elif run is not None and "at_ms" in row and not _holds(run, row["at_ms"], row["at_ms"]):
                yield f"{name} {row['id']} lies outside its run"
    periods = folded.rows["periods"]
    for one in possessions.values():
        own = [period for period in periods if period["period"] == one["period"]]
        if own and not any(_holds(period, one["start_ms"], one["end_ms"]) for period in own):
            yield f"possession {one['id']} lies outside its period"
    for line in folded.log:
        if (line.run is not None and line.run not in runs) or (
            line.possession is not None and line.possession not in possessions
        ):
            yield f"the log has {line.mark.id} in a run or possession that is not there"


def _holds(parent: Row | None, start_ms: int, end_ms: int | None) -> bool:
    if parent is None or start_ms < parent["start_ms"]:
        return False
    return end_ms is None or parent.get("end_ms") is None or end_ms <= parent["end_ms"]


def _whole(folded: Folded) -> Iterator[str]:
    """Runs fill their possession without a gap."""
    of: dict[str, list[Row]] = {}
    for row in folded.rows["runs"]:
        of.setdefault(row["possession"], []).append(row)
    for one in folded.rows["possessions"]:
        own = of.get(one["id"], [])
        if not own or own[0]["start_ms"] != one["start_ms"]:
            yield f"possession {one['id']} does not begin with a run"
        if any(before["end_ms"] != after["start_ms"] for before, after in pairwise(own)):
            yield f"possession {one['id']} has a gap between its runs"


def _order(folded: Folded) -> Iterator[str]:
    standing = [line.game_ms for line in folded.log if line.game_ms is not None and not line.mark.removed]
    if standing != sorted(standing):
        yield "the log is not in order of game time"
    tables.frames(folded.rows)

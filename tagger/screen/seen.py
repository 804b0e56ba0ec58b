"""What the fold sees in a book, for the page: problems, the clock, the strength, what is worth a second look."""

from __future__ import annotations

from typing import Any

from tagger.marks.fold import Folded
from tagger.season import Season

BEFORE_MS = 6000  # how much is shown before a moment that stands in no run
AFTER_MS = 2000


def seen(season: Season, game: str, book: str) -> dict[str, Any]:
    """A book as the fold sees it.

    Parameters
    ----------
    season : Season
        The open season.
    game, book : str
        Which book.

    Returns
    -------
    dict
        `problems`: code, text, of, at_ms. `periods`: [number, start ms, end ms or None]. `clock`: [game ms, seconds
        left], in order. `strength`: [game ms, team, strength] from which it holds. `worth`: what a second look should
        take, in order of game time: the mark, why, the question to open (or empty), the stretch to show and its
        decisive moment.
    """
    folded = season.folded(game, book)
    rows = folded.rows
    clock = {
        row["at_ms"] if "at_ms" in row else row["start_ms"]: row["clock_s"]
        for table in rows.values()
        for row in table
        if row.get("clock_s") is not None
    }
    return {
        "problems": [{"code": one.code, "text": one.text, "of": one.of, "at_ms": one.at_ms} for one in folded.problems],
        "periods": [[row["period"], row["start_ms"], row.get("end_ms")] for row in rows["periods"]],
        "clock": sorted(map(list, clock.items())),
        "strength": [[row["start_ms"], row["team"], row.get("strength")] for row in rows["possessions"]],
        "worth": worth(folded),
    }


def worth(folded: Folded) -> list[dict[str, Any]]:
    """What a second look should take: shots of ours without a feeder, runs of a set without a look, starred notes.

    Parameters
    ----------
    folded : Folded
        A book.

    Returns
    -------
    list of dict
        `of`, `why`, `question`, `from_ms`, `to_ms`, `decisive_ms`, in order of game time.
    """
    rows = folded.rows
    runs = {row["id"]: row for row in rows["runs"]}
    kinds = {logged.mark.id: logged.mark.kind for logged in folded.log}
    found = []

    def add(of: str, at_ms: int, why: str, question: str, run: dict[str, Any] | None) -> None:
        start = run["start_ms"] if run else at_ms - BEFORE_MS
        end = run["end_ms"] if run and run.get("end_ms") is not None else at_ms
        shown = {"from_ms": max(0, start), "to_ms": max(end, at_ms) + AFTER_MS, "decisive_ms": max(end, at_ms)}
        found.append({"of": of, "why": why, "question": question, **shown})

    for shot in rows["shots"]:
        if shot["team"] == "ours" and shot.get("feeder") is None:
            add(shot["marks"][0], shot["at_ms"], "who fed this shot?", "feeder", runs.get(shot.get("run")))
    for run in runs.values():
        named = [id_ for id_ in run["marks"] if kinds.get(id_) == "set"]
        if named and run.get("look") is None:
            add(named[0], run["start_ms"], "which look was it?", "", run)
    for note in rows["notes"]:
        if note.get("star"):
            add(note["marks"][0], note["at_ms"], "starred", "", runs.get(note.get("run")))
    places = {logged.mark.id: place for place, logged in enumerate(folded.log)}
    return sorted(found, key=lambda one: (one["from_ms"], places.get(one["of"], 0)))

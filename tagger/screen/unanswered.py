"""What a second look should take: the unanswered things that are worth film, each with the stretch that shows it."""

from __future__ import annotations

from typing import Any

from tagger.marks.fold import Folded

SHOWN_MS = 4000  # before the decisive moment, as much as the key that shows it again
AFTER_MS = 2000
SOON_MS = 6000  # a star so soon after a run's end was meant for that run


def unanswered(folded: Folded) -> list[dict[str, Any]]:
    """What a second look should take, in order of game time; what belongs to one run stands together.

    Shots of ours without a feeder; runs of a set without a look; starred notes; and, for grading alone, runs of a set
    without a grade. A star on a run that is led to anyway is no thing of its own.

    Parameters
    ----------
    folded : Folded
        A book.

    Returns
    -------
    list of dict
        `of`: the mark. `why`: words. `question`: of that mark, to be opened; empty where there is none. `kind`: of the
        mark that would answer instead; empty where there is none. `stars`: the starred notes on the run. Game times:
        `start_ms` where the run begins, `from_ms` the last seconds before `decisive_ms`, `to_ms`.
    """
    rows = folded.rows
    runs = {row["id"]: row for row in rows["runs"]}
    marks = {logged.mark.id: logged for logged in folded.log}
    graded = {row["run"] for row in rows["grades"]}
    stars: dict[str | None, list[str]] = {}
    alone = []
    for note in rows["notes"]:
        if not note.get("star"):
            continue
        run = _meant(note, rows["runs"])
        stars.setdefault(run["id"] if run else None, []).append(note["marks"][0])
        alone.append((note, run))

    found: list[dict[str, Any]] = []

    def add(of: str, at_ms: int, why: str, run: dict[str, Any] | None, question: str = "", kind: str = "") -> None:
        decisive = max(at_ms, _end_ms(run, marks)) if run else at_ms
        start = run["start_ms"] if run else max(0, at_ms - SHOWN_MS)
        times = {
            "start_ms": start,
            "from_ms": max(start, decisive - SHOWN_MS),
            "to_ms": decisive + AFTER_MS,
            "decisive_ms": decisive,
        }
        its = stars.get(run["id"], []) if run else []
        found.append({"of": of, "why": why, "question": question, "kind": kind, "stars": its, **times})

    for run in runs.values():
        named = [id_ for id_ in run["marks"] if id_ in marks and marks[id_].mark.kind == "set"]
        if named and run.get("look") is None:
            add(named[0], run["start_ms"], "which look was it?", run, kind="look")
        if named and run["id"] not in graded:
            add(named[0], run["start_ms"], "how was the work?", run, kind="grade")
    for shot in rows["shots"]:
        if shot["team"] == "ours" and shot.get("feeder") is None:
            add(shot["marks"][0], shot["at_ms"], "who fed this shot?", runs.get(shot.get("run")), question="feeder")
    led = {star for one in found if one["kind"] != "grade" for star in one["stars"]}
    for note, run in alone:
        if note["marks"][0] not in led:
            add(note["marks"][0], note["at_ms"] if run is None else run["start_ms"], "starred", run)
    places = {logged.mark.id: place for place, logged in enumerate(folded.log)}
    return sorted(found, key=lambda one: (one["start_ms"], places.get(one["of"], 0)))


def _meant(note: dict[str, Any], runs: list[dict[str, Any]]) -> dict[str, Any] | None:
    """The run that a note is about: the one it falls in, or else the one that ended shortly before it."""
    at_ms = note["at_ms"]
    own = [run for run in runs if run["id"] == note.get("run")]
    if own and own[0]["start_ms"] < at_ms:
        return own[0]
    ended = [run for run in runs if run.get("end_ms") is not None and 0 <= at_ms - run["end_ms"] <= SOON_MS]
    return max(ended, key=lambda run: run["end_ms"], default=own[0] if own else None)


def _end_ms(run: dict[str, Any], marks: dict[str, Any]) -> int:
    """Where a run ended; of one that goes on, its last mark."""
    if run.get("end_ms") is not None:
        return int(run["end_ms"])
    return max([run["start_ms"], *(marks[id_].game_ms or 0 for id_ in run["marks"] if id_ in marks)])

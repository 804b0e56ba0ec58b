"""What a second look should take: the unanswered things that are worth film, each with the stretch that shows it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tagger.marks.context import holds
from tagger.marks.fold import Folded
from tagger.marks.resolve import Mark
from tagger.marks.vocabulary import Language
from tagger.screen.doubts import doubts
from tagger.screen.missing import AT_LEAST, looked, missing, naming

SHOWN_MS = 4000  # before the decisive moment, as much as the key that shows it again
AFTER_MS = 2000
SOON_MS = 6000  # a star so soon after a run's end was meant for that run


def unanswered(folded: Folded, language: Language) -> list[dict[str, Any]]:
    """What a second look should take, in order of game time; what belongs to one run stands together.

    What the vocabulary asks in a second look: shots without a feeder, screens without a coverage, and what is younger
    than the first tables (who caused a lost ball) where the book answers it at all; runs of a set without a look, and,
    for grading alone, without a grade. What else is missing (`missing`), and what is most likely a slip
    (`doubts`). And what has a star: on a run that is led to anyway it is no thing of its own.

    Parameters
    ----------
    folded : Folded
        A book.
    language : Language
        The vocabulary.

    Returns
    -------
    list of dict
        `of`: the mark. `why`: words. `question`: of that mark, to be opened; empty where there is none. `kind`: of the
        mark that would answer instead; empty where there is none, and then it is done once seen. `later_ms`: it counts
        only where the film is beyond that game time. `stars`: the starred notes on the run. Game times:
        `start_ms` where the run begins, `from_ms` the last seconds before `decisive_ms`, `to_ms`.
    """
    rows = folded.rows
    runs = {row["id"]: row for row in rows["runs"]}
    marks = {logged.mark.id: logged for logged in folded.log}
    stars: dict[str | None, list[str]] = {}
    alone = []
    for note in (row for table in rows.values() for row in table if row.get("star")):
        run = _meant(note, rows["runs"])
        stars.setdefault(run["id"] if run else None, []).append(note["marks"][0])
        alone.append((note, run))

    found: list[dict[str, Any]] = []

    def add(
        of: str,
        at_ms: int,
        why: str,
        run: dict[str, Any] | None,
        *,
        question: str = "",
        kind: str = "",
        later_ms: int = 0,
    ) -> None:
        decisive = max(at_ms, _end_ms(run, marks)) if run else at_ms
        start = run["start_ms"] if run else max(0, at_ms - SHOWN_MS)
        times = {
            "start_ms": start,
            "from_ms": max(start, decisive - SHOWN_MS),
            "to_ms": decisive + AFTER_MS,
            "decisive_ms": decisive,
        }
        its = stars.get(run["id"], []) if run and (question or kind) else []
        found.append(
            {"of": of, "why": why, "question": question, "kind": kind, "stars": its, "later_ms": later_ms, **times}
        )

    looked_for = looked(rows)
    wanted = [(kind, _has_it(kind, rows)) for kind in language.data["kinds"] if "second_look" in kind]
    for run in runs.values():
        named = naming(run, runs, lambda id_: id_ in marks and language.does(marks[id_].mark.kind) == "set")
        for kind, has_it in wanted if named and not run["between"] else ():  # first which set it was
            if run["id"] not in has_it:
                add(named, run["start_ms"], kind["second_look"], run, kind=kind["code"])
    for kind in language.data["kinds"]:
        for question in (one for one in kind["questions"] if "second_look" in one):
            code, own = question["code"], rows[kind["table"]["name"]]
            own = [row for row in own if _fits(marks[row["marks"][0]].mark, kind, question)]
            never = all(row.get(code) is None for row in own) and not (question.get("must") and len(own) < AT_LEAST)
            if never and kind["table"].get("columns_since", {}).get(code):
                continue  # younger than books that were tagged without it, and this one never answers it
            for row in own:
                if row.get(code) is None and f"{kind['code']}.{code}" in looked_for(row["at_ms"]):
                    run_ = runs.get(row.get("run"))
                    add(row["marks"][0], row["at_ms"], question["second_look"], run_, question=code)
    for one in (*missing(folded, language), *doubts(folded, language)):
        add(one.of, one.at_ms, one.why, runs.get(one.run or ""), question=one.question, later_ms=one.later_ms)
    led = {star for one in found if language.does(one["kind"]) != "grade" for star in one["stars"]}
    for note, run in alone:
        if note["marks"][0] not in led:
            add(note["marks"][0], note["at_ms"] if run is None else run["start_ms"], "starred", run)
    places = {logged.mark.id: place for place, logged in enumerate(folded.log)}
    return sorted(found, key=lambda one: (one["start_ms"], places.get(one["of"], 0)))


def _fits(mark: Mark, kind: Mapping[str, Any], question: Mapping[str, Any]) -> bool:
    """Whether a row's mark is of the kind itself, and the question is asked beside its other answers."""
    return mark.kind == kind["code"] and holds(question.get("when", {}), mark.answers, {})


def _has_it(kind: Mapping[str, Any], rows: Mapping[str, list[dict[str, Any]]]) -> set[str | None]:
    """The runs of which a kind says something already."""
    if kind.get("does") == "look":
        return {run["id"] for run in rows["runs"] if run.get("look") is not None}
    return {row["run"] for row in rows[kind["table"]["name"]]}


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

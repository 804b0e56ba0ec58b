"""What a book most likely lacks: ends, roles, which of two it was, the goalkeeper's way back.

Asked in the second look, never filled in.

A habit counts as one where the book keeps it: roles are asked for where the book names some, a set or that it settled
where four in five runs have it. Who leaves a thing out throughout is not asked for it run by run.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from tagger.marks.between import two_of
from tagger.marks.fold import Folded
from tagger.marks.resolve import Mark
from tagger.marks.sentences import told_of_two
from tagger.marks.vocabulary import Language

POSSESSION_MS = 45_000  # a shot clock and a half: a possession that is on for longer has ended unmarked
PULLED_MS = 180_000  # longer than anybody plays with an empty net
HABIT, AT_LEAST = 0.8, 5

Row = Mapping[str, Any]


@dataclass(frozen=True)
class Missing:
    """One thing that is most likely missing, or doubtful.

    Attributes
    ----------
    of : str
        The mark at which it stands.
    at_ms : int
        Game time.
    why : str
        What is asked.
    run : str or None
        The run whose film shows it.
    question : str
        Of the mark, to be opened; empty where there is none.
    later_ms : int
        It counts only where the film is beyond this game time; 0: always.
    """

    of: str
    at_ms: int
    why: str
    run: str | None = None
    question: str = ""
    later_ms: int = 0


def looked(rows: Mapping[str, list[dict[str, Any]]]) -> Callable[[int], frozenset[str]]:
    """What is looked for at a game time.

    Parameters
    ----------
    rows : mapping of str to list of dict
        A book's.

    Returns
    -------
    callable
        Game time → kinds and questions, as `screen` and `screen.free`.
    """
    held = [(row["start_ms"], frozenset(row["looks_for"].split())) for row in rows["detail"]]

    def at(ms: int) -> frozenset[str]:
        return next((codes for start, codes in reversed(held) if start <= ms), held[0][1] if held else frozenset())

    return at


def naming(run: Row, runs: Container[str], of_set: Callable[[str], bool]) -> str:
    """The mark that names a set's run: the last of its set marks, but for the one with which it flowed into the next.

    Parameters
    ----------
    run : mapping
        Its row.
    runs : container of str
        Ids of all runs.
    of_set : callable
        Whether a mark of an id names a set.

    Returns
    -------
    str
        Its id; empty where no set is named.
    """
    own = [id_ for id_ in run["marks"] if of_set(id_) and (f"{id_}/2" == run["id"] or f"{id_}/2" not in runs)]
    return str(own[-1]) if own else ""


def missing(folded: Folded, language: Language) -> Iterator[Missing]:
    """What is most likely missing.

    Parameters
    ----------
    folded : Folded
        A book.
    language : Language
        The vocabulary.

    Yields
    ------
    Missing
        In no order.
    """
    marks = {logged.mark.id: logged.mark for logged in folded.log if not logged.mark.removed}
    yield from _between(folded, language, marks)
    yield from _of_sets(folded, language, marks)
    yield from _sides(folded, language, marks)
    yield from _unsaid(folded)
    yield from _never_back(folded)
    yield from _last_end(folded)


def _between(folded: Folded, language: Language, marks: Mapping[str, Mark]) -> Iterator[Missing]:
    """Answers that lie between two."""
    for line in folded.log:
        mark = marks.get(line.mark.id)
        questions = language.kinds.get(line.mark.kind, {}).get("questions", ()) if mark is not None else ()
        for question in questions:
            if mark is None or line.game_ms is None or not (two := two_of(mark.answers, question["code"])):
                continue
            words = told_of_two(language, mark.kind, question["code"], two, {})
            yield Missing(mark.id, line.game_ms, f"{words}: {question['ask']}", line.run, question["code"])


def _of_sets(folded: Folded, language: Language, marks: Mapping[str, Mark]) -> Iterator[Missing]:
    """Roles that are empty, and sets that follow each other without a word on whether the first one was meant."""
    runs = folded.rows["runs"]
    roles = bool(folded.rows["roles"])
    ids = {run["id"] for run in runs}

    def of_set(id_: str) -> bool:
        return id_ in marks and language.does(marks[id_].kind) == "set"

    wanted = looked(folded.rows)
    for place, run in enumerate(runs):
        named = naming(run, ids, of_set)
        play = language.sets.get(str(run["set"])) if run["phase"] == "set" else None
        if not named or play is None:
            continue
        mark, at = marks[named], int(run["start_ms"])
        for role in play["roles"] if roles else ():
            code = f"role.{role['code']}"
            if code not in mark.answers and f"{mark.kind}.{code}" in wanted(at):
                yield Missing(mark.id, at, f"who was {role['name']}?", run["id"], code)
        before = runs[place - 1] if place else None
        flowed = before is not None and before["possession"] == run["possession"] and before["phase"] == "set"
        if flowed and before is not None and before["ended"] == "flowed" and "flows" not in mark.answers:
            why = "two sets in one stretch: instead of the first, or a new run?"
            yield Missing(mark.id, at, why, run["id"], "flows")


def _sides(folded: Folded, language: Language, marks: Mapping[str, Mark]) -> Iterator[Missing]:
    """Named runs of which nobody said to which side they went."""
    wanted = looked(folded.rows)
    for run in folded.rows["runs"]:
        for id_ in run["marks"] if run["side"] is None and run["phase"] in ("set", "family") else ():
            mark = marks.get(id_)
            names = mark is not None and language.traits[mark.kind].named_by
            if mark is None or not names or mark.answers.get(names) != run["set"] or "side" in mark.answers:
                continue
            question = language.question(mark.kind, "side")
            if question and f"{mark.kind}.side" in wanted(int(run["start_ms"])):
                yield Missing(id_, int(run["start_ms"]), str(question["ask"]), run["id"], "side")
                break


def _unsaid(folded: Folded) -> Iterator[Missing]:
    """Settled runs without a name, and named ones of a possession that never settled, where the book mostly says it."""
    possessions = {row["id"]: row for row in folded.rows["possessions"]}
    for team, name in (("ours", "set"), ("theirs", "family")):
        own = [run for run in folded.rows["runs"] if run["team"] == team]
        settled = [run for run in own if run["settled_ms"] is not None and run["start_ms"] >= run["settled_ms"]]
        settled = [run for run in settled if run["phase"] in (name, "freelance", "not_tagged") and run["ended"]]
        settled = [run for run in settled if not run["between"]]  # asked for by itself
        unnamed = [run for run in settled if run["phase"] == "not_tagged"]
        if len(settled) >= AT_LEAST and len(unnamed) <= (1 - HABIT) * len(settled):
            for run in unnamed:
                what = "no set is named here: which was it?" if team == "ours" else "what they ran here is not said"
                yield Missing(run["marks"][0], run["start_ms"], what, run["id"])
        named = [run for run in own if run["phase"] == name]
        never = [run for run in named if possessions[run["possession"]]["settled_ms"] is None]
        if len(named) >= AT_LEAST and len(never) <= (1 - HABIT) * len(named):
            for run in never:
                yield Missing(run["marks"][0], run["start_ms"], "where it settled is not marked", run["id"])


def _never_back(folded: Folded) -> Iterator[Missing]:
    """A goalkeeper who was pulled and never went back in: everything after it is counted with an empty net."""
    last = max((logged.game_ms or 0 for logged in folded.log), default=0)
    rows = folded.rows["goalies"]
    starts = [row["start_ms"] for row in folded.rows["periods"]]
    for place, row in enumerate(rows):
        if row.get("what") != "out":
            continue
        back = next((one for one in rows[place + 1 :] if one.get("team") == row.get("team")), None)
        until = back["at_ms"] if back is not None else last
        if until - row["at_ms"] > PULLED_MS or any(row["at_ms"] < start <= until for start in starts):
            whose = "their" if row.get("team") == "theirs" else "our"
            yield Missing(
                row["id"], row["at_ms"], f"{whose} goalkeeper was pulled: where did he go back in?", row["run"]
            )


def _last_end(folded: Folded) -> Iterator[Missing]:
    """The last possession of a book has no end, and the film has gone on."""
    for row in folded.rows["possessions"][-1:]:
        if row["end_ms"] is None and row["ended"] is None:
            own = [run for run in folded.rows["runs"] if run["possession"] == row["id"]]
            last = max([row["start_ms"], *(logged.game_ms or 0 for logged in folded.log)])
            why = "how did this last possession end?"
            yield Missing(
                row["marks"][0], row["start_ms"], why, own[-1]["id"] if own else None, "", last + POSSESSION_MS
            )

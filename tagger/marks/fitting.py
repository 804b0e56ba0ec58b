"""What was said of a set that is not the run's any more: its looks and checkpoints, where another was named instead.

Nothing is taken away: the row stays, and is listed until it is answered anew or removed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from tagger.marks.problems import Problem
from tagger.marks.resolve import Mark
from tagger.marks.traits import OF_SET
from tagger.marks.vocabulary import Language

_ITEMS = {"look": "looks", "checkpoint": "checkpoints"}


def misfits(
    language: Language, log: Iterable[tuple[Mark, int | None, str | None]], runs: Iterable[Mapping[str, Any]]
) -> list[Problem]:
    """Looks and grades that do not fit the set of their run.

    Parameters
    ----------
    language : Language
        Vocabulary and playbook.
    log : iterable of (Mark, int or None, str or None)
        The marks that stand, each with its game time and its run.
    runs : iterable of mapping
        Rows of the runs.

    Returns
    -------
    list of Problem
        One for each answer that the run's set does not have.
    """
    set_of = {row["id"]: language.sets.get(str(row["set"])) for row in runs if row["phase"] == "set"}
    found = []
    for mark, at_ms, run in log:
        traits = language.traits.get(mark.kind)
        play = set_of.get(run or "")
        if traits is None or traits.run != OF_SET or play is None:
            continue
        for question in language.kinds[mark.kind]["questions"]:
            items = play.get(_ITEMS.get(question["type"], ""), [])
            known = {one["code"] for one in (*items, *question.get("choices", ()))}
            value = mark.answers.get(question["code"])
            if question["type"] in _ITEMS and value is not None and value not in known:
                words = f"{play['name']} has no {question['type']} “{value}”; answer it anew, or remove it"
                found.append(Problem("not_of_set", words, mark.id, at_ms))
    return found

"""What was said of a set that is not the run's any more: its looks and checkpoints, where another was named instead.

Nothing is taken away: the row stays, and is listed until it is answered anew or removed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from tagger.marks.problems import Problem
from tagger.marks.traits import OF_SET
from tagger.marks.vocabulary import Language

if TYPE_CHECKING:
    from tagger.marks.fold import Logged

_ITEMS = {"look": "looks", "checkpoint": "checkpoints"}


def misfits(language: Language, log: Iterable[Logged], runs: Iterable[Mapping[str, Any]]) -> list[Problem]:
    """Looks and grades that do not fit the set of their run.

    Parameters
    ----------
    language : Language
        Vocabulary and playbook.
    log : iterable of Logged
        The marks that stand, each with its run.
    runs : iterable of mapping
        Rows of the runs.

    Returns
    -------
    list of Problem
        One for each answer that the run's set does not have.
    """
    set_of = {run["id"]: language.sets.get(str(run["set"])) for run in runs if run["phase"] == "set"}
    found = []
    for logged in log:
        traits = language.traits.get(logged.mark.kind)
        play = set_of.get(logged.run or "")
        if traits is None or traits.run != OF_SET or play is None:
            continue
        for question in language.kinds[logged.mark.kind]["questions"]:
            items = play.get(_ITEMS.get(question["type"], ""), [])
            known = {one["code"] for one in (*items, *question.get("choices", ()))}
            value = logged.mark.answers.get(question["code"])
            if question["type"] in _ITEMS and value is not None and value not in known:
                words = f"{play['name']} has no {question['type']} “{value}”; answer it anew, or remove it"
                found.append(Problem("not_of_set", words, logged.mark.id, logged.game_ms))
    return found

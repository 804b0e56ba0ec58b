"""The words of one season: the vocabulary with what its text files add."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tagger.marks.plain import VocabularyError
from tagger.marks.vocabulary import Language, language
from tagger.texts.folder import Texts
from tagger.texts.keyfile import KEYS
from tagger.texts.playbook import PLAYBOOK, Playbook
from tagger.texts.problem import TextProblem
from tagger.texts.units import LINES


def spoken(texts: Texts, vocabulary: Mapping[str, Any]) -> tuple[Language, tuple[TextProblem, ...]]:
    """The vocabulary with a season's playbook, lines and keys.

    Parameters
    ----------
    texts : Texts
        The season's.
    vocabulary : mapping
        What can be marked.

    Returns
    -------
    tuple of Language and tuple of TextProblem
        When the playbook's keys clash with the vocabulary, the vocabulary without sets; and what could not be taken in.
    """
    faults: list[TextProblem] = []
    asked = texts.stated_question.needs(vocabulary["kinds"]) if texts.stated_question else ()

    def filled(playbook: Playbook) -> Language:
        level, lines, keys = texts.settings.detail, texts.lines, texts.keys
        return language(playbook, level=level, vocabulary=vocabulary, lines=lines, keys=keys, asked=asked)

    try:
        made = filled(texts.playbook)
    except VocabularyError as fault:
        faults = [TextProblem(PLAYBOOK, 0, str(fault))]
        made = filled(Playbook())
    faults += [TextProblem(KEYS if one.of_keys else LINES, one.binding.line, one.text) for one in made.refused]
    return made, tuple(faults)

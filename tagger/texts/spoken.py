"""The words of one season: the vocabulary with what its text files add."""

from __future__ import annotations

from tagger.marks.plain import VocabularyError
from tagger.marks.vocabulary import Language, language
from tagger.texts.folder import Texts
from tagger.texts.keyfile import KEYS
from tagger.texts.playbook import PLAYBOOK, Playbook
from tagger.texts.problem import TextProblem
from tagger.texts.units import LINES


def spoken(texts: Texts) -> tuple[Language, tuple[TextProblem, ...]]:
    """The vocabulary with a season's playbook, lines and keys.

    Parameters
    ----------
    texts : Texts
        The season's.

    Returns
    -------
    tuple of Language and tuple of TextProblem
        When the playbook's keys clash with the vocabulary, the vocabulary without sets; and what could not be taken in.
    """
    faults: list[TextProblem] = []
    level, lines, keys = texts.settings.detail, texts.lines, texts.keys
    asked = texts.stated_question.needs if texts.stated_question else ()
    try:
        made = language(texts.playbook, level=level, lines=lines, keys=keys, asked=asked)
    except VocabularyError as fault:
        faults = [TextProblem(PLAYBOOK, 0, str(fault))]
        made = language(Playbook(), level=level, lines=lines, keys=keys, asked=asked)
    faults += [TextProblem(KEYS if one.of_keys else LINES, one.binding.line, one.text) for one in made.refused]
    return made, tuple(faults)

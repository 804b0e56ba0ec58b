"""The text files of an open season, read anew when one of them changed, and the words that they make."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tagger.marks.plain import plain_vocabulary
from tagger.texts.folder import TEXTS, Texts, read_texts
from tagger.texts.spoken import spoken

if TYPE_CHECKING:
    from tagger.marks.vocabulary import Language
    from tagger.texts.playbook import Playbook
    from tagger.texts.problem import TextProblem
    from tagger.texts.roster import Player
    from tagger.texts.settings import Settings

_Stamp = tuple[tuple[int, int] | None, ...]


@dataclass(frozen=True)
class Words:
    """The vocabulary of a season, what could not be taken into it, and a number that is another one after a change."""

    version: int
    language: Language
    problems: tuple[TextProblem, ...]


class CurrentTexts:
    """What the text files of a season say now.

    Parameters
    ----------
    folder : Path
        The season's folder.
    vocabulary : mapping, optional
        What can be marked; the package's own when left out.
    """

    def __init__(self, folder: Path, vocabulary: Mapping[str, Any] | None = None) -> None:
        self.folder = folder
        self.vocabulary = vocabulary if vocabulary is not None else plain_vocabulary()
        self._reading = threading.Lock()
        self._speaking = threading.Lock()
        self._held: tuple[_Stamp, int, Texts] | None = None
        self._words: Words | None = None

    def now(self) -> Texts:
        """The text files as they are now; read anew when one of them changed.

        Returns
        -------
        Texts
            With every bad place.
        """
        return self._now()[1]

    def _now(self) -> tuple[int, Texts]:
        stamp = tuple(_stamp(self.folder / name) for name in TEXTS)
        with self._reading:
            if self._held is None or self._held[0] != stamp:
                self._held = (stamp, self._held[1] + 1 if self._held else 1, read_texts(self.folder, self.vocabulary))
            return self._held[1:]

    @property
    def settings(self) -> Settings:
        """The settings."""
        return self.now().settings

    @property
    def playbook(self) -> Playbook:
        """The playbook."""
        return self.now().playbook

    @property
    def roster(self) -> tuple[Player, ...]:
        """The roster."""
        return self.now().roster

    @property
    def problems(self) -> tuple[TextProblem, ...]:
        """Bad places in the text files."""
        words = self.words()
        return (*self.now().problems, *words.problems)

    def language(self) -> Language:
        """The vocabulary with this season's playbook, lines and keys.

        Returns
        -------
        Language
            When the playbook's keys clash with the vocabulary, the vocabulary without sets, and a problem is listed; so
            is each key of the season's own that would mean two things.
        """
        return self.words().language

    def words(self) -> Words:
        """The same with its version.

        Returns
        -------
        Words
            The same object until a text changes.
        """
        version, texts = self._now()
        with self._speaking:
            if self._words is None or self._words.version != version:
                self._words = Words(version, *spoken(texts, self.vocabulary))
            return self._words


def _stamp(path: Path) -> tuple[int, int] | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size

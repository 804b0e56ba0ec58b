"""What can be wrong with a season. Every message says what happened, where, and what to do."""

from __future__ import annotations


class SeasonError(Exception):
    """Something of a season that is not there or not as it should be; says what, where and what to do."""


class NoSeason(SeasonError, FileNotFoundError):
    """The folder is no season folder."""

    def __str__(self) -> str:
        return str(self.args[0])


class NoGame(SeasonError, LookupError):
    """The season has no such game, or more than one that the words fit."""


class NoFilm(SeasonError, LookupError):
    """The film is not there."""


class BadGame(SeasonError, ValueError):
    """A game that cannot be made as told."""


class Doubled(BadGame):
    """A film that the season has already, or that was named twice."""


class NoJob(SeasonError, LookupError):
    """The season has no such work on film."""

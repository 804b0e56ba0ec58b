"""What was tagged in a season: which book of a game counts, and the books as tables, kept until they change.

The book begun first counts until somebody chooses another. When the fullest counted, a second person practising on a
game changed the season's numbers.
"""

from __future__ import annotations

import itertools
import threading
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from tagger.errors import BadGame
from tagger.games import Games
from tagger.marks.fold import FilmSpan, Folded, GameFacts, fold
from tagger.marks.journal import Journal
from tagger.marks.vocabulary import Language
from tagger.shelf.shelf import Shelf
from tagger.tables import frames
from tagger.texts.current import CurrentTexts

if TYPE_CHECKING:
    import pandas as pd

FIRST_BOOK = "coach"
_NO_WORDS = Language({})


@dataclass(frozen=True)
class FoldedBook:
    """A book as it was folded: from what, which of all foldings it was, and what came out."""

    stamp: tuple[int, GameFacts, int]
    version: int
    folded: Folded


class Tagged:
    """The books of a season's games as tables, log and problems.

    Parameters
    ----------
    journal : Journal
        The season's.
    games : Games
        Its games.
    shelf : Shelf
        Its films.
    texts : CurrentTexts
        Its text files.
    """

    def __init__(self, journal: Journal, games: Games, shelf: Shelf, texts: CurrentTexts) -> None:
        self.journal = journal
        self.games = games
        self.shelf = shelf
        self.texts = texts
        self._guard = threading.Lock()
        self._folded: dict[tuple[str, str], FoldedBook] = {}
        self._folding: dict[tuple[str, str], threading.Lock] = {}
        self._versions = itertools.count(1)
        self._tables: tuple[tuple[int, ...], dict[str, pd.DataFrame]] | None = None

    def chosen_book(self, game: str) -> str:
        """The book that a game's tables are from.

        Parameters
        ----------
        game : str
            Its id.

        Returns
        -------
        str
            As chosen; else the one that was begun first, so that a second person's marks change no number until
            somebody chooses them.
        """
        chosen = self.games.game(game).chosen_book
        books = self.journal.books(game)
        if chosen and (not books or any(book.name == chosen for book in books)):
            return chosen
        return min(books, key=lambda book: book.first_seq).name if books else FIRST_BOOK

    def choose_book(self, game: str, book: str) -> None:
        """Say which book a game's tables are from.

        Parameters
        ----------
        game, book : str
            The game's id, and a book of it that holds entries.

        Raises
        ------
        NoGame
            There is no such game.
        BadGame
            The game has no such book.
        """
        if book not in [held.name for held in self.journal.books(self.games.game(game).id)]:
            raise BadGame(f"the game {game} has no book “{book}”; nothing was changed")
        with self.games.store.writing() as db:
            db.execute("UPDATE games SET chosen_book = ? WHERE id = ?", (book, game))

    def facts(self, game: str, book: str) -> GameFacts:
        """What a book's entries are folded with.

        Parameters
        ----------
        game, book : str
            The game's id, and the book's name.

        Returns
        -------
        GameFacts
            By the films and the texts as they are now.
        """
        return self._facts(game, book, self.texts.language())

    def _facts(self, game: str, book: str, language: Language) -> GameFacts:
        all_films = (*self.shelf.films(game), *self.shelf.other_films(game))
        films = tuple(FilmSpan(film.id, film.offset_ms, film.duration_ms) for film in all_films)
        texts = self.texts.now()
        settings = texts.settings
        return GameFacts(
            game,
            book,
            language,
            films,
            roster=frozenset(player.number for player in texts.roster),
            period_s=settings.period_minutes * 60,
            stop_clock=settings.stop_clock,
            penalties=settings.penalties,
            reaction_ms=settings.reaction_ms,
            n_periods=settings.n_periods,
        )

    def folded(self, game: str, book: str | None = None) -> Folded:
        """A book as tables, log and problems; kept until something it rests on changes.

        Parameters
        ----------
        game : str
            Its id.
        book : str, optional
            The chosen one when left out.

        Returns
        -------
        Folded
            See `tagger.marks.fold`.
        """
        return self.kept(game, book).folded

    def kept(self, game: str, book: str | None = None) -> FoldedBook:
        """The same with its version.

        Parameters
        ----------
        game : str
            Its id.
        book : str, optional
            The chosen one when left out.

        Returns
        -------
        FoldedBook
            While the version is the same, so is everything in it.
        """
        book = book or self.chosen_book(game)
        words = self.texts.words()
        facts = self._facts(game, book, words.language)
        seq = next((held.seq for held in self.journal.books(game) if held.name == book), 0)
        stamp = (seq, replace(facts, language=_NO_WORDS), words.version)
        held = self._folded.get((game, book))
        if held is None or held.stamp != stamp:
            with self._guard:
                alone = self._folding.setdefault((game, book), threading.Lock())
            with alone:  # who asks meanwhile waits for the one fold instead of making another
                held = self._folded.get((game, book))
                if held is None or held.stamp != stamp:
                    entries, _ = self.journal.entries(game, book)
                    held = FoldedBook(stamp, next(self._versions), fold(entries, facts))
                    self._folded[(game, book)] = held
        return held

    def tables(self, games: Iterable[str] | None = None, book: str | None = None) -> dict[str, pd.DataFrame]:
        """The event tables of several games' chosen books, one under the other.

        Parameters
        ----------
        games : iterable of str, optional
            Ids; all when left out.
        book : str, optional
            This book of each instead of the chosen one.

        Returns
        -------
        dict of str to DataFrame
            As `tagger.tables.frames` makes them; not to be changed by the caller.
        """
        wanted = [game.id for game in self.games.all()] if games is None else list(games)
        kept = [self.kept(game, book) for game in wanted]
        words = self.texts.words()
        stamp = (words.version, *(one.version for one in kept))
        held = self._tables
        if held is None or held[0] != stamp:
            rows = (one.folded.rows for one in kept)
            held = self._tables = (stamp, frames(*rows, tables=words.language.tables))
        return held[1]

"""A season folder: one team, one season.

Settings, playbook and roster are text files; games, films and the journal are in the database; everything else is
worked out from these.
"""

from __future__ import annotations

import threading
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tagger import tables as event_tables
from tagger.errors import BadGame, NoFilm, NoGame, NoSeason, SeasonError
from tagger.folding import facts_of
from tagger.games import Game, check_new, game_of, listed, the_one
from tagger.marks.fold import Folded, fold
from tagger.marks.journal import Journal
from tagger.marks.vocabulary import Language
from tagger.shelf.copies import ClipSource, Showing
from tagger.shelf.films import FILM_FOLDER, Film, NewFilm
from tagger.shelf.whereabouts import Shelf
from tagger.store.before_opening import DATABASE, must_be_season
from tagger.store.database import Store
from tagger.store.exchange import finish
from tagger.store.past_damage import damage_of_rows, open_past_damage
from tagger.texts.folder import TEXTS, Player, Settings, TextProblem, Texts, read_texts
from tagger.texts.playbook import Playbook
from tagger.texts.spoken import spoken

if TYPE_CHECKING:
    import pandas as pd

    from tagger.film.index import FrameIndex

__all__ = [
    "DATABASE",
    "FILM_FOLDER",
    "BadGame",
    "ClipSource",
    "Film",
    "Game",
    "NewFilm",
    "NoFilm",
    "NoGame",
    "NoSeason",
    "Season",
    "SeasonError",
    "Showing",
]

REEL_FOLDER = "reels"
_NO_WORDS = Language({})
FIRST_BOOK = "coach"


class Season:
    """An open season folder.

    Parameters
    ----------
    folder : Path
        The folder.
    make : bool
        Make its database where none lies.
    look, past_damage : bool
        Only look: nothing in the folder is written, made or changed; even if it is damaged, at all that can be read.

    Raises
    ------
    NoSeason
        It holds no season, or a database without its settings.
    tagger.store.database.StoreError
        Its database is not there, or cannot be used.
    """

    def __init__(self, folder: Path, *, make: bool = False, look: bool = False, past_damage: bool = False) -> None:
        self.folder = folder
        finish(folder)  # of a restoring that was cut short
        must_be_season(folder)
        path = folder / DATABASE
        opened = open_past_damage(path) if past_damage else (Store(path, make=make, look=look), ())
        self.store, self._damage = opened
        self.journal = Journal(self.store)
        self.shelf = Shelf(self.store, folder)
        self._guard = threading.Lock()
        self._texts: tuple[tuple[Any, ...], Texts] | None = None
        self._language: tuple[Texts, Language, tuple[TextProblem, ...]] | None = None
        self._folded: dict[tuple[str, str], tuple[Any, Folded]] = {}
        self._speaking = threading.Lock()
        self._folding: dict[tuple[str, str], threading.Lock] = {}
        self._tables: tuple[Any, dict[str, pd.DataFrame]] | None = None

    @classmethod
    def open(cls, folder: Path | str, **how: bool) -> Season:
        """Open a season folder.

        Parameters
        ----------
        folder, **how
            As for the class: only who begins a season makes its database; who only looks writes nothing.
        """
        return cls(Path(folder), **how)

    def close(self) -> None:
        """Close the database, everything in one file."""
        self.store.close()

    @property
    def damage(self) -> tuple[str, ...]:
        """What of games and marks can't be read, a line each; the rest is there."""
        return (*self._damage, *damage_of_rows(self.store, self.journal))

    # Texts --------------------------------------------------------------------------------------------------------

    def texts(self) -> Texts:
        """The text files as they are now; read anew when one of them changed.

        Returns
        -------
        Texts
            With every bad place.
        """
        stamp = tuple(_stamp(self.folder / name) for name in TEXTS)
        with self._guard:
            if self._texts is None or self._texts[0] != stamp:
                self._texts = (stamp, read_texts(self.folder))
            return self._texts[1]

    @property
    def settings(self) -> Settings:
        """The settings."""
        return self.texts().settings

    @property
    def playbook(self) -> Playbook:
        """The playbook."""
        return self.texts().playbook

    @property
    def roster(self) -> tuple[Player, ...]:
        """The roster."""
        return self.texts().roster

    @property
    def problems(self) -> tuple[TextProblem, ...]:
        """Bad places in the text files."""
        self.language()
        assert self._language is not None
        return (*self.texts().problems, *self._language[2])

    def language(self) -> Language:
        """The vocabulary with this season's playbook, lines and keys.

        Returns
        -------
        Language
            When the playbook's keys clash with the vocabulary, the vocabulary without sets, and a problem is listed; so
            is each key of the season's own that would mean two things.
        """
        texts = self.texts()
        with self._speaking:
            held = self._language
            if held is None or held[0] is not texts:
                held = self._language = (texts, *spoken(texts))
            return held[1]

    # Games and films ----------------------------------------------------------------------------------------------

    def games(self) -> list[Game]:
        """All games.

        Returns
        -------
        list of Game
            By date.
        """
        rows = self.store.connection().execute("SELECT * FROM games ORDER BY date, id")
        return [game_of(row) for row in rows]

    def game(self, id_: str) -> Game:
        """One game by its id.

        Parameters
        ----------
        id_ : str
            Its id.

        Returns
        -------
        Game
            The game.

        Raises
        ------
        NoGame
            There is none.
        """
        row = self.store.connection().execute("SELECT * FROM games WHERE id = ?", (id_,)).fetchone()
        if row is None:
            raise NoGame(f"no game “{id_}” in this season; it has {listed(self.games())}")
        return game_of(row)

    def find_game(self, words: str) -> Game:
        """One game by id, date, or part of the opponent's name.

        Parameters
        ----------
        words : str
            As a person types it.

        Returns
        -------
        Game
            The only one that fits.

        Raises
        ------
        NoGame
            None fits, or several do.
        """
        return the_one(self.games(), words)

    def add_game(self, id_: str, date: str, opponent: str, home: bool, about: str = "", book: str = "") -> Game:
        """Make a game.

        Parameters
        ----------
        id_, date, opponent : str
            Id (letters, digits, . _ -), date as YYYY-MM-DD, the other team.
        home : bool
            Whether at home.
        about : str
            A word about it.
        book : str
            The book that the tables are from; the one begun first when empty.

        Returns
        -------
        Game
            The new game.

        Raises
        ------
        BadGame
            The id is taken or no id, or the date is none.
        """
        with self.store.writing() as db:
            self.check_new_game(id_, date, opponent)
            db.execute(
                "INSERT INTO games (id, date, opponent, home, about, chosen_book) VALUES (?, ?, ?, ?, ?, ?)",
                (id_, date, opponent.strip(), int(home), about, book),
            )
        return self.game(id_)

    def check_new_game(self, id_: str, date: str, opponent: str) -> None:
        """Refuse a game that can't be made.

        Parameters
        ----------
        id_, date, opponent : str
            As for `add_game`.

        Raises
        ------
        BadGame
            The id is taken or no id, or the date is none.
        """
        check_new(id_, date, opponent)
        if self.store.connection().execute("SELECT 1 FROM games WHERE id = ?", (id_,)).fetchone():
            raise BadGame(f"the season has a game “{id_}” already; leave out --new to bring film into it")

    def remove_empty_game(self, id_: str) -> None:
        """Take back a game that was just made; one that has film or marks stays.

        Parameters
        ----------
        id_ : str
            Its id.
        """
        with self.store.writing() as db:
            db.execute(
                "DELETE FROM games WHERE id = ? AND NOT EXISTS (SELECT 1 FROM films WHERE game = games.id) "
                "AND NOT EXISTS (SELECT 1 FROM journal WHERE game = games.id)",
                (id_,),
            )

    def films(self, game: str) -> list[Film]:
        """The films of a game in their order on its time line; see `tagger.shelf.whereabouts.Shelf.films`."""
        return self.shelf.films(game)

    def other_films(self, game: str) -> list[Film]:
        """The films of a game's other cameras; see `tagger.shelf.cameras`."""
        return self.shelf.other_films(game)

    def film(self, id_: str) -> Film:
        """One film by its id; see `tagger.shelf.whereabouts.Shelf.film`."""
        return self.shelf.film(id_)

    def add_film(self, game: str, new: NewFilm) -> Film:
        """Enter a film as the last of its game.

        Parameters
        ----------
        game : str
            Its game.
        new : NewFilm
            What is known of it.

        Returns
        -------
        Film
            As entered.

        Raises
        ------
        BadGame
            The season has this film already.
        """
        return self.shelf.enter(game, [new])[0]

    def film_path(self, id_: str) -> Path:
        """The file that is played for a film; `showing` says which frames it has."""
        return self.shelf.copies.played(id_)[0]

    def showing(self, id_: str, version: str = "") -> Showing:
        """What is played for a film; see `tagger.shelf.copies.Copies.showing`."""
        return self.shelf.copies.showing(id_, version)

    def original(self, id_: str) -> Path:
        """A film's original file; see `tagger.shelf.whereabouts.Shelf.original`."""
        return self.shelf.original(id_)

    def clip_source(self, id_: str) -> ClipSource:
        """What clips of a film are cut from; see `tagger.shelf.copies.Copies.clip_source`."""
        return self.shelf.copies.clip_source(id_)

    def film_index(self, id_: str) -> FrameIndex:
        """The frames of a film's original; see `tagger.shelf.whereabouts.Shelf.index`."""
        return self.shelf.index(id_)

    # What was tagged ----------------------------------------------------------------------------------------------

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
        chosen = self.game(game).chosen_book
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
        if book not in [held.name for held in self.journal.books(self.game(game).id)]:
            raise BadGame(f"the game {game} has no book “{book}”; nothing was changed")
        with self.store.writing() as db:
            db.execute("UPDATE games SET chosen_book = ? WHERE id = ?", (book, game))

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
        book = book or self.chosen_book(game)
        facts = facts_of(self, game, book)
        seq = next((held.seq for held in self.journal.books(game) if held.name == book), 0)
        stamp = (seq, replace(facts, language=_NO_WORDS), id(facts.language))
        held = self._folded.get((game, book))
        if held is None or held[0] != stamp:
            with self._guard:
                alone = self._folding.setdefault((game, book), threading.Lock())
            with alone:  # who asks meanwhile waits for the one fold instead of making another
                held = self._folded.get((game, book))
                if held is None or held[0] != stamp:
                    entries, _ = self.journal.entries(game, book)
                    held = (stamp, fold(entries, facts))
                    self._folded[(game, book)] = held
        return held[1]

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
        wanted = [game.id for game in self.games()] if games is None else list(games)
        folded = [self.folded(game, book) for game in wanted]
        stamp = tuple(id(one) for one in folded)
        held = self._tables
        if held is None or held[0] != stamp:
            rows = {name: [row for one in folded for row in one.rows[name]] for name in event_tables.TABLES}
            held = self._tables = (stamp, event_tables.frames(rows))
        return held[1]


def _stamp(path: Path) -> tuple[int, int] | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size

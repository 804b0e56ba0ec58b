"""The games of a season: found, made, taken back."""

from __future__ import annotations

from tagger.errors import BadGame, NoGame
from tagger.game import Game, check_new, game_of, listed, the_one
from tagger.store.database import Store


class Games:
    """The games of one season.

    Parameters
    ----------
    store : Store
        The season's database.
    """

    def __init__(self, store: Store) -> None:
        self.store = store

    def all(self) -> list[Game]:
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
            raise NoGame(f"no game “{id_}” in this season; it has {listed(self.all())}")
        return game_of(row)

    def find(self, words: str) -> Game:
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
        return the_one(self.all(), words)

    def add(self, id_: str, date: str, opponent: str, home: bool, about: str = "", book: str = "") -> Game:
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
            self.check_new(id_, date, opponent)
            db.execute(
                "INSERT INTO games (id, date, opponent, home, about, chosen_book) VALUES (?, ?, ?, ?, ?, ?)",
                (id_, date, opponent.strip(), int(home), about, book),
            )
        return self.game(id_)

    def check_new(self, id_: str, date: str, opponent: str) -> None:
        """Refuse a game that can't be made.

        Parameters
        ----------
        id_, date, opponent : str
            As for `add`.

        Raises
        ------
        BadGame
            The id is taken or no id, or the date is none.
        """
        check_new(id_, date, opponent)
        if self.store.connection().execute("SELECT 1 FROM games WHERE id = ?", (id_,)).fetchone():
            raise BadGame(f"the season has a game “{id_}” already; leave out --new to bring film into it")

    def remove_empty(self, id_: str) -> None:
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

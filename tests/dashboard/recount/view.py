"""What part of the season a page says that it shows: the words of its sentence, taken literally."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tests.dashboard.recount.book import Book, Row

SETTLED = ("set", "family", "freelance", "not_tagged")
N_LAST = 3


class View:
    """What is shown.

    Parameters
    ----------
    book : Book
        The season.
    chosen : mapping of str to str
        The address' words.
    **said : str or None
        What the page says of itself whatever the address says: `team`, `strength` ("" for every strength), `phase`
        ("all"), `side`.
    """

    def __init__(self, book: Book, chosen: Mapping[str, str], **said: Any) -> None:
        asked = {**chosen, **said}
        self.chosen = chosen
        self.key = tuple(sorted(asked.items()))
        games = [game for game in book.games if asked.get("opponent") in (None, "", game.opponent)]
        known = [game.id for game in book.games]
        if asked.get("games") == "last":
            games = [game for game in games if game.id in known[-N_LAST:]]
        elif asked.get("games") in known:
            games = [game for game in games if game.id == asked["games"]]
        self.book = book
        self.games = {game.id: game for game in games}
        self.period = int(asked["period"]) if asked.get("period") else None
        self.strength = asked.get("strength", "even")
        self.team = asked.get("team", "ours") or "ours"
        self.side = asked.get("side") or None
        self.phases = None if asked.get("phase") == "all" else SETTLED
        self.fact = asked.get("fact") or "shot"

    def runs(self, name: str | None = None) -> list[Row]:
        """The runs shown; those of one name."""

        def shown() -> list[Row]:
            return [
                row
                for row in self.book.rows["runs"]
                if self.here(row)
                and row["team"] == self.team
                and (self.phases is None or row["phase"] in self.phases)
                and (self.side is None or row["side"] == self.side)
            ]

        held = self.book.kept(("runs", self.key), shown)
        return held if name is None else [row for row in held if self.book.name(row) == name]

    def possessions(self, team: str | None = None) -> list[Row]:
        """The possessions shown, of the page's team or of the one named; with a side, those with such a run."""

        def shown() -> list[Row]:
            return [
                row
                for row in self.book.rows["possessions"]
                if self.here(row)
                and row["team"] == (team or self.team)
                and (self.side is None or any(run["side"] == self.side for run in self.book.runs_of.get(row["id"], ())))
            ]

        return self.book.kept(("possessions", team, self.key), shown)

    def rows(self, table: str, team: str | None = None) -> list[Row]:
        """The rows of another table that are shown."""

        def shown() -> list[Row]:
            return [
                row
                for row in self.book.rows[table]
                if self.here(row)
                and row.get("team", "ours") == (team or self.team)
                and (self.side is None or (self.book.run_of(row) or {}).get("side") == self.side)
            ]

        return self.book.kept((table, team, self.key), shown)

    def here(self, row: Row) -> bool:
        """Whether a row is of these games, this period, this strength."""
        return (
            row["game"] in self.games
            and (self.period is None or row["period"] == self.period)
            and (not self.strength or self.book.strength(row) == self.strength)
        )

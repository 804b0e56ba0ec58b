"""A season folder: one team, one season.

Settings, playbook and roster are text files; games, films and the journal are in the database; everything else is
worked out from these. Each has its noun: `season.texts`, `season.games`, `season.shelf`, `season.journal`,
`season.tagged`.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from tagger.games import Games
from tagger.marks.journal import Journal
from tagger.shelf.shelf import Shelf
from tagger.store.before_opening import DATABASE, must_be_season
from tagger.store.database import Store
from tagger.store.exchange import finish
from tagger.store.past_damage import damage_of_rows, open_past_damage
from tagger.tagged import Tagged
from tagger.texts.current import CurrentTexts

REEL_FOLDER = "reels"


class Season:
    """An open season folder.

    Parameters
    ----------
    folder : Path
        The folder.
    make : bool
        Make its database where none lies.
    read_only, past_damage : bool
        Only look: nothing in the folder is written, made or changed; even if it is damaged, at all that can be read.
    vocabulary : mapping, optional
        What can be marked; the package's own when left out.

    Raises
    ------
    NoSeason
        It holds no season, or a database without its settings.
    tagger.store.database.StoreError
        Its database is not there, or cannot be used.
    """

    def __init__(
        self,
        folder: Path,
        *,
        make: bool = False,
        read_only: bool = False,
        past_damage: bool = False,
        vocabulary: Mapping[str, Any] | None = None,
    ) -> None:
        self.folder = folder
        finish(folder)  # of a restoring that was cut short
        must_be_season(folder)
        path = folder / DATABASE
        opened = open_past_damage(path) if past_damage else (Store(path, make=make, read_only=read_only), ())
        self.store, self._damage = opened
        self.journal = Journal(self.store)
        self.shelf = Shelf(self.store, folder)
        self.games = Games(self.store)
        self.texts = CurrentTexts(folder, vocabulary)
        self.tagged = Tagged(self.journal, self.games, self.shelf, self.texts)

    @classmethod
    def open(cls, folder: Path | str, **how: Any) -> Season:
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

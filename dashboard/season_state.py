"""What a page can depend on beside its address, told cheaply: so that one rendering serves all who ask for the same.

Working out the tables takes a while; whether anything changed since does not. The database says whether it was written
to (`PRAGMA data_version` for others' commits, the connection's own count for its own), the texts have their dates, and
where films lie and what can't be read is looked at once a second.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tagger.game import Game
    from tagger.season import Season
    from tagger.shelf.films import Film
    from tagger.texts.folder import Texts

CHECK_EVERY_S = 1.0


@dataclass(frozen=True)
class SeasonState:
    """How the season stands, as far as pages show it.

    Attributes
    ----------
    seq : int
        The place of the journal's last entry.
    games : tuple of Game
        With the book each is counted from.
    texts : Texts
        Settings, playbook, roster, lines, the question.
    films : tuple of Film
        With where they lie.
    damage : tuple of str
        What can't be read.
    day : str
        Today: what is kept long enough goes by days.
    """

    seq: int
    games: tuple[Game, ...]
    texts: Texts
    films: tuple[Film, ...]
    damage: tuple[str, ...] = ()
    day: str = ""

    def same_but_for_marks(self, other: SeasonState) -> bool:
        """Whether only marks were added between the two.

        Parameters
        ----------
        other : SeasonState
            The other.

        Returns
        -------
        bool
            True also where nothing was.
        """
        mine, others = ((one.games, one.films, one.damage, one.day) for one in (self, other))
        return mine == others and self.texts is other.texts


class SeasonWatch:
    """Says how the season stands.

    Parameters
    ----------
    season : Season
        The open season.
    clock : callable, optional
        Seconds that only grow.
    """

    def __init__(self, season: Season, clock: Callable[[], float] = time.monotonic) -> None:
        self._season = season
        self._clock = clock
        self._local = threading.local()
        self._guard = threading.Lock()
        self._checked: tuple[float, SeasonState] | None = None

    def now(self) -> SeasonState:
        """The season as it stands.

        Returns
        -------
        SeasonState
            Marks, games and texts as of now; where only marks came, films as of a second ago at most.
        """
        db = self._season.store.connection()
        written = (db.execute("PRAGMA data_version").fetchone()[0], db.total_changes)
        texts, now = self._season.texts.now(), self._clock()
        held: tuple[Any, float, SeasonState] | None = getattr(self._local, "held", None)
        if held and held[0] == written and held[2].texts is texts and now - held[1] < CHECK_EVERY_S:
            return held[2]
        checked_at, state = self._worked_out(texts, now)
        self._local.held = (written, checked_at, state)
        return state

    def _worked_out(self, texts: Texts, now: float) -> tuple[float, SeasonState]:
        season = self._season
        seq = season.store.connection().execute("SELECT max(seq) FROM journal").fetchone()[0] or 0
        games = tuple(season.games.all())
        with self._guard:
            held = self._checked
        if held and now - held[0] < CHECK_EVERY_S and held[1].games == games and held[1].seq != seq:
            return held[0], replace(held[1], seq=seq, texts=texts)
        films = tuple(
            film for game in games for film in (*season.shelf.films(game.id), *season.shelf.other_films(game.id))
        )
        made = SeasonState(seq, games, texts, films, season.damage, date.today().isoformat())
        with self._guard:
            self._checked = (now, made)
        return now, made

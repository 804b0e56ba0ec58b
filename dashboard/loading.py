"""What the pages stand on: the present moment of the season, kept until something changes."""

from __future__ import annotations

import threading
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from dashboard.clips import MOMENTS, clip_of, moment_row
from dashboard.moment import Moment
from dashboard.outside import seen_outside
from tagger.care import SCREEN
from tagger.screen.visitor import goes_to

if TYPE_CHECKING:
    from dashboard.copies.keeper import Keeper
    from tagger.season import Season
    from tagger.shelf.films import Film


class Filmed:
    """Which rows of the tables some film shows.

    Parameters
    ----------
    moment : Moment
        The season.
    ready : mapping of str to tuple of Film
        Game → films that can be played.
    """

    def __init__(self, moment: Moment, ready: Mapping[str, tuple[Film, ...]]) -> None:
        self.moment = moment
        self.ready = ready
        self._ids: dict[str, frozenset[str]] = {}

    def ids(self, table: str) -> frozenset[str]:
        """The rows of one table that have film.

        Parameters
        ----------
        table : str
            As `runs`.

        Returns
        -------
        frozenset of str
            Their ids.
        """
        held = self._ids.get(table)
        if held is None:
            rows = self.moment.rows(table).items()
            found = [id_ for id_, row in rows if clip_of(table, row).pieces(self.ready.get(row["game"], ()))]
            held = self._ids[table] = frozenset(found)
        return held

    def count(self, table: str, ids: Iterable[str]) -> int:
        """How many of some rows have film.

        Parameters
        ----------
        table : str
            Theirs.
        ids : iterable of str
            Ids of rows.

        Returns
        -------
        int
            Up to their number.
        """
        if table == MOMENTS:
            rows = [moment_row(id_) for id_ in ids]
            return sum(bool(row and clip_of(table, row).pieces(self.ready.get(row["game"], ()))) for row in rows)
        return len(self.ids(table).intersection(ids))


class Present:
    """Gives the present moment of a season, as it may be seen where it is asked for.

    Parameters
    ----------
    season : Season
        The open season.
    to : str, optional
        Where what is made of it is seen: SCREEN, FILE or DEVICE of `tagger.care`. Left out, each request says so itself
        (`tagger.screen.visitor.goes_to`); what is made outside of any request is for the laptop's own screen.
    """

    def __init__(self, season: Season, to: str | None = None) -> None:
        self.season = season
        self.to = to
        self._guard = threading.Lock()
        self._steady = threading.local()
        self._held: tuple[tuple[Any, ...], dict[str, Moment]] | None = None
        self._filmed: dict[str, Filmed] = {}
        self.keeper: Keeper | None = None

    def now(self, to: str | None = None) -> Moment:
        """The season as it is now.

        Parameters
        ----------
        to : str, optional
            Where it is seen, when that is another place than its own.

        Returns
        -------
        Moment
            The same object until marks, games, films' places or texts change; one for the laptop's screen, others for
            what leaves it, so that the two never mix.
        """
        to = to or self.to or goes_to()
        steady: dict[str, Moment] | None = getattr(self._steady, "moments", None)
        moments = self._moments() if steady is None else steady
        with self._guard:
            if to not in moments:
                moments[to] = seen_outside(moments[SCREEN], to)
            return moments[to]

    @contextmanager
    def steady(self) -> Iterator[None]:
        """One moment for all that this thread asks for in a block: a page is of one state of the season, and marks that
        come while it is worked out cost it nothing.

        Yields
        ------
        None
            Nothing.
        """
        self._steady.moments = self._moments()
        try:
            yield
        finally:
            del self._steady.moments

    def _moments(self) -> dict[str, Moment]:
        from analysis.codes import coded
        from tagger.tables import frames

        season = self.season
        with self._guard:
            games = tuple(season.games.all())
            texts = season.texts.now()
            kept = {game.id: season.tagged.kept(game.id) for game in games}
            stamp = (games, texts, tuple(one.version for one in kept.values()))
            if self._held is None or self._held[0] != stamp:
                folded = {game: one.folded for game, one in kept.items()}
                language = season.texts.language()
                tables = coded(frames(*(one.rows for one in folded.values()), tables=language.tables))
                made = Moment(
                    texts.settings,
                    texts.playbook,
                    texts.roster,
                    problems=season.texts.problems,
                    language=language,
                    games=games,
                    folded=folded,
                    tables=tables,
                    stated_question=texts.stated_question,
                    earlier_questions=texts.earlier_questions,
                )
                self._held = (stamp, {SCREEN: made})
            return self._held[1]

    def filmed(self) -> Filmed:
        """Which rows have film that can be played now.

        Returns
        -------
        Filmed
            For the present moment.
        """
        moment = self.now()
        ready = {
            game.id: tuple(film for film in self.season.shelf.films(game.id) if film.state == "ready")
            for game in moment.games
        }
        with self._guard:
            held = self._filmed.get(moment.to)
            if held is None or held.moment is not moment or held.ready != ready:
                held = self._filmed[moment.to] = Filmed(moment, ready)
            return held

    def films(self, game: str) -> list[Film]:
        """The films of a game as they lie now; a card may have been pulled since.

        Parameters
        ----------
        game : str
            Its id.

        Returns
        -------
        list of Film
            In order.
        """
        return self.season.shelf.films(game)

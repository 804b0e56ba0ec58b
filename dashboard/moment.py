"""The season as it is at one moment, tables and texts together: what every page is made of."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any, TypeVar

from tagger.care import SCREEN, GoingOut, going_out
from tagger.marked_players import MarkedPlayers
from tagger.naming import called

if TYPE_CHECKING:
    import pandas as pd

    from dashboard.clips import Clip
    from tagger.game import Game
    from tagger.marks.fold import Folded
    from tagger.marks.vocabulary import Language
    from tagger.texts.earlier import EarlierQuestion
    from tagger.texts.playbook import Playbook
    from tagger.texts.problem import TextProblem
    from tagger.texts.roster import Player
    from tagger.texts.settings import Settings
    from tagger.texts.stated import StatedQuestion

T = TypeVar("T")


@dataclass(frozen=True)
class Moment:
    """The season as it is at one moment.

    Attributes
    ----------
    settings, playbook, roster, problems
        What the text files say, and where they are wrong.
    language : Language
        The vocabulary with this playbook.
    games : tuple of Game
        By date.
    folded : mapping of str to Folded
        Game → its chosen book's tables, log and problems.
    tables : mapping of str to DataFrame
        Event tables of all games, repeated words as categories (`analysis.codes.coded`).
    stated_question : StatedQuestion or None
        What the coach stated before tagging.
    earlier_questions : tuple of EarlierQuestion
        What was stated before it.
    to : str
        Where it is seen, as `tagger.care` has it. Anywhere but on the laptop's own screen names that may not go there
        stand nowhere in it: not on the roster, not in notes, sentences and problems. Whoever keeps something that was
        made of a moment keeps it for that moment only.
    """

    settings: Settings
    playbook: Playbook
    roster: tuple[Player, ...]
    problems: tuple[TextProblem, ...]
    language: Language
    games: tuple[Game, ...]
    folded: Mapping[str, Folded]
    tables: Mapping[str, pd.DataFrame]
    stated_question: StatedQuestion | None = None
    earlier_questions: tuple[EarlierQuestion, ...] = ()
    to: str = SCREEN
    _rows: dict[str, dict[str, dict[str, Any]]] = field(default_factory=dict, repr=False, compare=False)
    _kept: dict[Any, Any] = field(default_factory=dict, repr=False, compare=False)

    def kept(self, key: tuple[Any, ...], make: Callable[[], T]) -> T:
        """What was worked out before from this moment's tables; worked out now, the first time.

        Parameters
        ----------
        key : tuple
            What it is, with everything it depends on beside the moment.
        make : callable
            Works it out.

        Returns
        -------
        object
            What `make` gave; nobody may change it.
        """
        if key not in self._kept:
            self._kept[key] = make()
        made: T = self._kept[key]
        return made

    def game(self, id_: str) -> Game | None:
        """One game, or None.

        Parameters
        ----------
        id_ : str
            Its id.

        Returns
        -------
        Game or None
            None when there is no such game.
        """
        return next((game for game in self.games if game.id == id_), None)

    def rows(self, table: str) -> dict[str, dict[str, Any]]:
        """The rows of one event table by their ids.

        Parameters
        ----------
        table : str
            As `runs`.

        Returns
        -------
        dict of str to dict
            As folded: a missing value is None or not there.
        """
        held = self._rows.get(table)
        if held is None:
            held = {row["id"]: row for one in self.folded.values() for row in one.rows.get(table, ())}
            self._rows[table] = held
        return held

    @cached_property
    def families(self) -> dict[str, str]:
        """What a team without a playbook here does, by the vocabulary's codes: code → name."""
        asked = self.language.question("family", "family")
        return {choice["code"]: choice["name"] for choice in asked["choices"]} if asked else {}

    def name_of(self, play: str) -> str:
        """Today's name of a set, or of a family of action.

        Parameters
        ----------
        play : str
            Its code.

        Returns
        -------
        str
            The code itself when nothing has it.
        """
        if play in self.playbook.by_code:
            return self.playbook.name_of(play)
        return self.families.get(play, play).capitalize()

    @cached_property
    def sentences(self) -> dict[str, str]:
        """Every mark that stands, as its sentence, by the mark's id."""
        return {
            logged.mark.id: logged.text for one in self.folded.values() for logged in one.log if not logged.mark.removed
        }

    @cached_property
    def shots_of_run(self) -> dict[str, list[dict[str, Any]]]:
        """Rows of shots by the id of the run they stand in, in order of time."""
        found: dict[str, list[dict[str, Any]]] = {}
        for row in self.rows("shots").values():
            if row.get("run") is not None:
                found.setdefault(row["run"], []).append(row)
        return found

    @cached_property
    def first_screen(self) -> dict[str, int]:
        """When a run's first screen comes, ms of the game's time line, by the run's id."""
        found: dict[str, int] = {}
        for row in self.rows("screens").values():
            if row.get("run") is not None:
                found[row["run"]] = min(int(row["at_ms"]), found.get(row["run"], int(row["at_ms"])))
        return found

    @cached_property
    def players(self) -> dict[str, Player]:
        """The roster by number."""
        return {player.number: player for player in self.roster}

    def called(self, number: str) -> str:
        """What to call one of ours where this is seen.

        Parameters
        ----------
        number : str
            His number.

        Returns
        -------
        str
            "14 Elias Brandvold", or "14" where names don't go and for a stranger.
        """
        player = self.players.get(number)
        return called(player) if player else number

    @cached_property
    def marked(self) -> dict[str, MarkedPlayers]:
        """Who of ours is marked when, by game."""
        return {game: MarkedPlayers(one.rows, self.language.tables) for game, one in self.folded.items()}

    def going_out(
        self, clips: Iterable[Clip], *, to: str | None = None, said_to_be_there: bool = False
    ) -> GoingOut[Clip]:
        """Which clips may be seen; see `tagger.care.going_out`.

        Parameters
        ----------
        clips : iterable of Clip
            What is to be shown or cut.
        to : str, optional
            Where; left out: where this moment is seen.
        said_to_be_there : bool
            Somebody at the laptop has the consent that the roster lacks.

        Returns
        -------
        GoingOut
            What goes and what not.
        """
        days = {game.id: game.date for game in self.games}
        care = self.settings.care
        return going_out(clips, self.marked, days, self.roster, care, to or self.to, said_to_be_there=said_to_be_there)

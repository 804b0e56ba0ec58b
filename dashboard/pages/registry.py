"""The pages of numbers, a line each: navigation, addresses, the report and the tests read them here."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from dashboard.pages import (
    agreement,
    clock,
    contests,
    game,
    games,
    goalkeeper,
    goals,
    man_up,
    one_set,
    opponents,
    playbook,
    player,
    players,
    screens,
    season,
    sets,
    shots,
    stated,
    work,
)
from dashboard.pages.filters import choices_in

if TYPE_CHECKING:
    from collections.abc import Mapping

    from dash.development.base_component import Component

    from dashboard.moment import Moment

SEASON, GAME = "season", "game"
"""Reports that there are: of the whole season, of one game."""
BOTH = (SEASON, GAME)
WEEK, GAMES, OFFENCE, DEFENCE, PEOPLE, PLAYBOOK, QUESTION = (
    "Week",
    "Games",
    "Offence",
    "Defence",
    "People",
    "Playbook",
    "Question",
)
WAYS = (WEEK, GAMES, OFFENCE, DEFENCE, PEOPLE)
"""The ways through the pages, in order; every page is on one of them, or at the side."""
SIDE = (PLAYBOOK, QUESTION)
WHOLE = ("The whole season.",)
ONE_GAME = ("The whole game, both teams.",)


def _nothing(moment: Moment, of: str) -> Mapping[str, str]:
    return {}


@dataclass(frozen=True)
class Page:
    """One page.

    Attributes
    ----------
    code : str
        What it is known by.
    make : callable
        Makes it of the season, what of it is asked, and what was chosen; nothing where there is none of it.
    address : str
        Where it is found; a part in braces is which one of it: {game}, {set}, {player}.
    way : str
        Which of `WAYS` it is on, or which of `SIDE`.
    name : str
        As the row of its way's pages says it; empty where it is not in it.
    printed : tuple of str
        The reports in which it stands, in the order of `PAGES`, once for each of what it is of.
    says : tuple of str
        What part of the season it shows, as a sentence; its choices in braces (`filters.sentence`).
    sheet_each : str
        The choice of its sentence for each of whose ways the season's report has a sheet; empty for one sheet in all.
    usual : callable
        Of the season and of which one: what it shows where nothing is chosen, when that is not the first of a choice.
    """

    code: str
    make: Callable[..., list[Component]]
    address: str
    way: str
    name: str = ""
    printed: tuple[str, ...] = ()
    says: tuple[str, ...] = WHOLE
    usual: Callable[[Moment, str], Mapping[str, str]] = field(default=_nothing)
    sheet_each: str = ""

    @property
    def choices(self) -> tuple[str, ...]:
        """The choices that its sentence has; others in the address are carried on and change nothing here."""
        return choices_in(self.says)

    @property
    def each(self) -> str:
        """What it is one of: "game", "set", "player"; empty when there is one alone."""
        return self.address.partition("{")[2].partition("}")[0]

    def asked(self, parts: Sequence[str]) -> str | None:
        """Which one of it an address asks for.

        Parameters
        ----------
        parts : sequence of str
            The address's, between its strokes.

        Returns
        -------
        str or None
            Empty when there is one alone; None when the address is not this page's.
        """
        own = [part for part in self.address.split("/") if part]
        if len(own) != len(parts):
            return None
        braced = "{" + self.each + "}"
        if any(part not in (braced, given) for part, given in zip(own, parts, strict=True)):
            return None
        return next((given for part, given in zip(own, parts, strict=True) if part == braced), "")


PAGES: dict[str, Page] = {
    page.code: page
    for page in (
        Page("", season.page, "/", WEEK, "Week", (SEASON,)),
        Page("question", stated.page, "/question", QUESTION, "Question"),
        Page("all_games", games.page, "/games", GAMES, "All games"),
        Page("games", game.page, "/games/{game}", GAMES, "", (GAME,), says=ONE_GAME),
        Page("agreement", agreement.page, "/games/{game}/agreement", GAMES, says=ONE_GAME),
        Page("sets", sets.page, "/sets", OFFENCE, "Sets", BOTH, says=sets.FILTER),
        Page("set", one_set.page, "/sets/{set}", OFFENCE, "", (SEASON,), says=one_set.FILTER, usual=one_set.usual),
        Page("screens", screens.page, "/screens", OFFENCE, "Screens", (SEASON,), says=screens.FILTER),
        Page("shots", shots.page, "/shots", OFFENCE, "Shots", BOTH, says=shots.FILTER),
        Page("man_up", man_up.up, "/man-up", OFFENCE, "Man-up", says=man_up.FILTER),
        Page("clock", clock.page, "/shot-clock", OFFENCE, "Shot clock", says=clock.FILTER),
        Page("goals", goals.page, "/goals", DEFENCE, "Goals against", BOTH, says=shots.FILTER),
        Page(
            "opponents",
            opponents.page,
            "/opponents",
            DEFENCE,
            "Opponents",
            (SEASON,),
            says=opponents.FILTER,
            sheet_each="opponent",
        ),
        Page("man_down", man_up.down, "/man-down", DEFENCE, "Man-down", says=man_up.FILTER),
        Page("goalkeeper", goalkeeper.page, "/goalkeeper", DEFENCE, "Goalkeeper", says=goalkeeper.FILTER),
        Page("players", players.page, "/players", PEOPLE, "Players", BOTH, says=players.FILTER),
        Page("player", player.page, "/players/{player}", PEOPLE),
        Page("work", work.page, "/work", PEOPLE, "Work", says=work.FILTER),
        Page("contests", contests.page, "/face-offs", PEOPLE, "Face-offs", says=contests.FILTER),
        Page("playbook", playbook.page, "/playbook", PLAYBOOK, "Playbook", says=("All sets of the playbook file.",)),
    )
}


def within(way: str) -> tuple[Page, ...]:
    """The pages of a way that stand in its row.

    Parameters
    ----------
    way : str
        One of `WAYS` or `SIDE`.

    Returns
    -------
    tuple of Page
        In order, each with its name; the first is where the way leads.
    """
    return tuple(page for page in PAGES.values() if page.way == way and page.name)


def way_to(code: str) -> str:
    """Which page of its way's row leads to a page.

    Parameters
    ----------
    code : str
        A page's.

    Returns
    -------
    str
        Its code: the page itself, or the nearest above its address; "nowhere" for what is no page.
    """
    if code not in PAGES:
        return "nowhere"
    address = PAGES[code].address
    above = [page for page in within(PAGES[code].way) if f"{address}/".startswith(f"{page.address.rstrip('/')}/")]
    return max(above, key=lambda page: len(page.address)).code

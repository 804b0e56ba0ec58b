"""The pages of numbers, a line each: navigation, addresses, the report and the tests read them here."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from dashboard.pages import (
    agreement,
    clock,
    contests,
    game,
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
    stated,
    work,
)

if TYPE_CHECKING:
    from dash.development.base_component import Component

SEASON, GAME = "season", "game"
"""Reports that there are: of the whole season, of one game."""
BOTH = (SEASON, GAME)


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
    name : str
        As the navigation says it; empty where it is not in it.
    printed : tuple of str
        The reports in which it stands, in the order of `PAGES`, once for each of what it is of.
    """

    code: str
    make: Callable[..., list[Component]]
    address: str
    name: str = ""
    printed: tuple[str, ...] = ()

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
        Page("", season.page, "/", "Season", (SEASON,)),
        Page("question", stated.page, "/question"),
        Page("games", game.page, "/games/{game}", "", (GAME,)),
        Page("agreement", agreement.page, "/games/{game}/agreement"),
        Page("sets", sets.page, "/sets", "Sets", BOTH),
        Page("set", one_set.page, "/sets/{set}", "", (SEASON,)),
        Page("screens", screens.page, "/screens", "Screens", BOTH),
        Page("players", players.page, "/players", "Players", BOTH),
        Page("player", player.page, "/players/{player}"),
        Page("goals", goals.page, "/goals", "Goals", BOTH),
        Page("goalkeeper", goalkeeper.page, "/goalkeeper", "Goalkeeper", BOTH),
        Page("man_up", man_up.page, "/man-up", "Man-up", BOTH),
        Page("contests", contests.page, "/face-offs", "Face-offs", BOTH),
        Page("clock", clock.page, "/shot-clock", "Shot clock", BOTH),
        Page("work", work.page, "/work", "Work", BOTH),
        Page("opponents", opponents.page, "/opponents", "Opponents", BOTH),
        Page("playbook", playbook.page, "/playbook", "Playbook"),
    )
}


def ways() -> tuple[Page, ...]:
    """The pages of the navigation.

    Returns
    -------
    tuple of Page
        In order, each with its name.
    """
    return tuple(page for page in PAGES.values() if page.name)


def way_to(code: str) -> str:
    """Which page of the navigation leads to a page.

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
    above = [page for page in ways() if f"{address}/".startswith(f"{page.address.rstrip('/')}/")]
    return max(above, key=lambda page: len(page.address)).code

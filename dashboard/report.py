"""The staff report: sheets for the wall and the binder, as one HTML file that is read and printed without the program.

A game is two pages; of the season there is a sheet each for the week, the sets, every set, the screens, shots and
goals, every opponent and the players. Every sheet says above it which team, which part of the season and which day,
for sheets come apart. What a page folds away stands there as its answer (`dashboard.on_paper`); all of it, and what
other pages say, is in the program. The look is `assets/paper.css`, on A4 and Letter alike.
"""

from __future__ import annotations

import base64
import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from dash import html

from dashboard.loading import Present
from dashboard.on_paper import on_paper
from dashboard.outputs import REPORT_MARK
from dashboard.outside import lacking, unnamed
from dashboard.pages import ids
from dashboard.pages.filters import options, plainly
from dashboard.pages.markup import markup
from dashboard.pages.registry import GAME, PAGES, SEASON
from dashboard.pages.shell import ASSETS, STYLES, Place, content, damaged
from tagger.care import FILE, SCREEN
from tagger.screen.opening import day_of, title_of

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from dashboard.moment import Moment
    from tagger.game import Game
    from tagger.season import Season

_COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
_FONT = re.compile(r'url\("(fonts/[^"]+)"\)')
_FLOORS = ("shots", "goals")
_ON_ITS_PAGE = ("sets", "goals", "players")
"""Of a game's two pages: what follows on the page that another begins."""
CARE = "It holds what was marked of each player: keep it among the staff, and delete it when asked."


@dataclass(frozen=True)
class Written:
    """A report, and what was left unsaid in it.

    Attributes
    ----------
    text : str
        One HTML document that loads nothing.
    unnamed : str
        Who stands by number, and how many notes were changed for that, in words for the laptop.
    """

    text: str
    unnamed: str


def report(season: Season, game: Game | None = None, *, day: str = "") -> Written:
    """Write the report.

    Parameters
    ----------
    season : Season
        The open season.
    game : Game, optional
        Only this game; the whole season when left out.
    day : str
        When it is written, as "2026-11-25"; nothing is said when left out.

    Returns
    -------
    Written
        With names only where the season lets them go out (`tagger.care`).
    """
    present = Present(season, FILE)
    moment = present.now()
    team = f"{moment.settings.team} {moment.settings.age_group}".strip()
    title = team if game is None else title_of(season, game)
    places = _places(moment, game)
    written = f"written on {day_of(day)}" if day else ""
    sections: list[html.Section] = []
    meaning: Component | None = None
    for place in places:
        made = content(present, place)
        if game and made and getattr(made[-1], "id", "") == ids.MEANT:
            meaning = made.pop()  # pages of a game stay together: once, at the end of the first
        kind = f"sheet sheet-{place.page or 'week'}"
        whose: list[Component | str] = [] if game and place.page in _ON_ITS_PAGE else [html.B(title), written]
        sections.append(html.Section([_above(moment, place, whose), *on_paper(made)], className=kind))
    sheets: list[Component] = _two_pages(sections, meaning) if game else [*sections]
    about = [f"{title}, {written}. " if day else f"{title}. ", CARE, _rest(game)]
    head = html.P([*about, f" {lacking(moment)}" if lacking(moment) else ""], className="soft cover")
    text = (
        f'<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8"><title>{markup(title)}</title>'
        f'<meta name="generator" content="{REPORT_MARK}">'
        f'<meta name="viewport" content="width=device-width"><style>{_look()}</style></head>'
        f'<body class="paper report {GAME if game else SEASON}">'
        f"{markup([*damaged(season.damage), head, *sheets])}</body></html>\n"
    )
    return Written(text, unnamed(present.now(SCREEN), FILE))


def _two_pages(sections: list[html.Section], meaning: Component | None) -> list[Component]:
    """A game’s: its floors, ours and theirs, beside each other begin the second; what a range means ends the first."""
    said = [] if meaning is None else [on_paper(meaning)]
    floors = [each for each in sections if str(getattr(each, "className", "")).endswith(_FLOORS)]
    if len(floors) != len(_FLOORS):
        return [*sections, *said]
    at = sections.index(floors[0])
    return [
        *sections[:at],
        *said,
        html.Div(floors, className="floors"),
        *(each for each in sections[at:] if each not in floors),
    ]


def _rest(game: Game | None) -> str:
    """What stands on no sheet: whoever reads it should not take it for all there is."""
    kept = GAME if game else SEASON
    names = [page.name for page in PAGES.values() if page.name and page.printed and kept not in page.printed]
    names += [page.name for page in PAGES.values() if page.name and not page.printed]
    return f" In the program alone: {', '.join(dict.fromkeys(names))}."


def _above(moment: Moment, place: Place, whose: list[Component | str]) -> Component:
    """The line above a sheet."""
    page = PAGES[place.page]
    chosen = {name: value for name, value in place.chosen.items() if name in page.choices}
    said = plainly(moment, chosen, page.says, page.usual(moment, place.of)).rstrip(".")
    parts = [*whose[:1], *([page.name] if page.name else []), said, *(each for each in whose[1:] if each)]
    return html.P([part for each in parts for part in (" · ", each)][1:], className="above")


def _places(moment: Moment, game: Game | None) -> list[Place]:
    """The pages of a report: those of what there are several, once for each set run, each opponent, each game."""
    ran = {row.get("set") for row in moment.rows("runs").values() if row.get("team") == "ours"}
    sets = [play.code for play in moment.playbook.sets if play.code in ran]
    each = {"set": sets, "game": [game.id] if game else [one.id for one in moment.games]}
    chosen = {"games": game.id} if game else {}
    places = []
    for page in PAGES.values():
        if (GAME if game else SEASON) not in page.printed:
            continue
        if page.each:
            places += [Place(page.code, of, {}) for of in each[page.each]]
        elif page.sheet_each and not game:
            every = [option.code for option in options(moment)[page.sheet_each] if option.code]
            places += [Place(page.code, "", {page.sheet_each: code}) for code in every]
        else:
            places.append(Place(page.code, "", chosen))
    return places


def _look() -> str:
    """The pages' own style with what paper changes of it, and its typeface, in the file itself."""
    from tagger.screen import blueprint

    static = Path(blueprint.__file__).parent / "static"

    def font(found: re.Match[str]) -> str:
        data = base64.b64encode((static / found[1]).read_bytes()).decode("ascii")
        return f'url("data:font/woff2;base64,{data}")'

    sheets = [static / "fonts.css", static / "tokens.css", *(ASSETS / name for name in (*STYLES, "paper.css"))]
    return "".join(_FONT.sub(font, _COMMENT.sub("", path.read_text(encoding="utf-8"))) for path in sheets)

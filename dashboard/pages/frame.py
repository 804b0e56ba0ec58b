"""What stands above every page: the ways, the pages within one, and one line that says what part is shown.

What was chosen goes along from page to page in the address, also over pages whose sentence has no such choice.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from dash import dcc, html
from flask import current_app, has_app_context

from dashboard.doors.threshold import SERVED
from dashboard.pages import ids
from dashboard.pages.filters import carried, sentence
from dashboard.pages.registry import PAGES, SIDE, WAYS, Page, way_to, within
from tagger.screen.opening import day_of
from tagger.screen.visitor import visitor

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from dashboard.moment import Moment
    from tagger.texts.settings import Settings

KEEP = "keep this view"
THEME = "light or dark"


def heading(settings: Settings, code: str, chosen: Mapping[str, str]) -> list[Component]:
    """The first row of every page.

    Parameters
    ----------
    settings : Settings
        The season's.
    code : str
        Which page is shown.
    chosen : mapping of str to str
        From its address.

    Returns
    -------
    list of Component
        The team, the ways, and what stands at the side.
    """
    on = PAGES[code].way if code in PAGES else ""
    ways = [_way(way, within(way)[0], way == on, chosen) for way in WAYS]
    side: list[Any] = [html.A("Film", href="/films")] if visitor().at_laptop else []
    if visitor().at_laptop and has_app_context() and SERVED in current_app.config:
        side.append(html.A("Who may come in", href="/doors"))
    side += [_way(way, within(way)[0], way == on, chosen) for way in SIDE]
    name_it: dict[str, Any] = {"aria-label": THEME, "data-theme-switch": ""}
    theme = html.Button("◐", type="button", className="theme", title=THEME, **name_it)
    team = f"{settings.team} {settings.age_group}".strip()
    return [html.Div([html.B(team), html.Nav([*ways, html.Span(className="gap"), *side, theme])], className="top")]


def rows_within(moment: Moment, code: str, of: str, chosen: Mapping[str, str]) -> list[Component]:
    """The pages within the way: beside the page shown, or the games before and after the one shown.

    Parameters
    ----------
    moment : Moment
        The season.
    code, of : str
        Which page is shown, and which one of it.
    chosen : mapping of str to str
        From its address.

    Returns
    -------
    list of Component
        One row; nothing where the way is a single page.
    """
    if code not in PAGES:
        return []
    on = way_to(code)
    pages = within(PAGES[code].way)
    links: list[Any] = [_way(page.name, page, page.code == on and not of, chosen) for page in pages]
    if PAGES[code].each == "game":
        links += _games(moment, of, chosen)
    elif of:
        links = [_way(page.name, page, page.code == on, chosen) for page in pages]
    if len(links) < 2:
        return []
    name_it: dict[str, Any] = {"aria-label": PAGES[code].way}
    return [html.Nav(links, className="within", **name_it)]


def line(moment: Moment, code: str, of: str, chosen: Mapping[str, str]) -> list[Component]:
    """What part of the season is shown, as a sentence whose words can be changed; it stays in sight.

    Parameters
    ----------
    moment : Moment
        The season.
    code, of : str
        Which page is shown, and which one of it.
    chosen : mapping of str to str
        From its address.

    Returns
    -------
    list of Component
        The sentence, and where views are kept.
    """
    if code not in PAGES:
        return []
    page = PAGES[code]
    path = page.address.format(**{page.each: of}) if page.each else page.address
    said = sentence(moment, path, chosen, page.says, page.usual(moment, of))
    keep = html.Details([html.Summary(KEEP), html.Div(id=ids.VIEWS)], className="choice keep")
    return [html.Div([said, keep], className="said")]


def _way(name: str, page: Page, on: bool, chosen: Mapping[str, str]) -> Component:
    return dcc.Link(name, href=carried(page.address, chosen), className="on" if on else None)


def _games(moment: Moment, of: str, chosen: Mapping[str, str]) -> list[Component]:
    """The game shown between its neighbours."""
    ids_ = [game.id for game in moment.games]
    if of not in ids_:
        return []
    place = ids_.index(of)
    made: list[Component] = []
    for at, before, after in ((place - 1, "‹ ", ""), (place, "", ""), (place + 1, "", " ›")):
        if not 0 <= at < len(ids_):
            continue
        game = moment.games[at]
        day = day_of(game.date).rsplit(" ", 1)[0]
        words = f"{game.opponent}, {day}" if at == place else f"{before}{game.opponent}{after}"
        link = dcc.Link(words, href=carried(f"/games/{game.id}", chosen), className="on" if at == place else None)
        made.append(link)
    return made

"""What stands around every page: the heading with its ways, the docked film, and which page an address means."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import parse_qs, unquote

from dash import Dash, Input, Output, dcc, html
from flask import request

from dashboard.pages import ids
from dashboard.pages.callbacks import guard_callbacks
from dashboard.pages.filters import CHOICES, carried
from dashboard.pages.frame import heading, line, rows_within
from dashboard.pages.markup import settled
from dashboard.pages.numbers import meant
from dashboard.pages.registry import PAGES
from dashboard.serving.render_once import render_once
from tagger.screen.visitor import visitor

if TYPE_CHECKING:
    from dash.development.base_component import Component
    from flask import Flask, Response

    from dashboard.loading import Present
    from dashboard.moment import Moment
    from tagger.season import Season

ASSETS = Path(__file__).resolve().parents[1] / "assets"
MOST_DAMAGE = 5

STYLES = ("pages.css", "figures.css", "drawn.css", "sets.css", "people.css")
"""How pages look, in the browser and in a report; the film tray, which no report has, comes after them."""
INDEX = """<!DOCTYPE html>
<html lang="en">
<head>
{%metas%}
<title>{%title%}</title>
<link rel="icon" href="/assets/icon.svg" type="image/svg+xml">
<link rel="stylesheet" href="/screen/fonts.css">
<link rel="stylesheet" href="/screen/tokens.css">
{%css%}
{%pages_css%}
<script src="/assets/theme.js"></script>
<script type="module" src="/assets/dock.js"></script>
<script type="module" src="/assets/moving.js"></script>
<script type="module" src="/assets/marks.js"></script>
<script type="module" src="/assets/drawn.js"></script>
<script type="module" src="/assets/both_films.js"></script>
<script type="module" src="/assets/copying.js"></script>
</head>
<body class="paper">
{%app_entry%}
<footer>{%config%}{%scripts%}{%renderer%}</footer>
</body>
</html>""".replace(
    "{%pages_css%}",
    "\n".join(f'<link rel="stylesheet" href="/assets/{name}">' for name in (*STYLES, "dock.css")),
)


@dataclass(frozen=True)
class Place:
    """Where an address leads: a page, what of it, and what was chosen."""

    page: str
    of: str
    chosen: Mapping[str, str]


def create_pages(present: Present, server: Flask) -> Dash:
    """Put the Dash pages into a server.

    Parameters
    ----------
    present : Present
        The season.
    server : Flask
        The application they live in.

    Returns
    -------
    Dash
        Its callbacks read from it; nothing is kept between readers.
    """
    into: Any = server  # a Flask application is one of the servers it takes
    app = Dash(
        "dashboard",
        server=into,
        assets_folder=str(ASSETS),
        include_assets_files=False,
        serve_locally=True,
        suppress_callback_exceptions=True,
        index_string=INDEX,
        title="floorbook",
        update_title="",
        add_log_handler=False,
        enable_mcp=False,
    )
    app.layout = lambda: layout(present.season)

    @app.callback(
        Output(ids.PAGE, "children"),
        Output(ids.HEADER, "children"),
        Input(ids.URL, "pathname"),
        Input(ids.URL, "search"),
    )
    def show(pathname: str | None, search: str | None) -> tuple[list[Component], list[Component]]:
        place = place_of(pathname, search)
        made = [*damaged(present.season.damage, whole=visitor().at_laptop), *content(present, place)]

        def way(href: str) -> str:
            return carried(href, place.chosen)

        return settled(made, way), settled(above(present.now(), place))

    app.clientside_callback(
        "function(page, header){document.dispatchEvent(new CustomEvent('floorbook:page'));return ''}",
        Output(ids.TITLE_SINK, "children"),
        Input(ids.PAGE, "children"),
        Input(ids.HEADER, "children"),
    )
    guard_callbacks(app, server)
    render_once(server, present)
    policy = content_policy(app.csp_hashes())

    @server.after_request
    def keep_to_itself(answer: Response) -> Response:
        if (request.endpoint or "").startswith("/") and answer.mimetype == "text/html":  # Dash names its pages by path
            answer.headers["Content-Security-Policy"] = policy
        return answer

    return app


def content_policy(scripts: Sequence[str]) -> str:
    """What a page may load and where it may send: nothing but this server.

    Parameters
    ----------
    scripts : sequence of str
        Hashes of the inline scripts that Dash writes into the page, each in single quotes.

    Returns
    -------
    str
        The header's value. Styles may be inline: every drawn bar has its place in one.
    """
    return "; ".join(
        (
            "default-src 'self'",
            " ".join(("script-src 'self'", *scripts)),
            "style-src 'self' 'unsafe-inline'",
            "img-src 'self' data: blob:",
            "media-src 'self' blob:",
            "object-src 'none'",
            "base-uri 'self'",
            "form-action 'self'",
            "frame-ancestors 'self'",
        )
    )


def place_of(pathname: str | None, search: str | None) -> Place:
    """Read an address.

    Parameters
    ----------
    pathname, search : str or None
        As the browser has them: "/players/14", "?team=ours".

    Returns
    -------
    Place
        A page of `PAGES`, or "nowhere" with what was asked for as `of`.
    """
    parts = [unquote(part) for part in (pathname or "/").split("/") if part]
    chosen = {name: values[-1] for name, values in parse_qs((search or "").lstrip("?")).items()}
    for page in PAGES.values():
        of = page.asked(parts)
        if of is not None:
            return Place(page.code, of, chosen)
    return Place("nowhere", "/".join(parts), chosen)


def content(present: Present, place: Place) -> list[Component]:
    """What a page says.

    Parameters
    ----------
    present : Present
        The season.
    place : Place
        Where to.

    Returns
    -------
    list of Component
        Beginning with its heading.
    """
    page = PAGES.get(place.page)
    if page is None:
        return nowhere(place.of)
    asked = {name: value for name, value in place.chosen.items() if name in page.choices or name not in CHOICES}
    made = page.make(present, place.of, asked) or nowhere(place.of)
    return [*made, *meant(made)]


def damaged(damage: Sequence[str], *, whole: bool = True) -> list[Component]:
    """What stands above everything when part of the season can't be read.

    Parameters
    ----------
    damage : sequence of str
        A line each.
    whole : bool
        With the lines; who looks from elsewhere is told only that it is so.

    Returns
    -------
    list of Component
        Nothing when all can be read.
    """
    if not damage:
        return []
    n_more = len(damage) - MOST_DAMAGE
    lines = [*damage[:MOST_DAMAGE], *([f"and {n_more} more; `floorbook check` lists them"] if n_more > 0 else [])]
    head = "Part of this season can’t be read: what stands here is counted from the rest."
    return [html.Div([html.P(html.B(head)), *(html.P(line) for line in (lines if whole else ()))], className="damage")]


def first_page(present: Present) -> list[Component]:
    """What is asked for first, so that it is there when it is.

    Parameters
    ----------
    present : Present
        The season.

    Returns
    -------
    list of Component
        The front.
    """
    return content(present, Place("", "", {}))


def nowhere(of: str) -> list[Component]:
    """What is said where nothing is.

    Parameters
    ----------
    of : str
        What was asked for.

    Returns
    -------
    list of Component
        With a way on.
    """
    return [
        html.H1("There is no such page"),
        html.P(["Nothing is called “", of, "” here. ", dcc.Link("All games", "/")]),
    ]


def above(moment: Moment, place: Place) -> list[Component]:
    """What stands above a page.

    Parameters
    ----------
    moment : Moment
        The season.
    place : Place
        Where to.

    Returns
    -------
    list of Component
        The ways, the pages within one, and the line that says what is shown.
    """
    code, of, chosen = place.page, place.of, place.chosen
    return [
        *heading(moment.settings, code, chosen),
        *rows_within(moment, code, of, chosen),
        *line(moment, code, of, chosen),
    ]


def layout(season: Season) -> Component:
    """Everything that stays while pages change; the film among it, so that it plays on.

    Parameters
    ----------
    season : Season
        The season; its tables are not asked for, since what stays must not wait for them.

    Returns
    -------
    Component
        The application's layout.
    """
    return html.Div(
        [
            dcc.Location(id=ids.URL, refresh=False),
            html.A("To the page", href=f"#{ids.PAGE}", className="skip"),
            html.Header(heading(season.texts.settings, "", {}), id=ids.HEADER),
            html.Div(
                [html.Main(id=ids.PAGE, tabIndex=-1), html.Aside(id=ids.DOCK, className="dock")], className="columns"
            ),
            html.Div(id=ids.TITLE_SINK, hidden=True),
        ]
    )

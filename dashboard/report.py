"""The staff report: the pages of numbers as one HTML file that can be read and printed without the program.

What plays in the page is plain text here; choices, forms and drawn plots, which need the program, are left out.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dash import dcc, html
from dash.development.base_component import Component

from dashboard.loading import Present
from dashboard.outputs import REPORT_MARK
from dashboard.outside import lacking, unnamed
from dashboard.pages.drawing import Drawn
from dashboard.pages.markup import markup
from dashboard.pages.registry import GAME, PAGES, SEASON
from dashboard.pages.shell import ASSETS, Place, content, damaged
from tagger.care import FILE, SCREEN
from tagger.screen.opening import day_of, title_of

if TYPE_CHECKING:
    from dashboard.moment import Moment
    from tagger.game import Game
    from tagger.season import Season

_LEFT_OUT = frozenset({"onscreen", "filter", "contents", "ways", "books"})
_SHEET = re.compile(r"/\*.*?\*/", re.DOTALL)
_PRINTED = (
    ".report>p{margin-bottom:1.5rem}body{max-width:64rem;margin:0 auto;padding:2rem}section{margin-bottom:3rem}"
    "@media print{section{break-before:page}section:first-of-type{break-before:auto}tr{break-inside:avoid}}"
)
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
    sections = [html.Section(_on_paper(content(present, place))) for place in places]
    when = f"Written on {day_of(day)}. " if day else ""
    head = html.P([f"{title}. {when}", CARE, f" {lacking(moment)}" if lacking(moment) else ""], className="soft")
    sheet = "".join(_SHEET.sub("", path.read_text(encoding="utf-8")) for path in _sheets())
    text = (
        f'<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8"><title>{markup(title)}</title>'
        f'<meta name="generator" content="{REPORT_MARK}">'
        f'<meta name="viewport" content="width=device-width"><style>{sheet}{_PRINTED}</style></head>'
        f'<body class="paper report">{markup([*damaged(season.damage), head, *sections])}</body></html>\n'
    )
    return Written(text, unnamed(present.now(SCREEN), FILE))


def _places(moment: Moment, game: Game | None) -> list[Place]:
    """The pages of a report: those of what there are several, once for each set that was run, and for the game."""
    ran = {row.get("set") for row in moment.rows("runs").values() if row.get("team") == "ours"}
    sets = [play.code for play in moment.playbook.sets if play.code in ran]
    each = {"set": sets, "game": [game.id] if game else [one.id for one in moment.games]}
    chosen = {"games": game.id} if game else {}
    places = []
    for page in PAGES.values():
        if (GAME if game else SEASON) in page.printed:
            places += (
                [Place(page.code, of, {}) for of in each[page.each]] if page.each else [Place(page.code, "", chosen)]
            )
    return places


def _sheets() -> tuple[Path, ...]:
    from tagger.screen import blueprint

    from_assets = (ASSETS / name for name in ("pages.css", "figures.css", "drawn.css", "sets.css"))
    return Path(blueprint.__file__).parent / "static" / "tokens.css", *from_assets


def _on_paper(part: Any) -> Any:
    """A part of a page without what needs the program."""
    if isinstance(part, list | tuple):
        return [made for each in part if (made := _on_paper(each)) is not None]
    if not isinstance(part, Component):
        return part
    classes = set(str(getattr(part, "className", None) or "").split())
    if classes & _LEFT_OUT or isinstance(part, html.Form | dcc.Graph):
        return None
    inside = _on_paper(getattr(part, "children", None))
    if isinstance(part, Drawn):
        return part.on_paper(inside)
    if isinstance(part, dcc.Link | html.A | html.Button) or "plays" in classes:
        return html.Span(inside)
    kept = {name: value for name, value in part.to_plotly_json()["props"].items() if name not in ("children", "id")}
    if isinstance(part, html.Details):
        kept["open"] = True
    kind: Any = type(part)
    return kind(inside, **kept)

"""Screens in two grids: how they were covered by who came free, and who set them by who used them.

A dot is as large as its screens are many and plays them. Fewer than the coach's small n are single hollow marks.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import sqrt
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.names import UNANSWERED, answer_name, blank, free_name
from dashboard.pages.numbers import plays, rate_words, table
from dashboard.pages.players import name_of
from dashboard.story import when

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from dashboard.loading import Filmed
    from dashboard.moment import Moment

COVERED, PAIRED = "Who came free, by how they were covered", "Who sets for whom"
_FREE_IN_ORDER = ("user", "setter", "third_man", "nobody", "illegal", "unseen", None)
_LARGEST_PX, _SMALLEST_PX = 30, 7


def coverage_grid(moment: Moment, filmed: Filmed, rows: Sequence[Mapping[str, Any]]) -> list[Component]:
    """A row a coverage, a column for who came free.

    Parameters
    ----------
    moment, filmed
        The season, and which rows have film.
    rows : sequence of mapping
        Rows of `analysis.screens.screens` by `coverage`.

    Returns
    -------
    list of Component
        The grid, with how often somebody came free at the end of each row; what to answer where nobody did.
    """
    if not any(not blank(row["coverage"]) for row in rows):
        return [html.P("How they were covered is not answered in these screens; at full detail it is asked.")]
    rows = sorted(rows, key=lambda row: (blank(row["coverage"]) or row["coverage"] == "unseen", -int(row["screens"])))
    screens = moment.rows("screens")

    def free_of(id_: str) -> str | None:
        answer = screens[id_].get("free")
        return None if blank(answer) else str(answer)

    there = {free_of(str(id_)) for row in rows for id_ in row["screens_ids"]}
    columns = [
        *(code for code in _FREE_IN_ORDER if code in there),
        *sorted(str(code) for code in there - {*_FREE_IN_ORDER}),
    ]
    cells = {
        (at, code): [str(id_) for id_ in row["screens_ids"] if free_of(str(id_)) == code]
        for at, row in enumerate(rows)
        for code in columns
    }
    most = max(len(ids) for ids in cells.values())
    head = [html.Th("Covered", className="l"), *(html.Th(free_name(moment, code)) for code in columns)]
    head.append(html.Th("Somebody came free", className="l"))
    lines = []
    for at, row in enumerate(rows):
        name = UNANSWERED if blank(row["coverage"]) else answer_name(moment, "screen", "coverage", row["coverage"])
        made: list[Component] = [html.Th(f"{name[:1].upper()}{name[1:]}", scope="row")]
        for code in columns:
            what = f"Covered: {name} → came free: {free_name(moment, code)}"
            made.append(html.Td(_cell(moment, filmed, cells[at, code], what, most)))
        said = rate_words(filmed, row, "freed", "screens", f"Covered: {name}, screens that freed somebody")
        lines.append(html.Tr([*made, html.Td(said, className="w")]))
    return [table(head, lines, "dotted")]


def pair_grid(moment: Moment, filmed: Filmed, rows: Sequence[Mapping[str, Any]]) -> list[Component]:
    """A row for who set, a column for who used.

    Parameters
    ----------
    moment, filmed
        The season, and which rows have film.
    rows : sequence of mapping
        Rows of `analysis.screens.screens` by `setter` and `user`, both known.

    Returns
    -------
    list of Component
        The grid; players by how many screens they have a part in.
    """
    found = {(str(row["setter"]), str(row["user"])): row for row in rows}
    if not found:
        return [html.P("No screen names both its setter and its user. Answer who set it and who used it.")]
    parts: tuple[dict[str, int], dict[str, int]] = ({}, {})
    for pair, row in found.items():
        for at in (0, 1):
            parts[at][pair[at]] = parts[at].get(pair[at], 0) + int(row["screens"])
    setters, users = (sorted(part, key=lambda man, part=part: (-part[man], man)) for part in parts)  # type: ignore[misc]
    most = max(int(row["screens"]) for row in found.values())
    ours = any(row["team"] == "ours" for row in rows)

    def who(number: str) -> str:
        return f"{number} {name_of(moment, number)}".strip() if ours else f"their {number}"

    head = [html.Th("Set by, for", className="l"), *(html.Th(user, title=who(user)) for user in users)]
    lines = []
    for setter in setters:
        made: list[Component] = [html.Th(setter, scope="row", title=who(setter))]
        for user in users:
            row = found.get((setter, user), {})
            ids = [str(id_) for id_ in row.get("screens_ids", ())]
            made.append(html.Td(_dot(moment, filmed, ids, f"{setter} for {user}, screens", most)))
        lines.append(html.Tr(made))
    return [table(head, lines, "dotted pairs")]


def _cell(moment: Moment, filmed: Filmed, ids: Sequence[str], what: str, most: int) -> Any:
    """One dot, or single marks where there are few."""
    if not ids or len(ids) >= moment.settings.small_n:
        return _dot(moment, filmed, ids, what, most)
    screens, has_film = moment.rows("screens"), filmed.ids("screens")
    made: list[Any] = []
    for id_ in ids:
        game = moment.game(str(screens[id_]["game"]))
        said = f"{what}, {game.opponent if game else screens[id_]['game']}, {when(screens[id_])}"
        if id_ in has_film:
            data: dict[str, Any] = {"data-table": "screens", "data-ids": id_, "data-what": said}
            made.append(html.Button(className="plays ring", type="button", title=said, **data))
        else:
            made.append(html.I(className="ring", title=f"{said} (no film)"))
    walk: dict[str, Any] = {"data-marks": "", "aria-label": what}
    return [html.Div(made, className="rings", role="group", **walk), plays(filmed, str(len(ids)), "screens", ids, what)]


def _dot(moment: Moment, filmed: Filmed, ids: Sequence[str], what: str, most: int) -> Any:
    if not ids:
        return html.Span("·", className="few")
    wide = max(_SMALLEST_PX, _LARGEST_PX * sqrt(len(ids) / max(most, 1)))
    few = " few" if len(ids) < moment.settings.small_n else ""
    dot = html.I(className="disc", style={"width": f"{wide:.0f}px", "height": f"{wide:.0f}px"})
    return plays(filmed, [dot, html.Span(str(len(ids)))], "screens", ids, what, f"spot{few}")

"""All that each player did, role by role, in one table."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, TypeAlias

from dash import dcc, html

from dashboard.pages.numbers import count_of, plays
from tagger.care import SCREEN
from tagger.tables import SOMEBODY

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from dashboard.loading import Filmed
    from dashboard.moment import Moment

Columns: TypeAlias = Sequence[tuple[str, Sequence[tuple[str, str, str]]]]
GROUPS: Columns = (
    ("Shot", (("shots", "shots", "shots"), ("shots_on_goal", "on goal", "shots"), ("goals", "goals", "shots"))),
    ("Fed", (("feeds", "shots", "shots"), ("feed_goals", "goals", "shots"))),
    ("Set screens", (("screens_set", "set", "screens"), ("freed", "freed one", "screens"))),
    ("Used screens", (("screens_used", "used", "screens"), ("came_free", "came free", "screens"))),
    ("Ball", (("turnovers", "lost", "turnovers"),)),
    ("At any strength", (("loose_balls", "won loose", "loose_balls"), ("caused", "won off them", "turnovers"))),
)


def _with_numbers(rows: Sequence[Mapping[str, Any]]) -> Columns:
    """The columns without those in which nobody has anything: what was not looked for is not nothing."""
    made = []
    for title, columns in GROUPS:
        there = tuple(each for each in columns if any(_counted(row, each[0]) for row in rows))
        if title == GROUPS[0][0]:
            there = tuple(columns)
        if there:
            made.append((title, there))
    return made


def _counted(row: Mapping[str, Any], name: str) -> int:
    return int(row[f"{name}_n"] if f"{name}_n" in row else row[name])


def in_every_role(
    moment: Moment,
    filmed: Filmed,
    rows: Sequence[Mapping[str, Any]],
    ours: bool,
    name_of: Callable[[Moment, str], str],
) -> Component:
    """The table.

    Parameters
    ----------
    moment, filmed
        The season, and which rows have film.
    rows : sequence of mapping
        Rows of `analysis.players`, each with a number.
    ours : bool
        Whether they are ours, who have names and pages.
    name_of : callable
        A player's name.

    Returns
    -------
    Component
        A line a man; no column in which nobody has anything.
    """
    groups = _with_numbers(rows)
    top = html.Tr(
        [
            html.Td("", colSpan=2),
            *(html.Th(title, colSpan=len(columns), className="group") for title, columns in groups),
        ]
    )
    second = html.Tr(
        [
            html.Td("", className="number"),
            html.Th("Player" if ours else "Number", className="l"),
            *(
                html.Th(title, className="first" if place == 0 else None)
                for _, columns in groups
                for place, (_, title, _) in enumerate(columns)
            ),
        ]
    )
    lines = [_row(moment, filmed, row, name_of(moment, str(row["player"])) if ours else None, groups) for row in rows]
    made = html.Table([html.Thead([top, second]), html.Tbody(lines)], className="players")
    name_it: dict[str, Any] = {"aria-label": "players by role"}
    return html.Div(made, className="frame", tabIndex=0, role="group", **name_it)


def _row(moment: Moment, filmed: Filmed, row: Mapping[str, Any], name: str | None, groups: Columns) -> Component:
    number = str(row["player"])
    who = f"their {number}" if name is None else f"{number} {name}".strip()
    first: Any = dcc.Link(number, href=f"/players/{number}") if name is not None else number
    cells = [
        html.Th(first, scope="row", className="number"),
        html.Td(name or "", className="l name" if moment.to == SCREEN else "l"),
    ]
    for _, columns in groups:
        for place, (name, title, kind) in enumerate(columns):
            cells.append(
                html.Td(_number(filmed, row, name, kind, f"{who}, {title}"), className="first" if place == 0 else None)
            )
    return html.Tr(cells)


def _number(filmed: Filmed, row: Mapping[str, Any], name: str, kind: str, what: str) -> Component:
    if str(row["player"]) == SOMEBODY:  # no film of who was erased is put together
        n = int(row[f"{name}_n"]) if f"{name}_n" in row else 0
        return html.Span(f"{int(row[f'{name}_k'])} of {n}" if n else str(int(row[name])) if name in row else "")
    if f"{name}_k" not in row:
        if int(row[name]) == 0:
            return html.Span("0", className="few")
        return count_of(filmed, row, name, kind, what)
    k, n = int(row[f"{name}_k"]), int(row[f"{name}_n"])
    if n == 0:
        return html.Span("", className="few")
    return html.Span([plays(filmed, str(k), kind, row[f"{name}_ids"], what), html.Span(f" of {n}", className="soft")])

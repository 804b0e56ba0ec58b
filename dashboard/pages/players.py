"""The players by what they did: who shot, who fed, who set and used the screens, who lost the ball."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, TypeAlias

import pandas as pd
from dash import dcc, html

from dashboard.pages.filters import WHERE, slice_of
from dashboard.pages.numbers import count_of, plays, records, table
from dashboard.pages.on_floor import feeds_of, per_game_of, per_minute_of
from tagger.care import SCREEN
from tagger.tables import SOMEBODY

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.slice import Slice
    from dashboard.loading import Filmed, Present
    from dashboard.moment import Moment

FILTER = ("Showing ", "{team}", " players in ", *WHERE, ", ", "{strength}", ".")
Columns: TypeAlias = Sequence[tuple[str, Sequence[tuple[str, str, str]]]]
GROUPS: Columns = (
    ("Shot", (("shots", "shots", "shots"), ("shots_on_goal", "on goal", "shots"), ("goals", "goals", "shots"))),
    ("Fed", (("feeds", "shots", "shots"), ("feed_goals", "goals", "shots"))),
    ("Set screens", (("screens_set", "set", "screens"), ("freed", "freed one", "screens"))),
    ("Used screens", (("screens_used", "used", "screens"), ("came_free", "came free", "screens"))),
    ("Ball", (("turnovers", "lost", "turnovers"),)),
    ("At any strength", (("loose_balls", "won loose", "loose_balls"), ("caused", "won off them", "turnovers"))),
)


def page(present: Present, of: str, chosen: Mapping[str, str]) -> list[Component]:
    """The players' page.

    Parameters
    ----------
    present : Present
        The season.
    of
        Not asked.
    chosen : mapping of str to str
        What part of the season.

    Returns
    -------
    list of Component
        The page.
    """
    from dataclasses import replace

    from analysis.players import players

    moment, filmed = present.now(), present.filmed()
    part = replace(slice_of(moment, chosen), phases=None, sides=None)
    rows = records(players(moment.tables, part, small_n=moment.settings.small_n))
    ours = part.team == "ours"
    known = [row for row in rows if _is_man(row["player"])]
    blank = [row for row in rows if not _is_man(row["player"])]
    top = [html.H1("Who did what?")]
    if not known:
        said = "No mark here names a player yet. Numbers come with shots, screens and lost balls."
        return [*top, html.P(said), *(_roster(moment) if ours else [])]
    return [
        *top,
        *_caveats(moment, part.games, ours, blank),
        _table(moment, filmed, known, ours, _with_numbers(known)),
        *(_missing(moment, known, part.games) if ours else []),
        *_together(moment, filmed, part, known),
    ]


def _together(moment: Moment, filmed: Filmed, part: Slice, rows: Sequence[Mapping[str, Any]]) -> list[Component]:
    """Per minute on the floor, and by pairs; of theirs in one game alone, where a number is one man."""
    ours = part.team == "ours"
    if not ours and len(moment.games if part.games is None else part.games) > 1:
        return []

    def named(number: str) -> str:
        return f"{number} {name_of(moment, number)}".strip() if ours else f"their {number}"

    return [
        html.H2("How much per minute on the floor?", id="minute"),
        *per_minute_of(moment, filmed, part, named),
        *per_game_of(filmed, rows, named),
        html.H2("Who feeds whom?", id="feeds"),
        *feeds_of(moment, filmed, part, named),
    ]


def name_of(moment: Moment, number: str) -> str:
    """A player's name.

    Parameters
    ----------
    moment : Moment
        The season.
    number : str
        His number.

    Returns
    -------
    str
        "not on the roster" for a stranger, "(erased)" for whoever was taken out of the season; empty where names don't
        go.
    """
    if number == SOMEBODY:
        return "(erased)"
    player = moment.players.get(number)
    return player.name if player else "not on the roster"


def kept_apart(rows: Sequence[Mapping[str, Any]], *columns: str) -> list[dict[str, Any]]:
    """Rows of men, of which those who were erased play nothing: no film of them is put together.

    Parameters
    ----------
    rows : sequence of mapping
        Of a result table.
    *columns : str
        Where the men's numbers stand.

    Returns
    -------
    list of dict
        The same rows; one that names somebody erased has no ids.
    """
    return [
        {name: () if name.endswith("_ids") else value for name, value in row.items()}
        if any(str(row[column]) == SOMEBODY for column in columns)
        else dict(row)
        for row in rows
    ]


def _is_man(player: Any) -> bool:
    """Whether a row is a player's: one with a number, or those who were erased, in one row."""
    return not pd.isna(player) and (str(player).isdigit() or str(player) == SOMEBODY)


def _caveats(
    moment: Moment, games: tuple[str, ...] | None, ours: bool, blank: Sequence[Mapping[str, Any]]
) -> list[Component]:
    said = []
    if not ours and (games is None or len(games) > 1) and len(moment.games) > 1:
        said.append("Numbers of different teams stand in one line here; choose one game.")
    shots = sum(int(row["shots"]) for row in blank)
    if shots:
        said.append(
            f"{shots} shot{'s' if shots != 1 else ''} without a known shooter {'are' if shots != 1 else 'is'} left out."
        )
    return [html.P(" ".join(said), className="lede")] if said else []


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


def _table(moment: Moment, filmed: Filmed, rows: Sequence[Mapping[str, Any]], ours: bool, groups: Columns) -> Component:
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
    lines = [_row(moment, filmed, row, ours, groups) for row in rows]
    made = html.Table([html.Thead([top, second]), html.Tbody(lines)], className="players")
    name_it: dict[str, Any] = {"aria-label": "players by role"}
    return html.Div(made, className="frame", tabIndex=0, role="group", **name_it)


def _row(moment: Moment, filmed: Filmed, row: Mapping[str, Any], ours: bool, groups: Columns) -> Component:
    number = str(row["player"])
    who = f"{number} {name_of(moment, number)}".strip() if ours else f"their {number}"
    first: Any = dcc.Link(number, href=f"/players/{number}") if ours else number
    cells = [
        html.Th(first, scope="row", className="number"),
        html.Td(name_of(moment, number) if ours else "", className="l name" if moment.to == SCREEN else "l"),
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


def _missing(moment: Moment, rows: Sequence[Mapping[str, Any]], games: tuple[str, ...] | None) -> list[Component]:
    """Who is not in the table: marked for something else or at another strength, or named by no mark at all."""
    there = {str(row["player"]) for row in rows}
    marked = {
        number for game, found in moment.marked.items() if games is None or game in games for number in found.numbers
    }
    rest = [player.number for player in moment.roster if player.number not in there]
    made: list[Component] = []
    for words, numbers in (
        ("Marked in these games, but for nothing that stands here: ", [one for one in rest if one in marked]),
        ("Named by no mark of these games: ", [one for one in rest if one not in marked]),
    ):
        if numbers:
            said: list[Any] = [words]
            for place, number in enumerate(numbers):
                said += [", " if place else "", dcc.Link(moment.called(number), href=f"/players/{number}")]
            made.append(html.P([*said, "."], className="soft below"))
    return made


def _roster(moment: Moment) -> list[Component]:
    lines = [
        html.Tr([html.Th(player.number, scope="row"), html.Td(player.name, className="l"), html.Td(player.position)])
        for player in moment.roster
    ]
    return [html.H2("On the roster"), table([], lines)] if lines else []

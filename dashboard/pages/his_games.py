"""A player's games as columns: in each, his marks role by role, a shape for what came of it; and his earlier games
beside his later ones."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from dash import dcc, html

from dashboard.pages.deeds import ROLES, kinds_of, legend, marks_of
from dashboard.pages.grid import a_game
from dashboard.pages.numbers import plays, rate_words, records, table
from tagger.screen.opening import day_of

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from dashboard.loading import Filmed
    from dashboard.moment import Moment

LINES: Sequence[tuple[str, str, str, str, str]] = (
    *((role.title, role.table, f"{role.count}_ids", role.many, role.rate) for role in ROLES.values()),
    ("Grades", "grades", "done_n_ids", "grades", "done"),
)
"""Title, event table, the ids of `analysis.players`, what they are called, and the rate of them."""
CAME = {
    **{role.rate: role.that for role in ROLES.values() if role.rate},
    "done": "grades that were plus",
}
FEWEST_GAMES = 2


def his_games(moment: Moment, filmed: Filmed, row: Mapping[str, Any], name: str) -> list[Component]:
    """The figure.

    Parameters
    ----------
    moment, filmed
        The season, and which rows have film.
    row : mapping
        His row of `analysis.players`.
    name : str
        What he is called.

    Returns
    -------
    list of Component
        A line a role, a column a game, and at the end of the line what it comes to; what the shapes say.
    """
    lines = [line for line in LINES if len(row[line[2]])]
    if not lines:
        return []
    games = _games(moment, lines, row)
    head: list[Component] = [html.Th("What he did", className="l")]
    for id_ in games:
        game = moment.game(id_)
        day = day_of(game.date).rsplit(" ", 1)[0] if game else ""
        shown = dcc.Link(game.opponent, href=f"/games/{id_}") if game else id_
        head.append(html.Th([shown, html.Small(day)]))
    head.append(html.Th("In all", className="l"))
    made = [_line(moment, filmed, row, name, line, games) for line in lines]
    there = {kind for line in lines for kind in kinds_of(moment, line[1], row[line[2]])}
    said = legend(there, "A mark each time:", class_name="pip")
    return [html.Div([table(head, made, "his-games"), said])]


def _games(moment: Moment, lines: Sequence[tuple[str, str, str, str, str]], row: Mapping[str, Any]) -> list[str]:
    """The games in which he stands in a line, in order."""
    there = {str(moment.rows(line[1])[str(id_)]["game"]) for line in lines for id_ in row[line[2]]}
    return [game.id for game in moment.games if game.id in there]


def _line(
    moment: Moment,
    filmed: Filmed,
    row: Mapping[str, Any],
    name: str,
    line: tuple[str, str, str, str, str],
    games: Sequence[str],
) -> Component:
    title, kind, column, many, rate = line
    ids = [str(id_) for id_ in row[column]]
    cells: list[Component] = []
    for id_ in games:
        its = [one for one in ids if moment.rows(kind)[one]["game"] == id_]
        game = moment.game(id_)
        inside = marks_of(filmed, kind, its, f"{name}, {many}", class_name="pip") if its else ""
        cells.append(html.Td(inside, className=None if its else "none", **_data(game=game.opponent if game else id_)))
    if rate:
        said = rate_words(filmed, row, rate, kind, f"{name}, {CAME[rate]}")
    else:
        said = a_game(filmed, row, f"{column.removesuffix('_ids')}_per_game", kind, f"{name}, {many}")
    every = plays(filmed, str(len(ids)), kind, ids, f"{name}, {many}, all of them")
    first = html.Th([title, " ", every], scope="row")
    return html.Tr([first, *cells, html.Td(said, className="w")])


def earlier_and_later(moment: Moment, filmed: Filmed, row: Mapping[str, Any], name: str) -> tuple[str, list[Component]]:
    """His earlier games beside his later ones, counted; that nothing is said of it.

    Parameters
    ----------
    moment, filmed
        The season, and which rows have film.
    row : mapping
        His row of `analysis.players`.
    name : str
        What he is called.

    Returns
    -------
    tuple of (str, list of Component)
        The answer, and what stands under it.
    """
    from analysis.players import players
    from analysis.slice import Slice

    games = _games(moment, LINES, row)
    if len(games) < FEWEST_GAMES:
        return "one game says nothing of it", [html.P("It takes two games to set one beside the other.")]
    half = len(games) // 2
    sides = []
    for part in (games[:half], games[half:]):
        cut = Slice(team="ours", games=tuple(part))
        rows = records(players(moment.tables, cut, small_n=moment.settings.small_n))
        sides.append(next((each for each in rows if each["player"] == row["player"]), None))
    head = [html.Th("Share", className="l"), html.Th(f"First {half} of his games", className="l")]
    head.append(html.Th(f"Last {len(games) - half}", className="l"))
    lines = []
    for _, kind, _, _, rate in LINES:
        if not rate or not any(side is not None and int(side[f"{rate}_n"]) for side in sides):
            continue
        words = CAME[rate]
        cells = [
            html.Td(
                rate_words(filmed, side, rate, kind, f"{name}, {words}, {when}") if side is not None else "–",
                className="w",
            )
            for side, when in zip(sides, ("earlier", "later"), strict=True)
        ]
        lines.append(html.Tr([html.Th(f"{words[:1].upper()}{words[1:]}", scope="row", className="plain"), *cells]))
    if not lines:
        return "too little to say", [html.P("None of his marks makes a share yet.")]
    return "too little to say; both are counted side by side", [
        html.P(NOT_SAID, className="lede"),
        table(head, lines, "asked"),
    ]


NOT_SAID = (
    "Two numbers of one man differ from one half of his games to the other by chance alone, and he met others in them. "
    "So nothing is said of a change here: watch both."
)


def _data(**given: str) -> dict[str, Any]:
    return {f"data-{name}": value for name, value in given.items()}

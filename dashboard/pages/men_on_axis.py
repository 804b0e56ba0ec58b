"""Players on one axis, a line a man: what is plausible, his share or how often a game, and a mark for each time."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.deeds import Role, kinds_of, legend, marks_of
from dashboard.pages.grid import a_game
from dashboard.pages.numbers import bar, plausibly, plays, rate_words, table

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from dashboard.loading import Filmed

EACH = "Each time, in order"
FIRST_MEN = 12
"""Lines that are seen at once; those with fewer stand folded below them."""
MOST_BESIDE = 60
"""Marks in one line of a row; what is more stands in a second line below."""
SCALES = (1, 2, 4, 8, 12, 20, 40)
"""How far an axis of so many a game can reach."""
Named = Callable[[Mapping[str, Any]], tuple[Any, str, str]]


def men_on_axis(filmed: Filmed, rows: Sequence[Mapping[str, Any]], role: Role, named: Named) -> list[Component]:
    """The figure.

    Parameters
    ----------
    filmed : Filmed
        Which rows have film.
    rows : sequence of mapping
        Rows of `analysis.players`, each with something in the role, from top to bottom.
    role : Role
        What is drawn.
    named : callable
        A row's name as it is shown, the name in plain words, and what stands quietly below.

    Returns
    -------
    list of Component
        A table: the name, the figure, the number in words; the rest of the men folded; what the shapes say.
    """
    most = max((int(row[role.count]) for row in rows), default=1)
    reach = _reach(rows, role)
    n_games = max((int(row["games"]) for row in rows), default=1)
    style = {"--most": str(min(most, MOST_BESIDE)), "--games": str(n_games)}
    ids = [id_ for row in rows for id_ in row[f"{role.count}_ids"]]
    said = legend(kinds_of(filmed.moment, role.table, ids), "A mark each time, game after game:")
    made: list[Component] = [_table(filmed, rows[:FIRST_MEN], role, named, reach), said]
    rest = rows[FIRST_MEN:]
    if rest:
        few = int(rest[0][role.count])
        title = f"{len(rest)} more player{'' if len(rest) == 1 else 's'}, with {few} or fewer"
        made.append(html.Details([html.Summary(title), _table(filmed, rest, role, named, reach)], className="more"))
    return [html.Div(made, style=style, className="men")]


def heading(role: Role) -> str:
    """What stands over the numbers.

    Parameters
    ----------
    role : Role
        What is drawn.

    Returns
    -------
    str
        As "Shots that were goals".
    """
    words = role.that if role.rate else f"{role.many} a game"
    return f"{words[:1].upper()}{words[1:]}"


def _table(filmed: Filmed, rows: Sequence[Mapping[str, Any]], role: Role, named: Named, reach: float) -> Component:
    axis = []
    for at in range(5):
        words = f"{reach * at / 4:g}"
        axis.append(html.I(style={"left": f"{at * 25}%"}, **_data(at=words)))
    head = [
        html.Th("Player", className="l"),
        html.Th([html.Span(EACH, className="unseen"), *axis], className="axis"),
        html.Th(heading(role), className="l"),
    ]
    return table(head, [_line(filmed, row, role, named(row), reach) for row in rows], "on-axis")


def _line(filmed: Filmed, row: Mapping[str, Any], role: Role, name: tuple[Any, str, str], reach: float) -> Component:
    shown, plain, about = name
    n, ids = int(row[role.count]), row[f"{role.count}_ids"]
    rate = role.rate or f"{role.count}_per_game"
    few = bool(row[f"{rate}_few"]) or (bool(role.rate) and n == 0)
    drawn = html.Span(className="bar none") if few else bar(row, rate) if role.rate else _per_game_bar(row, rate, reach)
    said = (
        _share(filmed, row, role, plain, n)
        if role.rate
        else a_game(filmed, row, rate, role.table, f"{plain}, {role.many}")
    )
    marks = marks_of(filmed, role.table, ids, f"{plain}, {role.many}")
    return html.Tr(
        [
            html.Th([shown, html.Small(about)], scope="row"),
            html.Td([drawn, marks], className="figure"),
            html.Td(said, className="w"),
        ],
        className="few-runs" if few else None,
    )


def _share(filmed: Filmed, row: Mapping[str, Any], role: Role, plain: str, n: int) -> Component:
    """A rate in words, both of whose numbers play; where some are not made out, all are counted beside it."""
    every = plays(filmed, str(n), role.table, row[f"{role.count}_ids"], f"{plain}, {role.many}")
    if int(row[f"{role.rate}_n"]) != n or bool(row.get(f"{role.rate}_withheld", False)):
        said = rate_words(filmed, row, role.rate, role.table, f"{plain}, {role.that}")
        return html.Span([said, html.Small(["of all ", every])])
    k = plays(filmed, str(int(row[f"{role.rate}_k"])), role.table, row[f"{role.rate}_ids"], f"{plain}, {role.that}")
    if bool(row[f"{role.rate}_few"]):
        return html.Span([k, " of ", every, html.Small("too few to say")], className="few")
    lo, hi = (float(row[f"{role.rate}_{end}"]) for end in ("lo", "hi"))
    return html.Span([k, " of ", every, html.Small(plausibly(lo, hi))])


def _reach(rows: Sequence[Mapping[str, Any]], role: Role) -> float:
    """How far the axis goes: to 100, or to so many a game."""
    if role.rate:
        return 100
    rate = f"{role.count}_per_game"
    ends = [float(row[f"{rate}_hi"]) for row in rows if not bool(row[f"{rate}_few"])]
    return next((scale for scale in SCALES if scale >= max(ends, default=1)), max(ends, default=1))


def _per_game_bar(row: Mapping[str, Any], rate: str, reach: float) -> Component:
    lo, mid, hi = (min(float(row[f"{rate}{end}"]) / reach, 1) for end in ("_lo", "", "_hi"))
    style = {"--lo": f"{lo * 100:.1f}%", "--p": f"{mid * 100:.1f}%", "--hi": f"{hi * 100:.1f}%"}
    said = f"{float(row[rate]):.1f} a game, plausibly {float(row[f'{rate}_lo']):.1f}–{float(row[f'{rate}_hi']):.1f}"
    name_it: dict[str, Any] = {"aria-label": said}
    return html.Span([html.I(), html.B()], className="bar", style=style, role="img", **name_it)


def _data(**given: str) -> dict[str, Any]:
    return {f"data-{name}": value for name, value in given.items()}

"""Lines on one axis from 0 to 100: what is plausible, the share, and below it one tick a run in order of play.

Another page that counts runs draws its own lines so:

    became = {row["id"]: row["fate"] for row in records(fates(moment.tables, part))}
    on_one_axis(filmed, rows, became, lambda row: (link, "Lantern", "two-man game"), "shot")

with `rows` of any result table that has `runs`, `runs_ids` and the rate's columns; one with other marks than runs takes
`ticks` alone and gives what each mark became, from `FATES`. They are plain elements, each tick that has film a control
with a name; arrows walk along them (`assets/marks.js`), and their look is in `assets/figures.css`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.filters import FACT_WORDS
from dashboard.pages.numbers import bar, plausibly, plays, rate_words, table
from dashboard.story import when

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from dashboard.loading import Filmed

FATES = {
    "goal": "goal",
    "saved": "on goal, no goal",
    "missed": "missed or blocked",
    "shot": "a shot, result not known",
    "penalty": "penalty drawn",
    "pull_out": "pulled out",
    "lost": "ball lost",
    "other": "ended otherwise",
    "unknown": "not answered",
}
"""What a run became (`analysis.fates`), in words; each has its shape in `assets/figures.css`."""
EACH = "Each run, in order"
MOST_BESIDE = 150
"""Ticks in one line of a row; what is more stands in a second line below."""
_AXIS = (0, 25, 50, 75, 100)


def on_one_axis(
    filmed: Filmed,
    rows: Sequence[Mapping[str, Any]],
    became: Mapping[str, str],
    named: Callable[[Mapping[str, Any]], tuple[Any, str, str]],
    fact: str,
    *,
    first: str = "Set",
) -> Component:
    """The figure.

    Parameters
    ----------
    filmed : Filmed
        Which rows have film.
    rows : sequence of mapping
        Rows of `analysis.sets.sets` with at least a run each, from top to bottom.
    became : mapping of str to str
        Run's id → one of `FATES`, in order of play.
    named : callable
        A row's name as it is shown, the name in plain words, and what stands quietly below.
    fact : str
        What is counted, one of `filters.FACT_WORDS`.
    first : str
        Over the names.

    Returns
    -------
    Component
        A table: the name, the figure, the rate in words.
    """
    what = FACT_WORDS[fact]
    axis = [html.I(style={"left": f"{at}%"}, **_data(at=str(at))) for at in _AXIS]
    head = [
        html.Th(first, className="l"),
        html.Th([html.Span(EACH, className="unseen"), *axis], className="axis"),
        html.Th(f"Runs with {what}", className="l"),
    ]
    most = max((int(row["runs"]) for row in rows), default=1)
    n_games = len({filmed.moment.rows("runs")[id_]["game"] for id_ in became})
    place = {id_: at for at, id_ in enumerate(became)}
    made = []
    for row in rows:
        shown, plain, about = named(row)
        ids = sorted((str(id_) for id_ in row["runs_ids"]), key=place.__getitem__)
        few = bool(row[f"{fact}_few"])
        drawn = html.Span(className="bar none") if few else bar(row, fact)
        said = rate_of_runs(filmed, row, fact, plain)
        made.append(
            html.Tr(
                [
                    html.Th([shown, html.Small(about)], scope="row"),
                    html.Td([drawn, ticks(filmed, ids, became, plain)], className="figure"),
                    html.Td(said, className="w"),
                ],
                className="few-runs" if few else None,
            )
        )
    style = {"--most": str(min(most, MOST_BESIDE)), "--games": str(n_games)}
    return html.Div([table(head, made, "on-axis"), key_of_ticks(set(became.values()))], style=style)


def rate_of_runs(filmed: Filmed, row: Mapping[str, Any], fact: str, plain: str) -> Component:
    """A rate in words; its runs play as well as those that count.

    Parameters
    ----------
    filmed : Filmed
        Which runs have film.
    row : mapping
        A row of `analysis.sets.sets`.
    fact : str
        What is counted, one of `filters.FACT_WORDS`.
    plain : str
        Whose they are, in plain words.

    Returns
    -------
    Component
        As "76 of 136, plausibly 47–64 in 100".
    """
    what, n_runs = FACT_WORDS[fact], int(row["runs"])
    runs = plays(filmed, str(n_runs), "runs", row["runs_ids"], f"{plain}, runs")
    if int(row[f"{fact}_n"]) != n_runs:
        said = rate_words(filmed, row, fact, "runs", f"{plain}, runs with {what}")
        return html.Span([said, html.Small([runs, " run" if n_runs == 1 else " runs"])])
    k = plays(filmed, str(int(row[f"{fact}_k"])), "runs", row[f"{fact}_ids"], f"{plain}, runs with {what}")
    if bool(row[f"{fact}_few"]):
        return html.Span([k, " of ", runs, html.Small("too few to say")], className="few")
    return html.Span([k, " of ", runs, html.Small(plausibly(float(row[f"{fact}_lo"]), float(row[f"{fact}_hi"])))])


def ticks(filmed: Filmed, ids: Sequence[str], became: Mapping[str, str], plain: str) -> Component:
    """A row of ticks.

    Parameters
    ----------
    filmed : Filmed
        Which runs have film.
    ids : sequence of str
        The runs, in order.
    became : mapping of str to str
        Run's id → one of `FATES`.
    plain : str
        Whose they are, in plain words.

    Returns
    -------
    Component
        One stop for the keys, from which arrows walk along.
    """
    rows = filmed.moment.rows("runs")
    has_film = filmed.ids("runs")
    made: list[Component] = []
    before, reached = "", False
    for id_ in ids:
        row = rows[id_]
        game = filmed.moment.game(str(row["game"]))
        first = " first" if before and before != row["game"] else ""
        before = str(row["game"])
        said = f"{plain}, {game.opponent if game else before}, {when(row)}: {FATES[became[id_]]}"
        classes = f"tick {became[id_]}{first}"
        if id_ not in has_film:
            made.append(html.I(className=classes, title=f"{said} (no film)"))
            continue
        data = _data(table="runs", ids=id_, what=said)
        keys = -1 if reached else 0
        made.append(html.Button(className=f"plays {classes}", type="button", title=said, tabIndex=keys, **data))
        reached = True
    named: dict[str, Any] = {"aria-label": f"{plain}: {len(ids)} run{'' if len(ids) == 1 else 's'}, in order"}
    return html.Div(made, className="ticks", role="group", **named, **_data(marks=""))


def key_of_ticks(there: set[str]) -> Component:
    """What the ticks' shapes say.

    Parameters
    ----------
    there : set of str
        Which of `FATES` there are.

    Returns
    -------
    Component
        A line.
    """
    shapes = [html.Span([html.I(className=f"tick {code}"), name]) for code, name in FATES.items() if code in there]
    return html.Div(
        [
            html.Span("One tick a run, game after game:"),
            *shapes,
            html.Span("strong: has film and plays", className="onscreen"),
        ],
        className="legend ticked",
    )


def _data(**given: str) -> dict[str, Any]:
    return {f"data-{name}": value for name, value in given.items()}

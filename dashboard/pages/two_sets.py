"""Two sets side by side: how far they are apart, how likely the one is the better, their runs and their looks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from dash import dcc, html

from dashboard.pages.axis import rate_of_runs, ticks
from dashboard.pages.filters import FACT_WORDS
from dashboard.pages.flow import looks_in_order
from dashboard.pages.found import BROUGHT
from dashboard.pages.names import blank
from dashboard.pages.numbers import plays, records
from dashboard.pages.screens import signed
from dashboard.pages.which_set import chance_in_words

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.slice import Slice
    from dashboard.loading import Filmed
    from dashboard.moment import Moment

TITLE = "Two side by side"
ONE, OTHER = "one", "other"
"""Words of the address: which two."""


def two_sets(
    moment: Moment,
    filmed: Filmed,
    part: Slice,
    chosen: Mapping[str, str],
    rows: Sequence[Mapping[str, Any]],
    became: Mapping[str, str],
    *,
    fact: str,
) -> list[Component]:
    """Two of the sets that a page shows; the first two where nobody chose.

    Parameters
    ----------
    moment, filmed
        The season, and which rows have film.
    part : Slice
        What the page shows.
    chosen : mapping of str to str
        From the address.
    rows : sequence of mapping
        Rows of `analysis.sets.sets`, in the page's order.
    became : mapping of str to str
        Run's id → one of `axis.FATES`, in order of play.
    fact : str
        What runs are counted by.

    Returns
    -------
    list of Component
        Nothing where fewer than two were run.
    """
    from analysis.standing import better

    named = {str(row["set"]): row for row in rows if row["phase"] in ("set", "family") and int(row["runs"])}
    if len(named) < 2:
        return []
    one = chosen.get(ONE, "") if chosen.get(ONE) in named else next(iter(named))
    rest = [code for code in named if code != one]
    other = chosen.get(OTHER, "") if chosen.get(OTHER) in rest else rest[0]
    small_n = moment.settings.small_n
    few = min(int(named[code][f"{fact}_n"]) for code in (one, other)) < small_n
    gap = _gap(moment, filmed, part, (one, other), fact)
    chance = None if few else better(moment.tables, part, fact, one, other)
    n_pairs = len(named) * (len(named) - 1) // 2
    names = [moment.name_of(code) for code in (one, other)]
    said = (
        f"Under {small_n} runs of one of them: too few to say."
        if few
        else "How far the sets differ is no more than chance gives: no chance is said of one before the other."
        if chance is None
        else f"The chance that {names[0]} has the higher true rate of the two: {chance_in_words(chance)}."
    )
    choosing = [_choice(moment, named, place, (one, other), chosen) for place in (0, 1)]
    inside = [
        html.H2(TITLE, id="two"),
        html.Div([choosing[0], " beside ", choosing[1]], className="filter"),
        *([] if few else gap),
        html.P(
            [
                said,
                ""
                if n_pairs == 1
                else f" One of {n_pairs} pairs: who picks the widest gap of them sees it wider than it is.",
            ],
            className="soft",
        ),
        *_beside_film(filmed, [named[code] for code in (one, other)]),
        html.Div(
            [_half(moment, filmed, part, named[code], became, fact) for code in (one, other)], className="two-sets"
        ),
    ]
    return [html.Section(inside, className="onscreen")]


def _half(
    moment: Moment, filmed: Filmed, part: Slice, row: Mapping[str, Any], became: Mapping[str, str], fact: str
) -> Component:
    code = str(row["set"])
    name = moment.name_of(code)
    place = {id_: at for at, id_ in enumerate(became)}
    ids = sorted((str(id_) for id_ in row["runs_ids"]), key=place.__getitem__)
    made: list[Any] = [
        html.H3([name, html.Span(f" {BROUGHT[fact].rstrip(',')}", className="soft")]),
        html.P(rate_of_runs(filmed, row, fact, name)),
        ticks(filmed, ids, became, name),
    ]
    if row["phase"] == "set":
        made += looks_in_order(moment, filmed, replace(part, phases=("set",), sets=(code,)), code)
    data: dict[str, Any] = {"data-ids": " ".join(ids), "data-name": name}
    return html.Div(made, className="half", **data)


def _beside_film(filmed: Filmed, rows: Sequence[Mapping[str, Any]]) -> list[Component]:
    """The button that shows both sets' runs on two films; why not, where one of them has none."""
    without = [row for row in rows if not filmed.count("runs", row["runs_ids"])]
    if without:
        names = " and ".join(filmed.moment.name_of(str(row["set"])) for row in without)
        return [html.P(f"No run of {names} has film: nothing to watch side by side.", className="soft")]
    asks: dict[str, Any] = {"data-both-films": ""}
    return [html.P(html.Button("Watch them side by side", type="button", className="both", **asks))]


def _gap(moment: Moment, filmed: Filmed, part: Slice, pair: tuple[str, str], fact: str) -> list[Component]:
    """How far apart the two are within games, drawn around nought; pressing the dot plays both sets' runs."""
    from analysis.stated import Comparison, answer

    question = Comparison("", fact, {"set": pair[0]}, {"set": pair[1]}, part)
    [row] = records(answer(moment.tables, question, small_n=moment.settings.small_n))
    names = [moment.name_of(code) for code in pair]
    if blank(row["difference"]) or bool(row["difference_few"]):
        return [html.P("No game has enough of both to compare them within it.", className="soft")]
    mid, lo, hi = (float(row[f"difference{end}"]) for end in ("", "_lo", "_hi"))
    what = f"{names[0]} beside {names[1]}, runs"
    style = {"--lo": f"{50 + lo * 50:.1f}%", "--p": f"{50 + mid * 50:.1f}%", "--hi": f"{50 + hi * 50:.1f}%"}
    words = f"{signed(mid)} in 100 runs with {FACT_WORDS[fact]}"
    return [
        html.Div(
            [
                html.Span(f"more: {names[1]}", className="soft"),
                html.Span(html.Span([html.I(), html.B()], className="bar gap", style=style), className="between"),
                html.Span(f"more: {names[0]}", className="soft"),
            ],
            className="apart-by",
        ),
        html.P(
            [
                plays(filmed, words, "runs", row["difference_ids"], what),
                f" for {names[0]}, compared within games; plausibly {signed(lo)} to {signed(hi)}.",
            ],
            className="asked",
        ),
    ]


def _choice(
    moment: Moment,
    named: Mapping[str, Mapping[str, Any]],
    place: int,
    pair: tuple[str, str],
    chosen: Mapping[str, str],
) -> Component:
    links = []
    for code in named:
        if code == pair[1 - place]:
            continue
        asked = {ONE: pair[0], OTHER: pair[1]} | {(ONE, OTHER)[place]: code}
        kept = {name: value for name, value in chosen.items() if value and name not in asked}
        href = f"/sets?{urlencode({**kept, **asked})}#two"
        links.append(
            html.Li(dcc.Link(moment.name_of(code), href=href, className="on" if code == pair[place] else None))
        )
    return html.Details([html.Summary(moment.name_of(pair[place])), html.Ul(links)], className="choice")

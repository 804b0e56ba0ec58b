"""Which set is better: rates drawn together, the chance of being the best, and between which ranks each stands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.filters import FACT_WORDS
from dashboard.pages.grid import COUNT, WORDS, Column, grid
from dashboard.pages.names import STRENGTHS, blank, set_name
from dashboard.pages.numbers import plausibly, plays, records, table

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.slice import Slice
    from dashboard.loading import Filmed
    from dashboard.moment import Moment

AT_STRENGTH = {
    "even": "at even strength",
    "up": "on the power play",
    "down": "short-handed",
    "empty_net": "with an empty net",
}
SOON = (
    Column("runs", "Runs", COUNT, "runs", "runs"),
    Column("shot_10s", "Shot within 10 s", WORDS, "runs", "runs with a shot within 10 s of starting, once settled"),
    Column("shot_20s", "20 s", WORDS, "runs", "runs with a shot within 20 s of starting, once settled"),
    Column("shot_30s", "30 s", WORDS, "runs", "runs with a shot within 30 s of starting, once settled", True),
)
AGAIN = (
    Column("second_chance", "Brought a second chance", WORDS, "runs", "runs with a second chance"),
    Column("goal", "Goal, its own", WORDS, "runs", "runs with a goal of their own"),
    Column("goal_any", "Second chances too", WORDS, "runs", "runs with a goal, second chances too"),
    Column("penalty", "Penalty drawn", WORDS, "runs", "runs that drew a penalty", True),
)


def ranked_sets(moment: Moment, filmed: Filmed, part: Slice, fact: str) -> list[Component]:
    """How the sets stand among each other.

    Parameters
    ----------
    moment, filmed
        The season, and which rows have film.
    part : Slice
        What is looked at: one team, one class of strength.
    fact : str
        What a run should have brought.

    Returns
    -------
    list of Component
        A sentence about how it is worked out, and the table; what is missing where there is too little.
    """
    from analysis.standing import standings

    small_n = moment.settings.small_n
    rows = moment.kept(
        ("standing", part, fact), lambda: records(standings(moment.tables, part, fact=fact, small_n=small_n))
    )
    ranked = [row for row in rows if not blank(row["rank"])]
    if len(ranked) < 2:
        return [
            html.P(
                f"Two sets with at least {small_n} runs each are needed before one can be called better; tag on, or "
                "widen the sentence above."
            )
        ]
    ranked.sort(key=lambda row: (float(row["rank"]), str(row["set"])))
    strength = STRENGTHS.get(str(ranked[0]["strength"]), "")
    pooled = str(ranked[0]["spread"]) == "pooled"
    common = round(float(ranked[0]["common"]) * 100)
    how = (
        f"Runs are too few to rank them by: each rate is drawn far towards the sets’ common {common} in 100."
        if pooled
        else f"Each rate is drawn towards the sets’ common {common} in 100, the more the fewer its runs."
    )
    ranks = "" if pooled else "A rank is said with where else it may stand. "
    lede = (
        f"Runs with {FACT_WORDS.get(fact, fact)}, at {strength}. {how} {ranks}"
        "Opponents and line-ups are taken as alike, so this sounds surer than it is."
    )
    head = [html.Th("Set", className="l"), html.Th("Counted"), html.Th("Drawn together", className="l")]
    if not pooled:
        head += [html.Th("Chance of being the highest", className="l"), html.Th("Rank", className="l")]
    few = [row for row in rows if blank(row["rank"])]
    left: list[Component] = []
    if few:
        names = ", ".join(f"{set_name(moment, row['set'])} ({int(row['raw_n'])})" for row in few)
        left = [html.P(f"Not ranked, with fewer than {small_n} runs: {names}.", className="soft below")]
    lines = [_line(moment, filmed, row, pooled) for row in ranked]
    return [html.P(lede, className="lede"), table(head, lines, "grid standing"), *left]


def _line(moment: Moment, filmed: Filmed, row: Mapping[str, Any], pooled: bool) -> Component:
    name = set_name(moment, row["set"])
    counted: list[Any] = [
        plays(filmed, str(int(row["raw_k"])), "runs", row["raw_ids"], f"{name}, counted"),
        html.Span(f" of {int(row['raw_n'])}", className="soft"),
    ]
    lo, hi = float(row["shrunken_lo"]), float(row["shrunken_hi"])
    drawn: list[Any] = [f"{round(float(row['shrunken']) * 100)} in 100", html.Small(plausibly(lo, hi))]
    rank = f"{float(row['rank']):.1f} of {int(row['ranked'])}"
    range_ = f"anywhere from {int(row['rank_lo'])} to {int(row['rank_hi'])}"
    cells = [html.Td(counted, className="pair"), html.Td(drawn, className="w")]
    if not pooled:
        cells.append(html.Td(chance_in_words(float(row["p_best"])), className="w"))
        cells.append(html.Td([rank, html.Small(range_)], className="w"))
    return html.Tr([html.Th(name, scope="row"), *cells])


def more_runs(moment: Moment, part: Slice) -> dict[str, str]:
    """The runs of our sets that the strength of a slice leaves out, in words.

    Parameters
    ----------
    moment : Moment
        The season.
    part : Slice
        What is looked at.

    Returns
    -------
    dict of str to str
        Set's code → as "42 runs on the power play"; a set without any is not in it.
    """
    from analysis.sets import sets

    found: dict[str, list[str]] = {}
    for row in records(sets(moment.tables, replace(part, strengths=None))):
        strength, n = str(row["strength"]), int(row["runs"])
        if row["phase"] == "set" and n and strength not in (part.strengths or ()):
            where = AT_STRENGTH.get(strength, "at a strength nobody knows")
            found.setdefault(str(row["set"]), []).append(f"{n} run{'' if n == 1 else 's'} {where}")
    return {code: ", ".join(said) for code, said in found.items()}


def chance_in_words(p: float) -> str:
    """A chance from 0 to 1 as people say it.

    Parameters
    ----------
    p : float
        Probability.

    Returns
    -------
    str
        In hundredths; never certainty.

    Examples
    --------
    >>> chance_in_words(0.314), chance_in_words(0.003), chance_in_words(0.999)
    ('31 in 100', 'under 1 in 100', 'over 99 in 100')
    """
    if p < 0.01:
        return "under 1 in 100"
    if p > 0.99:
        return "over 99 in 100"
    return f"{round(p * 100)} in 100"


def how_soon(moment: Moment, filmed: Filmed, rows: Sequence[Mapping[str, Any]]) -> list[Component]:
    """How soon shots came, and what second chances add.

    Parameters
    ----------
    moment, filmed
        The season, and which rows have film.
    rows : sequence of mapping
        Rows of `analysis.sets.sets`.

    Returns
    -------
    list of Component
        Two tables.
    """
    rows = [row for row in rows if int(row["runs"]) and row["phase"] in ("set", "family", "freelance")]
    if not rows:
        return []

    def named(row: Mapping[str, Any]) -> str:
        return set_name(moment, row["set"], row["phase"])

    return [
        html.P(
            "Within so many seconds of the run’s own start, or of settling where that came later; where settling is "
            "not marked nobody knows. A mean of the seconds to a shot would leave out the runs without one.",
            className="lede",
        ),
        grid(filmed, rows, named, "Set", SOON),
        html.H3("And with what came after its rebounds?"),
        grid(filmed, rows, named, "Set", AGAIN),
    ]

"""One set: its looks, where its runs go, what worked beside what did not; the rest folded."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from dash import dcc, html

from dashboard.pages.axis import rate_of_runs, ticks
from dashboard.pages.bands import TITLE as WHERE_TO
from dashboard.pages.bands import bands
from dashboard.pages.dots import moving, slope_words, strip
from dashboard.pages.execution import checkpoints
from dashboard.pages.filters import FACT_WORDS, WHERE, fact_of, slice_of
from dashboard.pages.flow import looks_in_order, looks_of, paths
from dashboard.pages.fold import fold
from dashboard.pages.found import BROUGHT, findings_of, in_words, of_runs, said_of, speaking
from dashboard.pages.left_open import TITLE, open_looks, open_sets
from dashboard.pages.names import free_name
from dashboard.pages.numbers import film_line, plays, rate_words, records, table
from dashboard.pages.screens import by_answer
from dashboard.pages.which_set import more_runs

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.findings import Findings
    from analysis.slice import Slice
    from dashboard.loading import Filmed, Present
    from dashboard.moment import Moment

FILTER = ("Showing our runs in ", *WHERE, ", ", "{strength}", ", ", "{side}", "; counting runs with ", "{fact}", ".")
SAID = (
    ("shot", "brought a shot"),
    ("on_goal", "a shot on goal"),
    ("goal", "a goal"),
    ("goal_any", "a goal, second chances too"),
    ("turnover", "lost the ball"),
    ("pull_out", "were pulled out"),
    ("penalty", "drew a penalty"),
)
SOON = (("shot_10s", "within 10 s"), ("shot_20s", "within 20 s"), ("shot_30s", "within 30 s"))


def page(present: Present, of: str, chosen: Mapping[str, str]) -> list[Component]:
    """A set's page.

    Parameters
    ----------
    present : Present
        The season.
    of : str
        The set's code.
    chosen : mapping of str to str
        What part of the season.

    Returns
    -------
    list of Component
        Empty when there is no such set.
    """
    from analysis.fates import fates
    from analysis.sets import sets

    moment, filmed = present.now(), present.filmed()
    play = moment.playbook.by_code.get(of)
    if play is None:
        return []
    chosen = {**usual(moment, of), **chosen}
    among = replace(slice_of(moment, chosen), team="ours")  # how far games differ is told from all sets, as on theirs
    part = replace(among, phases=("set",), sets=(of,))
    every = records(sets(moment.tables, among, small_n=moment.settings.small_n))
    rows = [row for row in every if (row["phase"], row["set"]) == ("set", of)]
    if not rows or not int(rows[0]["runs"]):
        nothing = html.P("No run of it is tagged in this part of the season. Change a word of the sentence above.")
        return [html.H1(play.name), _lede(play.about, of, []), nothing, *_elsewhere(moment, part)]
    row, fact = rows[0], fact_of(moment, chosen)
    found = findings_of(moment, part, fact)
    became = {str(each["id"]): str(each["fate"]) for each in records(fates(moment.tables, part))}
    left_open = open_sets(moment, filmed, part, fact)
    by_look = [*looks_of(moment, filmed, part, of), *open_looks(moment, filmed, part, of, fact)]
    in_order = looks_in_order(moment, filmed, part, of) or by_look
    return [
        html.H1(_verdict(moment, found, row, fact), className="verdict"),
        _lede(play.about, of, [film_line(filmed, "runs", row["runs_ids"], "runs")]),
        html.P(rate_of_runs(filmed, row, fact, play.name), className="rated"),
        said_of(moment, filmed, found, of_runs(of)),
        *_elsewhere(moment, part),
        html.H2("Which looks?", id="looks"),
        *in_order,
        html.H2(WHERE_TO, id="ways"),
        *bands(moment, filmed, part, of, became),
        html.H2("What worked beside what did not", id="worked"),
        *_worked(moment, filmed, part, row, became, fact=fact),
        *([fold("What came of each look?", "", by_look, "by-look")] if in_order is not by_look else []),
        fold("What came of its runs?", _in_all(row), [*_came(filmed, row)], "came"),
        *([fold(TITLE, "", left_open, "open")] if left_open else []),
        fold("Way by way", "", paths(moment, filmed, part, of), "each"),
        fold("What did its screens bring?", "", by_answer(moment, filmed, part, ("coverage", "kind")), "screens"),
        fold("Was the job done?", "", checkpoints(moment, filmed, part, fact=fact), "job"),
        fold("Is it getting better?", "", _moves(moment, filmed, part, fact), "moves"),
    ]


def _verdict(moment: Moment, found: Findings, row: Mapping[str, Any], fact: str) -> str:
    """What may be said to stand out, else the plain count."""
    said = speaking(found, of_runs(str(row["set"])))
    if said:
        return f"{in_words(moment, said[0])}."
    k, n = int(row[f"{fact}_k"]), int(row[f"{fact}_n"])
    return f"{moment.name_of(str(row['set']))}: {k} of {n} run{'' if n == 1 else 's'} {BROUGHT[fact].rstrip(',')}."


def _lede(about: str, of: str, more: Sequence[str]) -> Component:
    said = [f"{about[:1].upper()}{about[1:]}. " if about else "", *(f"{each} " for each in more)]
    link = dcc.Link("Roles, looks and checkpoints", href=f"/playbook#{of}")
    return html.P([*said, link, " stand in the playbook."], className="lede")


def _in_all(row: Mapping[str, Any]) -> str:
    goals, lost, out = (int(row[f"{name}_k"]) for name in ("goal", "turnover", "pull_out"))
    return f"{goals} with a goal, {lost} lost the ball, {out} pulled out"


def _worked(
    moment: Moment, filmed: Filmed, part: Slice, row: Mapping[str, Any], became: Mapping[str, str], *, fact: str
) -> list[Component]:
    """The runs that brought it beside those that did not: each run, and who came free in how many."""
    from analysis.looks import flow
    from analysis.outcome import outcomes, run_ids
    from analysis.shots import NO, YES

    name, what = moment.name_of(str(row["set"])), FACT_WORDS[fact]
    place = {id_: at for at, id_ in enumerate(became)}
    came = dict(
        zip(map(str, run_ids(moment.tables["runs"])), outcomes(moment.tables).facts[fact].tolist(), strict=True)
    )
    its = [str(id_) for id_ in row["runs_ids"]]
    free: dict[str, str] = {}
    for way in records(flow(moment.tables, part)):
        free |= {str(id_): free_name(moment, way["free"]) for id_ in way["runs_ids"]}
    halves = []
    for words, value in ((f"with {what}", YES), (f"without {what}", NO)):
        held = sorted((id_ for id_ in its if came[id_] == value), key=place.__getitem__)
        counted: dict[str, list[str]] = {}
        for id_ in held:
            counted.setdefault(free[id_], []).append(id_)
        lines = [
            html.Li(
                [
                    html.Span("", className="number"),
                    html.Span(said),
                    plays(filmed, str(len(each)), "runs", each, f"{name} {words}, came free: {said}"),
                ]
            )
            for said, each in sorted(counted.items(), key=lambda one: -len(one[1]))
        ]
        count = plays(filmed, str(len(held)), "runs", held, f"{name} {words}")
        head = html.H3([count, html.Span(f" {words}", className="soft")])
        drawn: list[Component] = [ticks(filmed, held, became, f"{name} {words}")] if held else []
        drawn.append(html.P("Came free:", className="soft"))
        halves.append(html.Div([head, *drawn, html.Ul(lines, className="looked")], className="half"))
    return [html.Div(halves, className="two-sets")]


def usual(moment: Moment, of: str) -> dict[str, str]:
    """What a set's page shows where nothing is chosen: a set for the power play opens on the power play.

    Parameters
    ----------
    moment : Moment
        The season.
    of : str
        The set's code.

    Returns
    -------
    dict of str to str
        As words of the address.
    """
    play = moment.playbook.by_code.get(of)
    ours, _, theirs = (play.strength if play else "").partition("v")
    return {} if ours == theirs else {"strength": "up" if ours > theirs else "down"}


def _came(filmed: Filmed, row: Mapping[str, Any]) -> list[Component]:
    lines = []
    for name, words in (*SAID, *((name, f"a shot {words} of starting, once settled") for name, words in SOON)):
        cell = html.Td(rate_words(filmed, row, name, "runs", f"Runs: {words}"), className="w")
        lines.append(html.Tr([html.Th(f"… {words}", scope="row", className="plain"), cell]))
    n = int(row["runs"])
    said = f"Of {n} run{'' if n == 1 else 's'} … {film_line(filmed, 'runs', row['runs_ids'], 'runs')}"
    return [html.P(said, className="lede"), table([], lines, "asked")]


def _elsewhere(moment: Moment, part: Slice) -> list[Component]:
    """Its runs that this strength leaves out."""
    more = more_runs(moment, part).get(str((part.sets or ("",))[0]))
    return [html.P(f"Not among them: {more}.", className="soft below")] if more else []


def _moves(moment: Moment, filmed: Filmed, part: Slice, fact: str) -> list[Component]:
    from analysis.trend import dots

    games = [game.id for game in moment.games if part.games is None or game.id in part.games]
    small_n = moment.settings.small_n
    rows = records(dots(moment.tables, games, part, what=fact, small_n=small_n))
    if not rows:
        return [html.P("Nothing to follow yet.")]
    of = (part.sets or ("",))[0]
    slope = next((row for row in moving(findings_of(moment, part, fact), fact) if row["set"] == of), None)
    what = FACT_WORDS[fact]
    lede = (
        f"Runs with {what}, game by game: a dot and what is plausible around it, faint under {small_n} runs. The "
        f"line behind is the running estimate, in which each older game counts less. {slope_words(slope)}"
    )
    return [html.P(lede, className="lede"), strip(moment, filmed, rows, "runs", f"Runs with {what}")]

"""One set: its looks, where its runs go, what its screens brought, whether the job was done, and how that moves."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from dash import dcc, html

from dashboard.pages.dots import moving, slope_words, strip
from dashboard.pages.execution import checkpoints
from dashboard.pages.filters import FACT_WORDS, WHERE, fact_of, slice_of
from dashboard.pages.flow import looks_of, paths
from dashboard.pages.found import findings_of, of_runs, said_of
from dashboard.pages.grid import contents
from dashboard.pages.left_open import TITLE, open_looks, open_sets
from dashboard.pages.numbers import film_line, rate_words, records, table
from dashboard.pages.screens import by_answer
from dashboard.pages.which_set import more_runs

if TYPE_CHECKING:
    from dash.development.base_component import Component

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
    about = f"{play.about[:1].upper()}{play.about[1:]}. " if play.about else ""
    top: list[Component] = [
        html.H1(play.name),
        html.P(
            [about, dcc.Link("Roles, looks and checkpoints", href=f"/playbook#{of}"), " stand in the playbook."],
            className="lede",
        ),
    ]
    if not rows or not int(rows[0]["runs"]):
        nothing = html.P("No run of it is tagged in this part of the season. Change a word of the sentence above.")
        return [*top, nothing, *_elsewhere(moment, part)]
    fact = fact_of(moment, chosen)
    left_open = open_sets(moment, filmed, part, fact)
    parts = (
        ("came", "what came of it"),
        ("looks", "looks"),
        ("ways", "where runs go"),
        ("screens", "screens"),
        ("job", "the job"),
        ("moves", "from game to game"),
    )
    return [
        *top,
        contents(parts),
        html.H2("What came of its runs?", id="came"),
        *_came(filmed, rows[0]),
        said_of(moment, filmed, findings_of(moment, part, fact), of_runs(of)),
        *_elsewhere(moment, part),
        *([html.H3(TITLE), *left_open] if left_open else []),
        html.H2("Which looks?", id="looks"),
        *looks_of(moment, filmed, part, of),
        *open_looks(moment, filmed, part, of, fact),
        html.H2("Where do its runs go?", id="ways"),
        *paths(moment, filmed, part, of),
        html.H2("What did its screens bring?", id="screens"),
        *by_answer(moment, filmed, part, ("coverage", "kind")),
        html.H2("Was the job done?", id="job"),
        *checkpoints(moment, filmed, part, fact=fact),
        html.H2("Is it getting better?", id="moves"),
        *_moves(moment, filmed, part, fact),
    ]


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

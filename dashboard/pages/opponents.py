"""The other team: all opponents, a line each; of one a sheet to print: what they run, who shoots, their power play, who
picks for whom, and how they cover ours."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from dash import dcc, html

from dashboard.pages.axis import EACH, MOST_BESIDE, key_of_ticks, on_one_axis, ticks
from dashboard.pages.filters import WHERE, slice_of
from dashboard.pages.fold import fold
from dashboard.pages.found import findings_of, in_words, of_sets, said_of, speaking
from dashboard.pages.goals import causes
from dashboard.pages.grid import COUNT, RATE, SHORT, WORDS, Column, grid
from dashboard.pages.names import blank, key_of, set_name
from dashboard.pages.numbers import film_line, plays, records, table
from dashboard.pages.screen_grids import coverage_grid, pair_grid
from dashboard.pages.which_set import ranked_sets
from dashboard.pages.work import lost
from tagger.screen.opening import day_of

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.slice import Slice
    from dashboard.loading import Filmed, Present
    from dashboard.moment import Moment
    from tagger.game import Game

FILTER = ("Showing their possessions in ", *WHERE, ", ", "{strength}", ".")
ACTIONS = (
    Column("runs", "Runs", COUNT, "runs", "runs"),
    Column("shot", "With a shot", RATE, "runs", "runs with a shot"),
    Column("goal", "Goal", SHORT, "runs", "runs with a goal"),
    Column("turnover", "Ball lost", SHORT, "runs", "runs that lost the ball", True),
)
SHOOTERS = (
    Column("shots", "Shots", COUNT, "shots", "shots"),
    Column("shots_on_goal", "On goal", COUNT, "shots", "shots on goal", True),
    Column("goals", "Goals", COUNT, "shots", "goals"),
    Column("feeds", "Fed", COUNT, "shots", "shots he fed", True),
    Column("turnovers", "Lost", COUNT, "turnovers", "balls he lost", True),
)
POWER = (
    Column("power_plays", "Power plays", COUNT, "runs", "all of them"),
    Column("scored", "Goal", SHORT, "runs", "that brought a goal"),
    Column("shots", "Shots", COUNT, "shots", "shots with more runners"),
    Column("goals", "Goals", COUNT, "shots", "goals with more runners"),
)
RAN = (
    Column("runs", "Runs", COUNT, "runs", "runs"),
    Column("shot", "With a shot", WORDS, "runs", "runs with a shot"),
)
PAIRS = (
    Column("screens", "Screens", COUNT, "screens", "screens"),
    Column("freed", "Somebody came free", WORDS, "screens", "screens that freed somebody"),
)
MOST_PAIRS = 6
MOST_SHOOTERS = 8
SHOT = ("goal", "saved", "missed", "shot")
"""What runs became that brought a shot, of `axis.FATES`."""
AFTER = "And after our lost balls, saves and misses?"


def page(present: Present, of: str, chosen: Mapping[str, str]) -> list[Component]:
    """The opponents' page.

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
    moment, filmed = present.now(), present.filmed()
    part = replace(slice_of(moment, chosen), team="theirs", phases=None, sides=None)
    games = [game for game in moment.games if part.games is None or game.id in part.games]
    whom = list(dict.fromkeys(game.opponent for game in games))
    if not any(row.get("team") == "theirs" for row in moment.rows("possessions").values()):
        key = key_of(moment, "possession", "theirs")
        words = f"No possession of theirs is tagged yet. {key} marks their ball; what they did is one key more."
        return [html.H1("What do they do?"), html.P(words)]
    if len(whom) == 1:
        return _sheet(moment, filmed, part, whom[0], games)
    return [
        *_every(moment, filmed, part, games, whom),
        fold("Why did their goals go in?", "goals by cause", causes(moment, filmed, part), "causes", no_answer=True),
        fold(
            AFTER, "by how they got the ball", lost(moment, filmed, replace(part, team="ours")), "after", no_answer=True
        ),
    ]


def _every(moment: Moment, filmed: Filmed, part: Slice, games: Sequence[Game], whom: Sequence[str]) -> list[Component]:
    """The opponents, a line each, and a tick for each of their runs; counted, since no rate of theirs is compared."""
    from analysis.fates import fates

    became = {str(row["id"]): str(row["fate"]) for row in records(fates(moment.tables, part))}
    runs = moment.rows("runs")
    names = {game.id: game.opponent for game in games}
    lines, most = [], 1
    for name in whom:
        its = [id_ for id_ in became if names.get(str(runs[id_]["game"])) == name]
        most = max(most, len(its))
        shots = [id_ for id_ in its if became[id_] in SHOT]
        goals = [id_ for id_ in its if became[id_] == "goal"]
        days = ", ".join(day_of(game.date).rsplit(" ", 1)[0] for game in games if game.opponent == name)
        with_shot = plays(filmed, str(len(shots)), "runs", shots, f"{name}, runs with a shot")
        with_goal = plays(filmed, str(len(goals)), "runs", goals, f"{name}, runs with a goal")
        said: list[Any] = [plays(filmed, str(len(its)), "runs", its, f"{name}, runs"), " runs"]
        said.append(html.Small([with_shot, " with a shot, ", with_goal, " with a goal"]))
        link = dcc.Link(name, href=f"/opponents?{urlencode({'opponent': name})}")
        cells = [
            html.Th([link, html.Small(days)], scope="row"),
            html.Td(ticks(filmed, its, became, name) if its else "no run tagged", className="figure"),
            html.Td(html.Span(said), className="w"),
        ]
        lines.append(html.Tr(cells))
    head = [html.Th("Opponent", className="l"), html.Th(EACH, className="l"), html.Th("Their runs", className="l")]
    style = {"--most": str(min(most, MOST_BESIDE)), "--games": "2"}
    n, k = len(became), sum(fate in SHOT for fate in became.values())
    return [
        html.H1(f"{k} of {n} runs of theirs brought a shot." if n else "What do they do?", className="verdict"),
        html.P(
            "One line an opponent; its name leads to a sheet of theirs to print. "
            f"{film_line(filmed, 'runs', became, 'runs')}",
            className="lede",
        ),
        html.Div([table(head, lines, "on-axis opponents"), key_of_ticks(set(became.values()))], style=style),
    ]


def _sheet(moment: Moment, filmed: Filmed, part: Slice, name: str, games: Sequence[Game]) -> list[Component]:
    """One opponent's."""
    from analysis.fates import fates
    from analysis.opponent import scouting

    small_n = moment.settings.small_n
    tables = moment.kept(("scouting", part), lambda: scouting(moment.tables, part, small_n=small_n))
    actions = [row for row in records(tables["actions"]) if int(row["runs"])]
    actions.sort(key=lambda row: (row["phase"] not in ("set", "family"), -int(row["runs"])))
    sides = records(tables["sides"])
    became = {str(row["id"]): str(row["fate"]) for row in records(fates(moment.tables, part))}
    found = findings_of(moment, part)
    said = speaking(found, of_sets("shot"))
    k, n = (sum(int(row[f"shot_{end}"]) for row in actions) for end in ("k", "n"))
    plain = f"{name}: {k} of {n} run{'' if n == 1 else 's'} brought a shot." if n else f"What do {name} do?"

    def called(row: Mapping[str, Any]) -> tuple[Any, str, str]:
        words = set_name(moment, row["set"], row["phase"])
        return words, words, ""

    met: list[Any] = ["Met on "]
    for place, game in enumerate(games):
        met += [", " if place else "", dcc.Link(day_of(game.date).rsplit(" ", 1)[0], href=f"/games/{game.id}")]
    lede = ". Their sets have no names for us; what is tagged is the kind of action. "
    figure: list[Component] = [html.P("No run of theirs is tagged in this part of the season.")]
    if actions:
        figure = [
            on_one_axis(filmed, actions, became, called, "shot", first="Action"),
            said_of(moment, filmed, found, of_sets("shot")),
        ]
    ours, pairs = replace(part, team="ours"), _pairs(moment, part)
    return [
        html.H1(f"{name}: {in_words(moment, said[0])}." if said else plain, className="verdict"),
        html.P([*met, lede, film_line(filmed, "runs", became, "runs")], className="lede"),
        *figure,
        html.Div(
            [
                _block("Who shoots?", _shooters(filmed, records(tables["shooters"])), "who"),
                _block("Their power play", _power_play(moment, filmed, part), "power"),
                _block("Who picks for whom?", _most_pairs(filmed, pairs), "pairs"),
                _block("How do they cover our screens?", _coverage(moment, filmed, ours), "coverage"),
            ],
            className="scouted",
        ),
        fold(
            "What do they run?",
            "with goals and lost balls, and by side",
            _actions(moment, filmed, actions, sides),
            "run",
            no_answer=True,
        ),
        *(
            [fold("Every pair?", _n_pairs(len(pairs)), pair_grid(moment, filmed, pairs), "each-pair", no_answer=True)]
            if pairs
            else []
        ),
        fold("Which of it brings shots?", "", ranked_sets(moment, filmed, part, "shot"), "better"),
        fold("Why did their goals go in?", "goals by cause", causes(moment, filmed, part), "causes", no_answer=True),
        fold(AFTER, "by how they got the ball", lost(moment, filmed, ours), "after", no_answer=True),
    ]


def _block(title: str, inside: Sequence[Component], id_: str) -> Component:
    return html.Div([html.H2(title, id=id_), *inside], className="block")


def _power_play(moment: Moment, filmed: Filmed, part: Slice) -> list[Component]:
    """What came of theirs, and what they ran in them."""
    from analysis.man_up import power_plays
    from analysis.sets import sets

    small_n = moment.settings.small_n
    asked = replace(part, team=None, strengths=None)
    rows = [row for row in records(power_plays(moment.tables, asked, small_n=small_n)) if row["team"] == "theirs"]
    if not any(int(row["power_plays"]) for row in rows):
        return [html.P("No power play of theirs is tagged here.")]
    made: list[Component] = [grid(filmed, rows, lambda row: "Their power play", "With more runners", POWER)]
    ran = records(sets(moment.tables, replace(part, strengths=("up",)), small_n=small_n))
    ran = [row for row in ran if int(row["runs"]) and row["phase"] in ("set", "family")]
    if ran:
        ran.sort(key=lambda row: -int(row["runs"]))
        named = partial(_named, moment)
        made.append(grid(filmed, ran, named, "Run in it", RAN))
    return made


def _named(moment: Moment, row: Mapping[str, Any]) -> str:
    return set_name(moment, row["set"], row["phase"])


def _pairs(moment: Moment, part: Slice) -> list[dict[str, Any]]:
    """Who set for whom, of those of whom both are known."""
    from analysis.screens import screens

    rows = records(screens(moment.tables, part, by=("setter", "user"), small_n=moment.settings.small_n))
    rows = [row for row in rows if all(str(row[name]).isdigit() for name in ("setter", "user"))]
    return sorted(rows, key=lambda row: -int(row["screens"]))


def _n_pairs(n: int) -> str:
    return "1 pair" if n == 1 else f"{n} pairs"


def _most_pairs(filmed: Filmed, rows: Sequence[Mapping[str, Any]]) -> list[Component]:
    """The pairs that are seen most."""
    if not rows:
        return [html.P("No screen of theirs names both who set it and who used it.")]
    return [grid(filmed, rows[:MOST_PAIRS], lambda row: f"{row['setter']} for {row['user']}", "Set for", PAIRS)]


def _coverage(moment: Moment, filmed: Filmed, part: Slice) -> list[Component]:
    from analysis.screens import screens

    rows = records(screens(moment.tables, part, by=("coverage",), small_n=moment.settings.small_n))
    return coverage_grid(moment, filmed, rows)


def _actions(
    moment: Moment, filmed: Filmed, rows: list[dict[str, Any]], sides: list[dict[str, Any]]
) -> list[Component]:
    def named(row: Mapping[str, Any]) -> str:
        name = set_name(moment, row["set"], row["phase"])
        return name if blank(row.get("side")) or row["side"] == "unseen" else f"{name}, {row['side']}"

    rows = [row for row in rows if int(row["runs"])]
    if not rows:
        return [html.P("No run of theirs is tagged in this part of the season.")]
    made: list[Component] = [grid(filmed, rows, named, "Action", ACTIONS)]
    sided = [row for row in sides if row["side"] in ("left", "right") and int(row["runs"])]
    if sided:
        summary = html.Summary("By their left and right")
        made.append(html.Details([summary, grid(filmed, sided, named, "Action", ACTIONS)], className="more"))
    return made


def _shooters(filmed: Filmed, rows: list[dict[str, Any]]) -> list[Component]:
    known = [row for row in rows if str(row["player"]).isdigit() and int(row["shots"])]
    if not known:
        return [html.P("No shot of theirs names its shooter.")]
    known.sort(key=lambda row: -int(row["shots"]))
    return [grid(filmed, known[:MOST_SHOOTERS], lambda row: f"Their {row['player']}", "Player", SHOOTERS)]

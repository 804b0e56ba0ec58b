"""The other team by the same tables: what they run, to which side, who shoots, and what we give up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.filters import WHERE, slice_of
from dashboard.pages.found import findings_of, of_sets, said_of
from dashboard.pages.goals import causes
from dashboard.pages.grid import COUNT, RATE, SHORT, Column, contents, grid
from dashboard.pages.names import blank, key_of, set_name
from dashboard.pages.numbers import records
from dashboard.pages.which_set import ranked_sets
from dashboard.pages.work import lost

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from dashboard.loading import Filmed, Present
    from dashboard.moment import Moment

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
MOST_SHOOTERS = 12


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
    from analysis.opponent import scouting

    moment, filmed = present.now(), present.filmed()
    part = replace(slice_of(moment, chosen), team="theirs", phases=None, sides=None)
    names = [game.opponent for game in moment.games if part.games is None or game.id in part.games]
    whom = set(names)
    one = len(whom) == 1
    top = [
        html.H1(f"What do {names[0]} do?" if one else "What do they do?"),
    ]
    if not any(row.get("team") == "theirs" for row in moment.rows("possessions").values()):
        key = key_of(moment, "possession", "theirs")
        words = f"No possession of theirs is tagged yet. {key} marks their ball; what they did is one key more."
        return [*top, html.P(words)]
    tables = moment.kept(("scouting", part), lambda: scouting(moment.tables, part, small_n=moment.settings.small_n))
    games = "1 game" if len(names) == 1 else f"{len(names)} games"
    mixed = "" if one else " Different teams are counted together here: choose an opponent in the sentence above."
    return [
        *top,
        html.P(
            f"From {games}. Their sets have no names for us; what is tagged is the kind of action.{mixed}",
            className="lede",
        ),
        contents(
            [("run", "what they run"), ("better", "what works"), ("who", "who shoots"), ("give", "what we give up")]
        ),
        html.H2("What do they run?", id="run"),
        *_actions(moment, filmed, records(tables["actions"]), records(tables["sides"])),
        html.H2("Which of it brings shots?", id="better"),
        said_of(moment, filmed, findings_of(moment, part), of_sets("shot")),
        *ranked_sets(moment, filmed, part, "shot"),
        html.H2("Who shoots?", id="who"),
        *_shooters(moment, filmed, records(tables["shooters"]), one),
        html.H2("What do we give up?", id="give"),
        html.H3("Goals by cause"),
        *causes(moment, filmed, part),
        html.H3("After our lost balls, saves and misses"),
        *lost(moment, filmed, replace(part, team="ours")),
    ]


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


def _shooters(moment: Moment, filmed: Filmed, rows: list[dict[str, Any]], one: bool) -> list[Component]:
    if not one:
        return [html.P("Numbers of different teams would stand in one line: choose an opponent in the sentence above.")]
    known = [row for row in rows if not blank(row["player"]) and str(row["player"]).isdigit() and int(row["shots"])]
    if not known:
        return [html.P("No shot of theirs names its shooter.")]
    known.sort(key=lambda row: -int(row["shots"]))
    return [grid(filmed, known[:MOST_SHOOTERS], lambda row: f"Their {row['player']}", "Player", SHOOTERS)]

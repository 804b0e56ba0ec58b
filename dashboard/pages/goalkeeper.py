"""The goalkeeper: what he saved, by strength, by place, after a screen or not, and beside what such shots bring."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from dash import dcc, html

from dashboard.pages.filters import WHERE, slice_of
from dashboard.pages.grid import COUNT, RATE, TEXT, Column, contents, grid
from dashboard.pages.names import blank, key_of
from dashboard.pages.numbers import records
from dashboard.pages.players import kept_apart, name_of
from dashboard.pages.shot_worth import above_said, says_more
from tagger.floor.rules import floor_rules
from tagger.tables import SOMEBODY

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.slice import Slice
    from dashboard.loading import Filmed, Present
    from dashboard.moment import Moment

FILTER = ("Showing shots on our goal in ", *WHERE, ", ", "{strength}", ".")
SAVES = (
    Column("faced", "On goal", COUNT, "shots", "shots on goal"),
    Column("save", "Saved", RATE, "shots", "saves"),
    Column("goals", "Goals", COUNT, "shots", "goals against"),
)
BESIDE = (
    Column("shots", "Shots, result known", COUNT, "shots", "shots with a known result"),
    Column("goals", "Goals", COUNT, "shots", "goals against"),
    Column("expected_said", "Such shots bring", TEXT, "shots", ""),
    Column("above_said", "Goals beside that", TEXT, "shots", ""),
)
STRENGTHS = {
    "even": "Even strength",
    "up": "We are a man down",
    "down": "We are a man up",
    "empty_net": "A net is empty",
}
TITLES = {"": "In net", "strength": "Strength", "place": "From", "screen": "Screen"}
SCREENS = {"yes": "After a screen in the run", "no": "No screen in the run"}


def page(present: Present, of: str, chosen: Mapping[str, str]) -> list[Component]:
    """The goalkeepers' page.

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
    from analysis.goalkeeper import saves

    moment, filmed = present.now(), present.filmed()
    part = replace(slice_of(moment, chosen), team=None, phases=None, sides=None)
    every = replace(part, strengths=None)
    how: dict[str, Any] = {"small_n": moment.settings.small_n}
    top = [html.H1("What does our goalkeeper save?")]
    if not len(records(saves(moment.tables, every, **how))):
        return [*top, html.P(f"No shot on our goal is tagged here. {key_of(moment, 'shot')} marks a shot.")]
    goal_x_m = floor_rules(moment.settings.rule_code).goal_x_m
    rows = records(saves(moment.tables, part, **how))
    places = records(saves(moment.tables, part, by="place", goal_x_m=goal_x_m, **how))
    screens = records(saves(moment.tables, part, by="screen", **how))
    nobody = any(blank(row["keeper"]) for row in rows)
    key = key_of(moment, "goalie")
    mark = (
        f" Where nobody said who was in net, a mark ({key}) at the beginning of the game is enough." if nobody else ""
    )
    return [
        *top,
        html.P(
            "Strength is seen from the team that shoots. On goal are goals and saves; a shot is his who was in net "
            f"when it went.{mark}",
            className="lede",
        ),
        contents([("all", "saves"), ("strength", "by strength"), ("place", "by place"), ("screen", "after a screen")]),
        html.H2("What did he save?", id="all"),
        *_table(moment, filmed, rows, ""),
        *_beside(moment, filmed, part, goal_x_m),
        html.H2("At which strength?", id="strength"),
        html.P("Of these games at every strength, whatever the sentence above says.", className="lede"),
        *_table(moment, filmed, records(saves(moment.tables, every, by="strength", **how)), "strength"),
        html.H2("From where?", id="place"),
        *_places(moment, filmed, places),
        html.H2("Was a screen set before it?", id="screen"),
        html.P(
            "A screen of theirs in the same run, before the shot. Whether somebody stood in his sight has no mark of "
            "its own, so it is not said.",
            className="lede",
        ),
        *_table(moment, filmed, screens, "screen"),
    ]


def _table(moment: Moment, filmed: Filmed, rows: list[dict[str, Any]], by: str) -> list[Component]:
    """What each goalkeeper saved, split."""
    if not rows:
        return [
            html.P("No shot on our goal is tagged in this part of the season. Change a word of the sentence above.")
        ]

    def man(row: Mapping[str, Any]) -> str:
        if blank(row["keeper"]):
            return "Nobody said who"
        return f"{row['keeper']} {name_of(moment, str(row['keeper']))}".strip()

    def named(row: Mapping[str, Any]) -> Any:
        if by:
            return _split(row, by)
        return (
            man(row)
            if blank(row["keeper"]) or row["keeper"] == SOMEBODY
            else dcc.Link(man(row), href=f"/players/{row['keeper']}")
        )

    return [grid(filmed, kept_apart(rows, "keeper"), named, TITLES[by], SAVES, about=man if by else None)]


def _split(row: Mapping[str, Any], by: str) -> str:
    if by == "strength":
        return STRENGTHS.get(str(row["strength"]), "Strength not known")
    return _field(row) if by == "place" else SCREENS.get(str(row["screen"]), "Not known")


def _field(row: Mapping[str, Any]) -> str:
    from analysis.shot_chart import RINGS_M

    if blank(row["lane"]):
        return "No place marked"
    edges = ("", *(f"{edge:g}" for edge in RINGS_M), "")
    ring = int(row["ring"])
    inner, outer = edges[ring - 1], edges[ring]
    far = f"within {outer} m" if not inner else f"{inner} to {outer} m" if outer else f"beyond {inner} m"
    return f"{str(row['lane']).capitalize()}, {far}"


def _places(moment: Moment, filmed: Filmed, rows: list[dict[str, Any]]) -> list[Component]:
    if not any(not blank(row["lane"]) for row in rows):
        return [html.P("No shot on our goal has its place marked. The keyboard cannot say it yet.")]
    rows = sorted(rows, key=lambda row: (blank(row["keeper"]), str(row["keeper"]), blank(row["ring"])))
    lede = "Left and right as the shooter faces the goal; metres from the middle of the goal line."
    return [html.P(lede, className="lede"), *_table(moment, filmed, rows, "place")]


def _beside(moment: Moment, filmed: Filmed, part: Slice, goal_x_m: float) -> list[Component]:
    """Goals against beside what such shots bring, where a model of the season can be had."""
    import pandas as pd

    from analysis.codes import words
    from analysis.goalkeeper import keepers
    from analysis.shot_quality import above_expected, quality

    def learned() -> list[dict[str, Any]]:
        found = quality(moment.tables, part, goal_x_m=goal_x_m)
        if found.method != "model" or not says_more(found):
            return []
        shots = moment.tables["shots"]
        men = dict(zip(words(shots["id"]).tolist(), keepers(moment.tables["goalies"], shots).tolist(), strict=True))
        theirs = found.shots[found.shots["team"] == "theirs"]
        man = pd.array([men.get(str(shot)) or None for shot in theirs["shot"].tolist()], dtype="string")
        his = theirs.assign(shooter=man)
        return records(above_expected(replace(found, shots=his), small_n=moment.settings.small_n))

    rows = moment.kept(("quality by goalkeeper", part), learned)
    rows = [row for row in kept_apart(rows, "player") if not blank(row["player"]) and not bool(row["above_few"])]
    if not rows:
        return []
    for row in rows:
        above_said(row)
    lede = (
        "By the model of this season’s shots, both teams’ (see Goals): all shots of theirs with a known result while "
        "he was in net, wide ones too. The model’s own error comes on top of chance."
    )

    def named(row: Mapping[str, Any]) -> str:
        return f"{row['player']} {name_of(moment, str(row['player']))}"

    return [
        html.H3("Beside what such shots bring"),
        html.P(lede, className="lede"),
        grid(filmed, rows, named, "In net", BESIDE),
    ]

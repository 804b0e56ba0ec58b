"""Man-up and man-down: what comes of each power play, per minute of it, and by what was run."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.filters import WHERE, slice_of
from dashboard.pages.grid import COUNT, MINUTES, RATE, SHORT, Column, contents, grid
from dashboard.pages.names import key_of, set_name
from dashboard.pages.numbers import plays, records

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.slice import Slice
    from dashboard.loading import Filmed, Present
    from dashboard.moment import Moment

FILTER = ("Showing ", *WHERE, ".")
IN_ALL = (
    Column("power_plays", "Power plays", COUNT, "runs", "all of them"),
    Column("scored", "Brought a goal", RATE, "runs", "that brought a goal"),
    Column("shots", "Shots", COUNT, "shots", "shots with more runners"),
    Column("goals", "Goals", COUNT, "shots", "goals with more runners"),
    Column("shots_short", "Shots short-handed", COUNT, "shots", "shots short-handed", True),
    Column("goals_short", "Goals short-handed", COUNT, "shots", "goals short-handed", True),
)
A_MINUTE = (
    Column("shots_a_minute", "Shots", MINUTES, "shots", "shots with more runners, length known"),
    Column("goals_a_minute", "Goals", MINUTES, "shots", "goals with more runners, length known"),
    Column("shots_short_a_minute", "Shots short-handed", MINUTES, "shots", "shots short-handed, length known"),
    Column("goals_short_a_minute", "Goals short-handed", MINUTES, "shots", "goals short-handed, length known"),
)
RUN = (
    Column("runs", "Runs", COUNT, "runs", "runs"),
    Column("shot", "With a shot", RATE, "runs", "runs with a shot"),
    Column("goal", "Goal", SHORT, "runs", "runs with a goal"),
    Column("turnover", "Ball lost", SHORT, "runs", "runs that lost the ball", True),
)
PARTS = {
    "ours": (("up", "ours", "up", "What do we run, man-up?", "what we run"),),
    "theirs": (
        ("down", "theirs", "up", "What do they run against us, man-down?", "what they run"),
        ("short", "ours", "down", "What do we do with the ball, man-down?", "with the ball, man-down"),
    ),
}
"""Whose power plays → heading's id, whose runs, at which strength, the heading, and it in short."""
KNOWN_RUNS = ("set", "family", "freelance", "not_tagged")


def up(present: Present, of: str, chosen: Mapping[str, str]) -> list[Component]:
    """The page of man-up: our power plays.

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
    return _page(present, chosen, "ours", "What comes of our power plays?")


def down(present: Present, of: str, chosen: Mapping[str, str]) -> list[Component]:
    """The page of man-down: theirs.

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
    return _page(present, chosen, "theirs", "What comes of their power plays?")


def _page(present: Present, chosen: Mapping[str, str], team: str, title: str) -> list[Component]:
    from analysis.man_up import power_plays

    moment, filmed = present.now(), present.filmed()
    part = replace(slice_of(moment, chosen), team=None, strengths=None, phases=None, sides=None)
    rows = records(power_plays(moment.tables, part, small_n=moment.settings.small_n))
    rows = [row for row in rows if row["team"] == team]
    top: list[Component] = [html.H1(title)]
    if not any(int(row["power_plays"]) for row in rows):
        whose = "of ours" if team == "ours" else "of theirs"
        key = key_of(moment, "penalty")
        return [*top, html.P(f"No power play {whose} is tagged in this part of the season. {key} marks a penalty.")]

    def named(row: Mapping[str, Any]) -> str:
        return "Our power play" if row["team"] == "ours" else "Their power play"

    return [
        *top,
        html.P(
            "A power play is an unbroken row of stretches in which one team has more runners; two penalties that "
            "follow on each other are one. Shots and goals count by the strength as they went, from both ends: "
            "short-handed are those of the team with fewer runners. An empty net is no power play.",
            className="lede",
        ),
        contents([("all", "in all"), ("minute", "per minute"), *((each[0], each[4]) for each in PARTS[team])]),
        html.H2("What comes of each power play?", id="all"),
        grid(filmed, rows, named, "With more runners", IN_ALL),
        html.H2("What is that per minute?", id="minute"),
        html.P(_minutes(filmed, rows), className="lede"),
        grid(filmed, rows, named, "With more runners", A_MINUTE),
        *(each for asked in PARTS[team] for each in _run(moment, filmed, part, asked)),
    ]


def _minutes(filmed: Filmed, rows: list[dict[str, Any]]) -> list[Any]:
    said: list[Any] = [
        "Minutes are of film in which somebody had the ball, either team; time on the clock while nobody had it is "
        "not among them. "
    ]
    for row in rows:
        whose = "Our" if row["team"] == "ours" else "Their"
        n, unmeasured = int(row["power_plays"]), int(row["unmeasured"])
        if unmeasured:
            them = plays(filmed, str(unmeasured), "runs", row["unmeasured_ids"], f"{whose} power plays, length unknown")
            said += [f"{whose} power plays: the length of ", them, f" of {n} is not known; left out here. "]
    return said


def _run(moment: Moment, filmed: Filmed, part: Slice, of: tuple[str, ...]) -> list[Component]:
    """What was run at such a strength."""
    from analysis.sets import sets

    id_, team, strength, title, _ = of
    asked = replace(part, team=team, strengths=(strength,), phases=KNOWN_RUNS)
    rows = [row for row in records(sets(moment.tables, asked, small_n=moment.settings.small_n)) if int(row["runs"])]
    rows.sort(key=lambda row: (row["phase"] not in ("set", "family"), -int(row["runs"])))
    made: list[Component] = [html.H2(title, id=id_)]
    if not rows:
        return [*made, html.P("No settled run of this kind is tagged in this part of the season.")]
    return [*made, grid(filmed, rows, lambda row: set_name(moment, row["set"], row["phase"]), "Run", RUN)]

"""Goals against us: where their shots came from, why the goals went in, and what each line saw."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.fold import fold
from dashboard.pages.grid import COUNT, MINUTES, SHORT, WORDS, Column, grid
from dashboard.pages.names import UNANSWERED, answer_name, blank, key_of
from dashboard.pages.numbers import records
from dashboard.pages.shots import field_by_field, figure_of, none_tagged, shown, verdict

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.slice import Slice
    from dashboard.loading import Filmed, Present
    from dashboard.moment import Moment

CAUSES = (
    Column("goals", "Goals", COUNT, "shots", "goals against us"),
    Column("share", "Of the goals with a known cause", "rate", "shots", "goals against us"),
)
UNITS = (
    Column("possessions", "Possessions", COUNT, "possessions", "possessions"),
    Column("shot", "With a shot while on", WORDS, "possessions", "possessions with a shot while on"),
    Column("goal", "Goal", WORDS, "possessions", "possessions with a goal while on"),
    Column("turnover", "Ball lost", SHORT, "possessions", "possessions that lost the ball while on", True),
    Column("shots_a_minute", "Shots", MINUTES, "shots", "shots while on"),
)


def page(present: Present, of: str, chosen: Mapping[str, str]) -> list[Component]:
    """The page of goals against us.

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
    if not moment.rows("shots"):
        return [html.H1("Which goals did we let in?"), *none_tagged(moment)]
    part, rows = shown(moment, chosen, "theirs")
    return [
        html.H1(verdict(filmed, rows, "theirs")),
        *figure_of(moment, filmed, rows, chosen, "theirs"),
        html.H2("Why did we let them in?", id="against"),
        *causes(moment, filmed, part),
        fold(
            "From which field?",
            "goals of shots, field by field",
            field_by_field(moment, filmed, part, "theirs"),
            "place",
            no_answer=True,
        ),
        fold(
            "What did each line see?",
            "shots, goals and lost balls while it was on",
            _units(moment, filmed, part),
            "lines",
            no_answer=True,
        ),
    ]


def causes(moment: Moment, filmed: Filmed, part: Slice) -> list[Component]:
    """Goals against by cause.

    Parameters
    ----------
    moment, filmed
        The season, and which rows have film.
    part : Slice
        What is looked at.

    Returns
    -------
    list of Component
        The table; what to mark where no cause is said.
    """
    from analysis.lines import goals_against

    rows = records(goals_against(moment.tables, part, small_n=moment.settings.small_n))
    if not rows:
        return [html.P("No goal against us is tagged in this part of the season.")]
    n = sum(int(row["goals"]) for row in rows)
    told = sum(int(row["goals"]) for row in rows if not blank(row["cause"]) and row["cause"] != "unseen")
    goals = "1 goal" if n == 1 else f"{n} goals"
    if told == 0:
        return [html.P(f"{goals} against us, none with its cause. It is asked of a goal of theirs.")]

    def named(row: Mapping[str, Any]) -> str:
        words = UNANSWERED if blank(row["cause"]) else answer_name(moment, "shot", "cause", row["cause"])
        return f"{words[:1].upper()}{words[1:]}"

    lede = f"{goals} against us; the cause was made out in {told}."
    return [html.P(lede, className="lede"), grid(filmed, rows, named, "Cause", CAUSES)]


def _units(moment: Moment, filmed: Filmed, part: Slice) -> list[Component]:
    from analysis.lines import changes, units

    small_n = moment.settings.small_n
    rows = records(units(moment.tables, part, small_n=small_n))
    named_rows = [row for row in rows if not blank(row["unit"])]
    if not named_rows:
        key = key_of(moment, "line")
        words = f"No line change is marked. Name the lines in lines.toml; then {key} marks which of them comes on."
        return [html.P(words)]
    every = {one for row in rows for one in row["possessions_ids"]}
    unsaid = {one for row in rows if blank(row["unit"]) for one in row["possessions_ids"]}

    def named(row: Mapping[str, Any]) -> str:
        words = answer_name(moment, "line", "line", row["unit"])
        if words == row["unit"]:
            words = answer_name(moment, "line", "unit", row["unit"])
        return f"{words[:1].upper()}{words[1:]}"

    open_ = f" Of {len(unsaid)} of {len(every)} possessions nobody said who was on, for a part at least."
    made: list[Component] = [
        html.P(
            "A shot, a goal or a lost ball belongs to the line that was on the floor when it happened: offence and "
            f"defence change after the ball is gained.{open_ if unsaid else ''} Lines meet "
            "different opponents: this is what they saw, not what they caused.",
            className="lede",
        )
    ]
    for ball, title in (("with", "With the ball"), ("without", "Without it: what the others made")):
        those = [row for row in named_rows if row["ball"] == ball]
        if those:
            made += [html.H3(title), grid(filmed, those, named, "Line", UNITS)]
    bad = [row for row in records(changes(moment.tables, part, small_n=small_n)) if row["team"] == "ours"]
    return [*made, *_bad(filmed, bad)]


def _bad(filmed: Filmed, rows: Sequence[Mapping[str, Any]]) -> list[Component]:
    if not rows or not int(rows[0]["bad_n"]):
        return []
    columns = (
        Column("changes", "Changes", COUNT, "lines", "line changes"),
        Column("bad", "Bad", WORDS, "lines", "bad changes"),
        Column("goal_after_bad", "Goal against after a bad one", SHORT, "lines", "bad changes with a goal against"),
        Column("goal_after_clean", "after a clean one", SHORT, "lines", "clean changes with a goal against"),
    )
    return [html.H3("Changes, at any strength"), grid(filmed, rows, lambda row: "Our changes", "", columns)]

"""Was the job done: checkpoints met and missed, whether that goes with shots, and what the others make of our ball."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.found import findings_of, of_checkpoints, said_of
from dashboard.pages.grid import COUNT, RATE, SHORT, WORDS, Column, grid
from dashboard.pages.names import blank, checkpoint_name, set_name
from dashboard.pages.numbers import records
from dashboard.pages.screens import gap_words

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.slice import Slice
    from dashboard.loading import Filmed
    from dashboard.moment import Moment

DONE = (
    Column("grades", "Graded", COUNT, "grades", "grades"),
    Column("done", "Done", RATE, "grades", "done"),
    Column("not_gradable", "Not gradable", COUNT, "grades", "not gradable", True),
)
WORTH = (
    Column("met", "Runs with a shot: met", WORDS, "runs", "met, with a shot"),
    Column("missed", "missed", WORDS, "runs", "missed, with a shot"),
    Column("gap", "The difference", "text", "runs", ""),
)
SAFETY = "safety"
GOES = "Does doing it go with shots?"
HOW_TO_GRADE = (
    "Nothing is graded here. The checkpoints stand in the playbook; in a second pass, a grade says whether a player "
    "met one, before you watch how the run ends."
)


def checkpoints(
    moment: Moment, filmed: Filmed, part: Slice, *, across: bool = False, fact: str = "shot", goes: bool = True
) -> list[Component]:
    """Checkpoints: how often met, and what followed.

    Parameters
    ----------
    moment, filmed
        The season, and which rows have film.
    part : Slice
        What is looked at.
    across : bool
        Of several sets, so that each line says its set.
    fact : str
        What the page counts runs by, which is looked at beside shots.
    goes : bool
        With whether it goes with shots.

    Returns
    -------
    list of Component
        Two tables; what to do where nothing is graded.
    """
    from analysis.execution import graded

    small_n = moment.settings.small_n
    rows = records(graded(moment.tables, part, by=("set", "checkpoint"), small_n=small_n))
    rows = [row for row in rows if not blank(row["checkpoint"])]
    if not rows:
        return [html.P(HOW_TO_GRADE)]

    def named(row: Mapping[str, Any]) -> str:
        return checkpoint_name(moment, row["set"], row["checkpoint"])

    def about(row: Mapping[str, Any]) -> str:
        return set_name(moment, row["set"]) if across else ""

    rows.sort(key=lambda row: -int(row["grades"]))
    made: list[Component] = [grid(filmed, rows, named, "Checkpoint", DONE, about=about, class_name="job")]
    going = worth_of(moment, filmed, part, across=across, fact=fact) if goes else []
    return [*made, html.H3(GOES), *going] if going else made


def worth_of(moment: Moment, filmed: Filmed, part: Slice, *, across: bool, fact: str) -> list[Component]:
    """Whether meeting a checkpoint goes with shots.

    Parameters
    ----------
    moment, filmed, part, across, fact
        As for `checkpoints`.

    Returns
    -------
    list of Component
        What may be said, and a table; nothing where no checkpoint was both met and missed.
    """
    from analysis.execution import worth

    compared = records(worth(moment.tables, part, small_n=moment.settings.small_n))
    compared = [row for row in compared if int(row["met_n"]) and int(row["missed_n"]) and not _is_safety(row)]
    if not compared:
        return []

    def named(row: Mapping[str, Any]) -> str:
        return checkpoint_name(moment, row["set"], row["checkpoint"])

    def about(row: Mapping[str, Any]) -> str:
        return set_name(moment, row["set"]) if across else ""

    for row in compared:
        row["gap"] = gap_words(row, "difference")
    return [
        said_of(moment, filmed, findings_of(moment, part, fact), of_checkpoints({str(row["set"]) for row in compared})),
        html.P(str(compared[0]["caution"]), className="lede"),
        grid(filmed, compared, named, "Checkpoint", WORTH, about=about, class_name="job"),
    ]


def _is_safety(row: Mapping[str, Any]) -> bool:
    """Whether a checkpoint is that of the safety: it is held against what they make of the ball, not our own shots."""
    return str(row["checkpoint"]).rsplit(".", 1)[-1] == SAFETY


BY_MAN = (
    Column("grades", "Graded", COUNT, "grades", "grades"),
    Column("done", "Done", RATE, "grades", "done"),
)
COST = tuple(
    (
        Column("lost", "Ball to them", COUNT, "possessions", "our possessions that gave them the ball"),
        *(
            Column(
                f"{fact}_{seconds}s",
                f"{fact.capitalize()} within {seconds} s",
                WORDS,
                "possessions",
                f"their possessions with a {fact} within {seconds} s",
            )
            for seconds in (5, 10, 30)
        ),
    )
    for fact in ("shot", "goal")
)
"""Two tables: shots, and goals."""
LOST = (
    Column("lost", "Ball to them", COUNT, "possessions", "our possessions that gave them the ball"),
    Column("shot_against", "They shot at once", RATE, "possessions", "their possessions with a shot at once"),
    Column("goal_against", "Scored", SHORT, "possessions", "their possessions with a goal at once"),
)

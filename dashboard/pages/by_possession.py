"""Sets by the possessions in which they were run, and what each of their runs became."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.grid import COUNT, RATE, SHORT, WORDS, Column, grid
from dashboard.pages.names import set_name
from dashboard.pages.numbers import records

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.slice import Slice
    from dashboard.loading import Filmed
    from dashboard.moment import Moment

HELD = (
    Column("possessions", "Possessions", COUNT, "possessions", "possessions in which it was run"),
    Column("shot", "With a shot from then on", RATE, "possessions", "possessions with a shot from then on"),
    Column("goal", "With a goal", WORDS, "possessions", "possessions with a goal from then on"),
    Column("again", "Run again", SHORT, "possessions", "possessions in which it was run again", True),
)
BECAME = (
    Column("became_shot", "A shot", COUNT, "runs", "runs that brought a shot"),
    Column("became_penalty", "A penalty drawn", COUNT, "runs", "runs without a shot that drew a penalty"),
    Column("became_pull_out", "Pulled out", COUNT, "runs", "runs without a shot that were pulled out"),
    Column("became_lost", "Ball lost", COUNT, "runs", "runs without a shot that lost the ball"),
    Column("became_other", "Something else", COUNT, "runs", "runs that ended otherwise", True),
    Column("became_unknown", "Not answered", COUNT, "runs", "runs without an answer to how they ended", True),
)
SHOWN = ("set", "family", "freelance", "not_tagged")


def possessions_of(moment: Moment, filmed: Filmed, part: Slice) -> list[Component]:
    """What came of the possessions in which sets were run.

    Parameters
    ----------
    moment, filmed
        The season, and which rows have film.
    part : Slice
        Which runs are looked at.

    Returns
    -------
    list of Component
        Two tables with what they count; nothing where no such run is.
    """
    from analysis.set_possessions import by_possession

    rows = records(by_possession(moment.tables, part, small_n=moment.settings.small_n))
    rows = [row for row in rows if row["phase"] in SHOWN]
    rows.sort(key=lambda row: (row["phase"] not in ("set", "family"), -int(row["possessions"])))
    if not rows:
        return []

    def named(row: Mapping[str, Any]) -> str:
        return set_name(moment, row["set"], row["phase"])

    return [
        html.P(
            "A possession counts once for each set that was run in it, and its shots from that set’s first run on: a "
            "set that was pulled out and came to its shot the second time has come to it. So one shot may stand under "
            "two sets.",
            className="lede",
        ),
        grid(filmed, rows, named, "Set", HELD),
        html.H3("What did each run become?"),
        html.P(
            "Every run stands once, under the first that holds. A run that was pulled out, or drew a penalty, has not "
            "failed as one that lost the ball has.",
            className="lede",
        ),
        grid(filmed, rows, named, "Set", BECAME),
    ]

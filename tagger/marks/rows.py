"""From one mark to its own row in an event table."""

from __future__ import annotations

import re
from typing import Any

from tagger.marks.resolve import Mark
from tagger.tables import NONE, TABLES

TABLE_OF = {
    "screen": "screens",
    "shot": "shots",
    "turnover": "turnovers",
    "faceoff": "faceoffs",
    "loose_ball": "loose_balls",
    "penalty": "penalties",
    "whistle": "whistles",
    "clock": "clock",
    "fresh_clock": "fresh_clocks",
    "goalie": "goalies",
    "line": "lines",
    "grade": "grades",
    "note": "notes",
}
_WITH_THE_BALL = ("screen", "shot", "turnover")
"""Kinds whose team is the one that has the ball; every other kind says whose it is, or nobody knows."""
COLUMNS = {table: {column.name for column in columns} for table, columns in TABLES.items()}
_NAMED = re.compile(r"#(\d{1,2})(?!\d)")


def event_row(
    mark: Mark,
    at_ms: int,
    *,
    period: int | None,
    possession: str | None,
    run: str | None,
    team: str | None,
    strength: str | None,
) -> tuple[str, dict[str, Any]]:
    """The row of a mark whose kind has a table of its own.

    Parameters
    ----------
    mark : Mark
        With cleaned answers.
    at_ms : int
        Its game time.
    period : int or None
        Number of the period.
    possession, run : str or None
        What it falls in.
    team, strength : str or None
        Whose ball it is, and the strength seen from that team.

    Returns
    -------
    tuple of str and dict
        The table's name and the row, without game and book.
    """
    table = TABLE_OF[mark.kind]
    wanted = COLUMNS[table]
    row: dict[str, Any] = {name: value for name, value in mark.answers.items() if name in wanted}
    row |= {
        "id": mark.id,
        "possession": possession,
        "run": run,
        "period": period,
        "at_ms": at_ms,
        "marks": (mark.id,),
    }
    if mark.kind in _WITH_THE_BALL:
        row["team"] = team
    if "strength" in wanted:
        row["strength"] = strength
    place = mark.answers.get("place")
    if "x_m" in wanted and isinstance(place, list):
        row["x_m"], row["y_m"] = float(place[0]), float(place[1])
    if mark.kind == "shot" and row.get("feeder") == NONE:
        row.setdefault("feeder2", NONE)  # without a feed there is no pass before it
    if mark.kind == "screen":
        row["again"] = mark.answers.get("again") == "yes"
    if mark.kind == "clock":
        row["clock_s"] = mark.answers.get("clock")
    if mark.kind == "note":
        row["players"] = " ".join(dict.fromkeys(_NAMED.findall(str(row.get("text", ""))))) or None
        row["star"] = mark.answers.get("star") == "yes"
    return table, row

"""A clip in one line, as the list below the film shows it: how it ended (a shape), against whom, when, what it was."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from dashboard.clips import MOMENTS, moment_row
from dashboard.story import happened, label, when, where

if TYPE_CHECKING:
    from dashboard.moment import Moment

SHOT_ENDINGS = {"goal": "goal", "saved": "save"}
"""What a shot's result is called where it ends a run; what nobody saw is none, everything else missed."""


def line_of(moment: Moment, table: str, id_: str, *, unsaid: bool) -> dict[str, Any]:
    """What is said of a clip beside its film.

    Parameters
    ----------
    moment : Moment
        The season.
    table, id_ : str
        The row that it shows.
    unsaid : bool
        Whether nothing may be said of what happens in it.

    Returns
    -------
    dict
        `id` and `table` of the row; `label`: all in one sentence; `opponent`, `clock` (else the film's time) and
        `what`, the last empty where it is unsaid; `shape` and `ended`: how it ended, as shape and word, empty where
        that is not known; `game` and `at_ms`: where the tagging page shows it.
    """
    row = moment_row(id_) if table == MOMENTS else moment.rows(table)[id_]
    if row is None:
        return {"id": id_, "table": table, "label": id_}
    game = moment.game(str(row["game"]))
    shape, ended = ("", "") if unsaid else _ending(moment, table, row)
    return {
        "id": id_,
        "table": table,
        "label": where(moment, row) if unsaid else label(moment, table, row),
        "opponent": game.opponent if game else str(row["game"]),
        "clock": when(row),
        "what": "" if unsaid else happened(moment, table, row),
        "shape": shape,
        "ended": ended,
        "game": str(row["game"]),
        "at_ms": int(row.get("at_ms", row.get("start_ms")) or 0),
    }


def _ending(moment: Moment, table: str, row: Mapping[str, Any]) -> tuple[str, str]:
    """The shape of how a row ended, and that ending in the vocabulary’s word; a shape can stand for two endings."""
    code = str(row.get("ended") or "")
    if table == "turnovers":
        code = "turnover"
    shot: Mapping[str, Any] | None = row if table == "shots" else None
    if table == "runs" and (shots := moment.shots_of_run.get(str(row["id"]))):
        shot = shots[-1]
    if shot is not None:
        result = str(shot.get("result") or "unseen")
        code = "" if result == "unseen" else SHOT_ENDINGS.get(result, "missed_shot")
    ending = moment.language.endings.get(code, {})
    shape = str(ending.get("shape", ""))
    return shape, str(ending["name"]) if shape else ""

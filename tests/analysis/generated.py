"""Seasons from the sample data's own generator, as event tables: their true rates are known."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import pandas as pd

from sample_data.sim import simulate_game
from sample_data.truth import Truth
from tagger.tables import TABLES, frames

OPPONENTS = ("Quarry Hill", "Millrace", "Tannery Row", "Fernbank")


def generated_season(seed: int, n_games: int = 8) -> dict[str, pd.DataFrame]:
    """Event tables of games simulated one after the other, everything tagged."""
    rows: dict[str, list[dict[str, Any]]] = {name: [] for name in TABLES}
    for number in range(1, n_games + 1):
        truth = simulate_game(1000 * seed + number, OPPONENTS[number % len(OPPONENTS)]).truth
        for name, table in truth_rows(truth, f"g{number}").items():
            rows[name] += table
    return frames(rows)


def truth_rows(truth: Truth, game: str) -> dict[str, list[dict[str, Any]]]:
    """Rows of the event tables that a perfect tagger would make of one game."""
    period_of = _periods(truth)
    head = {"game": game, "book": "truth"}

    def rows(name: str, table: Any, **more: Any) -> list[dict[str, Any]]:
        made = []
        for at, one in enumerate(table):
            row = {key: value for key, value in asdict(one).items() if not isinstance(value, dict)}
            row |= {"id": f"{game}/{row.get('id', f'{name}{at}')}"}
            for key in ("possession", "run", "parent"):
                if row.get(key):
                    row[key] = f"{game}/{row[key]}"
            row["period"] = period_of(row.get("at_ms", row.get("start_ms", 0)))
            made.append(head | row | {"marks": (row["id"],)} | more)
        return made

    possessions = {f"{game}/{one.id}": one for one in truth.possessions}
    runs = rows("run", truth.runs)
    for row in runs:
        row["settled_ms"] = possessions[row["possession"]].settled_ms
    run_possession = {row["id"]: row["possession"] for row in runs}
    grades = rows("grade", truth.grades)
    for row in grades:
        row["possession"] = run_possession[row["run"]]
    faceoffs = [row | {"won": row["won_by"]} for row in rows("faceoff", truth.face_offs)]
    return {
        "periods": [
            row | {"period": one.number} for row, one in zip(rows("period", truth.periods), truth.periods, strict=True)
        ],
        "possessions": rows("possession", truth.possessions),
        "runs": runs,
        "screens": rows("screen", truth.screens),
        "shots": rows("shot", truth.shots),
        "turnovers": rows("turnover", truth.turnovers),
        "faceoffs": faceoffs,
        "loose_balls": rows("loose", truth.loose_balls),
        "grades": grades,
    }


def _periods(truth: Truth) -> Any:
    def period_of(at_ms: int) -> int:
        return max((one.number for one in truth.periods if one.start_ms <= at_ms), default=1)

    return period_of

"""What may be said to stand out: one family, within games, of what can be compared at all."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest

from analysis.findings import EVEN_OURS, findings
from analysis.slice import Slice
from analysis.stats.multiplicity import family_wise
from tagger.tables import frames
from tests.analysis.invented import one, records
from tests.bench.honesty.quiet import SETS, Scenario, quiet
from tests.bench.honesty.still import Kind

STILL = Scenario(Kind("still", 0.11, n_games=6), frees=True)
HEAD = {"book": "b", "period": 1, "team": "ours", "strength": "5v5"}


@pytest.fixture(scope="module")
def tables() -> dict[str, pd.DataFrame]:
    return quiet(5, STILL)


def test_one_bar_is_held_over_everything_that_is_compared(tables: dict[str, pd.DataFrame]) -> None:
    found = findings(tables)
    made = found.compared
    assert set(made["kind"]) == {"set", "freelance", "side", "checkpoint", "coverage", "safety"}
    assert (made["comparisons"] == len(made)).all() and found.looked_at == len(made)
    np.testing.assert_array_equal(made["speaks"].to_numpy(dtype=bool), family_wise(made["p"].to_numpy(dtype=float)))
    assert len(found.compared[found.compared["kind"] == "set"]) == 2 * len(SETS)  # shots and lost balls
    more = findings(tables, fact="goal")
    assert more.looked_at == len(made) + 3 * len(SETS)


def test_each_side_is_counted_with_its_rows_and_half_is_left_to_a_question(tables: dict[str, pd.DataFrame]) -> None:
    made = findings(tables).compared
    row = one(made[made["kind"] == "set"], set="anchor", fact="shot")
    runs = tables["runs"][tables["runs"]["team"] == "ours"]
    assert set(row["one_n_ids"]) == set(runs[runs["set"] == "anchor"]["id"])
    assert set(row["other_n_ids"]) == set(runs[runs["set"].notna() & (runs["set"] != "anchor")]["id"])
    assert len(row["one_ids"]) == row["one_k"] and row["within"] == "games and sides"
    p = np.array([0.03])
    assert family_wise(p, 0.05).all() and not family_wise(p, 0.025).any()
    assert (findings(tables, asked=True).compared["p"] == made["p"]).all()


def test_an_answer_that_frees_by_definition_is_compared_with_nothing(tables: dict[str, pd.DataFrame]) -> None:
    made = findings(tables).compared
    rows = made[made["kind"] == "coverage"]
    assert set(rows["subject"]) == {"switched", "stayed", "under"}
    blown = set(tables["screens"][tables["screens"]["coverage"] == "blown"]["id"])
    assert blown and all(blown.isdisjoint(row["other_n_ids"]) for row in records(rows))


def _kept_for_the_weak() -> dict[str, list[dict[str, Any]]]:
    """One set is run in games that are good for all, another in bad ones; in each game both do alike."""
    rows: dict[str, list[dict[str, Any]]] = {"runs": [], "shots": []}
    for game in range(8):
        good = game % 2 == 0
        for name, n in (("keel", 20 if good else 5), ("ferry", 5 if good else 20)):
            for at in range(n):
                key, head = f"g{game}{name}{at}", HEAD | {"game": f"g{game}"}
                rows["runs"].append(head | {"id": key, "phase": "set", "set": name, "ended": "whistle"})
                if at % 5 < (4 if good else 1):
                    rows["shots"].append(head | {"id": f"s{key}", "run": key, "result": "wide"})
    return rows


def test_a_set_that_was_kept_for_weak_opponents_is_no_better() -> None:
    made = findings(frames(_kept_for_the_weak()), Slice(team="ours", strengths=("even",))).compared
    keel = one(made[made["kind"] == "set"], set="keel", fact="shot")
    assert keel["one"] - keel["other"] == pytest.approx(0.36) and keel["difference"] == pytest.approx(0)
    assert keel["p"] == 1 and not keel["speaks"]


def test_of_one_game_nothing_is_said() -> None:
    rows = _kept_for_the_weak()
    for row in rows["runs"] + rows["shots"]:
        row["game"] = "g"
    made = findings(frames(rows), EVEN_OURS).compared
    assert len(made) and not made["speaks"].any() and (made["p"] == 1).all()


def test_nothing_is_compared_with_too_few() -> None:
    rows = _kept_for_the_weak()
    assert findings(frames(rows), small_n=101).looked_at == 0
    assert findings(frames({})).looked_at == 0

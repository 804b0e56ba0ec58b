"""The practice list: short, by rules, and silent when there is nothing to say. And the other team's tables, and the
shot chart."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from analysis.codes import coded
from analysis.errors import QuestionError
from analysis.findings import NOTICED, findings
from analysis.opponent import scouting
from analysis.practice import MOST, NOTHING_ELSE, NOTHING_SAID, practice_list
from analysis.shot_chart import chart
from analysis.stated import STATED, Comparison
from tagger.tables import frames
from tests.analysis.invented import one, records, season

HEAD = {"game": "g", "book": "b", "period": 1, "team": "ours", "strength": "5v5"}
ASKED = Comparison("Does Keel bring more shots?", "shot", {"set": "keel"}, {"set": "ferry"})


def _rows(counts: dict[str, tuple[int, int, int]]) -> dict[str, list[dict[str, Any]]]:
    """Sets → runs with a shot, runs with a lost ball, runs."""
    rows: dict[str, list[dict[str, Any]]] = {"runs": [], "shots": [], "turnovers": [], "grades": []}
    for name, (shots, lost, n) in counts.items():
        for at in range(n):
            run = f"{name}{at}"
            head = HEAD | {"game": f"g{at % 4}"}
            rows["runs"].append(head | {"id": run, "phase": "set", "set": name, "ended": "whistle"})
            if at < shots:
                rows["shots"].append(head | {"id": f"s{run}", "run": run, "result": "wide"})
            elif at < shots + lost:
                rows["turnovers"].append(head | {"id": f"t{run}", "run": run})
    return rows


def _listed(tables: dict[str, pd.DataFrame], **how: Any) -> pd.DataFrame:
    return practice_list(tables, findings(tables, asked="question" in how), **how)


def test_a_still_season_says_that_nothing_can_be_told() -> None:
    made = _listed(frames(_rows({"keel": (20, 10, 40), "ferry": (20, 10, 40), "lantern": (21, 10, 40)})))
    row = one(made)
    assert (row["kind"], row["said"], row["ids"], row["label"]) == ("nothing", NOTHING_SAID, (), None)
    assert row["comparisons"] > 0
    assert one(_listed(frames({})))["kind"] == "nothing"


def test_the_stated_question_comes_first_whatever_its_answer() -> None:
    tables = frames(_rows({"keel": (20, 10, 40), "ferry": (20, 10, 40)}))
    row, rest = records(_listed(tables, question=ASKED))
    assert (rest["kind"], rest["said"], rest["ids"]) == ("nothing", NOTHING_ELSE, ())
    assert row["kind"] == "question" and row["label"] == STATED
    assert row["said"].startswith("Does Keel bring more shots? It cannot be told yet")
    assert len(row["ids"]) == 80


def test_what_stands_out_is_said_with_numbers_interval_and_film() -> None:
    tables = frames(
        _rows({"keel": (36, 2, 40), "ferry": (8, 30, 40), "lantern": (20, 10, 40), "tidepool": (20, 10, 40)})
    )
    made = _listed(tables, question=ASKED, names={"keel": "Keel", "ferry": "Ferry"})
    assert 2 < len(made) <= MOST and made["kind"].iloc[0] == "question"
    keep, fewer = records(made[made["kind"] == "keep"])
    fix = records(made[made["kind"] == "fix"])
    assert keep["said"].startswith("Keep Keel: 36 of 40 runs brought a shot, against 48 of 120 of the other sets")
    assert (keep["k"], keep["n"], keep["other_k"], keep["other_n"]) == (36, 40, 48, 120) and keep["lo"] < 0.9 < keep[
        "hi"
    ]
    assert len(keep["ids"]) == 36 and keep["label"] == NOTICED
    assert fewer["said"].startswith("Keep Keel: only 2 of 40 runs lost the ball, against 50 of 120 of the other sets")
    assert any("Ferry" in row["said"] and "lost the ball" in row["said"] for row in fix)


def test_a_keep_is_among_the_first_two_even_when_the_fixes_are_more_surprising() -> None:
    tables = frames(_rows({"keel": (30, 4, 40), "ferry": (2, 36, 40), "lantern": (2, 36, 40), "tidepool": (22, 4, 40)}))
    assert "keep" in _listed(tables)["kind"].tolist()[:2]


def test_a_missed_habit_is_practised() -> None:
    rows = _rows({"keel": (30, 5, 60)})
    rows["grades"] = [
        {
            "game": f"g{at % 4}",
            "id": f"g{at}",
            "run": f"keel{at}",
            "player": "7",
            "checkpoint": "wall",
            "grade": "plus" if at < 32 else "minus",
        }
        for at in range(60)
    ]
    made = one(_listed(frames(rows), names={"wall": "hip to hip", "keel": "Keel"}))
    assert made["said"].startswith("Practise “hip to hip” of Keel: where it was missed, 0 of 28 runs brought a shot")
    assert made["said"].endswith("where it was met, 30 of 32; plausibly 0–14 against 78–98 in 100.")
    assert (made["method"], made["level"]) == ("wilson, widened for games", 0.95)
    assert made["kind"] == "fix" and len(made["ids"]) == 28


def test_coverage_named_only_where_somebody_came_free_is_no_candidate() -> None:
    def screens(told: bool) -> list[dict[str, Any]]:
        made: list[dict[str, Any]] = []
        for at in range(80):
            free = at % 2 == 0
            coverage = ("switched" if at % 8 else "under") if free or told else None
            if told and not free:
                coverage = "under"
            head = HEAD | {"game": f"g{at // 2 % 4}"}
            made.append(head | {"id": f"e{at}", "run": "r", "coverage": coverage, "free": "user" if free else "nobody"})
        return made

    runs = [HEAD | {"id": "r", "phase": "freelance"}]
    loud = _listed(frames({"runs": runs, "screens": screens(told=True)}))
    assert "Find an answer for when they went under" in one(loud, kind="fix")["said"]
    assert one(_listed(frames({"runs": runs, "screens": screens(told=False)})))["comparisons"] == 0


def test_the_other_team_has_the_same_tables() -> None:
    tables = season(4, n_games=3, n_possessions=30)
    made = scouting(tables)
    assert set(made["actions"]["phase"]) >= {"family"} and (made["actions"]["team"] == "theirs").all()
    shots = tables["shots"]
    theirs = shots[(shots["team"] == "theirs") & ~shots["result"].isin(["waved_off", "dump"])]
    assert made["shooters"]["shots"].sum() == made["actions"]["shots"].sum() == len(theirs)
    assert {name: len(table) for name, table in scouting(frames({})).items()} == dict.fromkeys(made, 0)


def test_the_chart_counts_lanes_as_the_shooter_faces_the_goal() -> None:
    places = [(24.0, 0.0), (24.0, 3.0), (20.0, -3.0), (10.0, 0.0), (None, None)]
    shots = [
        HEAD | {"id": f"s{at}", "x_m": x, "y_m": y, "result": "goal" if at == 0 else "wide"}
        for at, (x, y) in enumerate(places)
    ]
    made = chart(frames({"shots": shots}), goal_x_m=25.3)
    assert len(made) == 10 and made["shots"].sum() == 5
    held = {(row["lane"], row["ring"]): row["shots_ids"] for row in records(made) if row["shots"]}
    assert held == {
        ("middle", 1): ("s0",),
        ("left", 1): ("s1",),
        ("right", 2): ("s2",),
        ("middle", 3): ("s3",),
        (None, None): ("s4",),
    }
    near = one(made, lane="middle", ring=1)
    assert (near["goal_k"], near["share_k"], near["share_n"]) == (1, 1, 4)
    with pytest.raises(QuestionError, match="rise"):
        chart(frames({}), goal_x_m=25.3, rings_m=(8.0, 4.0))


def test_results_by_place_are_withheld_when_places_are_given_for_goals_only() -> None:
    shots = [
        HEAD | {"id": f"s{at}", "x_m": 24.0 if at < 31 else None, "y_m": 0.0 if at < 31 else None,
                "result": "goal" if at < 24 or at == 57 else "wide"}
        for at in range(58)
    ]  # fmt: skip
    near = one(chart(frames({"shots": shots}), goal_x_m=25.3), lane="middle", ring=1)
    assert near["goal_withheld"] and near["goal"] is None and (near["goal_k"], near["goal_n"]) == (24, 31)
    fair = one(chart(frames({"shots": shots[:31]}), goal_x_m=25.3), lane="middle", ring=1)
    assert fair["goal"] == pytest.approx(24 / 31) and not fair["goal_withheld"]


@pytest.mark.parametrize("make", [_listed, lambda tables: chart(tables, goal_x_m=25.3)])
def test_coded_tables_and_nothing(make: Any) -> None:
    tables = season(7, n_games=2, n_possessions=20)
    full, nothing = make(tables), make(frames({}))
    pd.testing.assert_frame_equal(full, make(coded(tables)))
    pd.testing.assert_series_equal(full.dtypes, nothing.dtypes)

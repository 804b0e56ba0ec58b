"""The stated question, and how numbers are said."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from analysis.codes import coded
from analysis.errors import QuestionError
from analysis.findings import findings
from analysis.saying import said
from analysis.slice import Slice
from analysis.stated import STATED, Comparison, answer
from tagger.tables import frames
from tests.analysis.invented import one, season

HEAD = {"game": "g", "book": "b", "team": "ours", "strength": "5v5"}


def _tables(counts: dict[tuple[str, str | None], tuple[int, int]]) -> dict[str, pd.DataFrame]:
    runs: list[dict[str, Any]] = []
    shots: list[dict[str, Any]] = []
    for (name, side), (k, n) in counts.items():
        for at in range(n):
            run, head = f"{name}{side}{at}", HEAD | {"game": f"g{at % 10}"}
            runs.append(
                head | {"id": run, "phase": "set", "set": name, "side": side, "ended": "shot" if at < k else "turnover"}
            )
            if at < k:
                shots.append(head | {"id": f"s{run}", "run": run, "result": "wide"})
    return frames({"runs": runs, "shots": shots})


def test_a_stated_question_is_one_comparison_and_answered_in_a_sentence() -> None:
    tables = _tables(
        {("keel", "left"): (60, 70), ("keel", "right"): (48, 80), ("keel", None): (5, 5), ("ferry", "left"): (1, 9)}
    )
    asked = Comparison(
        "Does Keel shoot more to the left?", "shot", {"set": "keel", "side": "left"}, {"set": "keel", "side": "right"}
    )
    made = one(answer(tables, asked))
    assert (made["one_k"], made["one_n"], made["other_k"], made["other_n"]) == (60, 70, 48, 80)
    assert made["difference"] == pytest.approx(0.257, abs=0.01) and 0 < made["difference_lo"] < made["difference_hi"]
    assert made["label"] == STATED and made["comparisons"] == 1 and made["p"] < 0.025
    assert made["said"].startswith("Yes, more often: 60 of 70; plausibly 75–92 in 100, against 48 of 80")
    rest = one(answer(tables, Comparison("Left?", "shot", {"side": "left"})))
    assert rest["other_n"] == 80  # the five whose side was not answered may belong to either


@pytest.mark.parametrize(
    ("left", "right", "starts"),
    [
        ((2, 4), (9, 20), "Too few to answer"),
        ((10, 20), (11, 20), "It cannot be told yet"),
        ((2, 30), (20, 30), "No, less often"),
    ],
)
def test_answers_say_no_more_than_they_know(left: tuple[int, int], right: tuple[int, int], starts: str) -> None:
    tables = _tables({("keel", "left"): left, ("keel", "right"): right})
    assert one(answer(tables, Comparison("Left?", "shot", {"side": "left"})))["said"].startswith(starts)


def test_a_question_about_screens_counts_screens() -> None:
    runs = [
        HEAD | {"id": f"r{n}", "phase": "set", "set": "keel", "side": "left" if n < 20 else "right"} for n in range(40)
    ]
    screens: list[dict[str, Any]] = [
        HEAD | {"id": f"e{n}", "run": f"r{n}", "kind": "off_ball", "free": "user" if n % 4 else "nobody", "at_ms": 1}
        for n in range(39)
    ]
    screens.append(HEAD | {"id": "e39", "run": "r39", "kind": "off_ball", "free": None})
    asked = Comparison(
        "Does our down screen free him going left?",
        "freed",
        {"kind": "off_ball", "set_side": "left"},
        None,
        Slice(team="ours"),
    )
    made = one(answer(frames({"runs": runs, "screens": screens}), asked))
    assert (made["one_k"], made["one_n"], made["other_k"], made["other_n"], made["other_asked"]) == (15, 20, 14, 19, 20)


def test_a_question_whose_sides_are_named_for_shots_only_is_not_answered() -> None:
    tables = _tables({("keel", "left"): (24, 26), ("keel", "right"): (11, 12), ("keel", None): (1, 40)})
    made = one(answer(tables, Comparison("Left?", "shot", {"set": "keel", "side": "left"}, {"side": "right"})))
    assert made["said"].startswith("It cannot be told fairly: “side” was answered at another rate")
    assert made["one_withheld"] and made["one"] is None and made["difference"] is None and made["p"] is None
    assert (made["one_k"], made["one_n"], made["other_k"], made["other_n"]) == (24, 26, 11, 12)
    whole = one(answer(tables, Comparison("Keel?", "shot", {"set": "keel"}, {"side": "right"})))
    assert whole["one_withheld"]  # either side may be what leans
    assert (findings(tables).compared["kind"] == "side").sum() == 0


def test_a_question_by_setter_is_not_answered_when_setters_are_named_on_what_it_asks_for() -> None:
    screens: list[dict[str, Any]] = [
        HEAD | {"id": f"e{n}", "free": "user" if n < 30 else "nobody", "setter": ("7", "9")[n % 2] if n < 33 else None}
        for n in range(60)
    ]
    made = one(answer(frames({"screens": screens}), Comparison("Does 7 free him?", "freed", {"setter": "7"})))
    assert made["one_withheld"] and "“setter” was answered at another rate" in made["said"]


def test_questions_of_what_does_not_exist_are_refused_by_name() -> None:
    wrong = (
        ({"measure": "luck", "one": {"set": "keel"}}, "luck"),
        ({"measure": "shot", "one": {"kind": "on_ball"}}, "kind"),
        ({"measure": "shot", "one": {}}, "which runs"),
    )
    for how, word in wrong:
        with pytest.raises(QuestionError, match=word):
            Comparison("?", **how)  # type: ignore[arg-type]


def test_nothing_and_coded_tables() -> None:
    tables = season(7, n_games=2, n_possessions=20)
    asked = Comparison("?", "goal", {"set": "keel"})
    full, nothing = answer(tables, asked), answer(frames({}), asked)
    pd.testing.assert_series_equal(full.dtypes, nothing.dtypes)
    pd.testing.assert_frame_equal(full, answer(coded(tables), asked))
    assert one(answer(frames({}), asked))["said"] == "Too few to answer: none yet, against none yet."


def test_numbers_are_said_as_people_say_them() -> None:
    assert said(3, 20, 0.052, 0.36) == "3 of 20; plausibly 5–36 in 100"
    assert said(27, 48, 0.4233, 0.6879) == "27 of 48; plausibly 42–69 in 100"
    assert said(0, 0, 0, 1) == "none yet" and said(1, 9, 0, 1) == "1 of 9; too few to say"


def test_a_stretch_without_a_name_is_of_neither_side_and_says_between_what_the_difference_lies() -> None:
    tables = _tables({("keel", "left"): (6, 10), ("ferry", "left"): (2, 10), ("lantern", None): (1, 2)})
    runs: list[dict[str, Any]] = [
        HEAD | {"id": f"n{at}", "phase": "not_tagged", "ended": "turnover", "start_ms": at} for at in range(4)
    ]
    shots: list[dict[str, Any]] = [HEAD | {"id": "sn0", "run": "n0", "result": "wide"}]
    more = frames({"runs": runs, "shots": shots})
    tables |= {name: pd.concat([tables[name], more[name]], ignore_index=True) for name in ("runs", "shots")}
    pair = one(answer(tables, Comparison("Keel or Ferry?", "shot", {"set": "keel"}, {"set": "ferry"})))
    assert (pair["one_n"], pair["other_n"], pair["open"], set(pair["open_ids"])) == (
        10,
        10,
        4,
        {"n0", "n1", "n2", "n3"},
    )
    assert (pair["open_lo"], pair["open_hi"]) == pytest.approx((6 / 13 - 3 / 11, 7 / 11 - 2 / 13))
    rest = one(answer(tables, Comparison("Keel?", "shot", {"set": "keel"})))
    assert (rest["other_k"], rest["other_n"], rest["open"]) == (3, 12, 4)  # they may be Keel's: no others
    left = one(answer(tables, Comparison("Left?", "shot", {"side": "left"}, {"side": "right"})))
    assert left["open"] == 6 and (left["open_lo"], left["open_hi"]) == pytest.approx((8 / 24 - 1, 10 / 22))


def test_what_is_left_out_is_on_no_side() -> None:
    tables = _tables({("keel", "left"): (6, 10), ("ferry", "left"): (2, 10)})
    gone = [f"keelleft{at}" for at in range(4)]
    made = one(answer(tables, Comparison("Keel?", "shot", {"set": "keel"}), without=gone))
    assert (made["one_k"], made["one_n"], made["other_n"]) == (2, 6, 10) and not set(gone) & set(made["difference_ids"])


def test_a_side_has_the_same_range_in_the_sentence_as_in_its_rate() -> None:
    tables = _tables({("keel", "left"): (9, 20), ("ferry", "left"): (6, 20)})
    for name in ("runs", "shots"):
        at = tables[name]["id"].str.extract(r"(\d+)$")[0].astype(int)
        tables[name]["game"] = ("g" + (at % 4 + (at < 9) * (at % 2)).astype(str)).astype("string")
    made = one(answer(tables, Comparison("Keel?", "shot", {"set": "keel"})))
    ranges = [
        f"plausibly {made[f'{side}_lo'] * 100:.0f}–{made[f'{side}_hi'] * 100:.0f} in 100" for side in ("one", "other")
    ]
    assert all(each in made["said"] for each in ranges), (ranges, made["said"])

"""Screens: who came free, how far the credit reaches, what it was worth; and pairs."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.codes import coded
from analysis.errors import QuestionError
from analysis.pairs import feeds
from analysis.players import players
from analysis.screens import BY, lift, screens
from analysis.stats.proportion import newcombe
from tagger.tables import frames
from tests.analysis.invented import one, records, season
from tests.counts import cases

HEAD = {"game": "g", "book": "b", "team": "ours", "strength": "5v5"}


def _screen(screen: str, run: str, **how: Any) -> dict[str, Any]:
    return HEAD | {"id": screen, "run": run, "setter": "8", "user": "14", "free": "user", "at_ms": 10} | how


def _shot(shot: str, run: str, **how: Any) -> dict[str, Any]:
    return (
        HEAD
        | {"id": shot, "run": run, "result": "wide", "shooter": "5", "feeder": "none", "feeder2": "none", "at_ms": 20}
        | how
    )


def _tables(screens_: list[dict[str, Any]], shots: list[dict[str, Any]]) -> dict[str, pd.DataFrame]:
    names = sorted({row["run"] for row in [*screens_, *shots]})
    runs = [HEAD | {"id": name, "phase": "set", "set": "keel", "side": "left"} for name in names]
    return frames({"runs": runs, "screens": screens_, "shots": shots})


@pytest.mark.parametrize(
    ("screen", "shot", "credited"),
    [
        ({}, {"shooter": "14"}, (1, 1)),
        ({"free": "setter"}, {"feeder": "8"}, (1, 1)),
        ({"free": "setter"}, {"feeder": "9", "feeder2": "8"}, (1, 1)),
        ({}, {"feeder": "8"}, (0, 1)),
        ({}, {"feeder": None}, (0, 0)),
        ({"free": "third_man"}, {"shooter": "14"}, (0, 0)),
        ({"free": "nobody"}, {"shooter": "14"}, (0, 1)),
        ({"user": "unseen"}, {"shooter": "14"}, (0, 0)),
        ({}, {"shooter": "14", "at_ms": 5}, (0, 1)),
    ],
)
def test_credit_reaches_to_the_second_feeder_and_no_further(
    screen: dict[str, Any], shot: dict[str, Any], credited: tuple[int, int]
) -> None:
    made = records(screens(_tables([_screen("e", "r", **screen)], [_shot("s", "r", **shot)]), by=()))[0]
    assert (made["credited_k"], made["credited_n"]) == credited


def test_shares_of_who_came_free_leave_out_what_nobody_saw() -> None:
    free = ["user", "setter", "third_man", "nobody", "illegal", "unseen", None]
    made = records(screens(_tables([_screen(f"e{n}", f"r{n}", free=one) for n, one in enumerate(free)], []), by=()))[0]
    assert (made["screens"], made["freed_k"], made["freed_n"], made["freed_asked"]) == (7, 3, 5, 7)
    names = ("user_free", "setter_free", "third_man_free", "nobody_free", "illegal")
    assert [made[f"{name}_k"] for name in names] == [1, 1, 1, 1, 1]


def test_the_lift_is_newcombes_difference_of_freed_and_held() -> None:
    rows, shots = [], []
    for n in range(70):
        rows.append(_screen(f"a{n}", f"ra{n}"))
        shots += [_shot(f"sa{n}", f"ra{n}")] if n < 56 else []
    for n in range(80):
        rows.append(_screen(f"b{n}", f"rb{n}", free="nobody"))
        shots += [_shot(f"sb{n}", f"rb{n}")] if n < 48 else []
    made = records(lift(_tables(rows, shots)))[0]
    gap = newcombe(56, 70, 48, 80)
    assert (made["freed_k"], made["freed_n"], made["held_k"], made["held_n"], made["lift_n"]) == (56, 70, 48, 80, 70)
    assert (made["lift_lo"], made["lift_hi"]) == pytest.approx((float(gap.lo), float(gap.hi)))
    assert (round(made["lift_lo"], 4), round(made["lift_hi"], 4)) == (0.0524, 0.3339)  # Newcombe 1998, Table II
    assert "open" in made["caution"]


def test_the_lift_is_withheld_when_who_came_free_is_told_for_shots_only() -> None:
    rows: list[dict[str, Any]] = []
    shots: list[dict[str, Any]] = []
    for at in range(60):
        shot = at < 30
        free = ("user" if at % 2 else "nobody") if shot or at > 55 else None
        rows.append(HEAD | {"id": f"e{at}", "run": f"r{at}", "free": free, "at_ms": 1})
        if shot:
            shots.append(HEAD | {"id": f"s{at}", "run": f"r{at}", "result": "wide", "at_ms": 2})
    runs = [HEAD | {"id": f"r{at}", "phase": "set", "set": "keel"} for at in range(60)]
    made = one(lift(frames({"runs": runs, "screens": rows, "shots": shots})))
    assert made["freed_withheld"] and made["lift"] is None and made["lift_lo"] is None and made["freed_n"] == 17


def test_who_came_free_by_setter_is_withheld_when_setters_are_named_for_that_only() -> None:
    rows: list[dict[str, Any]] = [
        HEAD | {"id": f"e{at}", "free": "user" if at < 20 else "nobody", "setter": "9" if at < 22 else None}
        for at in range(40)
    ]
    nine = one(screens(frames({"screens": rows}), by=("setter",)), setter="9")
    assert nine["freed_withheld"] and nine["freed"] is None and (nine["freed_k"], nine["freed_n"]) == (20, 22)
    assert one(screens(frames({"screens": rows}), by=()))["freed"] == 0.5
    row = one(players(frames({"screens": [each | {"team": "ours"} for each in rows]})), player="9")
    assert row["freed_withheld"] and row["freed"] is None


def test_results_by_setter_are_withheld_when_setters_are_named_for_shots_only() -> None:
    rows = [_screen(f"a{n}", f"ra{n}") for n in range(20)] + [
        _screen(f"b{n}", f"rb{n}", setter=None) for n in range(20)
    ]
    tables = _tables(rows, [_shot(f"s{n}", f"ra{n}") for n in range(20)])
    made = one(screens(tables, by=("setter",)), setter="8")
    assert made["shot_withheld"] and made["shot"] is None and (made["shot_k"], made["shot_n"]) == (20, 20)
    assert made["freed"] == 1.0
    assert not records(screens(tables, by=("kind",)))[0]["shot_withheld"]


@settings(max_examples=cases(4, many=8), deadline=None)
@given(st.integers(0, 10_000), st.sets(st.sampled_from(BY), max_size=3))
def test_screens_add_up_however_they_are_split(seed: int, by: set[str]) -> None:
    tables = season(seed, n_games=2, n_possessions=10)
    made = screens(tables, by=tuple(sorted(by)))
    assert sorted(row for ids in made["screens_ids"] for row in ids) == sorted(tables["screens"]["id"])
    assert made["shot_k"].sum() == screens(tables, by=())["shot_k"].sum()


def test_pairs_are_feeder_and_shooter() -> None:
    shots = [
        _shot("s1", "r1", feeder="8", shooter="14", result="goal"), _shot("s2", "r2", feeder="8", shooter="14"),
        _shot("s3", "r3", feeder="14", shooter="8"), _shot("s4", "r4", feeder="unseen", shooter="8"), _shot("s5", "r5"),
    ]  # fmt: skip
    made = feeds(_tables([], shots))
    assert [(row["feeder"], row["shooter"], row["shots"], row["goal_k"]) for row in records(made)] == [
        ("8", "14", 2, 1), ("14", "8", 1, 0),
    ]  # fmt: skip


@pytest.mark.parametrize("make", [screens, lift, feeds])
def test_nothing_and_coded_tables(make: Any) -> None:
    tables = season(7, n_games=2, n_possessions=12)
    full, nothing = make(tables), make(frames({}))
    assert len(nothing) == 0
    pd.testing.assert_series_equal(full.dtypes, nothing.dtypes)
    pd.testing.assert_frame_equal(full, make(coded(tables)))


def test_a_question_that_screens_have_not_is_refused_by_name() -> None:
    tables = frames({})
    with pytest.raises(QuestionError, match="colour"):
        screens(tables, by=("colour",))
    with pytest.raises(QuestionError, match="assist"):
        lift(tables, fact="assist")

"""What unanswered rows leave open: every way they can belong lies between the ends, and the ends are reached."""

from __future__ import annotations

from itertools import product
from typing import Any

import pandas as pd
import pytest

from analysis.errors import QuestionError
from analysis.left_open import keeps_order, of_looks, of_screens, of_sets
from analysis.slice import Slice
from tagger.tables import frames
from tests.analysis.invented import one, records

HEAD = {"game": "g", "book": "b", "team": "ours", "strength": "5v5"}
Told = tuple[str | None, str | None, bool]


def _season(told: list[Told]) -> dict[str, pd.DataFrame]:
    """Settled runs: the set (None: nobody said), the side, whether it brought a shot."""
    runs: list[dict[str, Any]] = []
    shots: list[dict[str, Any]] = []
    for at, (name, side, shot) in enumerate(told):
        phase = "not_tagged" if name is None else "set"
        runs.append(HEAD | {"id": f"r{at}", "phase": phase, "set": name, "side": side, "start_ms": at})
        if shot:
            shots.append(HEAD | {"id": f"s{at}", "run": f"r{at}", "result": "wide", "at_ms": at})
    return frames({"runs": runs, "shots": shots})


TOLD: list[Told] = [
    *[("keel", "left", True)] * 3, *[("keel", "right", False)] * 2, ("keel", None, True),
    *[("ferry", "left", True)] * 2, *[("ferry", "left", False)] * 2,
    (None, None, True), *[(None, None, False)] * 3,
]  # fmt: skip


def test_the_ends_are_those_of_all_ways_in_which_unnamed_stretches_can_belong() -> None:
    made = of_sets(_season(TOLD), small_n=1)
    unnamed = [shot for name, _, shot in TOLD if name is None]
    for name in ("keel", "ferry"):
        row = one(made, set=name)
        own = [shot for each, _, shot in TOLD if each == name]
        ways = []
        for belongs in product((True, False), repeat=len(unnamed)):
            all_own = own + [shot for shot, its in zip(unnamed, belongs, strict=True) if its]
            ways.append(sum(all_own) / len(all_own))
        assert (row["lowest"], row["highest"]) == pytest.approx((min(ways), max(ways)))
        assert (row["counted_k"], row["counted_n"]) == (sum(own), len(own))
        assert (row["open_k"], row["open_n"]) == (1, 4) and len(row["open_n_ids"]) == 4


def test_shared_out_each_set_gets_its_share_at_their_own_rate() -> None:
    row = one(of_sets(_season(TOLD), small_n=1), set="keel")  # six of ten named runs are its: 2.4 stretches, .6 shots
    assert row["shared"] == pytest.approx((4 + 0.6) / (6 + 2.4))


def test_on_one_side_a_run_of_the_set_without_a_side_is_open_too() -> None:
    row = one(of_sets(_season(TOLD), Slice(sides=("left",)), small_n=1), set="keel")
    assert (row["counted_k"], row["counted_n"], row["open_k"], row["open_n"]) == (3, 3, 2, 5)
    assert (row["lowest_k"], row["lowest_n"], row["highest_k"], row["highest_n"]) == (3, 6, 5, 5)
    # of the set's five runs with a side three went left; of the nine named runs with one, three are these
    assert row["shared"] == pytest.approx((3 + 3 / 5 + 3 / 9) / (3 + 3 / 5 + 4 * 3 / 9))
    assert one(of_sets(_season(TOLD), Slice(sides=("left",)), small_n=1), set="ferry")["open_n"] == 4


def test_one_set_alone_has_the_same_ends_as_among_all() -> None:
    tables = _season(TOLD)
    alone = records(of_sets(tables, Slice(sets=("keel",), phases=("set",)), small_n=1))
    assert alone == [one(of_sets(tables, small_n=1), set="keel")]


def test_an_order_that_no_sharing_out_turns_is_kept() -> None:
    def order(told: list[Told]) -> bool:
        first, second = records(of_sets(_season(told), small_n=1))
        return keeps_order(first, second)

    clear: list[Told] = [*[("keel", "left", True)] * 9, *[("ferry", "left", False)] * 9]
    assert order(clear) and order([*clear, (None, None, True)])
    assert not order([*clear, *[(None, None, True)] * 99, *[(None, None, False)] * 99]) and not order(TOLD)


def test_what_nobody_answered_of_screens_and_looks_is_open_as_bad_and_as_good() -> None:
    screens: list[dict[str, Any]] = [
        HEAD | {"id": f"e{at}", "run": "r", "at_ms": at, "coverage": coverage, "free": free}
        for at, (coverage, free) in enumerate(
            [("switched", "user"), ("switched", "nobody"), ("switched", "unseen"), ("under", "nobody"),
             (None, "user"), ("unseen", "nobody"), (None, None)]
        )
    ]  # fmt: skip
    runs: list[dict[str, Any]] = [
        HEAD | {"id": f"r{at}", "phase": "set", "set": "keel", "look": look, "start_ms": at}
        for at, look in enumerate(("first", "first", "second", None, None))
    ]
    shots: list[dict[str, Any]] = [
        HEAD | {"id": f"s{at}", "run": f"r{at}", "result": "wide", "at_ms": at} for at in (0, 3)
    ]
    tables = frames({"screens": screens, "runs": runs, "shots": shots})
    row = one(of_screens(tables, small_n=1), coverage="switched")
    assert [row[f"{name}_{side}"] for name in ("counted", "lowest", "highest") for side in ("k", "n")] == [
        1, 2, 1, 5, 4, 5,
    ]  # fmt: skip
    look = one(of_looks(tables, small_n=1), look="first")
    assert [look[f"{name}_{side}"] for name in ("counted", "lowest", "highest") for side in ("k", "n")] == [
        1, 2, 1, 3, 2, 3,
    ]  # fmt: skip
    with pytest.raises(QuestionError, match="no question “free”"):
        of_screens(tables, by="free")

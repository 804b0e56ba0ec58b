"""What the benches of tagging count and reckon with: presses by possession, and the model of a person's pace."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pytest

from tests.marks.test_cases import language_at
from tests.marks.test_floor import play
from tests.whole.keycount import Counted, count
from tests.whole.pace import K_S, M_S, replay_s, while_it_plays, with_holds, work_s
from tests.whole.typist import Typed, type_marks


def counted(*steps: str | int, level: str = "main") -> Counted:
    """Fold what keys make, have it typed anew, count that."""
    tables = play(*steps, level=level)
    typed = type_marks(language_at(level), [(line.mark.kind, line.mark.answers) for line in tables.log])
    return count(tables, typed)


def test_a_clean_goal_with_the_balls_gain_takes_nine_keys() -> None:
    found = counted("B d 1 a e u s 1 4 g")
    assert found.by_class == {"clean": [9], "ended": [9], "messy": [], "against": []}
    assert found.total == 10 and found.by_kind["period_start"] == 1


def test_a_number_at_the_end_is_entered_by_the_next_mark() -> None:
    strokes = [one.strokes for one in typed_again("B d s 1 4 g 2 2 Enter B")]
    assert strokes[2:] == [("s", "1", "4", "g", "2", "2"), ("B",)]
    assert typed_again("B d s 1 4 g 2 2 Enter")[-1].strokes[-1] == "Enter"


def typed_again(*steps: str) -> list[Typed]:
    tables = play(*steps)
    return type_marks(language_at("main"), [(line.mark.kind, line.mark.answers) for line in tables.log])


def test_tries_of_one_possession_are_counted_apart_and_the_first_bears_its_opening() -> None:
    found = counted("B d", 4, "y", 6, "1 a", 9, "p", 12, "2", 15, "s 1 4 g")
    assert found.by_class["clean"] == [5, 5]
    assert found.by_class["ended"] == [5]


def test_a_second_chance_makes_the_whole_possession_messy() -> None:
    found = counted("B d", 4, "1 a", 6, "s 1 4 a r Escape", 9, "s 2 2 g")
    assert found.by_class["messy"] == [1 + 2 + 5 + 4] and not found.by_class["clean"]


def test_a_goal_against_with_its_cause_is_counted_as_theirs() -> None:
    found = counted("B d", 3, "x 1 4 b", 5, "f", 9, "s 2 3 g c")
    assert found.by_class["against"] == [6]


def test_grades_and_clock_belong_to_no_try_but_to_the_game() -> None:
    found = counted("B C 1 5 0 0 Enter d 1 a Escape", 6, "R 1 4 Enter 1 u", 8, "s 1 4 g", level="whole")
    assert found.by_class["clean"] == [1 + 3 + 4]  # how the ball was gained is left by Escape
    assert found.by_kind["grade"] == 6 and found.by_kind["clock"] == 5
    assert found.total == sum(found.by_kind.values())


def test_a_capital_is_one_press_and_two_keys_of_the_model() -> None:
    assert work_s([Typed("period_start", ("B",))]) == pytest.approx(M_S + 2 * K_S)
    assert work_s([Typed("note", ("T", "=two words"))]) == pytest.approx(M_S + 3 * K_S)


def marks(*keys: Sequence[str]) -> list[Typed]:
    return [Typed("shot", tuple(one)) for one in keys]


def test_a_mark_waits_for_the_one_before_it() -> None:
    first, second = while_it_plays([1000, 2000], marks("s14g", "f"))
    assert first.behind_s == 0 and first.keys_s[0] == pytest.approx(1 + M_S + K_S)
    assert first.done_s == pytest.approx(1 + M_S + 4 * K_S)
    assert second.begun_s == first.done_s and second.behind_s == pytest.approx(first.done_s - 2)


def test_film_is_held_only_by_who_would_fall_behind() -> None:
    near = ([1000, 2000], marks("s14g", "f"))
    assert with_holds(*near, length_s=10.0, most_s=5.0) == (10.0, 0)
    length_s, n_holds = with_holds(*near, length_s=10.0, most_s=1.0)
    behind_s: Any = while_it_plays(*near)[1].behind_s
    assert n_holds == 1 and length_s == pytest.approx(10 + behind_s + 2 * K_S)


def test_four_seconds_again_at_half_speed_are_eight() -> None:
    assert replay_s(3) == pytest.approx(3 * (8 + K_S))

"""Strength, worked out from penalties and pulled goalkeepers by the rules in the trade's pages, and correctable."""

from __future__ import annotations

from tagger.marks.strength import Strength

MINUTE = 60_000


def test_a_minor_makes_one_side_short_for_two_minutes_of_play() -> None:
    """Minor 2 minutes, NLL rules, "Play of the Game"."""
    now = Strength()
    now.penalty("theirs", "minor", False, 0)
    assert (now.seen_by("ours"), now.seen_by("theirs")) == ("5v4", "4v5")
    now.pass_to(2 * MINUTE - 1)
    assert now.seen_by("ours") == "5v4"
    now.pass_to(2 * MINUTE)
    assert now.seen_by("ours") == "5v5"


def test_a_power_play_goal_ends_a_minor_and_not_a_major() -> None:
    """A minor ends on a power-play goal, a major does not; NLL rules, "Play of the Game"."""
    now = Strength()
    now.penalty("theirs", "minor", False, 0)
    now.penalty("theirs", "major", False, 0)
    assert now.seen_by("ours") == "5v3"
    now.goal("ours", MINUTE)
    assert now.seen_by("ours") == "5v4"
    now.goal("ours", MINUTE)
    assert now.seen_by("ours") == "5v4"
    now.pass_to(5 * MINUTE)
    assert now.seen_by("ours") == "5v5"


def test_a_goal_by_the_short_side_ends_nothing() -> None:
    now = Strength()
    now.penalty("theirs", "minor", False, 0)
    now.goal("theirs", MINUTE)
    assert now.seen_by("ours") == "5v4"


def test_a_side_is_never_more_than_two_down() -> None:
    """Never more than two down; NLL rules."""
    now = Strength()
    for _ in range(4):
        now.penalty("ours", "minor", False, 0)
    assert now.seen_by("ours") == "3v5"


def test_a_delayed_penalty_is_served_from_the_next_stoppage() -> None:
    now = Strength()
    now.penalty("theirs", "minor", True, 0)
    assert now.seen_by("ours") == "5v5"
    now.halt(MINUTE)
    assert now.seen_by("ours") == "5v4"
    now.pass_to(3 * MINUTE - 1)
    assert now.seen_by("ours") == "5v4"


def test_a_pulled_goalkeeper_is_a_sixth_runner_and_an_empty_net() -> None:
    now = Strength()
    now.goalkeeper("ours", "out")
    assert (now.seen_by("ours"), now.seen_by("theirs")) == ("6ev5", "5v6e")
    now.goalkeeper("ours", "in")
    assert now.seen_by("ours") == "5v5"


def test_what_a_person_says_stands_and_agreeing_with_it_keeps_the_penalty_running() -> None:
    now = Strength()
    now.penalty("theirs", "minor", False, 0)
    now.told("5v4")
    now.pass_to(2 * MINUTE)
    assert now.seen_by("ours") == "5v5"
    now.told("4v4")
    assert now.seen_by("theirs") == "4v4"
    now.told("6ev5")
    assert (now.seen_by("ours"), now.seen_by("theirs")) == ("6ev5", "5v6e")


def test_a_penalty_of_which_nothing_was_said_changes_nothing() -> None:
    now = Strength()
    now.penalty("theirs", None, False, 0)
    now.penalty(None, "minor", False, 0)
    now.penalty("theirs", "misconduct", False, 0)
    assert now.seen_by("ours") == "5v5"

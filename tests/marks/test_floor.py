"""What a real game brings, each thing pressed key by key: keys become entries, entries rows.

The sets, looks, checkpoints and lines are those of `cases.json`; a stroke takes 100 ms of film unless a step says where
the film is.
"""

from __future__ import annotations

from typing import Any

import pytest

from tagger.floor.rules import PenaltyRules
from tagger.marks.fold import FilmSpan, Folded, GameFacts, fold
from tests.marks.keyboard import Keyboard
from tests.marks.test_cases import language_at

FILM = (FilmSpan("f", 0, 3_600_000),)
ROSTER = frozenset({"14", "22", "7", "8", "9", "10", "16", "17", "5", "27", "30", "31"})


def play(*steps: str | int, level: str = "main", lines: bool = False, **more: Any) -> Folded:
    """Press keys: a text is key after key, a number puts the film there (seconds), "=words" is a note's text."""
    keyboard = Keyboard(language_at(level, lines=lines))
    for step in steps:
        if isinstance(step, int):
            keyboard.at_ms = step * 1000
        elif step.startswith("="):
            keyboard.press(step)
        else:
            for stroke in step.split():
                keyboard.press(stroke)
                assert not keyboard.refusal, f"{stroke}: {keyboard.refusal}"
    facts = GameFacts("g", "anna", keyboard.language, FILM, **{"roster": ROSTER, **more})
    return fold(keyboard.entries, facts)


def table(found: Folded, name: str, *columns: str) -> list[tuple[Any, ...]]:
    return [tuple(row.get(column) for column in columns) for row in found.rows[name]]


def runs(found: Folded) -> list[tuple[Any, ...]]:
    return table(found, "runs", "phase", "set", "ended")


def codes(found: Folded) -> list[str]:
    return [problem.code for problem in found.problems]


# Runs --------------------------------------------------------------------------------------------------------------


def test_a_set_recognised_only_after_its_first_screen_is_named_backwards() -> None:
    found = play("B d", 5, "y", 9, "e u 2 2 Enter 1 4 Enter", 12, "1 a", 15, "s 1 4 g")
    assert runs(found) == [("transition", None, "settled"), ("set", "lantern", "shot")]
    run = found.rows["runs"][1]
    assert run["start_ms"] == 5_100, "the stretch begins where the possession settled"
    assert table(found, "screens", "run", "setter", "user") == [(run["id"], "22", "14")]
    assert codes(found) == []


def test_a_set_that_flows_into_the_next_is_two_runs() -> None:
    found = play("B d 1 a", 10, "2", 14, "s 1 4 g")
    assert runs(found) == [("set", "lantern", "flowed"), ("set", "keel", "shot")]
    assert found.rows["runs"][0]["end_ms"] == found.rows["runs"][1]["start_ms"]
    assert len(found.rows["possessions"]) == 1


def test_a_set_that_breaks_down_ends_there_and_what_follows_is_broken_play() -> None:
    found = play("B d 1 a", 8, "X", 12, "s 1 4 w h")
    assert runs(found) == [("set", "lantern", "broken"), ("broken", None, "shot")]


def test_freelance_is_marked_and_is_not_a_set_nobody_named() -> None:
    found = play("B d 0", 8, "x 9 b f", 20, "d", 30, "x 9 b")
    assert runs(found)[0] == ("freelance", None, "turnover")
    assert runs(found)[-1] == ("not_tagged", None, "turnover")


def test_transition_that_settles_goes_on_as_a_set_of_the_same_possession() -> None:
    found = play("B d Y", 6, "y", 10, "1 r", 14, "s 1 4 g")
    assert runs(found) == [("transition", None, "settled"), ("set", "lantern", "shot")]
    (possession,) = found.rows["possessions"]
    assert possession["settled_ms"] == 6_100 == found.rows["runs"][1]["start_ms"]
    assert possession["crossed"] is True


def test_transition_that_never_settles_ends_with_its_shot() -> None:
    found = play("B f Y", 6, "s 9 g c")
    assert runs(found) == [("transition", None, "shot")]
    assert table(found, "possessions", "settled_ms", "team") == [(None, "theirs")]


def test_a_recovered_shot_in_transition_may_settle_and_only_then_is_a_set_run() -> None:
    found = play("B d Y", 4, "s 1 4 w r", 8, "y", 12, "1 a", 15, "s 2 2 g")
    assert runs(found) == [
        ("transition", None, "shot"),
        ("second_chance", None, "settled"),
        ("set", "lantern", "shot"),
    ]
    first, second, third = found.rows["runs"]
    assert (second["parent"], third["parent"]) == (first["id"], None)


def test_a_re_pick_is_one_key_and_stands_in_the_run_with_its_pair() -> None:
    found = play("B d 1 a e u 2 2 Enter 1 4 I m", 9, "I n", 12, "s Enter Escape")
    assert table(found, "screens", "again", "setter", "user", "free") == [
        (False, "22", "14", "user"),
        (True, "22", "14", "setter"),
        (True, "22", "14", "nobody"),
    ]
    assert len({row["run"] for row in found.rows["screens"]}) == 1


def test_a_re_pick_takes_the_pair_that_is_named_only_in_the_second_look() -> None:
    keyboard = Keyboard(language_at("main"))
    for stroke in [*"BdeuIn", "Escape"]:
        keyboard.press(stroke)
    keyboard.reopen(2, "setter")
    for stroke in ["2", "2", "Enter", "1", "4", "Enter"]:
        keyboard.press(stroke)
    found = fold(keyboard.entries, GameFacts("g", "anna", keyboard.language, FILM))
    assert table(found, "screens", "again", "setter", "user") == [(False, "22", "14"), (True, "22", "14")]
    first, again = found.rows["screens"]
    assert again["marks"] == (again["id"], first["id"])


def test_two_man_games_on_both_sides_stand_in_one_run() -> None:
    found = play(
        "B d 1 a Enter Enter", 5, "e u 2 2 Enter 1 4 w r m b", 9, "e m 7 Enter 9 a i m r", 12, "s 7 g", level="whole"
    )
    assert table(found, "screens", "side", "setter", "user", "setter_next") == [
        ("left", "22", "14", "rolled"),
        ("right", "7", "9", "slipped"),
    ]
    (run,) = found.rows["runs"]
    assert (run["set"], run["side"]) == ("lantern", "left")
    assert {row["run"] for row in found.rows["screens"]} == {run["id"]}


# Shots and what follows them ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(("key", "result"), [("i", "post"), ("a", "saved"), ("w", "wide"), ("b", "blocked")])
def test_a_shot_recovered_goes_on_as_a_second_chance_that_knows_its_parent(key: str, result: str) -> None:
    found = play("B d 1 a", 6, f"s 1 4 {key} r", 8, "s 2 2 g")
    assert runs(found) == [("set", "lantern", "shot"), ("second_chance", None, "shot")]
    first, second = found.rows["runs"]
    assert second["parent"] == first["id"]
    assert table(found, "shots", "result", "recovered", "run") == [
        (result, "yes", first["id"]),
        ("goal", None, second["id"]),
    ]
    assert len(found.rows["possessions"]) == 1 and codes(found) == []


def test_a_shot_out_of_play_with_our_ball_next_goes_on_in_the_same_possession() -> None:
    found = play("B d 1 a", 6, "s 1 4 i m Escape", 7, "q u", 12, "2", 15, "s 1 4 g")
    assert [row["ended"] for row in found.rows["possessions"]] == ["goal"]
    assert [row[:2] for row in runs(found) if row[0] == "set"] == [("set", "lantern"), ("set", "keel")]
    assert codes(found) == []


def test_a_shot_out_of_play_with_their_ball_next_ends_the_possession() -> None:
    found = play("B d 1 a", 6, "s 1 4 i m Escape", 7, "Enter h", 12, "Enter", 20, "x 9 b")
    assert table(found, "possessions", "team", "ended", "gained") == [
        ("ours", "whistle", None),
        ("theirs", "turnover", "whistle"),
    ]
    assert codes(found) == []


def test_a_ball_out_of_play_is_a_whistle_and_who_has_it_next() -> None:
    kept = play("B d 1 a", 6, "q u w", 12, "2", 15, "s 1 4 g", level="whole")
    assert runs(kept) == [("set", "lantern", "whistle"), ("set", "keel", "shot")]
    assert table(kept, "whistles", "to", "reason") == [("ours", "out_of_play")]
    lost = play("B d 1 a", 6, "q h", 12, "f")
    assert table(lost, "possessions", "team", "ended") == [("ours", "whistle"), ("theirs", None)]
    assert codes(lost) == []


def test_a_fresh_shot_clock_is_a_row_of_its_possession_and_ends_nothing() -> None:
    found = play("B d 1 a Escape", 6, "S", 12, "s 1 4 g", level="whole")
    assert table(found, "fresh_clocks", "at_ms", "run") == [(6_100, found.rows["runs"][0]["id"])]
    assert len(found.rows["runs"]) == 1


def test_a_dump_with_the_clock_dying_is_a_shot_that_gave_the_ball_away() -> None:
    found = play("B d 1 a", 6, "s 2 2 c h Escape", 8, "Enter")
    assert table(found, "shots", "shooter", "result", "recovered") == [("22", "dump", "no")]
    assert table(found, "possessions", "team", "ended") == [("ours", "missed_shot"), ("theirs", None)]


def test_the_second_feeder_is_the_pass_before_the_feed() -> None:
    found = play("B d s 1 4 g 2 2 Enter 9 Enter", level="whole")
    assert table(found, "shots", "shooter", "feeder", "feeder2") == [("14", "22", "9")]
    none = play("B d s 1 4 g 2 2 Enter n", level="whole")
    assert table(none, "shots", "feeder", "feeder2") == [("22", "none")]
    alone = play("B d 1 a Escape", 6, "s 1 4 g n", level="whole")
    assert table(alone, "shots", "feeder", "feeder2") == [("none", "none")]  # no feed, so no pass before it


@pytest.mark.parametrize(
    ("key", "cause"),
    [
        ("c", "beaten"),
        ("w", "late_switch"),
        ("u", "no_help"),
        ("b", "bad_change"),
        ("r", "rebound"),
        ("m", "goalkeeper"),
    ],
)
def test_a_goal_against_has_its_cause(key: str, cause: str) -> None:
    found = play(f"B f s 2 3 g {key}")
    assert table(found, "shots", "team", "shooter", "result", "cause") == [("theirs", "23", "goal", cause)]


def test_a_goal_of_ours_is_asked_for_no_cause() -> None:
    found = play("B d s 1 4 g")
    assert table(found, "shots", "cause") == [(None,)]


# Strength ----------------------------------------------------------------------------------------------------------


def test_with_a_delayed_penalty_the_run_goes_on_and_the_net_may_be_empty() -> None:
    found = play(
        "B d 1 a", 5, "N h 7 m w", 7, "G u w 3 0 Enter", 9, "s 1 4 w r", 10, "G u i 3 0 Enter", 11, "q u", 14, "1 a"
    )
    first = found.rows["runs"][0]
    assert (first["ended"], first["penalty_drawn"]) == ("shot", True), "the penalty ended nothing"
    assert table(found, "penalties", "team", "delayed", "run") == [("theirs", "yes", first["id"])]
    assert table(found, "shots", "strength") == [("6ev5",)], "a sixth runner for the goalkeeper, no one in the box yet"
    assert found.rows["runs"][-1]["strength"] == "5v4", "served from the whistle, our goalkeeper back in net"
    assert table(found, "goalies", "what", "player") == [("out", "30"), ("in", "30")]


def strengths(*steps: str | int, **rules: Any) -> list[Any]:
    found = play(*steps, penalties=PenaltyRules(**rules))
    return [row["strength"] for row in found.rows["possessions"]]


GOAL = ("B q h N h 7 m n", 5, "d", 9, "s 1 4 g F u", 20, "Enter", 30, "x 9 b")


def test_a_minor_ends_on_a_goal_where_the_rule_code_says_so() -> None:
    assert strengths(*GOAL) == ["5v4", "5v5"]
    assert strengths(*GOAL, goals_end_minor=0) == ["5v4", "5v4"]
    assert strengths(*GOAL, goals_end_minor=2) == ["5v4", "5v4"]


def test_a_major_is_served_whole_unless_the_rule_code_lets_goals_end_it() -> None:
    major = [step.replace(" m n", " g n") if isinstance(step, str) else step for step in GOAL]
    assert strengths(*major) == ["5v4", "5v4"]
    assert strengths(*major, goals_end_major=1) == ["5v4", "5v5"]
    twice = [*major, 40, "Enter", 50, "x 5 b", 60, "d", 65, "s 8 g F u", 70, "Enter"]
    assert strengths(*twice, goals_end_major=2)[-1] == "5v5"


def test_a_goal_with_the_arm_up_wipes_the_minor_out_unless_the_rule_code_says_not() -> None:
    keys = ("B d", 5, "N h 7 m w", 9, "s 1 4 g F u", 20, "Enter", 30, "x 9 b")
    assert strengths(*keys) == ["5v5", "5v5"]
    assert strengths(*keys, goal_ends_delayed=False) == ["5v5", "5v4"]


def test_a_penalty_that_stops_play_stops_the_clock() -> None:
    keys = ("B C 1 5 0 0 d", 10, "N h 7 m n", 40, "d", 50, "x 9 b")
    found = play(*keys, stop_clock=True)
    first, second = (row["clock_s"] for row in found.rows["possessions"])
    assert first - second == 10, "from the penalty to the next play the clock stood"


# Lines, face-offs, notes, grades, roles ----------------------------------------------------------------------------


def test_a_line_change_by_its_name_puts_its_five_on_the_floor() -> None:
    found = play("B H a n", 30, "H m Escape", level="whole", lines=True)
    assert table(found, "lines", "unit", "players", "bad") == [
        ("reeds", "14 22 8 9 7", "no"),
        ("gulls", "10 16 17 5 27", None),
    ]


def test_a_swap_changes_one_man_of_the_line_that_is_on() -> None:
    found = play("B H a n", 30, "H u 1 4 Enter 3 1 m", 40, "H u Enter 1 4 Enter Escape", level="whole", lines=True)
    assert table(found, "lines", "unit", "players", "out", "in", "bad") == [
        ("reeds", "14 22 8 9 7", None, None, "no"),
        ("reeds", "22 8 9 7 31", "14", "31", "yes"),
        ("reeds", "22 8 9 7 31 14", None, "14", None),
    ]
    assert codes(found) == []


def test_a_line_may_go_out_with_one_man_changed() -> None:
    found = play("B H a 2 2 Enter 3 1 Enter", level="whole", lines=True)
    assert table(found, "lines", "unit", "players", "out", "in") == [("reeds", "14 8 9 7 31", "22", "31")]


def test_a_swap_that_cannot_be_is_kept_and_listed() -> None:
    found = play("B H a n", 30, "H u 1 0 Enter 2 2 Enter Escape", level="whole", lines=True)
    assert sorted(codes(found)) == ["not_on_floor", "on_floor"]
    assert table(found, "lines", "players")[1] == ("14 22 8 9 7",)


def test_who_is_on_is_unknown_after_a_change_of_which_nothing_was_said_and_in_a_new_period() -> None:
    unsaid, swap = "H u Enter Enter m", "B c H u 1 0 Enter 2 2 Enter Escape"
    found = play("B H a n", 10, unsaid, 20, "H m n", 30, "B", 40, swap, level="whole", lines=True)
    assert table(found, "lines", "unit", "players") == [
        ("reeds", "14 22 8 9 7"), (None, None), ("gulls", "10 16 17 5 27"), (None, None),
    ]  # fmt: skip


def test_the_opponents_lines_are_plain_and_nobody_knows_their_men() -> None:
    found = play("B H h a n", 10, "H h Enter 4 4 Enter 5 5 m", level="whole", lines=True)
    assert table(found, "lines", "team", "unit", "players", "out", "in", "bad") == [
        ("theirs", "first", None, None, None, "no"),
        ("theirs", "first", None, "44", "55", "yes"),
    ]
    assert codes(found) == [], "they have no roster here"


def test_without_lines_of_its_own_a_team_marks_plain_ones() -> None:
    found = play("B H u b m", level="whole")
    assert table(found, "lines", "team", "unit", "players", "bad") == [("ours", "second", None, "yes")]


def test_a_face_off_says_who_won_and_offers_him_the_ball() -> None:
    found = play("B Enter Enter u 2 2 Enter 0 9 Enter", 3, "Enter Escape", level="whole")
    assert table(found, "faceoffs", "won", "ours", "theirs") == [("ours", "22", "09")]
    assert table(found, "possessions", "team", "gained") == [("ours", "faceoff")]


def test_a_note_names_players_and_a_star_marks_what_to_show() -> None:
    found = play("B d t", "=late switch, #14 and #7", "T Enter")
    assert table(found, "notes", "text", "players", "star") == [
        ("late switch, #14 and #7", "14 7", False),
        (None, None, True),
    ]
    assert {row["possession"] for row in found.rows["notes"]} == {found.rows["possessions"][0]["id"]}


def test_grades_stand_at_the_run_they_are_for_after_its_goal_too() -> None:
    found = play(
        "B d 1 a Escape", 6, "s 1 4 g Escape", 9, "R 2 2 Enter 1 u R 1 4 Enter 2 m R 7 Enter 1 v", level="whole"
    )
    (run,) = found.rows["runs"]
    assert table(found, "grades", "player", "checkpoint", "grade", "run") == [
        ("22", "feet_set", "plus", run["id"]),
        ("14", "shoulder", "minus", run["id"]),
        ("7", "feet_set", "not_gradable", run["id"]),
    ]


def test_who_filled_which_role_is_asked_in_every_run_at_the_fullest_detail() -> None:
    found = play("B d 1 a 1 4 Enter 2 2 Enter", 10, "p", 12, "1 r 7 Enter Enter", level="whole")
    first, second = found.rows["runs"]
    assert table(found, "roles", "run", "role", "player") == [
        (first["id"], "glass", "22"),
        (first["id"], "wick", "14"),
        (second["id"], "wick", "7"),
    ]
    assert table(play("B d 1 a"), "roles", "role") == []


# Both ends ---------------------------------------------------------------------------------------------------------


def test_a_failed_clear_never_crossed_centre_and_is_no_settled_possession() -> None:
    found = play(
        "B d",
        6,
        "x 9 b u Enter Enter",
        10,
        "Enter Escape",
        14,
        "x 5 a Enter",
        20,
        "d Escape",
        26,
        "x 9 b g",
        level="whole",
    )
    assert table(found, "possessions", "team", "crossed", "settled_ms", "ended") == [
        ("ours", False, None, "turnover"),
        ("theirs", False, None, "violation"),
        ("ours", True, None, "turnover"),
    ]


def test_whether_it_crossed_is_unknown_where_nothing_says_so() -> None:
    assert table(play("B d", 6, "x 9 b"), "possessions", "crossed") == [(None,)]
    assert table(play("B d", 6, "e u Escape", 8, "x 9 b"), "possessions", "crossed") == [(True,)]


def test_opponents_are_numbers_without_a_roster_and_never_a_problem() -> None:
    found = play("B f e u 9 9 Enter 8 8 Enter", 6, "s 7 7 a h", 9, "d", 12, "x 1 4 b", 15, "f", 18, "N h 6 6 m w")
    assert codes(found) == []
    assert table(found, "screens", "team", "setter", "user") == [("theirs", "99", "88")]


@pytest.mark.parametrize(
    ("keys", "phase", "family"),
    [
        ("1 a", "family", "two_man"),
        ("2 r", "family", "cut"),
        ("3 v", "family", "off_ball"),
        ("4 a", "family", "isolation"),
        ("Y", "transition", None),
    ],
)
def test_what_opponents_do_has_its_family(keys: str, phase: str, family: str | None) -> None:
    found = play(f"B f {keys}", 6, "s 7 7 a h")
    assert table(found, "runs", "team", "phase", "set") == [("theirs", phase, family)]


def test_whose_a_penalty_a_change_or_a_loose_ball_is_is_unknown_until_it_is_said() -> None:
    found = play("B d", 6, "N Escape", 8, "H Escape", 10, "U Escape", 12, "G Escape", 14, "s 1 4 w h", level="whole")
    for name in ("penalties", "lines", "loose_balls", "goalies"):
        assert table(found, name, "team") == [(None,)], f"{name}: not guessed from who has the ball"
    assert table(found, "shots", "team") == [("ours",)]


def test_a_strength_said_on_the_frame_where_all_begins_holds_for_what_begins_there() -> None:
    keyboard = Keyboard(language_at("main"))
    for at_s, keys in ((1, "B"), (10, "V u d 1 a Escape"), (15, "s 1 4 g")):
        for stroke in keys.split():
            keyboard.at_ms = at_s * 1000 - 100  # the film is held
            keyboard.press(stroke)
    found = fold(keyboard.entries, GameFacts("g", "anna", keyboard.language, FILM, roster=ROSTER))
    assert table(found, "possessions", "strength") == [("5v4",)]
    assert table(found, "runs", "set", "strength") == [("lantern", "5v4")]


def test_an_arm_that_is_up_when_the_period_ends_is_served_in_the_next() -> None:
    found = play("B d", 6, "N h 7 m w", 9, "B", 20, "B", 21, "d", 24, "s 1 4 w h")
    assert table(found, "possessions", "strength") == [("5v5",), ("5v4",)]


def test_a_shot_whose_result_nobody_saw_is_an_answer_and_no_problem() -> None:
    found = play("B d 1 a", 6, "s 1 4 v Escape", 10, "f")
    assert table(found, "shots", "result") == [("unseen",)]
    assert codes(found) == []
    assert codes(play("B d 1 a", 6, "s 1 4 v Escape", 8, "e n Escape", 10, "f")) == ["no_end"]

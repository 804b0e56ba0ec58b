"""What is typed wrongly is seen on the page before it becomes a row."""

from __future__ import annotations

import re
from typing import Any

import pytest

from tests.screen.house import House, opened, press, said

pytestmark = pytest.mark.browser


def test_keys_typed_ahead_wait_in_sight_and_answer_nothing(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "B d s 1 4 a 2 2 Enter n")
    assert page.inner_text("#means .waits").startswith("2 2 ↵ n wait: this question does not take 2. Esc lets go")
    assert page.locator("#caps .k").all_inner_texts() == ["Esc\nlet go of what waits", "⌫\nof the last one"]
    assert "who has it now?" in page.inner_text("#hand")
    press(page, "Escape h")
    assert said(page)[-1] == "14 shot: saved, lost."


def test_the_log_says_who_filled_the_roles(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "D w B Enter d 1 a 8 Enter 5 Enter 2 7 Enter")
    assert said(page)[-1] == "Lantern, left, Wick 8, Glass 5, Post 27."


def test_a_second_sets_digit_asks_and_in_place_of_the_first_its_look_is_listed(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "B d 1 a o 3 Escape 2")
    assert page.inner_text("#hand").startswith("Set: a set is named here already")
    press(page, "i x")
    page.locator("#log .q").wait_for()
    assert page.inner_text("#log .q") == "Keel has no look “skip”; answer it anew, or remove it."


def test_what_is_missing_is_asked_in_the_second_look(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "D w B Enter f e n 2 3 Enter 4 Enter Escape s 2 3 a h Escape G u w Escape")
    for keys, shown in ((".", "0:00.04"), ("B .", "0:00.08")):  # a mark is at the frame on screen
        press(page, keys)
        page.wait_for_function("shown => document.body.innerText.includes(shown)", arg=shown)
    press(page, "B Enter")
    page.wait_for_function("() => document.getElementById('unanswered').textContent.startsWith('4')")
    asked = []
    for _ in range(4):
        press(page, "W")
        asked.append(page.inner_text("#told").rpartition("?")[0] + "?")
    assert sorted(asked) == [
        "our goalkeeper was pulled: where did he go back in?",
        "what did the defence do?",
        "what kind of screen?",
        "who fed this shot?",
    ]


def test_grading_begins_with_the_first_run_and_shows_nothing_after_it(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "B d 1 a s 1 4 a h f")
    page.wait_for_function("() => document.getElementById('unanswered').textContent")
    press(page, "E")
    page.wait_for_function("() => document.body.classList.contains('blind')")
    assert not page.locator("#log .m", has_text="Theirs").is_visible()
    press(page, "Escape E")
    assert page.locator("#log .m", has_text="Theirs").is_visible()


def test_a_checkpoints_digit_pressed_before_the_grade_makes_no_second_run_of_the_set(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "B d 1 a Escape o 1 Escape f")
    house.wait_for(game, 7)
    press(page, "E")
    page.wait_for_function("() => document.body.innerText.includes('1 second look')")
    press(page, "W")
    page.wait_for_function("() => document.getElementById('hand').innerText.includes('how was the work?')")
    press(page, "1")
    assert page.inner_text("#told") == "1 names no run while grading: ⇧R begins a grade, ⇧E ends it"
    house.wait_for(game, 7)


def test_answered_again_a_question_shows_what_stands_and_enter_keeps_it(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "B d s 2 2 Enter w h Escape ArrowUp ArrowDown Enter")
    assert page.locator("#caps .offer").inner_text() == "↵\nkeeps 22"
    assert "now 22: ↵ keeps it" in page.inner_text("#means")
    press(page, "Enter")
    assert "now wide" in page.inner_text("#means")
    press(page, "Escape Escape")
    assert page.locator("#log [aria-current]").count() == 0, "the questions, then the line"
    assert said(page)[-1] == "22 shot: wide, lost."


def test_a_sets_digit_on_its_picked_line_is_that_set_instead(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "B d 1 a Escape ArrowUp ArrowDown 2")
    assert said(page)[-1].startswith("Keel")
    assert page.locator("#log .m").count() == 3
    press(page, "Escape")
    page.locator("#timeline").click(position={"x": 200, "y": 20})
    page.wait_for_function("() => !document.querySelector('#log [aria-current]')")


def test_the_same_five_says_whom_it_leaves_out_and_why(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "D w B Enter d Enter 1 a 8 Enter 5 Enter 2 7 Enter 7 Enter Escape p 1 a")
    assert (
        page.locator("#caps .offer").inner_text() == "↵\nthe same five: 8 · 5 · 27 · 7; Shade is not known from before"
    )


def test_a_mark_struck_out_is_not_counted(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "B d p ArrowUp ArrowDown K")
    page.wait_for_function("() => document.getElementById('disk').innerText === '2 marks, all on disk'")


def test_the_head_counts_what_the_line_says_and_a_doubt_gone_on_from_stays_away(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "D w B Enter d Enter 1 a Escape R 2 2 Enter 1 u R 2 2 Enter 1 m x v b u")
    page.wait_for_function("() => document.getElementById('unanswered').textContent.startsWith('2')")
    seen = []
    for key in ("E", "E", "W", "W"):
        press(page, key)
        seen.append(page.inner_text("#told"))
        if found := re.search(r"(\d+) left", seen[-1]):
            assert page.inner_text("#unanswered").split()[0] == found[1], f"{key}: {seen[-1]}"
    assert any(one.startswith("22 is graded twice here on one checkpoint: which one was meant?") for one in seen)
    page.reload()
    page.wait_for_function("() => document.getElementById('unanswered').textContent.startsWith('1 second look ')")
    press(page, "W")
    assert page.inner_text("#told") == "which look was it? 1 left"


def test_one_thing_to_look_at_is_said_as_one(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "B d 1 a o 3 Escape 2 i")
    page.wait_for_function("() => document.getElementById('problems').textContent === '1 to look at ⇧P'")
    press(page, "Escape P")
    assert page.inner_text("#told") == "the only line to look at"


def test_a_loose_ball_that_we_won_is_our_possession_in_log_and_run(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "D w B Enter U u 1 4 Enter")
    assert page.inner_text("#hand").startswith("Our ball")
    assert said(page)[-1] == "Loose ball, won by us, 14."
    assert page.locator("#log .pos.ours").count() == 1
    press(page, "d")
    assert page.locator("#log .pos.ours").count() == 1, "said again it is the same one"
    press(page, "b 1 a Escape")
    page.wait_for_function("() => document.getElementById('disk').innerText.endsWith('all on disk')")
    rows = house.season.tagged.folded(game, "coach").rows
    assert [(row["team"], row["gained"]) for row in rows["possessions"]] == [("ours", "loose_ball")]
    assert [(run["set"], run["possession"]) for run in rows["runs"]] == [("lantern", rows["possessions"][0]["id"])]


def test_one_key_says_cannot_see_and_a_loose_ball_is_gained_by_the_missed_shot(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "D w B Enter d 1 a Escape x 1 4 Enter")
    assert "no whistle besides" in page.inner_text("#means")
    press(page, "b v v v")
    assert said(page)[-1] == "14 threw it away, where, not seen; who caused it, not seen; for whom, not seen."
    press(page, "f s 9 w Escape U u 2 2 Enter 2 s 2 2 g Escape")
    assert "o\nwhich look" in page.locator("#caps .k").all_inner_texts(), "a look is said after the shot ended its run"
    press(page, "o 2 n F v v v")
    assert said(page)[-2:] == [
        "Look: Hull steps inside; open, not taken: none.",
        "Face-off, winner not seen, someone for us, someone for them.",
    ]
    page.wait_for_function("() => document.getElementById('disk').innerText.endsWith('all on disk')")
    rows = house.season.tagged.folded(game, "coach").rows
    assert [(row["team"], row["gained"]) for row in rows["possessions"]] == [
        *(("ours", None), ("theirs", "turnover"), ("ours", "missed_shot"))
    ]
    assert "shot.place" not in rows["detail"][-1]["looks_for"].split()


def test_where_the_film_ends_what_is_open_is_said_with_the_key_that_ends_it(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "B Enter f")
    asked = "The film ends here: ⇧B ends the period."
    assert asked not in page.inner_text("#hand")
    page.goto(f"{house.address}/tag/{game}?at=9999999")
    page.wait_for_selector('body[data-ready="film"]')
    assert page.inner_text("#hand").endswith(asked)
    assert page.evaluate("document.getElementById('hand').scrollWidth <= document.getElementById('hand').clientWidth")
    assert page.inner_text("#means").startswith(
        "This possession and its period are open. If the clock ran out, ⇧B ends both"
    )
    press(page, "x v v Escape")
    assert page.inner_text("#means").startswith("The period is open. If the clock ran out, ⇧B ends it")
    press(page, "B")
    assert asked not in page.inner_text("#hand")
    press(page, "Backspace ArrowLeft")
    page.wait_for_function("() => !document.getElementById('hand').innerText.includes('film ends')")


def test_a_line_change_asks_in_one_form(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "D w B Enter H")
    assert page.inner_text("#hand").startswith("Line change: whose change, or which line of ours?")
    press(page, "h")
    assert "which line?" in page.inner_text("#hand")

"""Moving in the log moves the film; every line can be answered again, moved, struck out and restored."""

from __future__ import annotations

from typing import Any

import pytest

from tests.screen.house import House, frame_on_screen, opened, press, said
from tests.screen.test_film import settled

pytestmark = pytest.mark.browser


@pytest.fixture
def tagged(page: Any, house: House) -> Any:
    """A page with a shot of ours at 5 s and a turnover of theirs at 10 s, the film at 10 s."""
    page.game = house.game()
    opened(page, house, page.game)
    press(page, "B ArrowRight")
    settled(page, 125)
    press(page, "d 1 a s 1 4 w h n ArrowRight")
    settled(page, 250)
    press(page, "f x 2 3 c")
    return page


def test_arrows_walk_the_log_and_the_film_follows(tagged: Any) -> None:
    press(tagged, "ArrowUp")
    assert tagged.locator("#log [aria-current]").inner_text() == "23 was stripped."
    press(tagged, "ArrowUp ArrowUp")
    settled(tagged, 125)
    assert tagged.locator("#log [aria-current]").inner_text() == "14 shot: wide, lost; no feed."
    assert frame_on_screen(tagged) == 125
    press(tagged, "ArrowDown")
    settled(tagged, 250)


def test_possessions_and_periods_have_steps_of_their_own(tagged: Any) -> None:
    press(tagged, "Shift+ArrowLeft")
    settled(tagged, 125)
    press(tagged, "PageUp")
    settled(tagged, 0)
    press(tagged, "Shift+ArrowRight Escape")
    settled(tagged, 125)


def test_a_line_is_answered_again(tagged: Any, house: House) -> None:
    press(tagged, "ArrowUp ArrowUp ArrowUp Enter")
    assert "who shot?" in tagged.inner_text("#hand")
    press(tagged, "7 a")
    assert said(tagged)[3] == "7 shot: saved, lost; no feed."
    assert house.wait_for(tagged.game, 15)[-1]["answers"] == {"result": "saved"}


def test_a_line_is_moved_to_the_frame_on_screen(tagged: Any, house: House) -> None:
    press(tagged, "ArrowUp . . .")
    settled(tagged, 253)
    press(tagged, "M")
    entry = house.wait_for(tagged.game, 14)[-1]
    assert (entry["does"], entry["at_ms"]) == ("retime", 253 * 40)
    press(tagged, "Backspace ArrowUp")
    settled(tagged, 250)


def test_a_line_is_struck_out_and_restored(tagged: Any, house: House) -> None:
    press(tagged, "ArrowUp K")
    assert tagged.locator("#log .out").inner_text().startswith("23 was stripped.")
    press(tagged, "K")
    assert tagged.locator("#log .out").count() == 0
    assert [entry["does"] for entry in house.wait_for(tagged.game, 15)[-2:]] == ["remove", "undo"]


def test_a_missed_mark_is_put_in_where_it_belongs(tagged: Any) -> None:
    press(tagged, "PageUp Escape")
    settled(tagged, 0)
    press(tagged, ".")
    settled(tagged, 1)
    press(tagged, "F u")
    assert said(tagged)[:3] == ["The period begins.", "Face-off, won by us.", "Ours."]


def test_a_click_leads_the_film_and_a_double_click_asks_again(tagged: Any) -> None:
    tagged.click("#log .m >> text=Lantern")
    settled(tagged, 125)
    tagged.dblclick("#log .m >> text=Lantern")
    assert "which set?" in tagged.inner_text("#hand")
    press(tagged, "Enter r")
    assert said(tagged)[2] == "Lantern, right."


def test_problems_stand_at_their_line_and_a_key_leads_through_them(tagged: Any) -> None:
    press(tagged, ". d s 9 9 w r Enter s 9 8 w")  # neither is on the roster
    tagged.wait_for_function("() => document.getElementById('problems').textContent.endsWith('to look at ⇧P')")
    n = int(tagged.inner_text("#problems").split()[0])
    assert n == tagged.locator("#log .q").count() >= 2
    press(tagged, "Escape PageUp P")
    seen = [tagged.locator("#log [aria-current]").inner_text()]
    press(tagged, "P")
    seen.append(tagged.locator("#log [aria-current]").inner_text())
    assert {text.split()[0] for text in seen} == {"98", "99"}


def test_the_last_possession_is_shown_over_and_over(tagged: Any) -> None:
    press(tagged, "Shift+ArrowLeft Shift+ArrowLeft Escape L")
    tagged.wait_for_function("() => document.getElementById('speed').innerText.startsWith('over and over')")
    press(tagged, "k")
    assert tagged.inner_text("#speed") == "held"


def test_every_line_has_film_time_and_where_it_is_known_the_game_clock(tagged: Any) -> None:
    assert tagged.locator("#log time").all_inner_texts() == ["0:00", "0:05", "0:05", "0:10", "0:10"]
    assert tagged.locator("#log .clock").all_inner_texts() == [""] * 5  # without a reading it is not guessed
    press(tagged, "C 1 4 5 0 Enter ArrowLeft ArrowLeft")
    settled(tagged, 0)
    press(tagged, "C 1 5 0 0 Enter")
    tagged.wait_for_function(
        "() => [...document.querySelectorAll('#log .clock')].some((one) => one.textContent === '14:50')"
    )
    lines = zip(
        tagged.locator("#log time").all_inner_texts(), tagged.locator("#log .clock").all_inner_texts(), strict=True
    )
    assert {("0:00", "15:00"), ("0:05", "14:55"), ("0:10", "14:50")} <= set(lines)


def test_a_line_is_moved_by_frames_and_the_film_goes_with_it(tagged: Any, house: House) -> None:
    press(tagged, "Escape Shift+ArrowUp")
    assert tagged.inner_text("#told") == "↑ or ↓ picks a line of the log first"
    press(tagged, "ArrowUp Shift+ArrowUp Shift+ArrowUp")
    settled(tagged, 248)
    assert frame_on_screen(tagged) == 248
    assert tagged.inner_text("#told") == "moved to 0:09.92"
    press(tagged, "Shift+ArrowDown")
    settled(tagged, 249)
    moves = [entry["at_ms"] for entry in house.wait_for(tagged.game, 16)[-3:]]
    assert moves == [249 * 40, 248 * 40, 249 * 40]
    press(tagged, "M")
    assert tagged.inner_text("#told").startswith("it stands on this frame already")
    house.wait_for(tagged.game, 16)


def test_what_can_be_done_with_a_line_stands_under_the_film_and_can_be_tapped(tagged: Any, house: House) -> None:
    press(tagged, "ArrowUp")
    names = [text.replace("\n", " ") for text in tagged.locator("#caps .k").all_inner_texts()][:6]
    assert names == [
        *("↵ answer it again", "⇧M put it on this frame", "⇧↑ a frame earlier", "⇧↓ a frame later"),
        *("⇧K strike it out", "Esc leave it"),
    ]
    tagged.click('#caps [data-key="K"]')
    assert tagged.locator("#log .out").count() == 1
    assert tagged.inner_text("#told") == "struck out; ⇧K restores it"
    tagged.click('#caps [data-key="K"]')
    assert tagged.locator("#log .out").count() == 0
    press(tagged, "Escape ArrowUp Enter")
    assert "who lost it?" in tagged.inner_text("#hand")


def test_after_an_answer_the_walk_goes_on_from_the_line_answered(tagged: Any) -> None:
    press(tagged, "ArrowUp ArrowUp ArrowUp Enter 7 Enter Escape")
    assert tagged.locator("#log [aria-current]").inner_text() == "7 shot: wide, lost; no feed."
    press(tagged, "ArrowUp")
    assert tagged.locator("#log [aria-current]").inner_text() == "Lantern, left."


def test_the_newest_sentence_is_in_view_and_so_is_the_one_walked_to(tagged: Any) -> None:
    for _ in range(12):
        press(tagged, ". d x 1 4 b f x 2 3 c")
    tagged.wait_for_timeout(300)
    seen = """id => { const log = document.querySelector('.log').getBoundingClientRect();
      const all = document.querySelectorAll('#log .m');
      const one = (id ? document.querySelector('#log [aria-current]') : all[all.length - 1]).getBoundingClientRect();
      return one.top >= log.top && one.bottom <= log.bottom; }"""
    assert tagged.evaluate(seen, "")
    press(tagged, "ArrowUp " * 30)
    tagged.wait_for_timeout(300)
    assert tagged.evaluate(seen, "picked")


def test_a_count_at_the_top_leads_through_what_is_to_be_looked_at(tagged: Any) -> None:
    press(tagged, ". d s 9 9 w r Enter . d x 9 8 b")
    tagged.wait_for_function("() => document.getElementById('problems').textContent.endsWith('to look at ⇧P')")
    lines = tagged.locator("#log .q").all_inner_texts()
    assert any("99 on the roster; correct the number, or add the player" in line for line in lines)
    tagged.click("#problems")
    assert tagged.inner_text("#told").startswith("1 of ")
    first = tagged.locator("#log [aria-current]").inner_text()
    press(tagged, "P")
    assert tagged.inner_text("#told").startswith("2 of ")
    assert tagged.locator("#log [aria-current]").inner_text() != first


def test_taking_back_after_a_strike_restores_it_and_asks_nothing(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "B d s 1 4 g Enter")  # the feeder is skipped: the shot has had its last question
    press(page, "ArrowUp K")
    page.wait_for_function("() => document.querySelector('#told').innerText.startsWith('struck out')")
    press(page, "Backspace")
    assert page.inner_text("#hand").startswith(("Nobody", "14 shot"))
    assert [entry["does"] for entry in house.wait_for(game, 7)][-2:] == ["remove", "undo"]

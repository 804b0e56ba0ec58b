"""The frame on screen is the frame that is stored: read back from the numbers drawn into the film."""

from __future__ import annotations

import random
from typing import Any

import pytest

from tests.counts import cases
from tests.screen.house import House, frame_on_screen, opened, press, said

pytestmark = pytest.mark.browser
FRAME_MS = 40


def settled(page: Any, frame: int) -> None:
    """Wait until the page says the time of a frame."""
    ms = frame * FRAME_MS
    wanted = f"{ms // 60000}:{ms // 1000 % 60:02d}.{ms % 1000 // 10:02d}"
    page.wait_for_function("wanted => document.querySelector('.when .big').innerText === wanted", arg=wanted)


def test_frame_steps_are_exact_both_ways(page: Any, house: House) -> None:
    opened(page, house, house.game())
    rng = random.Random(4)
    frame = 0
    for _ in range(cases(10, many=25)):
        steps = rng.randint(1, 9)
        forward = rng.random() < 0.7 or frame < steps
        press(page, ("." if forward else ",") + (" ." if forward else " ,") * (steps - 1))
        frame += steps if forward else -steps
        settled(page, frame)
        assert frame_on_screen(page) == frame


def test_a_mark_stands_at_the_frame_on_screen_at_its_first_key(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "B ArrowRight")
    settled(page, 125)
    press(page, "f s")
    press(page, ". . .")
    settled(page, 128)
    press(page, "2 3 g c")
    assert [e["at_ms"] for e in house.wait_for(game, 6) if e["does"] == "mark"] == [0, 5000, 5000]


def test_marks_made_while_playing_are_of_the_frame_that_was_shown(page: Any, house: House) -> None:
    """Both are read in one go of the page, so that no frame passes in between."""
    game = house.game()
    opened(page, house, game)
    press(page, "B d Space")
    shown = []
    for _ in range(8):
        page.wait_for_timeout(150)
        shown.append(
            page.evaluate(
                """() => new Promise((done) => {
                  const video = document.getElementById("video");
                  const key = new KeyboardEvent("keydown", { key: "p", code: "KeyP", bubbles: true });
                  video.requestVideoFrameCallback((_, { mediaTime }) => setTimeout(() => {
                    document.body.dispatchEvent(key);
                    done(Math.round(mediaTime * 25));
                  }));
                })"""
            )
        )
    press(page, "k")
    marks = [e["at_ms"] // FRAME_MS for e in house.wait_for(game, 10)[2:]]
    assert len(set(shown)) == 8
    assert marks == shown


def test_the_last_four_seconds_come_again_at_half_speed_in_the_middle_of_a_question(page: Any, house: House) -> None:
    opened(page, house, house.game())
    press(page, "B d ArrowRight")
    settled(page, 125)
    press(page, "e u 2 2 z")
    page.wait_for_function("() => document.getElementById('speed').innerText === 'again, at half speed'")
    page.wait_for_function("() => document.getElementById('time').innerText < '0:03'")
    assert page.evaluate("document.getElementById('video').playbackRate") == 0.5
    assert "who set it? 22" in page.inner_text("#hand")
    press(page, "Space")  # enough seen: back at once
    settled(page, 125)
    assert page.inner_text("#speed") == "held"
    assert frame_on_screen(page) == 125
    press(page, "Enter 1 4 Enter")
    assert said(page)[-1] == "22 set a screen for 14; the user came free."


def test_a_replay_ends_by_itself_where_it_began_and_plays_on(page: Any, house: House) -> None:
    opened(page, house, house.game())
    press(page, "ArrowRight")
    settled(page, 125)
    page.evaluate(
        """() => { window.rates = [];
          const video = document.getElementById("video");
          video.addEventListener("ratechange", () => rates.push(video.playbackRate)); }"""
    )
    for _ in range(100):
        press(page, ",")
    settled(page, 25)  # one second in: the replay is of that second
    press(page, "Space z")
    page.wait_for_function("() => document.getElementById('speed').innerText === 'again, at half speed'")
    page.wait_for_function("() => document.getElementById('speed').innerText === '1×'")
    page.wait_for_function("() => document.getElementById('time').innerText >= '0:01'")
    assert page.evaluate("window.rates") == [0.5, 1]


def test_the_shuttle_has_steps_both_ways_and_sound_up_to_twice_the_speed(page: Any, house: House) -> None:
    opened(page, house, house.game())
    press(page, "ArrowRight ArrowRight")
    settled(page, 250)
    speeds = []
    for key in ("l", "l", "l", "l"):
        press(page, key)
        speeds.append((page.inner_text("#speed"), page.evaluate("document.getElementById('video').muted")))
    assert speeds == [("1×", False), ("2×", False), ("4×", True), ("4×", True)]
    press(page, "j")
    assert page.inner_text("#speed") == "−1×"
    press(page, "j j")
    assert page.inner_text("#speed") == "−4×"
    page.wait_for_function("() => document.getElementById('time').innerText < '0:09'")
    press(page, "k")
    assert page.inner_text("#speed") == "held"
    assert frame_on_screen(page) < 9 * 25


def test_several_films_are_one_time_line(page: Any, house: House) -> None:
    game = house.game(n_films=3)
    opened(page, house, game)
    press(page, "B " + "ArrowRight " * 5)
    settled(page, 625)
    assert frame_on_screen(page) == 125
    press(page, "d")
    press(page, "ArrowLeft " * 2)
    settled(page, 375)
    assert frame_on_screen(page) == 375
    marks = house.wait_for(game, 2)
    assert (marks[1]["film"], marks[1]["at_ms"]) == (f"{game}.2", 5000)
    press(page, "ArrowDown")
    settled(page, 625)
    assert frame_on_screen(page) == 125


def test_play_goes_on_into_the_next_film(page: Any, house: House) -> None:
    opened(page, house, house.game(n_films=2), "?at=19500")
    settled(page, 487)
    press(page, "Space")
    page.wait_for_function("() => document.getElementById('time').innerText >= '0:20'")
    page.wait_for_function("() => document.getElementById('speed').innerText === '1×'")


def test_slow_motion_goes_by_half_and_quarter(page: Any, house: House) -> None:
    opened(page, house, house.game())
    press(page, "Z Z Space")
    assert page.inner_text("#speed") == "¼×"
    assert page.evaluate("document.getElementById('video').playbackRate") == 0.25
    press(page, "Z")
    assert page.inner_text("#speed") == "1×"


def test_a_film_that_is_away_says_so_and_the_log_still_stands(new_page: Any, house: House) -> None:
    game = house.game()
    page = new_page()
    opened(page, house, game)
    press(page, "B d")
    house.wait_for(game, 2)
    with house.season.store.writing() as db:
        db.execute("UPDATE films SET path = 'gone.mp4' WHERE game = ?", (game,))
    opened(page, house, game)
    assert "The film is not where it was" in page.inner_text("#blank")
    assert said(page) == ["The period begins.", "Ours."]
    press(page, "f")
    assert len(said(page)) == 2


def test_there_are_steps_to_the_mark_the_possession_and_the_period_before_and_after(page: Any, house: House) -> None:
    opened(page, house, house.game())
    press(page, "B ArrowRight")
    settled(page, 125)
    press(page, "d . .")
    settled(page, 127)
    press(page, "x 1 4 b ArrowRight")
    settled(page, 252)
    press(page, "f . .")
    settled(page, 254)
    press(page, "B")
    for key, frame in (
        *(("ArrowUp", 254), ("ArrowUp", 252), ("ArrowUp", 127), ("ArrowDown", 252)),
        *(("Escape", 252), ("Shift+ArrowLeft", 125), ("Shift+ArrowRight", 252)),
        *(("PageUp", 0), ("PageDown", 254)),
    ):
        press(page, key)
        settled(page, frame)
        assert frame_on_screen(page) == frame, key
    press(page, "PageDown")
    assert page.inner_text("#told") == "nothing further that way"


def test_the_loop_shows_the_last_possession_from_its_beginning_until_it_is_ended(page: Any, house: House) -> None:
    opened(page, house, house.game())
    press(page, "B ArrowRight")
    settled(page, 125)
    press(page, "d . . . . . . . . . .")
    settled(page, 135)
    press(page, "x 1 4 b L")
    assert page.inner_text("#speed") == "over and over, 1×"
    least, most = page.evaluate(
        """() => new Promise((done) => { let [least, most, back] = [99, 0, 0]; let last = 0;
          const video = document.getElementById("video");
          const watch = (_, { mediaTime }) => {
            if (mediaTime < last) back += 1;
            last = mediaTime;
            if (back > 0) [least, most] = [Math.min(least, mediaTime), Math.max(most, mediaTime)];
            if (back > 2) done([Math.round(least * 25), Math.round(most * 25)]);
            else video.requestVideoFrameCallback(watch);
          };
          video.requestVideoFrameCallback(watch); })"""
    )
    assert least == 125 and 134 <= most <= 140
    press(page, "L")
    assert "over and over" not in page.inner_text("#speed")
    press(page, "k")


def test_keys_pressed_while_the_next_part_comes_wait_for_it_and_none_is_lost(page: Any, house: House) -> None:
    opened(page, house, house.game(n_films=2), "?at=19500")
    settled(page, 487)
    press(page, "B d")
    page.evaluate(
        """() => document.getElementById("video").addEventListener("loadstart", () => {
          for (const [key, code] of [["s", "KeyS"], ["1", "Digit1"], ["4", "Digit4"], ["g", "KeyG"]]) {
            document.body.dispatchEvent(new KeyboardEvent("keydown", { key, code, bubbles: true, cancelable: true }));
          }
        }, { once: true })"""
    )
    press(page, "Space")
    page.wait_for_function("() => document.getElementById('time').innerText >= '0:20'")
    page.wait_for_function("() => document.getElementById('speed').innerText === '1×'")
    assert said(page)[-1] == "14 shot: goal."


def go_to(page: Any, place: str) -> None:
    page.keyboard.press("Shift+J")
    page.fill("#place", place)
    page.keyboard.press("Enter")


def test_frames_go_on_over_the_border_of_two_parts_both_ways(page: Any, house: House) -> None:
    opened(page, house, house.game(n_films=2), "?at=19960")
    settled(page, 499)
    press(page, ".")
    settled(page, 500)
    assert frame_on_screen(page) == 0
    press(page, ",")
    settled(page, 499)
    assert frame_on_screen(page) == 499


def test_the_shuttle_runs_backwards_over_the_border_of_two_parts(page: Any, house: House) -> None:
    opened(page, house, house.game(n_films=2), "?at=21000")
    settled(page, 525)
    press(page, "j j")
    page.wait_for_function("() => document.getElementById('time').innerText <= '0:18'")
    assert page.inner_text("#speed") == "−2×"


@pytest.mark.parametrize("key", ["L", "z"])
def test_what_is_asked_for_ends_what_is_shown_again(page: Any, house: House, key: str) -> None:
    opened(page, house, house.game())
    press(page, "B d ArrowRight")
    settled(page, 125)
    press(page, "x 1 4 b")
    press(page, key)
    page.wait_for_function("() => !document.getElementById('video').paused")
    go_to(page, "0:12")
    page.wait_for_function("() => document.getElementById('time').innerText >= '0:12'")
    page.wait_for_timeout(500)
    assert page.inner_text("#time") >= "0:12"
    assert page.inner_text("#speed") == ("1×" if key == "L" else "held")


def test_a_film_that_holds_for_a_question_goes_on_after_a_replay_too(page: Any, house: House) -> None:
    opened(page, house, house.game(), "?at=1000")
    settled(page, 25)
    press(page, "B d O Space")
    page.wait_for_function("() => document.getElementById('time').innerText >= '0:02'")
    press(page, "s z 1 4 g Enter")
    assert page.inner_text("#speed") == "again, at half speed"
    page.wait_for_function("() => document.getElementById('speed').innerText === '1×'")
    page.wait_for_function("() => document.getElementById('time').innerText >= '0:03'")
    press(page, "O")

"""The second look, the go-to, the clock, the film that holds while a question is open."""

from __future__ import annotations

from typing import Any

import pytest

from tests.screen.house import House, opened, press, said
from tests.screen.test_film import settled

pytestmark = pytest.mark.browser


@pytest.fixture
def tagged(page: Any, house: House) -> Any:
    """Two runs of ours: a shot at 5 s without a feeder, a set at 10 s without a look; the film at 10 s."""
    page.game = house.game()
    opened(page, house, page.game)
    press(page, "B C 1 5 0 0 Enter d 1 a ArrowRight")
    settled(page, 125)
    press(page, "s 1 4 a r")
    press(page, "Escape C 1 4 5 5 Enter ArrowRight")
    settled(page, 250)
    press(page, "2 p")
    house.wait_for(page.game, 14)
    page.wait_for_function("() => document.getElementById('clock').textContent.includes('left')")
    page.wait_for_timeout(2500)  # the fold is asked for again once the keys rest
    return page


def test_the_second_look_leads_from_one_thing_worth_asking_to_the_next(tagged: Any, house: House) -> None:
    press(tagged, "W")
    tagged.wait_for_function("() => document.getElementById('speed').innerText.startsWith('over and over')")
    first = tagged.inner_text("#told")
    assert first == "which look was it? 3 left"
    press(tagged, "W")
    assert tagged.inner_text("#told") == "who fed this shot? 3 left" and "who fed it?" in tagged.inner_text("#hand")
    press(tagged, "2 2 Enter")
    tagged.wait_for_timeout(100)
    assert "14 shot: saved, recovered; fed by 22." in said(tagged)
    press(tagged, "W o 2")
    assert house.wait_for(tagged.game, 17)[-2]["kind"] == "look"
    press(tagged, "k")


def test_blind_a_run_is_shown_up_to_its_decisive_moment_only(tagged: Any) -> None:
    press(tagged, "E W")
    tagged.wait_for_function("() => document.body.classList.contains('blind')")
    end = tagged.evaluate(
        "() => new Promise((done) => { let most = 0; const video = document.getElementById('video');"
        "const watch = (_, { mediaTime }) => { if (mediaTime < most - 1) return done(most);"
        "most = Math.max(most, mediaTime); video.requestVideoFrameCallback(watch); };"
        "video.playbackRate = 4; video.requestVideoFrameCallback(watch); })"
    )
    assert end < 5.3
    assert not tagged.locator("#log .now .m", has_text="14 shot").is_visible()
    press(tagged, "k")
    assert tagged.locator("#log .m", has_text="14 shot").is_visible()


def test_a_go_to_takes_film_time_or_period_and_clock(tagged: Any) -> None:
    press(tagged, "J")
    tagged.keyboard.type("0:07")
    tagged.keyboard.press("Enter")
    settled(tagged, 175)
    press(tagged, "J")
    tagged.keyboard.type("1 14:58")
    tagged.keyboard.press("Enter")
    settled(tagged, 50)
    press(tagged, "J")
    tagged.keyboard.type("2 11:42")
    tagged.keyboard.press("Enter")
    assert tagged.inner_text("#told") == "the clock of that period is not known there"
    press(tagged, "J")
    tagged.keyboard.type("nonsense")
    tagged.keyboard.press("Enter")
    assert tagged.get_attribute("#place", "aria-invalid") == "true"
    tagged.keyboard.press("Escape")
    press(tagged, ".")
    settled(tagged, 51)


def test_period_clock_and_strength_stand_beside_the_film_time(tagged: Any) -> None:
    press(tagged, "J")
    tagged.keyboard.type("0:02")
    tagged.keyboard.press("Enter")
    settled(tagged, 50)
    assert tagged.inner_text("#clock") == "first period, 14:58 left, even, both nets covered"


def test_the_film_holds_while_a_question_is_open_when_it_is_told_to(page: Any, house: House) -> None:
    opened(page, house, house.game())
    press(page, "B d O l e")
    assert page.inner_text("#speed") == "held"
    press(page, "u Enter Enter")
    assert page.inner_text("#speed") == "1×"
    press(page, "e Space Escape")  # the person played on by hand, and that stands
    assert page.inner_text("#speed") == "1×"
    press(page, "O e")
    assert page.inner_text("#speed") == "1×"
    press(page, "k")


def test_hovering_the_strip_shows_the_moment(page: Any, house: House) -> None:
    opened(page, house, house.game())
    page.hover("#line")
    page.wait_for_function(
        "() => document.querySelector('#moment img').complete && !document.querySelector('#moment img').hidden"
    )
    assert page.inner_text("#moment") == "0:10"
    assert page.evaluate("document.querySelector('#moment img').naturalWidth") > 0
    page.click("#line")
    page.wait_for_function("() => document.getElementById('time').innerText === '0:10'")

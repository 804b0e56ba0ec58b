"""The pages in a real browser: a number is clicked, and the docked film shows exactly what it was counted from."""

from __future__ import annotations

import time
from fractions import Fraction
from typing import Any

import pytest

from tests.counts import cases
from tests.dashboard.conftest import FPS
from tests.dashboard.herons import build
from tests.film.maker import N_CELLS, Recipe, make, strip_bits
from tests.served import Served

pytestmark = pytest.mark.browser
SETS = "3 of 4 runs brought a shot."
WINDOWS = ((390, 844), (1366, 768), (1440, 900))

NUMBER = """() => {
  const video = document.querySelector('#dock video.on');
  const canvas = Object.assign(document.createElement('canvas'), {width: video.videoWidth, height: video.videoHeight});
  const context = canvas.getContext('2d');
  context.drawImage(video, 0, 0);
  const row = Math.round(canvas.height / 16);
  const line = context.getImageData(0, row, canvas.width, 1).data;
  return Array.from({length: CELLS}, (_, cell) =>
    line[4 * Math.round((cell + 0.5) * canvas.width / CELLS)] > 127 ? 1 : 0);
}""".replace("CELLS", str(N_CELLS))
HELD = "for (const video of document.querySelectorAll('#dock video')) video.play = async () => undefined"
STANDS = """([from, to]) => {
  const video = document.querySelector('#dock video.on');
  return from < video.currentTime && video.currentTime < to && !video.seeking;
}"""
TOLD_LATE = """document.addEventListener('loadedmetadata', (event) => {
  if (!event.isTrusted) return;
  event.stopImmediatePropagation();
  setTimeout(() => event.target.dispatchEvent(new Event('loadedmetadata')), 500);
}, true)"""  # a busy page hears of a film when its first frame is long on screen


def frame(page):
    """The number drawn into the picture that the docked film shows."""
    bits = page.evaluate(NUMBER)
    number = int("".join(map(str, bits[2:18])), 2)
    assert strip_bits(number) == bits, bits
    return number


def playing(page, clip):
    page.wait_for_function(
        "clip => document.querySelector('#dock').dataset.clip === String(clip) && "
        "!document.querySelector('#dock video.on').paused && document.querySelector('#dock video.on').readyState > 2",
        arg=clip,
    )


def said(page, words):
    page.wait_for_function("words => document.querySelector('#dock .what')?.textContent.startsWith(words)", arg=words)


def settled_width(page: Any, width_px: int) -> int:
    """How wide a page is, once it is no wider than its window, else after five seconds: plots are drawn after it."""
    end = time.monotonic() + 5
    while (found := int(page.evaluate("document.documentElement.scrollWidth"))) > width_px and time.monotonic() < end:
        page.wait_for_timeout(100)
    return found


def opened(page, served, path=""):
    page.goto(served.address + path)
    page.wait_for_selector("main h1")
    page.wait_for_selector("#dock .card")
    return page


def test_a_page_that_comes_before_the_script_that_fills_it_is_filled_all_the_same(page, served):
    held: list[Any] = []
    page.route("**/assets/player.js", lambda route: held.append(route))
    page.goto(served.address + "sets", wait_until="commit")
    page.wait_for_selector("[data-html]", state="attached")
    page.wait_for_timeout(200)
    held[0].continue_()
    page.wait_for_selector("main h1")
    assert page.locator("main h1").inner_text() == SETS


def test_a_number_plays_the_clips_it_was_counted_from_one_after_the_other(page, served):
    opened(page, served, "sets")
    page.get_by_role("button", name="3", exact=True).first.click()
    said(page, "Lantern, runs · 2 of 3 have film.")
    assert page.locator("#dock li").count() == 2
    playing(page, 0)
    assert 75 <= frame(page) < 288  # 3.000 to 11.500 s at 25 frames a second
    page.evaluate("document.querySelector('#dock video.on').currentTime = 11.3")
    playing(page, 1)  # it went on by itself
    assert 525 <= frame(page) < 738  # 21.000 to 29.500 s


def test_a_clip_begins_on_its_very_frame_and_is_held_at_its_end(page, served):
    opened(page, served, "games/g1?open=1")
    sentence = page.locator(".plays", has_text="14 shot: saved")
    page.evaluate(HELD)  # to see where it begins
    sentence.click()
    page.wait_for_function(STANDS, arg=[2.9, 4])  # what the page shows first stands at 12 s
    assert frame(page) == 75  # the shot is marked at 9.000 s: from 3.000 s
    page.reload()
    page.wait_for_selector("#dock .card")
    page.locator(".plays", has_text="14 shot: saved").click()
    playing(page, 0)
    page.evaluate("document.querySelector('#dock video.on').currentTime = 11.2")
    page.wait_for_function(
        "() => { const v = document.querySelector('#dock video.on'); return v.paused && !v.seeking; }"
    )
    assert 311 <= frame(page) <= 314  # it ends at 12.500 s: frame 312 is the last, and holding takes a frame or two


def test_a_clip_of_a_film_whose_clock_begins_late_begins_on_its_very_frame_too(page, tmp_path):
    late = make(Recipe("late", n_frames=40 * FPS, gop=25, start_s=Fraction(3)), tmp_path)  # as what a phone cut off has
    served = Served(build(tmp_path / "herons", late))
    page.add_init_script(TOLD_LATE)
    try:
        opened(page, served, "games/g1?open=1")
        page.evaluate(HELD)
        page.locator(".plays", has_text="14 shot: saved").click()
        page.wait_for_function(STANDS, arg=[5.9, 7])
        assert frame(page) == 75  # as above
    finally:
        served.stop()


def test_the_film_plays_on_while_pages_change(page, served):
    opened(page, served, "sets")
    page.get_by_role("button", name="3", exact=True).first.click()
    playing(page, 0)
    page.get_by_role("link", name="People").click()
    page.wait_for_function("() => document.querySelector('main h1')?.textContent.includes('shots were goals')")
    assert page.evaluate("!document.querySelector('#dock video.on').paused")
    assert "shots were goals" in page.title() and page.title().endswith(" · floorbook")


def test_a_number_without_film_is_no_control(page, served):
    opened(page, served, "games")
    row = page.locator("tr", has_text="Millrace")
    assert row.locator(".plays").count() == 0 and "1 – 0" in row.inner_text()


def test_sentences_play_from_the_keyboard_too(page, served):
    opened(page, served, "games/g1?open=1")
    page.locator(".plays", has_text="22 set a screen").focus()
    page.keyboard.press("Enter")
    playing(page, 0)
    assert 25 <= frame(page) < 238  # the screen is marked at 7.000 s


def test_a_tick_of_the_figure_plays_its_run_and_arrows_walk_along(page, served):
    opened(page, served, "sets")
    ticks = page.locator(".on-axis tr", has_text="Lantern").locator("button.tick")
    assert ticks.count() == 2
    ticks.first.focus()
    page.keyboard.press("ArrowRight")
    assert ticks.last.evaluate("one => document.activeElement === one && one.tabIndex === 0")
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("Enter")
    said(page, "Lantern, Quarry Hill, film 0:04: on goal, no goal · 1 of 1 has film")
    box = ticks.last.bounding_box()
    assert box
    page.mouse.click(box["x"] + box["width"] + 6, box["y"] + 12)  # beside it: ticks are narrower than a finger
    said(page, "Lantern, Quarry Hill, film 0:24: ball lost · 1 of 1 has film")


def test_the_sentence_of_choices_changes_the_page(page, served):
    opened(page, served, "sets")
    page.locator(".choice summary", has_text="our").first.click()
    page.get_by_role("link", name="their", exact=True).click()
    page.wait_for_function("was => document.querySelector('main h1')?.textContent !== was", arg=SETS)
    assert page.url.endswith("/sets?team=theirs")
    page.go_back()
    page.wait_for_function("was => document.querySelector('main h1')?.textContent === was", arg=SETS)


def test_what_overlaps_in_a_player_s_film_is_one_clip(page, served):
    opened(page, served, "players/14")
    page.get_by_role("button", name="Play all 2 clips").click()
    playing(page, 0)
    assert page.locator("#dock li").count() == 2


def test_when_the_server_is_gone_the_dock_says_so(page, served):
    opened(page, served, "sets")
    page.route("**/clips", lambda route: route.abort())
    page.get_by_role("button", name="3", exact=True).first.click()
    page.wait_for_function("() => document.querySelector('#dock .what').textContent.includes('does not answer')")


def box_of(page, selector):
    box = page.locator(selector).first.bounding_box()
    assert box is not None, selector
    return box


@pytest.mark.parametrize(
    ("width_px", "height_px", "where"),
    [
        (1440, 900, "beside"),
        (390, 844, "above"),
        (720, 450, "beside"),  # a laptop's page at twice its size
        (844, 390, "beside"),  # a phone on its side
        (768, 1024, "above"),
        (1366, 768, "beside"),
    ][: cases(3, many=6)],
)
def test_what_plays_is_seen_in_any_window_however_far_down_the_page(new_page, served, width_px, height_px, where):
    page = new_page(width_px, height_px)
    opened(page, served, "sets")
    number = page.get_by_role("button", name="3", exact=True).last
    number.scroll_into_view_if_needed()
    number.click()
    playing(page, 0)
    film, main = box_of(page, "#dock video.on"), box_of(page, "main")
    assert film["y"] >= 0 and film["y"] + film["height"] <= height_px, film
    assert film["height"] >= 100 and film["x"] + film["width"] <= width_px
    assert box_of(page, "#dock .card")["height"] < height_px / 2 if where == "above" else film["x"] > main["x"] + 300
    if width_px >= 1200:
        assert box_of(page, "#dock")["width"] / (width_px - 2 * main["x"]) == pytest.approx(0.42, abs=0.02)


def test_a_phone_folds_the_film_away_and_nothing_plays_on_unseen(new_page, served):
    page = new_page(390, 844)
    opened(page, served, "sets")
    page.get_by_role("button", name="3", exact=True).first.click()
    playing(page, 0)
    page.get_by_role("button", name="Fold").click()
    assert page.evaluate("document.querySelector('#dock video.on').paused")
    assert not page.locator("#dock .screen").is_visible()
    page.get_by_role("button", name="Unfold").click()
    assert page.locator("#dock .screen").is_visible()


def test_a_finger_across_the_film_goes_to_the_next_clip(new_page, served):
    page = new_page(390, 844)
    opened(page, served, "sets")
    page.get_by_role("button", name="3", exact=True).first.click()
    playing(page, 0)
    page.evaluate(
        """() => {
          const screen = document.querySelector('#dock .screen');
          const touch = x => new Touch({identifier: 1, target: screen, clientX: x, clientY: 100});
          screen.dispatchEvent(new TouchEvent('touchstart', {touches: [touch(300)], changedTouches: [touch(300)]}));
          screen.dispatchEvent(new TouchEvent('touchend', {changedTouches: [touch(120)], cancelable: true}));
        }"""
    )
    playing(page, 1)


HAS_KEYS = "document.activeElement.className"


def held_at(page, least_s):
    page.wait_for_function(
        "least => { const v = document.querySelector('#dock video.on'); "
        "return v.paused && !v.seeking && v.readyState > 1 && v.currentTime >= least; }",
        arg=least_s,
    )


def test_a_number_gives_its_keys_to_the_film_and_escape_gives_them_back(page, served):
    opened(page, served, "sets")
    page.get_by_role("button", name="3", exact=True).first.focus()
    page.keyboard.press("Enter")
    playing(page, 0)
    assert page.evaluate(HAS_KEYS) == "card"
    page.keyboard.press(" ")
    held_at(page, 3)
    before = frame(page)
    for key, by in ((".", 1), (".", 2), (",", 1)):
        page.keyboard.press(key)
        page.wait_for_function("() => !document.querySelector('#dock video.on').seeking")
        page.wait_for_timeout(120)
        assert frame(page) == before + by, key
    page.keyboard.press("ArrowDown")
    playing(page, 1)
    page.keyboard.press("k")
    held_at(page, 21)
    page.keyboard.press("ArrowUp")
    playing(page, 0)
    assert page.locator("#dock .keys").is_hidden()
    page.keyboard.press("?")
    assert "five seconds" in page.locator("#dock .keys").inner_text()
    page.keyboard.press("Escape")
    assert page.evaluate("document.activeElement.dataset.what") == "Lantern, runs"
    page.keyboard.press("Enter")
    page.get_by_role("link", name="People").click()
    page.wait_for_function("() => document.querySelector('main h1')?.textContent.includes('shots were goals')")
    page.locator("#dock .card").focus()
    page.keyboard.press("Escape")  # the number is not on this page
    assert page.evaluate("document.activeElement.tagName") == "MAIN"


def test_where_the_keys_were_is_gone_they_are_on_the_page_and_not_nowhere(page, served):
    opened(page, served, "sets")
    page.locator(".choice summary", has_text="our").first.focus()
    page.keyboard.press("Enter")
    page.get_by_role("link", name="their", exact=True).focus()
    page.keyboard.press("Enter")
    page.wait_for_function("() => document.querySelector('main h1')?.textContent === '2 of 2 runs brought a shot.'")
    page.wait_for_function("() => document.activeElement.matches('main, .choice summary')")  # the word keeps them


def test_an_address_that_was_sent_shows_the_same_clip_with_as_much_around_it(page, new_page, served):
    opened(page, served, "sets")
    page.get_by_role("button", name="3", exact=True).first.click()
    playing(page, 0)
    page.keyboard.press("ArrowDown")
    playing(page, 1)
    for _ in range(2):
        page.get_by_role("button", name="a second more before").click()
    page.wait_for_function("() => location.hash.includes('before=2')")
    playing(page, 1)
    assert 475 <= frame(page) < 738  # two seconds earlier than 21.000 s
    other = new_page(1440, 900)
    other.goto(page.url)
    said(other, "Lantern, runs · 2 of 3 have film.")
    held_at(other, 18.9)
    assert frame(other) == 475 and other.locator("#dock li.on").inner_text().endswith("11 s")
    link = other.get_by_role("link", name="open in tagging").get_attribute("href")
    assert link == "/tag/g1?at=24000"
    other.goto(served.address + link[1:])
    other.wait_for_selector('body[data-ready="film"]')
    other.go_back()
    said(other, "Lantern, runs · 2 of 3 have film.")
    held_at(other, 18.9)


def test_before_anything_is_asked_for_a_page_shows_its_own_first_clips_held(page, served):
    opened(page, served, "sets")
    said(page, "To begin with: Lantern, runs with a shot · 1 of 2 have film.")
    held_at(page, 3)
    lines = [line.split("\n") for line in page.locator("#dock li").all_inner_texts()]
    assert lines[0] == ["☆", "Quarry Hill", "film 0:04", "Lantern, left: 14 shot: saved, recovered; fed by 22", "9 s"]
    assert page.locator("#dock li .ring").get_attribute("aria-label") == "saved"
    assert "#" not in page.url


def test_a_star_puts_clips_into_a_list_that_has_notes_and_an_order_and_is_opened_again(page, served):
    opened(page, served, "sets")
    page.get_by_role("button", name="3", exact=True).first.click()
    playing(page, 0)
    page.keyboard.press("s")
    page.keyboard.press("ArrowDown")
    playing(page, 1)
    page.keyboard.press("s")
    assert page.locator("#dock .star").all_inner_texts() == ["★", "★"]
    page.get_by_label("★ goes into").fill("Practice")
    assert page.locator("#dock .star").all_inner_texts() == ["☆", "☆"]
    page.get_by_label("★ goes into").fill("Tuesday")
    page.reload()
    page.get_by_role("button", name="open “Tuesday”, 2").click()
    playing(page, 0)
    said(page, "★ Tuesday · 2 of 2 have film.")
    page.get_by_label("Note on this clip").fill("watch 22")
    page.keyboard.press("Enter")
    assert page.locator("#dock li .deed").first.evaluate("(each) => getComputedStyle(each).position") == "static"
    assert page.locator("#dock li .deed").first.inner_text().endswith("· watch 22")
    page.locator("#dock .card").focus()
    page.keyboard.press("Shift+ArrowDown")
    assert [text.startswith("Lantern, right") for text in page.locator("#dock li .deed").all_inner_texts()] == [
        True,
        False,
    ]
    page.locator("#dock li").nth(1).drag_to(page.locator("#dock li").nth(0))
    page.wait_for_function("() => document.querySelector('#dock li .deed').textContent.endsWith('watch 22')")
    page.reload()
    said(page, "★ Tuesday · 2 of 2 have film.")
    assert page.locator("#dock li .deed").first.inner_text().endswith("· watch 22")

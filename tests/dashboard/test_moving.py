"""Moving between pages in a real browser: what one sees comes along, comes back, and can be kept."""

from __future__ import annotations

import pytest

from tests.dashboard.test_browser import SETS, opened

pytestmark = pytest.mark.browser
THERE = "title => document.querySelector('main h1')?.textContent === title"
PLAYERS = "() => document.querySelector('main h1')?.textContent.includes('shots were goals')"


def test_back_and_forward_lead_to_the_same_place_of_a_page(page, served):
    opened(page, served, "sets")
    high = page.evaluate("document.documentElement.scrollHeight - innerHeight")
    page.evaluate("scrollTo(0, 300)")
    at = page.evaluate("scrollY")
    assert min(300, high) == at > 100
    page.evaluate("document.querySelector('.within a[href^=\"/screens\"]').click()")
    page.wait_for_function(THERE, arg="Somebody came free in 1 of 1 screen.")
    page.wait_for_function("() => scrollY === 0")
    page.go_back()
    page.wait_for_function(THERE, arg=SETS)
    page.wait_for_function("at => scrollY === at", arg=at)
    page.reload()
    page.wait_for_function(THERE, arg=SETS)
    page.wait_for_function("at => scrollY === at", arg=at)


def test_a_choice_goes_along_and_focus_never_falls_to_the_body(page, served):
    opened(page, served, "sets")
    page.locator("header .choice summary", has_text="all").first.focus()
    page.keyboard.press("Enter")
    page.get_by_role("link", name="the game against Quarry Hill, 14 March").click()
    page.wait_for_function("() => document.activeElement?.matches('summary') && location.search === '?games=g1'")
    page.get_by_role("link", name="People").click()
    page.wait_for_function(PLAYERS)
    assert page.evaluate("location.search") == "?games=g1" and page.evaluate("document.activeElement.id") == "page"
    page.get_by_role("link", name="To the page").focus()
    page.keyboard.press("Enter")
    page.wait_for_function("() => document.activeElement.id === 'page'")


def test_a_view_is_kept_under_a_name_and_opened_again(page, served):
    opened(page, served, "sets?team=theirs")
    page.get_by_text("keep this view").click()
    page.get_by_label("name of this view").fill("their <b>sets</b>")
    page.keyboard.press("Enter")
    page.goto(f"{served.address}players")
    page.wait_for_function(PLAYERS)
    page.get_by_text("keep this view").click()
    page.get_by_role("link", name="their <b>sets</b>").click()
    page.wait_for_function(THERE, arg="2 of 2 runs brought a shot.")
    page.get_by_text("keep this view").click()
    page.get_by_role("button", name="forget their <b>sets</b>").click()
    assert page.locator("#views li").count() == 0


def test_light_and_dark_are_the_system_s_wish_until_somebody_chooses(page, served):
    opened(page, served, "sets")
    ground = "getComputedStyle(document.body).backgroundColor"
    light = page.evaluate(ground)
    page.emulate_media(color_scheme="dark")
    dark = page.evaluate(ground)
    assert light != dark
    page.get_by_role("button", name="light or dark").click()
    assert page.evaluate(ground) == light
    page.reload()
    page.wait_for_selector("main h1")
    assert page.evaluate(ground) == light


def test_on_a_phone_the_ways_are_one_row_with_the_one_shown_in_sight(new_page, served):
    page = new_page(360, 800)
    opened(page, served, "face-offs")
    for row in page.locator("header nav").all():
        box, on = row.bounding_box(), row.locator("a.on").bounding_box()
        assert box["height"] < 60 and box["x"] <= on["x"] and on["x"] + on["width"] <= box["x"] + box["width"] + 1
    assert page.evaluate("document.documentElement.scrollWidth") <= 360

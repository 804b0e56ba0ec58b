"""Two people at one game: a book each, or one book between them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.screen.house import House, opened, press, said

pytestmark = pytest.mark.browser


def test_in_a_shared_book_each_sees_the_others_marks_and_takes_back_only_his_own(
    new_page: Callable[..., Any], house: House
) -> None:
    game = house.game()
    anna, ben = new_page(), new_page()
    opened(anna, house, game, "?book=both&by=anna")
    opened(ben, house, game, "?book=both&by=ben")
    press(anna, "B d")
    ben.wait_for_function("() => document.querySelectorAll('#log .m').length === 2")
    assert said(ben) == ["The period begins. anna", "Ours. anna"]
    press(ben, "f Backspace Backspace")
    assert ben.inner_text("#told") == "nothing of yours to take back"
    press(ben, "x 2 3 c")
    anna.wait_for_function(  # what ben took back may have been the third for a moment
        "() => [...document.querySelectorAll('#log .m')].at(-1).innerText.startsWith('23 was stripped')"
    )
    assert said(anna)[-1] == "23 was stripped. ben" and len(said(anna)) == 3
    entries = house.wait_for(game, 7, "both")
    assert [entry["by"] for entry in entries] == ["anna"] * 2 + ["ben"] * 5
    press(ben, "Escape d 1 a s 1 4 w Escape")
    anna.wait_for_function(
        "() => [...document.querySelectorAll('#log .m')].at(-1).innerText.startsWith('14 shot: wide')"
    )
    assert said(anna)[-2:] == ["Lantern, left.", "14 shot: wide. ben"]  # his name once, after what he said in one go
    assert house.entries(game) == []


def test_a_book_of_ones_own_holds_only_ones_own_marks(new_page: Callable[..., Any], house: House) -> None:
    game = house.game()
    page = new_page()
    opened(page, house, game)
    press(page, "B d")
    house.wait_for(game, 2)
    page.click("header button")
    page.fill("#whose [name=book]", "ben")
    page.fill("#whose [name=by]", "ben")
    page.click("#whose button")
    page.wait_for_url("**/tag/*?book=ben&by=ben&takes=both")
    page.wait_for_selector('body[data-ready="film"]')
    assert said(page) == []
    press(page, "B")
    house.wait_for(game, 1, "ben")
    assert len(house.entries(game)) == 2


def test_one_takes_ours_the_other_theirs_and_the_strip_says_who_has_whom(
    new_page: Callable[..., Any], house: House
) -> None:
    game = house.game()
    anna, ben = new_page(), new_page()
    opened(anna, house, game)
    anna.click("header button")
    anna.fill("#whose [name=book]", "shared")
    anna.fill("#whose [name=by]", "anna")
    anna.check("#whose [value=ours]")
    anna.click("#whose > button")
    anna.wait_for_url("**takes=ours")
    anna.wait_for_selector('body[data-ready="film"]')
    opened(ben, house, game, "?book=shared&by=ben&takes=theirs")
    anna.wait_for_function("() => document.getElementById('shared').innerText === 'you take ours · ben theirs'")
    ben.wait_for_function("() => document.getElementById('shared').innerText === 'you take theirs · anna ours'")
    press(anna, "B f")
    assert anna.inner_text("#shared") == "ben has their marks"
    assert "though ben has their marks" in anna.inner_text("#told")  # every key works for everybody
    press(anna, "x 2 3 c")
    assert said(anna)[-1] == "23 was stripped."
    ben.wait_for_function("() => document.querySelectorAll('#log .m').length === 3")
    assert not ben.evaluate("document.getElementById('shared').classList.contains('held')")
    press(ben, "d")
    assert ben.inner_text("#shared") == "anna has our marks"
    house.wait_for(game, 6, "shared")


def test_somebody_alone_is_told_nothing_of_others(page: Any, house: House) -> None:
    opened(page, house, house.game())
    press(page, "B d")
    page.wait_for_timeout(2500)  # longer than the page waits between two looks
    assert page.is_hidden("#shared")


def test_a_mark_of_another_book_is_taken_over_by_key_and_taken_back(new_page: Callable[..., Any], house: House) -> None:
    game = house.game()
    ben, anna = new_page(), new_page()
    opened(ben, house, game, "?book=ben")
    press(ben, "B d 1 a s 1 4 g")
    opened(anna, house, game, "?book=anna")
    theirs = house.wait_for(game, 7, "ben")
    press(anna, "B d")
    anna.wait_for_function("() => document.getElementById('shared').innerText.startsWith('ben tags in ben’s book')")
    press(anna, "Shift+Enter")
    anna.wait_for_selector("#other-book[open] .line-of:focus")
    lines = anna.locator("#other-book .line-of span:first-of-type").all_inner_texts()
    assert lines == ["The period begins.", "Ours.", "Lantern, left.", "14 shot: goal."]
    assert anna.locator("#other-book .line-of:focus").inner_text().startswith("0:00\n14 shot: goal.")
    press(anna, "Enter")
    assert said(anna)[-1] == "14 shot: goal."
    assert "taken over" in anna.locator("#other-book .line-of:focus").inner_text()
    press(anna, "Enter")  # once is enough
    press(anna, "ArrowUp Enter Escape")
    held = house.wait_for(game, 4, "anna")
    shot = next(entry for entry in theirs if entry.get("kind") == "shot")
    assert [entry["copied_from"] for entry in held[2:]] == [shot["id"], theirs[2]["id"]]
    assert held[2]["by"] == "anna" and (held[2]["film"], held[2]["at_ms"]) == (shot["film"], shot["at_ms"])
    assert held[2]["answers"]["shooter"] == "14" and held[2]["answers"]["result"] == "goal"  # as it stands there
    assert len(house.entries(game, "ben")) == len(theirs)
    press(anna, "Backspace")
    assert [text for text in said(anna) if "Lantern" in text] == []
    press(anna, "Shift+Backspace")
    assert [text for text in said(anna) if "Lantern" in text] != []
    press(anna, "Backspace Backspace")
    assert said(anna) == ["The period begins.", "Ours."]
    house.wait_for(game, 8, "anna")
    tables = house.season.tagged.folded(game, "anna").rows
    assert len(tables["shots"]) == 0


def test_the_other_book_is_reached_by_a_finger_too(new_page: Callable[..., Any], house: House) -> None:
    game = house.game()
    ben, anna = new_page(), new_page(820, 1180, has_touch=True, is_mobile=True)
    opened(ben, house, game, "?book=ben")
    press(ben, "B d")
    house.wait_for(game, 2, "ben")
    opened(anna, house, game, "?book=anna")
    anna.tap("header nav button")
    anna.tap('#whose [data-key="Shift+Enter"]')
    anna.tap("#other-book .line-of >> nth=0")
    [taken] = house.wait_for(game, 1, "anna")
    assert taken["copied_from"] == house.entries(game, "ben")[0]["id"]


def test_no_other_book_is_said(page: Any, house: House) -> None:
    opened(page, house, house.game())
    press(page, "Shift+Enter")
    page.wait_for_function("() => document.getElementById('told').innerText.includes('no other book')")

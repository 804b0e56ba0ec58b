"""Real key presses on the real page: what lands on disk, what stands in the log, what can be taken back."""

from __future__ import annotations

from typing import Any

import pytest

from tests.screen.house import NEXT_PICTURE, House, opened, press, said

pytestmark = pytest.mark.browser


def does(entries: list[dict[str, Any]]) -> list[str]:
    """Entries in short: their kind or what they answer."""
    return [
        e.get("kind") or " ".join(f"{k}={v}" for k, v in e.get("answers", {}).items()) or e["does"] for e in entries
    ]


def test_a_clean_goal_lands_on_disk_entry_by_entry(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "B d 1 a e u s 1 4 g")
    entries = house.wait_for(game, 9)
    assert does(entries) == (
        ["period_start", "possession", "set", "side=left", "screen", "free=user", "shot", "shooter=14", "result=goal"]
    )
    assert [entry["n"] for entry in entries] == list(range(1, 10))
    assert entries[2]["answers"] == {"set": "lantern"} and entries[3]["of"] == entries[2]["id"]
    assert {entry["by"] for entry in entries} == {"coach"} and entries[0]["film"] == f"{game}.1"


def test_the_log_says_it_as_a_coach_would(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "B F u d 1 a e u 2 2 Enter 1 4 s Enter a r n s 7 w h Enter f 2 r s 1 8 g c")
    assert said(page) == [
        "The period begins.",
        "Face-off, won by us.",
        "Ours.",
        "Lantern, left.",
        "22 set a screen for 14; the user came free.",
        "14 shot: saved, recovered; no feed.",
        "7 shot: wide, lost.",
        "Theirs.",
        "A cut on their right.",
        "18 shot: goal; beaten one on one.",
    ]
    assert page.locator("#log .end").all_inner_texts() == ["Score 0–1."]


def test_a_reloaded_page_says_the_same(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "B d 1 a e u s 1 4 g Backspace w r n")
    before = said(page)
    house.wait_for(game, 13)
    opened(page, house, game)
    assert said(page) == before
    assert page.inner_text("#disk") == "5 marks, all on disk"


def test_taking_back_reaches_the_first_entry_and_bringing_back_the_last(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "B d 1 a x 1 4 b")
    full = said(page)
    press(page, "Backspace " * 7)
    assert said(page) == []
    press(page, "Backspace")
    assert page.inner_text("#told") == "nothing of yours to take back"
    press(page, "Shift+Backspace " * 7)
    assert said(page) == full
    house.wait_for(game, 7 + 7 + 7)


def test_a_key_that_cannot_follow_says_why_and_enters_nothing(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "B s")
    assert page.inner_text("#told").startswith("shot does not fit: nobody has the ball. Here: ⇧B ⇧F d f q")
    press(page, "d")
    assert page.locator("#told").is_hidden()
    house.wait_for(game, 2)


def test_caps_lock_and_keys_held_down_make_no_marks_of_their_own(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "B")
    page.evaluate(
        """() => {
          const held = { key: "d", code: "KeyD", bubbles: true, cancelable: true };
          document.body.dispatchEvent(new KeyboardEvent("keydown", { ...held, repeat: true }));
          document.body.dispatchEvent(new KeyboardEvent("keydown", { ...held, key: "D" }));
        }"""
    )
    assert said(page) == ["The period begins.", "Ours."]


def test_the_strip_shows_only_what_can_follow_and_can_be_tapped(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)

    def caps() -> list[str]:
        return page.locator("#caps .k").evaluate_all("caps => caps.map(cap => cap.dataset.key)")

    assert sorted(caps()) == ["B", "D", "T", "t"]
    page.click('#caps [data-key="B"]')
    assert page.locator("#caps .offer").get_attribute("data-key") == "Enter"  # the face-off is offered
    page.click('#caps [data-key="d"]')
    page.click('#caps [data-key="e"]')
    assert caps() == ["u", "m", "h", "n", "i", "v"]
    page.click('#caps [data-key="n"]')
    page.keyboard.press("Space")  # the tapped cap keeps no focus: Space plays the film
    assert page.evaluate("!document.getElementById('video').paused")
    assert said(page)[-1] == "Someone set a screen; nobody came free."


def test_a_note_is_written_in_words_and_is_never_markup(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "t")
    page.keyboard.type("s B <b>late</b> switch, z")
    page.keyboard.press("Enter")
    press(page, "T")
    page.keyboard.press("Escape")
    press(page, "t Backspace B")
    assert said(page) == ["The period begins.", "“s B <b>late</b> switch, z”.", "Starred."]
    assert house.wait_for(game, 6)[1]["answers"] == {"text": "s B <b>late</b> switch, z"}


def test_numbers_are_text(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "B d s 0 0 w h Enter d s 0 w")
    shooters = [e["answers"]["shooter"] for e in house.wait_for(game, 10) if "shooter" in e.get("answers", {})]
    assert shooters == ["00", "0"]


def test_digits_of_the_number_pad_and_typed_ones_stand_in_the_strip(page: Any, house: House) -> None:
    opened(page, house, house.game())
    press(page, "B d s Numpad1")
    assert "who shot? 1" in page.inner_text("#hand")
    press(page, "Numpad4 Backspace 7")
    assert "who shot? 17" in page.inner_text("#hand")


def test_all_keys_are_on_one_sheet(page: Any, house: House) -> None:
    opened(page, house, house.game())
    press(page, "?")
    sheet = page.locator("#sheet")
    assert sheet.is_visible()
    text = sheet.inner_text()
    assert "Lantern" in text and "the last four seconds again, at half speed" in text and "late switch" in text
    assert "Judged one second after contact, never from the shot" in text  # and what the words mean
    assert "On the strip: how a possession ended" in text  # and its shapes
    grade = page.locator("#sheet section", has=page.locator("h4", has_text="Grade"))
    asked = [text.split("?")[0] for text in grade.locator(".asked").all_inner_texts()]
    assert asked == ["whose work", "which checkpoint", "how"], "as they are asked"
    assert page.locator("#sheet canvas").evaluate_all("all => all.map((one) => one.getAttribute('aria-label'))") == [
        *("shape: goal", "shape: saved", "shape: missed", "shape: ball lost or a violation", "shape: whistle"),
        "shape: the period ended",
    ]
    press(page, "B")
    page.keyboard.press("Escape")
    if sheet.is_visible():  # the first Escape may only empty the field
        page.keyboard.press("Escape")
    assert sheet.is_hidden() and said(page) == []


def test_the_sheet_is_searched_by_typing_and_eats_no_mark_key_when_it_is_closed(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "?")
    page.keyboard.type("came free")
    heads = page.locator("#sheet h4:visible").all_inner_texts()
    assert heads == ["Screen"]
    assert "who came free?" in page.inner_text("#sheet") and "who set it?" not in page.inner_text("#sheet")
    page.keyboard.press("Control+a")
    page.keyboard.type("x")  # one letter is a key, not a word
    assert page.locator("#sheet h4:visible").all_inner_texts() == ["x\nBall lost"]
    page.keyboard.type("yz")
    assert "No key has that word." in page.inner_text("#sheet") and page.locator("#sheet h4:visible").count() == 0
    page.click("#sheet >> text=Close")
    press(page, "B d x 1 4 b")
    assert said(page) == ["The period begins.", "Ours.", "14 threw it away."]
    press(page, "?")
    assert page.locator("#sheet h4:visible").count() > 20  # all of them again
    press(page, "?")
    assert page.locator("#sheet").is_hidden()


def test_the_open_question_says_what_it_means(page: Any, house: House) -> None:
    opened(page, house, house.game())
    assert page.locator("#means").is_hidden()
    press(page, "B d e")
    assert page.inner_text("#means").startswith("Judged one second after contact, never from the shot")
    press(page, "u")
    assert page.inner_text("#means").startswith("Whose body stopped or slowed the checker.")
    press(page, "Escape")
    assert page.locator("#means").is_hidden()


def test_our_players_are_named_while_a_number_is_typed_and_can_be_tapped(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)

    def named() -> list[str]:
        return page.locator("#caps .k.rest").all_inner_texts()

    press(page, "B d s")
    assert named() == []  # nothing before the first digit
    press(page, "2")
    assert named() == ["2 Milo Osgood", "21 Tadhg Ó Conaill", "22 Wiremu Tahana", "27 Maximilian Fotheringay-Szymański"]
    press(page, "Backspace 0")
    assert [text.split()[0] for text in named()] == ["00"]
    page.click("#caps .k.rest")
    assert "and?" in page.inner_text("#hand")
    press(page, "w h Enter Enter s 2")  # theirs have no roster here
    assert named() == []
    press(page, "3 w")
    shooters = [e["answers"]["shooter"] for e in house.wait_for(game, 10) if "shooter" in e.get("answers", {})]
    assert shooters == ["00", "23"]


@pytest.mark.parametrize("way", ["tapped", "pressed elsewhere"])
def test_the_words_of_a_note_are_kept_wherever_enter_comes_from(new_page: Any, house: House, way: str) -> None:
    page = new_page(1024, 768, has_touch=True, is_mobile=True)
    opened(page, house, house.game())
    press(page, "t")
    page.keyboard.type("late switch")
    if way == "tapped":
        page.tap('.touch [data-key="Enter"]')
    else:
        page.evaluate("document.activeElement.blur()")
        page.keyboard.press("Enter")
    page.evaluate(NEXT_PICTURE)
    assert said(page) == ["“late switch”."]


def test_a_period_does_not_begin_on_the_frame_on_which_one_ends(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "B d")
    press(page, "ArrowRight")
    page.wait_for_function("() => document.getElementById('time').innerText === '0:05'")
    press(page, "B B")
    told = "period begins would stand before “The period ends” of this frame: go one frame on first"
    assert page.inner_text("#told") == told
    press(page, ".")
    page.wait_for_function("() => document.getElementById('part').innerText === '.04'")
    press(page, "B d")
    assert said(page) == ["The period begins.", "Ours.", "The period ends.", "The period begins.", "Ours."]
    house.wait_for(game, 5)

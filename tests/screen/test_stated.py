"""A question stated before tagging: prompts shrink to what it needs, and what was not asked was not looked for."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from typing import Any

import pytest

from tagger.marks.plain import plain_vocabulary
from tagger.texts.earlier import withdraw_stated, write_stated
from tagger.texts.stated import StatedQuestion
from tests.screen.house import House, opened, press, said

pytestmark = pytest.mark.browser
QUESTION = StatedQuestion(
    "Does our Lantern free the user going left?",
    "user_free",
    {"set": "lantern", "set_side": "left"},
    {"set": "lantern", "set_side": "right"},
    datetime.date(2026, 11, 20),
)


@pytest.fixture
def stated(house: House) -> Iterator[House]:
    """The season with a stated question, for the time of a test."""
    write_stated(house.folder, QUESTION)
    yield house
    withdraw_stated(house.folder)


def keys(page: Any) -> list[str]:
    return page.locator("#caps .k").evaluate_all("caps => caps.map(cap => cap.dataset.key)")


def test_prompts_shrink_to_what_the_question_needs_from_the_first_key_on(page: Any, stated: House) -> None:
    game = stated.game()
    opened(page, stated, game)
    assert QUESTION.text in page.inner_text("#stated")
    assert page.inner_text("#level").startswith("only what the question needs")
    assert keys(page) == ["B", "D"]
    press(page, "B d")
    assert not {"t", "T", "F", "U", "N", "G", "C", "o", "R"} & set(keys(page))
    assert {"1", "e", "s", "x", "p", "q", "V", "D"} <= set(keys(page))
    press(page, "1 a e u")  # who set it and who used it are not asked
    assert page.inner_text("#hand") == "Our ball."
    press(page, "s g")  # neither the shooter nor the feeder
    assert page.inner_text("#hand") == "Nobody’s ball."
    assert said(page) == [
        "From here on: only what the question needs.",
        "The period begins.",
        "Ours.",
        "Lantern, left.",
        "Someone set a screen; the user came free.",
        "Someone shot: goal.",
    ]
    first = stated.wait_for(game, 9)[0]
    assert (first["kind"], first["at_ms"], first["answers"]["level"]) == ("detail", 0, "question")
    assert first["answers"]["asked"].split() == list(QUESTION.needs(plain_vocabulary()["kinds"]))


def test_what_was_not_asked_is_not_looked_for_in_the_tables(page: Any, stated: House) -> None:
    game = stated.game()
    opened(page, stated, game)
    press(page, "ArrowRight B d 1 a e u s g")
    stated.wait_for(game, 9)
    detail = stated.season.tagged.folded(game, "coach").rows["detail"]
    last = detail[-1]
    assert (last["start_ms"], last["end_ms"], last["level"]) == (
        0,
        None,
        "question",
    )  # the whole game, not from 0:05 on
    assert {"screen.free", "set.side", "shot.result"} <= set(last["looks_for"].split())
    assert not {"shot.feeder", "shot.shooter", "screen.setter", "grade", "loose_ball"} & set(last["looks_for"].split())


def test_everything_else_can_still_be_marked_and_answered_later(page: Any, stated: House) -> None:
    game = stated.game()
    opened(page, stated, game)
    press(page, "B d N h 8 Enter")
    assert "which penalty?" in page.inner_text("#hand")
    press(page, "Escape e u ArrowUp Enter")
    assert "who came free?" in page.inner_text("#hand")
    press(page, "Enter 2 2 Enter")
    assert said(page)[-2:] == ["Penalty against them, 8.", "22 set a screen; the user came free."]


def test_everything_is_asked_again_after_one_key_and_narrowed_again(page: Any, stated: House) -> None:
    opened(page, stated, stated.game())
    press(page, "B D")
    assert [text.split("\n")[-1] for text in page.locator("#caps .k").all_inner_texts()][
        -1
    ] == "only what the question needs"
    press(page, "m d")
    assert page.inner_text("#level").startswith("possessions, sets, shots and screens")
    assert "is stated: ⇧D narrows to it" in page.inner_text("#stated")
    assert {"t", "F", "N"} <= set(keys(page))
    press(page, "e u")
    assert "who set it?" in page.inner_text("#hand")
    press(page, "Escape D u e u")
    assert page.inner_text("#hand") == "Our ball."


def test_taking_back_everything_empties_the_book_and_it_is_narrowed_anew(page: Any, stated: House) -> None:
    game = stated.game()
    opened(page, stated, game)
    press(page, "B Backspace Backspace")
    assert said(page) == []
    assert keys(page) == ["B", "D"]
    stated.wait_for(game, 4)


def test_a_book_begun_before_is_not_narrowed_by_itself(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "B d")
    house.wait_for(game, 2)
    write_stated(house.folder, QUESTION)
    try:
        opened(page, house, game)
        press(page, "e u")
        assert "who set it?" in page.inner_text("#hand")
        assert "is stated" in page.inner_text("#stated")
    finally:
        withdraw_stated(house.folder)
    opened(page, house, game)
    assert page.locator("#stated").is_hidden()

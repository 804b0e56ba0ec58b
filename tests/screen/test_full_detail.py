"""What only full detail asks, and what the help draws: who took the ball, who was fouled; what is told apart."""

from __future__ import annotations

from typing import Any

import pytest

from tests.screen.house import House, opened, press, said

pytestmark = pytest.mark.browser


def test_who_caused_a_lost_ball_and_who_was_fouled_stand_in_log_and_tables(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "D w B Enter d Enter e u 2 2 Enter 1 4 w r i b 8 Enter x 1 4 b g 7 Enter 2 2 f")
    assert said(page)[-3:] == [
        "22 set a screen for 14, double, 8 the second body, on the left; the user came free; they switched; "
        "the setter rolled.",
        "14 threw it away, past centre; caused by 7; meant for 22.",
        "Theirs.",
    ]
    press(page, "Escape d Escape x 2 2 i g 9 Enter")
    assert said(page)[-1] == "22 was called for an illegal pick, past centre; it hit 9."
    press(page, "f Escape s 9 a h n b Escape d Escape N h 7 m n")
    assert "who was fouled?" in page.inner_text("#hand")
    page.keyboard.type("1")
    assert any("14" in cap for cap in page.locator("#caps .k").all_inner_texts()), "our man: the roster is offered"
    press(page, "4 Enter")
    assert said(page)[-1] == "Penalty against them, 7, on 14, minor; play stops."
    page.wait_for_function("() => document.getElementById('disk').innerText.endsWith('all on disk')")
    rows = house.season.tagged.folded(game, "coach").rows
    assert [(row.get("by"), row.get("meant"), row.get("hit")) for row in rows["turnovers"]] == [
        *(("7", "22", None), (None, None, "9")),
    ]
    assert [(row.get("setter2"), row["setter"], row["free"]) for row in rows["screens"]] == [
        *(("8", "22", "user"), (None, "22", "illegal")),
    ]
    assert [row["rebound"] for row in rows["shots"]] == ["in_front"]
    assert [row["fouled"] for row in rows["penalties"]] == ["14"]


def test_at_the_main_detail_none_of_it_is_asked(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    for keys in ("B d x 1 4 b", "f s 9 a h Shift+Enter", "d N h 7 m n"):
        press(page, keys)
        assert page.inner_text("#caps .k >> nth=0").split()[0] != "0" and "caused" not in page.inner_text("#hand")
    assert not page.evaluate(
        "() => /who of the others|fouled|leave the ball/.test(document.getElementById('hand').innerText)"
    )


def test_what_is_told_apart_by_what_is_seen_is_drawn_in_the_help(page: Any, house: House) -> None:
    opened(page, house, house.game())
    press(page, "?")
    drawn = page.eval_on_selector_all("#sheet .example", "all => all.map((one) => one.getAttribute('aria-label'))")
    assert drawn == [
        *(f"drawn: {name}" for name in ("a new run from here", "re-pick")),
        *(f"drawn: {name}" for name in ("who used it", "who set it", "third man", "nobody")),
        *(f"drawn: {name}" for name in ("switched", "stayed, over the top", "went under", "doubled")),
        *(f"drawn: {name}" for name in ("showed, recovered", "left a man alone", "pull-out")),
    ]
    moved = page.evaluate(
        """async () => {
          const one = document.querySelector("#sheet .example .o"), at = () => one.getCTM().e;
          one.ownerSVGElement.pauseAnimations();
          one.ownerSVGElement.setCurrentTime(0.2);
          const before = at();
          one.ownerSVGElement.setCurrentTime(2.5);
          return Math.abs(at() - before);
        }"""
    )
    assert moved > 10, "three seconds of play, not a still"
    page.locator("#sheet input").fill("showed, recovered")
    assert page.locator("#sheet .example:visible").count() > 0

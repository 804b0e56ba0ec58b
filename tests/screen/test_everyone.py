"""For everyone: names for screen readers, visible focus, a laptop at 200 %, a tablet tapped with a finger.

What is asked of names, focus, reflow, contrast and targets follows WCAG 2.2 (https://www.w3.org/TR/WCAG22/): 4.1.2,
2.4.7, 1.4.10, 1.4.3 and 1.4.11, 2.5.8, 2.1.1.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest

from tests.screen.house import NEXT_PICTURE, House, opened, press, said
from tests.whole.typist import type_marks

pytestmark = pytest.mark.browser

# Every text in sight with its contrast on what is drawn behind it; the ratio is WCAG 2.2's, by its definition.
FAINT_TEXTS = """() => {
  const rgb = (colour) => (colour.match(/[\\d.]+/g) ?? []).map(Number);
  const light = ([r, g, b]) => [r, g, b].map((one) => one / 255)
    .map((one) => (one <= 0.04045 ? one / 12.92 : ((one + 0.055) / 1.055) ** 2.4))
    .reduce((sum, one, at) => sum + one * [0.2126, 0.7152, 0.0722][at], 0);
  const ratio = (one, other) => {
    const [dark, bright] = [light(one), light(other)].sort((a, b) => a - b);
    return (bright + 0.05) / (dark + 0.05);
  };
  const behind = (node) => {
    for (; node; node = node.parentElement) {
      const colour = rgb(getComputedStyle(node).backgroundColor);
      if (colour.length === 3 || colour[3] > 0.99) return colour;
    }
    return [255, 255, 255];
  };
  const found = [];
  const seen = (node) => node.checkVisibility({ opacityProperty: true, visibilityProperty: true });
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const node = walk.currentNode.parentElement;
    if (!walk.currentNode.data.trim() || !seen(node) || ["SCRIPT", "STYLE", "OPTION"].includes(node.tagName)) continue;
    const got = ratio(rgb(getComputedStyle(node).color), behind(node));
    if (got < 4.5) found.push(`${walk.currentNode.data.trim()}: ${got.toFixed(2)}`);
  }
  for (const field of document.querySelectorAll("input:not([type=file], [type=radio])")) {
    if (!seen(field)) continue;
    const style = getComputedStyle(field);
    const text = ratio(rgb(style.color), behind(field));
    const edge = ratio(rgb(style.borderBottomColor), behind(field.parentElement));
    if (text < 4.5 || edge < 3) found.push(`${field.id || field.name}: text ${text}, edge ${edge}`);
  }
  const focus = document.activeElement;
  const ring = getComputedStyle(focus);
  if (focus !== document.body && ring.outlineStyle !== "none") {
    const got = ratio(rgb(ring.outlineColor), behind(focus.parentElement));
    if (got < 3) found.push(`focus on ${focus.id}: ${got.toFixed(2)}`);
  }
  return found;
}"""

# What can be hit and is smaller than 24 px, unless it stands in a sentence or 24 px around its middle are its own.
SMALL_TARGETS = """() => {
  const all = [...document.querySelectorAll("button, a, input, [role=button]")]
    .filter((one) => one.checkVisibility({ visibilityProperty: true }) && !one.matches(".m"))
    .map((one) => [one, (one.matches("[type=radio]") ? one.closest("label") : one).getBoundingClientRect()])
    .filter(([one, box]) => box.width && !one.disabled);
  const middle = (box) => [box.x + box.width / 2, box.y + box.height / 2];
  return all.filter(([, box]) => box.width < 23.9 || box.height < 23.9).filter(([one, box]) => {
    const [x, y] = middle(box);
    return all.some(([other, its]) => {
      if (other === one) return false;
      const dx = Math.max(its.x - x, 0, x - its.right);
      const dy = Math.max(its.y - y, 0, y - its.bottom);
      return Math.hypot(dx, dy) < 12;
    });
  }).map(([one, box]) => `${one.textContent.trim() || one.id} ${box.width.toFixed(0)}x${box.height.toFixed(0)}`);
}"""


def test_everything_that_can_be_used_has_a_name(page: Any, house: House) -> None:
    opened(page, house, house.game())
    press(page, "B F u d 1 a s 1 4")
    tree = page.locator("body").aria_snapshot()
    for name in (
        'complementary "What happened"',
        'region "Film and keys"',
        "heading",
        'button "The period begins."',
        "status",
    ):
        assert name in tree, tree
    nameless = page.evaluate(
        """() => [...document.querySelectorAll("button, a, input, canvas, video, dialog, [role=button]")]
          .filter((one) => !one.hidden && !one.labels?.length)
          .filter((one) => !(one.textContent.trim() || one.getAttribute("aria-label")))
          .map((one) => one.outerHTML)"""
    )
    assert nameless == []


def test_focus_is_seen_wherever_tab_leads(page: Any, house: House) -> None:
    opened(page, house, house.game())
    press(page, "B d")
    seen = []
    for _ in range(12):
        page.keyboard.press("Tab")
        at = page.evaluate(
            """() => { const one = document.activeElement; const style = getComputedStyle(one);
              return [one.id || one.textContent.trim(), style.outlineStyle, parseFloat(style.outlineWidth)]; }"""
        )
        if at[0] in [name for name, *_ in seen] or at[1] == "none":
            break
        seen.append(at)
    assert seen and all(style == "solid" and width >= 2 for _, style, width in seen), seen
    page.keyboard.press("x")  # wherever the focus is, keys still mark
    assert said(page)[-1] == "Someone lost the ball."


def test_every_control_is_a_tab_away_or_has_a_key_of_its_own(page: Any, house: House) -> None:
    opened(page, house, house.game())
    press(page, "B d")
    tabbed = """[...document.querySelectorAll("button, a[href], input, [tabindex]")]
      .filter((one) => one.checkVisibility() && one.tabIndex >= 0).length"""
    seen = set()
    for _ in range(page.evaluate(tabbed)):
        page.keyboard.press("Tab")
        seen.add(page.evaluate("[...document.querySelectorAll('*')].indexOf(document.activeElement)"))
    assert len(seen) == page.evaluate(tabbed)
    others = page.evaluate(
        """[...document.querySelectorAll("button")].filter((one) => one.checkVisibility() && one.tabIndex < 0)
           .filter((one) => !one.dataset.key).map((one) => one.outerHTML)"""
    )
    assert others == []


def test_the_book_is_changed_without_a_mouse(page: Any, house: House) -> None:
    opened(page, house, house.game())
    page.focus("header nav button")
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.name") == "book"
    page.keyboard.press("Control+a")
    page.keyboard.type("ben")
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    page.keyboard.press("ArrowRight")
    assert page.evaluate("document.activeElement.value") == "ours"
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_url("**book=ben&by=coach&takes=ours")


@pytest.mark.parametrize(
    ("keys", "state"),
    [
        ("", "empty"),
        ("B d", "what can follow"),
        ("B d 1 a e", "a question"),
        ("B d s 1 4 a", "an offer"),
        ("B s", "a refusal"),
        ("B d x 1 4 b ArrowUp K", "struck out, walked to"),
        ("B d s 1 4", "a number typed"),
        ("B t", "a note"),
        ("J", "go to"),
        ("B d ?", "the sheet"),
    ],
    ids=lambda one: one if " " in str(one) and str(one).islower() else "",
)
def test_text_edges_and_focus_can_be_seen(page: Any, house: House, keys: str, state: str) -> None:
    opened(page, house, house.game())
    press(page, keys)
    assert page.evaluate(FAINT_TEXTS) == [], state
    page.keyboard.press("Tab")
    assert page.evaluate(FAINT_TEXTS) == [], state
    assert page.evaluate(SMALL_TARGETS) == [], state


def test_what_cannot_be_seen_or_hit_is_found(page: Any, house: House) -> None:
    """The two measures themselves, on a page made worse."""
    opened(page, house, house.game())
    press(page, "B d")
    worse = ".always .k { color: #555; min-height: 0; height: 10px; } .always { flex-direction: column; gap: 0; }"
    page.evaluate(
        "(rules) => { const own = new CSSStyleSheet(); own.replaceSync(rules); document.adoptedStyleSheets = [own]; }",
        f"{worse} .whose input {{ border-color: var(--line) !important; }}",
    )
    page.click("header nav button")
    found = page.evaluate(FAINT_TEXTS)
    assert any(one.startswith("all keys") for one in found) and any(one.startswith("book: text") for one in found)
    assert page.evaluate(SMALL_TARGETS) != []


def test_what_waits_another_s_mark_and_the_book_form_can_be_read(new_page: Callable[..., Any], house: House) -> None:
    game = house.game()
    ben, anna = new_page(), new_page()
    opened(ben, house, game, "?book=both&by=ben&takes=theirs")
    press(ben, "B d")
    opened(anna, house, game, "?book=both&by=anna&takes=ours")
    anna.wait_for_function("() => document.querySelectorAll('#log .m').length === 2 && !shared.hidden")
    press(anna, "f")
    anna.click("header nav button")
    assert anna.evaluate(FAINT_TEXTS) == [] and anna.evaluate(SMALL_TARGETS) == []
    anna.keyboard.press("Escape")
    anna.context.set_offline(True)
    press(anna, "x 2 3 c")
    anna.wait_for_function("() => document.getElementById('disk').classList.contains('warn')")
    assert anna.evaluate(FAINT_TEXTS) == []


def test_nothing_moves_but_the_film(new_page: Callable[..., Any], house: House) -> None:
    page = new_page(reduced_motion="reduce")
    opened(page, house, house.game())
    press(page, "B d 1 a s 1 4 g ArrowUp")
    moving = page.evaluate(
        """() => document.getAnimations().length + [...document.querySelectorAll("*")].filter((one) => {
          const style = getComputedStyle(one);
          const glides = style.transitionDuration !== "0s" || style.scrollBehavior === "smooth";
          return glides || style.animationName !== "none";
        }).length"""
    )
    assert moving == 0


FULL_SIGHT = """(which) => [...document.querySelectorAll(which)].filter((one) => {
  if (!one.checkVisibility()) return false;
  const box = one.getBoundingClientRect();
  return box.bottom > innerHeight + 0.5 || box.right > innerWidth + 0.5 || box.top < 0
    || (one.closest("#caps") && box.bottom > document.getElementById("caps").getBoundingClientRect().bottom + 0.5);
}).map((one) => one.textContent.trim() || one.id)"""


@pytest.mark.parametrize("keys", ["", "B", "B d", "B d s", "B d s 1 4", "B d 1 a e u", "B f", "B f 1", "B d ArrowUp"])
def test_on_a_small_laptop_everything_needed_is_in_sight(page: Any, house: House, keys: str) -> None:
    opened(page, house, house.game())
    press(page, keys)
    page.evaluate("new Promise((done) => setTimeout(done, 50))")
    needed = (
        "#video, #time, #timeline, #hand, #caps .k, .always .k, #means, #disk, header nav *, #log .pos:last-child .m"
    )
    assert page.evaluate(FULL_SIGHT, needed) == []
    assert page.evaluate("document.documentElement.scrollHeight <= innerHeight")
    assert page.locator("#video").bounding_box()["height"] > 330


def test_at_200_percent_nothing_lies_outside_and_keys_still_mark(new_page: Callable[..., Any], house: House) -> None:
    page = new_page(683, 384)  # a 1366 × 768 laptop at 200 %
    opened(page, house, house.game())
    press(page, "B d 1 a e u 2 2 Enter 1 4 s")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    needed = "#video, #time, #hand, #caps .k:not(.rare)"
    assert page.evaluate(FULL_SIGHT, needed) == []  # film and keys side by side
    assert said(page)[-1] == "Someone shot."


def test_on_a_tablet_the_strip_is_tapped_digits_too(new_page: Callable[..., Any], house: House) -> None:
    page = new_page(1024, 768, has_touch=True, is_mobile=True)
    game = house.game()
    opened(page, house, game)
    for key in ("B", "d", "s", "1", "4", "g"):
        page.tap(f'#caps [data-key="{key}"]')
    assert said(page)[-1] == "14 shot: goal."
    size = page.locator("#caps .k").first.bounding_box()
    assert size["height"] >= 24 and size["width"] >= 24  # WCAG 2.2, 2.5.8
    house.wait_for(game, 5)


@pytest.mark.parametrize(("width_px", "height_px"), [(320, 256), (320, 640)])
def test_at_400_percent_nothing_is_scrolled_sideways(
    new_page: Callable[..., Any], house: House, width_px: int, height_px: int
) -> None:
    page = new_page(width_px, height_px)  # 1280 × 1024 at 400 %, WCAG 2.2, 1.4.10
    opened(page, house, house.game())
    for keys in ("B d", "1 a e", "u s 1 4"):
        press(page, keys)
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), keys
    page.click("header nav button")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    box = page.locator("#whose").bounding_box()
    assert box["x"] >= 0 and box["x"] + box["width"] <= width_px


TOUCHED = [(820, 1180), (1180, 820), (390, 844)]


@pytest.mark.parametrize(("width_px", "height_px"), TOUCHED)
def test_fingers_mark_answer_type_and_move_the_film(
    new_page: Callable[..., Any], house: House, width_px: int, height_px: int
) -> None:
    page = new_page(width_px, height_px, has_touch=True, is_mobile=True)
    game = house.game()
    opened(page, house, game, "?at=8000")
    page.tap('.touch [data-key="ArrowRight"]')
    page.wait_for_function("() => document.getElementById('time').innerText === '0:13'")
    page.tap('.touch [data-key=","]')
    page.wait_for_function("() => document.getElementById('part').innerText === '.96'")
    for key in ("B", "d", "1", "a", "s", "1", "4", "g"):
        page.tap(f'#caps [data-key="{key}"]')
        page.evaluate(NEXT_PICTURE)
    assert said(page)[-1] == "14 shot: goal."
    page.tap('.touch [data-key="Enter"]')  # skips the question that is open
    page.tap('.touch [data-key="Escape"]')
    page.tap('.touch [data-key=" "]')
    page.wait_for_function("() => !document.getElementById('video').paused")
    page.tap('.touch [data-key=" "]')
    page.wait_for_function("() => document.getElementById('video').paused")
    page.tap('.always [data-key="Backspace"]')
    if page.locator(".foot .way").is_visible():  # the log is a room of its own
        assert page.locator("#log .pos").count() > page.locator("#log .pos:visible").count()
        page.tap(".foot .way")
        assert page.locator("#log .m >> nth=1").is_visible() and not page.locator("#caps").is_visible()
        assert page.locator(".film").is_visible()
    page.tap("#log .m >> nth=1")
    assert page.locator("#caps").is_visible() and "again" in page.inner_text("#caps")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    low = page.evaluate(
        """[...document.querySelectorAll(".touch button, .always .k, #caps .k")].filter((one) => one.checkVisibility())
           .map((one) => one.getBoundingClientRect().height).filter((height) => height < 44).length"""
    )
    assert low == 0  # fingers: 44 px high, WCAG 2.2, 2.5.5
    house.wait_for(game, len(house.entries(game)))


def test_a_possession_by_taps_alone_takes_no_more_than_twice_the_keys(
    new_page: Callable[..., Any], house: House
) -> None:
    page = new_page(360, 740, has_touch=True, is_mobile=True)
    game = house.game()
    opened(page, house, game)
    screen = {"free": "user", "setter": "22", "user": "14", "coverage": "switched", "setter_next": "rolled"}
    marks: list[tuple[str, dict[str, str]]] = [
        ("detail", {"level": "whole"}),
        ("period_start", {}),
        ("possession", {"team": "ours", "gained": "loose_ball"}),
        ("set", {"set": "lantern", "side": "left"}),
        ("screen", {**screen, "kind": "on_ball", "side": "left"}),
        ("shot", {"shooter": "14", "result": "goal", "feeder": "22", "feeder2": "none"}),
    ]
    n_keys = n_taps = 0
    for typed in type_marks(house.season.texts.language(), marks):
        for stroke in typed.strokes:
            n_keys += 1
            for key in reached_by_tap(page, stroke):
                page.locator(f'#caps [data-key="{key}"]:visible, .touch [data-key="{key}"]').first.tap()
                page.evaluate(NEXT_PICTURE)
                n_taps += 1
    assert said(page)[2:] == [
        "Ours, from a loose ball.",
        "Lantern, left.",
        "22 set a screen for 14, on the ball, on the left; the user came free; they switched; the setter rolled.",
        "14 shot: goal; fed by 22.",
    ]
    assert n_taps <= 2 * n_keys, (n_taps, n_keys)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def reached_by_tap(page: Any, stroke: str) -> Iterator[str]:
    """What is tapped for a stroke: what is typed is entered, or the questions are left, until its button is there."""
    for _ in range(9):
        if page.locator(f'#caps [data-key="{stroke}"]:visible, .touch [data-key="{stroke}"]').count():
            yield stroke
            return
        number = page.locator("#hand .typed").count() or "number" in page.inner_text("#means")
        skips = page.locator('#caps [data-key="Shift+Enter"]').count()
        yield "Shift+Enter" if skips else "Enter" if number or stroke == "Shift+Enter" else "Escape"
        if stroke == "Shift+Enter":
            return
    raise AssertionError(f"nothing to tap for {stroke}")


def test_on_a_phone_the_film_stays_over_the_keys(new_page: Callable[..., Any], house: House) -> None:
    page = new_page(390, 844, has_touch=True, is_mobile=True)
    opened(page, house, house.game())
    press(page, "B d")
    page.evaluate("document.querySelector('#caps .k:last-child').scrollIntoView({block: 'end'})")
    assert page.locator(".film").bounding_box()["y"] >= 0
    assert page.locator("#disk").bounding_box()["y"] < 844


def test_a_screen_reader_hears_the_question_and_the_refusal(page: Any, house: House) -> None:
    opened(page, house, house.game())
    press(page, "B s")
    assert page.get_attribute("#told", "role") == "status"
    press(page, "d e")
    assert page.get_attribute("#hand", "aria-live") == "polite" and "who came free?" in page.inner_text("#hand")


def test_at_200_percent_everything_asked_at_the_fullest_detail_is_whole(
    new_page: Callable[..., Any], house: House
) -> None:
    page = new_page(683, 384)
    opened(page, house, house.game(), "?book=A second look by the assistant coach&by=Bartholomew")
    for keys in ("B d D w", "e", "Escape s 1 4", "w", "Escape x Enter", "Escape f Escape", "ArrowUp"):
        press(page, keys)
        cut = "(caps => caps.scrollHeight - caps.clientHeight)(document.getElementById('caps'))"
        assert page.evaluate(cut) <= 2, keys
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), keys

"""A book typed into the real page with real key presses, the film put on each mark's frame beforehand."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from tagger.marks.resolve import Mark
from tests.whole.typist import Typed

if TYPE_CHECKING:
    from playwright.sync_api import Page

# The film is put where a person would have let it play to: the page sees a frame shown, as ever.
SHOW = """(atMs) => new Promise((done, failed) => {
  const two = (n) => String(Math.floor(n)).padStart(2, "0");
  const hours = Math.floor(atMs / 3600000);
  const minutes = Math.floor(atMs / 60000) % 60;
  const said = `${hours ? `${hours}:${two(minutes)}` : minutes}:${two((atMs / 1000) % 60)}.${two((atMs % 1000) / 10)}`;
  const big = document.querySelector(".when .big");
  const video = document.getElementById("video");
  const end = performance.now() + 10000;
  const look = () => {
    if (big.innerText === said) return done();
    if (performance.now() > end) return failed(new Error(`the film shows ${big.innerText}, not ${said}`));
    setTimeout(look, 2);
  };
  if (big.innerText !== said) video.currentTime = (atMs + 20) / 1000;
  look();
})"""


def open_book(page: Page, address: str, game: str, book: str) -> None:
    """Open a game's tagging page for a book and wait until it takes keys and shows film."""
    page.goto(f"{address}tag/{game}?book={book}&at=0")
    page.wait_for_selector('body[data-ready="film"]')


def type_book(page: Page, marks: Sequence[Mark], typed: Iterable[Typed]) -> list[str]:
    """Type marks in their order, each with the film on its frame, and wait until all is on disk.

    Parameters
    ----------
    page : Page
        A tagging page that takes keys.
    marks : sequence of Mark
        Where each belongs; `at_ms` is a frame's time.
    typed : iterable of Typed
        The strokes of each.

    Returns
    -------
    list of str
        What the page said after a mark: refusals. Empty when every key was taken.
    """
    told = []
    for mark, keys in zip(marks, typed, strict=True):
        page.evaluate(SHOW, mark.at_ms)
        for stroke in keys.strokes:
            press_stroke(page, stroke)
        if words := page.locator("#told").inner_text():
            told.append(f"{mark.kind}: {words}")
    page.get_by_text("all on disk").wait_for()
    return told


def press_stroke(page: Page, stroke: str) -> None:
    """Press one stroke as a keyboard does: a capital with Shift, a text letter by letter and Enter."""
    if stroke.startswith("=") and len(stroke) > 1:
        page.keyboard.type(stroke[1:])
        page.keyboard.press("Enter")
    else:
        page.keyboard.press(f"Shift+{stroke}" if len(stroke) == 1 and stroke.isupper() else stroke)

"""How soon a key shows, and how soon it is on disk: 300 presses in a real browser, in an empty game and a full one."""

from __future__ import annotations

import statistics
import tempfile
from pathlib import Path
from typing import Any

from tests.bench.figure import Figure, at_most
from tests.chromium import find_browser, launch_arguments
from tests.film.maker import Recipe, make
from tests.screen.house import House, opened

NAME = "keys"
ABOUT = (
    "key press → page changed, → painted, → acknowledged on disk, p50 and p95 over 300 presses; a game of 3,000 marks"
)
N_PRESSES = 300
N_MARKS = 3000
CYCLE = [*"d1aeu22", "Enter", *"14s", "Enter", *"ah", "Enter", *"f1as23wh", "Enter"]

# Times each press inside the page: from the event to the changed page, to the next painted picture, and to the moment
# at which nothing waits any more.
WATCH = """() => {
  const found = { changed: [], painted: [], acknowledged: [] };
  const disk = document.getElementById("disk");
  const acknowledged = () => /all on disk$/.test(disk.textContent);
  window.pressed = (key) => new Promise((done) => {
    const shift = /^[A-Z]$/.test(key);
    const event = new KeyboardEvent("keydown", { key, code: /^\\d$/.test(key) ? `Digit${key}` : "", shiftKey: shift,
      bubbles: true, cancelable: true });
    const start = performance.now();
    document.body.dispatchEvent(event);
    found.changed.push(performance.now() - start);
    const waits = !acknowledged();
    requestAnimationFrame(() => {
      const channel = new MessageChannel();
      channel.port1.onmessage = () => { found.painted.push(performance.now() - start); if (!waits) done(); };
      channel.port2.postMessage(0);
    });
    if (!waits) return;
    new MutationObserver((_, watch) => {
      if (!acknowledged()) return;
      watch.disconnect();
      found.acknowledged.push(performance.now() - start);
      setTimeout(done, 20);
    }).observe(disk, { childList: true, characterData: true, subtree: true });
  });
  window.found = found;
}"""


def run() -> list[Figure]:
    """Time presses with the film held and playing, in an empty game and in a full one; and opening the full one."""
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        film = make(Recipe("bench", n_frames=3000, gop=25), Path(folder))
        house = House(Path(folder) / "herons", film)
        house.start()
        browser = playwright.chromium.launch(executable_path=find_browser(), args=launch_arguments())
        try:
            return _figures(house, browser)
        finally:
            browser.close()
            house.close()


def _figures(house: House, browser: Any) -> list[Figure]:
    page = browser.new_page(viewport={"width": 1366, "height": 768})
    empty = house.game()
    held = timed(opened(page, house, empty), playing=False)
    playing = timed(opened(page, house, house.game()), playing=True)
    full = house.game()
    _fill(house, full)
    opened(page, house, full)
    ready_ms = page.evaluate("performance.getEntriesByName('ready for keys')[0].startTime")
    crowded = timed(page, playing=False, begin="p")
    bytes_before = _heap(page)
    timed(page, playing=False, begin="p")
    grown = (_heap(page) - bytes_before) / N_PRESSES
    figures = []
    for name, found, most_ms in (("film held", held, 25), ("film playing", playing, 40)):
        figures += [
            Figure(f"{name}: page changed, p50", _p(found["changed"], 50), "ms"),
            at_most(f"{name}: page changed, p95", _p(found["changed"], 95), "ms", 5),
            Figure(f"{name}: painted, p50", _p(found["painted"], 50), "ms"),
            at_most(f"{name}: painted, p95", _p(found["painted"], 95), "ms", 34),
            Figure(f"{name}: on disk, p50", _p(found["acknowledged"], 50), "ms"),
            at_most(f"{name}: on disk, p95", _p(found["acknowledged"], 95), "ms", most_ms),
        ]
    ratio = _p(crowded["changed"], 50) / _p(held["changed"], 50)
    return [
        *figures,
        at_most(f"game of {N_MARKS} marks: page changed, p95", _p(crowded["changed"], 95), "ms", 5),
        at_most(f"game of {N_MARKS} marks: page changed, p50 against an empty game", ratio, "×", 1.2),
        at_most(f"game of {N_MARKS} marks: ready for keys", ready_ms / 1000, "s", 1.0),
        Figure(f"game of {N_MARKS} marks: page memory kept by one press", grown / 1024, "KiB"),
    ]


def timed(page: Any, *, playing: bool, begin: str = "B") -> dict[str, list[float]]:
    """Press keys on an open game; ms to the changed page, to the painted picture, and to the disk, a press each."""
    page.evaluate(WATCH)
    page.evaluate("key => pressed(key)", begin)
    if playing:
        page.keyboard.press("l")
    for number in range(N_PRESSES):
        page.evaluate("key => pressed(key)", CYCLE[number % len(CYCLE)])
    found: dict[str, list[float]] = page.evaluate("() => found")
    if playing:
        page.keyboard.press("k")
    assert len(found["acknowledged"]) > N_PRESSES // 2, "most presses make entries"
    return {name: values[1:] for name, values in found.items()}


def _fill(house: House, game: str) -> None:
    """A game's worth of entries as they would have been tagged, straight into the journal."""
    from tests.marks.keyboard import Keyboard

    keyboard = Keyboard(house.season.texts.language(), "coach")
    for stroke in ["B", *CYCLE]:
        keyboard.press(stroke)
    cycle = keyboard.entries[1:]
    n_marks = sum(entry.does == "mark" for entry in cycle)
    raw = [_raw(keyboard.entries[0], 0, 0, game, len(cycle))]
    for turn in range(N_MARKS // n_marks):
        raw += [_raw(entry, turn, turn * 200, game, len(cycle)) for entry in cycle]
    for at in range(0, len(raw), 1000):
        assert all(one.state == "stored" for one in house.season.journal.add(game, "coach", raw[at : at + 1000]))


def _raw(entry: Any, turn: int, at_ms: int, game: str, n_cycle: int) -> dict[str, Any]:
    import json

    raw: dict[str, Any] = json.loads(entry.as_json())
    raw |= {"id": f"{game}.{entry.id}.{turn}", "n": entry.n + turn * n_cycle}
    if entry.of:
        raw["of"] = f"{game}.{entry.of}.{turn}"
    if entry.film:
        raw |= {"film": f"{game}.1", "at_ms": entry.at_ms // 25 + at_ms}
    return raw


def _heap(page: Any) -> float:
    session = page.context.new_cdp_session(page)
    session.send("HeapProfiler.collectGarbage")
    return float(page.evaluate("() => performance.memory.usedJSHeapSize"))


def _p(values: list[float], percent: int) -> float:
    return statistics.quantiles(values, n=100, method="inclusive")[percent - 1]

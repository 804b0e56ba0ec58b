"""Memory of the tagging page over 3,000 marks in a row, typed into one page that is never loaded anew.

"Flat" means that tagging leaves nothing behind but the marks. Three figures say so. The page that typed all marks may
hold little more than a page that has just been opened on the same marks, which holds nothing else. The last 500 marks
may cost hardly more than the first 500: what grows with what is there already would show here. And the document's
nodes may grow by the log's lines alone, its listeners not at all. Heap is what V8 says after a forced collection. A
mark itself is two or three entries of some 250 bytes, a row with what was known after it, a sentence and its element:
2 KiB are allowed for it.
"""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests.bench.figure import Figure, at_least, at_most
from tests.bench.keys import CYCLE
from tests.chromium import find_browser, launch_arguments
from tests.film.maker import Recipe, make
from tests.screen.house import House, opened

if TYPE_CHECKING:
    from playwright.sync_api import Page

NAME = "page-memory"
ABOUT = "heap and nodes of the tagging page over 3,000 marks in a row, and of the same marks opened afresh"
EVERY = 500
N_MARKS = 3000
N_IN_CYCLE = 7  # marks that one round of keys makes

# Rounds of keys, one frame of film and one picture after each, then until everything is on disk.
ROUNDS = """async ([keys, n]) => {
  const disk = document.getElementById("disk");
  const press = (key) => document.body.dispatchEvent(new KeyboardEvent("keydown", { key,
    code: /^\\d$/.test(key) ? `Digit${key}` : key === "." ? "Period" : "", shiftKey: /^[A-Z]$/.test(key),
    bubbles: true, cancelable: true }));
  for (let round = 0; round < n; round++) {
    for (const key of keys) press(key);
    press(".");
    await new Promise((done) => requestAnimationFrame(done));
  }
  while (!/all on disk$/.test(disk.textContent)) await new Promise((done) => setTimeout(done, 20));
}"""
N_NODES = (
    8  # a line of the log: film time, game clock, shape, sentence, what stands at it, and its share of a possession
)


@dataclass(frozen=True)
class Held:
    """What a page holds: bytes of heap, nodes, listeners, marks in its log."""

    n_bytes: float
    n_nodes: int
    n_listeners: int
    n_marks: int


def run() -> list[Figure]:
    """Type, look at the page every 500 marks, open it anew, look once more."""
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        house = House(Path(folder) / "herons", make(Recipe("bench", n_frames=1000, gop=25), Path(folder)))
        house.start()
        browser = playwright.chromium.launch(executable_path=find_browser(), args=launch_arguments())
        try:
            game = house.game()
            page = opened(browser.new_page(viewport={"width": 1366, "height": 768}), house, game)
            page.evaluate(ROUNDS, [["B"], 1])
            seen = [held(page)]
            for _ in range(N_MARKS // EVERY):
                page.evaluate(ROUNDS, [CYCLE, -(-EVERY // N_IN_CYCLE)])
                seen.append(held(page))
            page.close()
            afresh = opened(browser.new_page(viewport={"width": 1366, "height": 768}), house, game)
            return figures(seen, held(afresh))
        finally:
            browser.close()
            house.close()


def held(page: Page) -> Held:
    """What a page holds, once it rests and its garbage is collected."""
    page.wait_for_timeout(1500)  # the fold is asked for once the keys rest
    session: Any = page.context.new_cdp_session(page)
    session.send("HeapProfiler.enable")
    for _ in range(2):
        session.send("HeapProfiler.collectGarbage")
    n_bytes = session.send("Runtime.getHeapUsage")["usedSize"]
    counters = session.send("Memory.getDOMCounters")
    session.detach()
    n_marks = page.locator("#log .m").count()
    return Held(n_bytes, counters["nodes"], counters["jsEventListeners"], n_marks)


def figures(seen: list[Held], afresh: Held) -> list[Figure]:
    """What the looks say, against their goals.

    Parameters
    ----------
    seen : list of Held
        Before the first mark, and after each lot.
    afresh : Held
        A page just opened on the same marks.

    Returns
    -------
    list of Figure
    """
    first, last = seen[0], seen[-1]
    n_typed = last.n_marks - first.n_marks
    early, late = (_each(seen[1], seen[2]), _each(seen[-2], seen[-1]))
    return [
        at_least("marks in a row", n_typed, "marks", N_MARKS),
        *(Figure(f"heap at {one.n_marks} marks", one.n_bytes / 2**20, "MiB") for one in seen),
        Figure(f"heap at {afresh.n_marks} marks, opened afresh", afresh.n_bytes / 2**20, "MiB"),
        at_most("heap after typing, against opened afresh", last.n_bytes / afresh.n_bytes, "×", 1.3),
        at_most("heap of one more mark", (last.n_bytes - first.n_bytes) / n_typed / 1024, "KiB", 2),
        at_most("one of the last 500 marks against one of the second 500", late / early, "×", 1.3),
        at_most("document's nodes of one more mark", (last.n_nodes - first.n_nodes) / n_typed, "nodes", N_NODES),
        at_most("nodes after typing, against opened afresh", last.n_nodes / afresh.n_nodes, "×", 1.1),
        at_most("listeners more than before the first mark", last.n_listeners - first.n_listeners, "listeners", 10),
    ]


def _each(before: Held, after: Held) -> float:
    return (after.n_bytes - before.n_bytes) / (after.n_marks - before.n_marks)

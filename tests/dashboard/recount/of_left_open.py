"""Recounts of what unanswered rows leave open: each end by asking of every row whether it may be this row's."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import combinations

from tests.dashboard.recount.book import FREED, Book, Row
from tests.dashboard.recount.of_runs import own_view
from tests.dashboard.recount.reading import Control
from tests.dashboard.recount.recounted import Found, Page, Rule, all_of, freed
from tests.dashboard.recount.view import View

NAMED = ("set", "family", "freelance")
Came = Callable[[Row], bool | None]


def end(control: Control, sure: Sequence[Row], maybe: Sequence[Row], came: Came) -> Found:
    """The count that a column says: with what is open at its worst, at its best, or left out."""
    if control.column == "Counted":
        k, n = [row for row in sure if came(row)], [row for row in sure if came(row) is not None]
    elif control.column == "At the least":
        k, n = [row for row in sure if came(row)], [*sure, *(row for row in maybe if not came(row))]
    else:
        good = [row for row in maybe if came(row) is not False]
        k, n = [*(row for row in sure if came(row) is not False), *good], [*sure, *good]
    return Found(tuple(row["id"] for row in k), len(k), len(n))


def stretches(view: View) -> list[Row]:
    """Settled stretches of either side, named or not, whatever the page narrows them to."""
    return View(view.book, {**view.chosen, "side": "", "phase": ""}, strength=view.strength, team=view.team).runs()


def may_be(view: View, name: str) -> tuple[list[Row], list[Row]]:
    """Runs of a name, and stretches that may be its."""
    sure, maybe = [], []
    for run in stretches(view):
        its = run["phase"] in NAMED and view.book.name(run) == name
        if run["phase"] == "not_tagged" or (its and view.side and run["side"] in (None, "unseen")):
            maybe.append(run)
        elif its and view.side in (None, run["side"]):
            sure.append(run)
    return sure, maybe


def of_set(page: Page, control: Control) -> Found:
    """An end of a set's rate."""
    view = own_view(page)[0] if page.name == "set" else page.view()
    return end(control, *may_be(view, control.row), lambda run: page.book.fact(run, view.fact))


def told(page: Page, control: Control) -> Found:
    """How often the unnamed brought it, or the named."""
    view = own_view(page)[0] if page.name == "set" else page.view()
    named = control.what.startswith("Named")
    runs = [run for run in stretches(view) if (run["phase"] in NAMED) == named]
    yes = all_of(run for run in runs if page.book.fact(run, view.fact))
    return Found(yes.ids, yes.k, sum(page.book.fact(run, view.fact) is not None for run in runs))


def of_look(page: Page, control: Control) -> Found:
    """An end of a look's rate."""
    view, runs = own_view(page)
    sure = [run for run in runs if page.book.look_name(page.of, run["look"]) == control.row]
    maybe = [run for run in runs if run["look"] in (None, "unseen")]
    return end(control, sure, maybe, lambda run: page.book.fact(run, view.fact))


def of_coverage(page: Page, control: Control) -> Found:
    """An end of how often screens covered in a way freed somebody."""
    rows = page.view(phase="all").rows("screens")
    sure = [
        row
        for row in rows
        if row["coverage"] and page.book.answer_name("screen", "coverage", row["coverage"]) == control.row
    ]
    maybe = [row for row in rows if row["coverage"] in (None, "unseen")]
    return end(control, sure, maybe, lambda row: freed(row, *FREED))


def pairs_kept(page: Page, _: Sequence[str]) -> Sequence[int]:
    """Pairs with enough runs each, and those of them that no sharing out turns round."""
    view = page.view()
    names = {view.book.name(run) for run in stretches(view) if run["phase"] in NAMED}
    spans = []
    for name in names:
        sure, maybe = may_be(view, name)
        if sum(_came(view.book, run, view.fact) is not None for run in sure) >= page.book.season.texts.settings.small_n:
            spans.append(_span(view.book, view.fact, sure, maybe))
    kept = [one[0] > other[1] or other[0] > one[1] for one, other in combinations(spans, 2)]
    return [sum(kept), len(kept)]


def _came(book: Book, run: Row, fact: str) -> bool | None:
    return book.fact(run, fact)


def _span(book: Book, fact: str, sure: Sequence[Row], maybe: Sequence[Row]) -> tuple[float, float]:
    yes = sum(book.fact(run, fact) is True for run in sure)
    may = sum(book.fact(run, fact) is not False for run in sure)
    bad = sum(book.fact(run, fact) is not True for run in maybe)
    good = sum(book.fact(run, fact) is not False for run in maybe)
    return yes / (len(sure) + bad), (may + good) / (len(sure) + good)


def _asked(book: Book) -> tuple[list[Row], list[Row], list[Row]]:
    """The stated question's runs, of two sets and a shot on goal: both sides, and those of no known name."""
    runs = View(book, {}, team="ours", phase="all").runs()
    one, other = (
        [run for run in runs if run["phase"] == "set" and book.name(run) == name] for name in ("Lantern", "Ferry")
    )
    return one, other, [run for run in runs if run["phase"] == "not_tagged"]


def question_open(page: Page, control: Control) -> Found:
    """Runs that may be of either side of the question, and those of which nobody knows what came of them."""
    one, other, unnamed = _asked(page.book)
    return all_of([*unnamed, *(run for run in (*one, *other) if page.book.fact(run, "on_goal") is None)])


def question_ends(page: Page, _: Sequence[str]) -> Sequence[str]:
    """Between which the difference lies: one side at its worst and the other at its best, and turned round."""
    one, other, unnamed = _asked(page.book)
    spans = [_span(page.book, "on_goal", side, unnamed) for side in (one, other)]
    ends = (spans[0][0] - spans[1][1], spans[0][1] - spans[1][0])
    return [f"{round(end * 100):+d}".replace("-", "−") if round(end * 100) else "0" for end in ends]


OPEN = "What do unnamed stretches leave open?"
RULES: Mapping[str, Rule] = {
    f"sets / {OPEN} / *stretches with *": told,
    f"sets / {OPEN} / *": of_set,
    f"set / {OPEN} / *stretches with *": told,
    f"set / {OPEN} / *": of_set,
    "question / The answer / Runs left open": question_open,
    "set / What came of each look? / What do looks not made out leave open? / *": of_look,
    "screens / How were they covered? / What do screens without an answer leave open? / *": of_coverage,
}

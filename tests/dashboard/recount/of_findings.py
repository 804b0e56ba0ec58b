"""Recounts of what is said to stand out: both sides of each comparison, on the front, on the question's page, and in
the sentences of the others."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import TypeAlias

from tests.dashboard.recount.book import FREED, Row
from tests.dashboard.recount.of_runs import FINDING
from tests.dashboard.recount.reading import Control
from tests.dashboard.recount.recounted import Found, Page, Rule, all_of, freed, share
from tests.dashboard.recount.view import View

WITH = {"with a shot": "shot", "with a lost ball": "turnover"}
DID = {"brought a shot": "shot", "lost the ball": "turnover"}
COVERAGES = {"stayed over the top": "stayed", "went under": "under", "showed and recovered": "shown"}
So: TypeAlias = Callable[[Row], bool | None]
Both: TypeAlias = tuple[list[Row], list[Row], So]


def _runs(page: Page, view: View, of: str, fact: str) -> Both:
    """Runs of a set and what they are compared with: those of the other sets, freelance, the other side."""
    one, _, against = of.partition(" / ")
    name, _, side = one.partition(" to the ")
    named = [run for run in view.runs() if run["phase"] in ("set", "family")]
    own = [run for run in named if page.book.name(run) == name]
    if side:
        other = {"left": "right", "right": "left"}[side]
        lots = [[run for run in own if run["side"] == each] for each in (side, other)]
    elif against == "freelance":
        lots = [own, [run for run in view.runs() if run["phase"] == "freelance"]]
    else:
        lots = [own, [run for run in named if page.book.name(run) != name]]
    return lots[0], lots[1], lambda run: page.book.fact(run, fact)


def _checkpoint(page: Page, view: View, of: str, name: str) -> Both:
    """Runs in which a checkpoint was missed, and those in which it was met."""
    book, given = page.book, {}
    for row in view.rows("grades"):
        run = book.run_of(row)
        if not (run and run["set"] and row["checkpoint"] and row["grade"] in ("plus", "minus")):
            continue
        [play] = [one for one in book.playbook.sets if one.code == run["set"]]
        called = {check.code: check.name for check in play.checkpoints}
        if (play.name, called.get(row["checkpoint"].rsplit(".", 1)[-1])) == (of, name):
            given.setdefault(run["id"], []).append(row["grade"])
    lots: tuple[list[Row], list[Row]] = ([], [])
    for id_, grades in given.items():
        lots["minus" not in grades].append(book.by_id["runs"][id_])
    return *lots, lambda run: book.fact(run, "shot")


def _coverage(page: Page, view: View, name: str) -> Both:
    """Screens covered in one way, and in the others; what frees by its own meaning is in neither."""
    told = [row for row in view.rows("screens") if row["coverage"] not in (None, "unseen", "blown", "doubled")]

    def its(row: Row) -> bool:
        called = page.book.answer_name("screen", "coverage", row["coverage"])
        return name in (row["coverage"], called, f"{called[:1].lower()}{called[1:]}")

    return [row for row in told if its(row)], [row for row in told if not its(row)], lambda row: freed(row, *FREED)


def _both(page: Page, view: View, first: str, fact: str, against: str = "") -> Both:
    """The two sides by the words of the first."""
    told = re.match(r"Runs of (.+) with “(.+)” missed$", first)
    if told:
        return _checkpoint(page, view, told[1], told[2])
    told = re.match(r"[Aa]gainst “(.+)”$", first)
    if told:
        return _coverage(page, view, told[1])
    told = re.match(r"Runs of (.+)$", first)
    if told is None:
        raise LookupError(f"no rule for “{first}”")
    return _runs(page, view, told[1] + (" / freelance" if against == "freelance runs" else ""), fact)


def noticed(page: Page, control: Control) -> Found:
    """One side of a comparison of the question's page."""
    view = View(page.book, {}, team="ours", phase="all")
    first, _, against = control.what.partition(": ")
    one, other, so = _both(page, view, first, WITH.get(control.about, ""), against)
    return share(other if against else one, so)


def told_apart(page: Page, control: Control) -> Found:
    """A sentence of what stands out: all rows of both sides, and the counts beside."""
    at = {"strength": page.chosen.get("strength") or "even"}
    if page.name == "set":
        [play] = [one for one in page.book.playbook.sets if one.code == page.of]
        ours, theirs = play.strength.split("v")
        at["strength"] = page.chosen.get("strength") or (
            "even" if ours == theirs else "up" if ours > theirs else "down"
        )
    view = View(page.book, {**page.chosen, **at}, phase="all")
    fact = next((code for code, did in FINDING.items() if f" {did} " in control.text), "")
    told = re.match(rf"(Runs of .+?) {FINDING.get(fact, '-')} (more|less) often than (.+)$", control.text)
    if told is None:
        told = re.match(r"Somebody came free (?P<x>)(more|less) often (against .+) than against", control.text)
        if told is None:
            raise LookupError(f"no rule for “{control.text}”")
        one, other, so = _both(page, view, told[3], "")
    else:
        one, other, so = _both(page, view, told[1], fact, told[3])
    first, second = share(one, so), share(other, so)
    if f"{first.k} of {first.n}, against {second.k} of {second.n}" not in control.beside:
        raise LookupError(f"“{control.beside}”, recounted {first.k} of {first.n} against {second.k} of {second.n}")
    if (told[2] == "more") != (first.k * (second.n or 0) > second.k * (first.n or 0)):
        raise LookupError(f"“{control.text}”, and it is the other way")
    return all_of(row for row in [*one, *other] if so(row) is not None)


def practice(page: Page, text: str) -> Found:
    """A sentence of the front: its counts, and the rows behind them."""
    view = View(page.book, {}, team="ours", phase="all")
    told = re.match(
        r"(?:Keep|Look at) (.+?): (only )?(\d+ of \d+) runs (.+?), against (\d+ of \d+) "
        r"(?:of|to) (the other|freelance)",
        text,
    )
    if told:
        against = " / freelance" if told[6] == "freelance" else ""
        one, other, so = _runs(page, view, told[1] + against, DID[told[4]])
        ids = all_of(row for row in one if so(row) is not None) if told[2] else share(one, so)
        return _said(text, ids, share(one, so), share(other, so), (told[3], told[5]))
    told = re.match(
        r"(Find an|Keep your) answer for when they (.+?): (\d+ of \d+) screens freed somebody, against (\d+ of \d+)",
        text,
    )
    if told:
        one, other, so = _coverage(page, view, COVERAGES.get(told[2], told[2]))
        want = told[1] == "Keep your"
        return _said(
            text, all_of(row for row in one if so(row) is want), share(one, so), share(other, so), (told[3], told[4])
        )
    told = re.match(
        r"(?:Practise|Look at) “(.+)” of (.+?): where it was missed, (\d+ of \d+) runs brought a shot; "
        r".*?, (\d+ of \d+)",
        text,
    )
    if told:
        one, other, so = _checkpoint(page, view, told[2], told[1])
        return _said(text, all_of(one), share(one, so), share(other, so), (told[3], told[4]))
    raise LookupError(f"no rule for the sentence “{text}”")


def _said(text: str, found: Found, one: Found, other: Found, said: tuple[str, str]) -> Found:
    if (f"{one.k} of {one.n}", f"{other.k} of {other.n}") != said:
        raise LookupError(f"“{text}”, recounted {one.k} of {one.n} against {other.k} of {other.n}")
    return Found(found.ids, len(found.ids))


RULES: Mapping[str, Rule] = {
    "* / Told apart": told_apart,
    "question / Noticed, not proven / *": noticed,
}

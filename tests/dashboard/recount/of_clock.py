"""Recounts of the shot clock, of transition, and of how long possessions last."""

from __future__ import annotations

from collections.abc import Mapping
from statistics import median

from tagger.floor.rules import floor_rules
from tests.dashboard.recount.book import Row, is_shot
from tests.dashboard.recount.reading import Control
from tests.dashboard.recount.recounted import Found, Page, Rule, all_of, of_runs, share
from tests.dashboard.recount.view import View

FACTS = {"With a shot": "shot", "Goal": "goal", "Ball lost": "turnover"}
GAINED = {
    "A face-off": "faceoff", "A loose ball": "loose_ball", "A lost ball of the others": "turnover", "A save": "save",
    "A shot that missed": "missed_shot", "A whistle": "whistle", "Can’t see how": "unseen", "Not answered": None,
}  # fmt: skip


def gone_ms(page: Page, possession: str, at_ms: int, *, before: bool = False) -> int | None:
    """How much of the clock was gone at a time of a possession."""
    book = page.book
    counts = floor_rules(book.season.texts.settings.rule_code).fresh_clock_results
    since: int | None = book.by_id["possessions"][possession]["start_ms"]
    happened = [(row["at_ms"], 1, row) for row in book.in_possession("shots", possession)]
    happened += [(row["at_ms"], 2, row) for row in book.in_possession("whistles", possession)]
    happened += [(row["at_ms"], 3, row) for row in book.in_possession("fresh_clocks", possession)]
    for when, what, row in sorted(happened, key=lambda each: each[:2]):
        if when > at_ms or (before and when == at_ms):
            break
        if what == 2:
            since = None
        elif what == 3 or (row["recovered"] == "yes" and row["result"] in counts):
            since = when
        elif row["recovered"] == "dead":
            since = None
        elif row["recovered"] != "no" and (row["result"] in (None, "unseen") or row["result"] in counts):
            since = None  # whether it was won back, or counts, nobody said
    return at_ms - since if since is not None and at_ms - since <= 30_000 else None


def shown(page: Page, name: str | None = None) -> list[Row]:
    """The settled runs."""
    return View(page.book, page.chosen, phase="", side="").runs(name)


def moments(page: Page, control: Control) -> Found:
    """When a set begins, its first screen comes and its first shot goes."""
    runs = shown(page, control.row)
    if control.column == "Runs":
        return all_of(runs)
    known = []
    for run in runs:
        at: int | None = run["start_ms"]
        if control.column != "Begins":
            held = page.book.screens_of if control.column == "First screen" else page.book.shots_of
            at = min((row["at_ms"] for row in held.get(run["id"], ())), default=None)
        gone = None if at is None else gone_ms(page, run["possession"], at, before=control.column == "First shot")
        if gone is not None:
            known.append((run["id"], gone / 1000))
    return Found(tuple(id_ for id_, _ in known), len(known), seconds=median(gone for _, gone in known))


def entries(page: Page, control: Control) -> Found:
    """Runs by when they began, of all sets or of one."""
    folded = control.under[-1]
    runs = shown(page, None if folded == "Early against late" else folded)

    def entry(run: Row) -> str:
        gone = gone_ms(page, run["possession"], run["start_ms"])
        if gone is None:
            return "The clock is not known"
        return "In the first 10 s" if gone <= 10_000 else "From 10 to 20 s" if gone <= 20_000 else "After 20 s"

    its = [run for run in runs if entry(run) == control.row]
    return all_of(its) if control.column == "Runs" else of_runs(page.book, its, FACTS[control.column])


def tried(page: Page, control: Control) -> Found:
    """First stretches, walk-ups among them, and attempts."""
    view = View(page.book, page.chosen, phase="all", side="")
    first = [
        run
        for run in view.runs("Transition")
        if control.row == "All of them"
        or page.book.by_id["possessions"][run["possession"]]["gained"] == GAINED[control.row]
    ]
    if control.column == "Possessions":
        return all_of(first)
    if control.column == "Walked up":
        return all_of(run for run in first if run["ended"] == "settled")
    if control.column == "Tried before settling":
        return share(first, lambda run: None if run["ended"] is None else run["ended"] != "settled")
    attempts = [run for run in first if run["ended"] not in (None, "settled")]
    return of_runs(page.book, attempts, FACTS[control.column])


def lasted(page: Page, control: Control) -> Found:
    """How long possessions last, and how soon they bring a shot."""
    book, held = page.book, page.view(side="").possessions()
    if control.column == "Possessions":
        return all_of(held)
    if control.column in ("Last", "Settle after"):
        end = "end_ms" if control.column == "Last" else "settled_ms"
        known = [row for row in held if row[end] is not None]
        seconds = median((row[end] - row["start_ms"]) / 1000 for row in known)
        return Found(tuple(row["id"] for row in known), len(known), seconds=seconds)
    if control.column == "With a second chance":
        return share(held, lambda row: any(run["phase"] == "second_chance" for run in book.runs_of.get(row["id"], ())))
    if control.column == "Second chances that were goals":
        chances = [
            run
            for run in View(book, page.chosen, phase="all", side="").runs("Second chance")
            if run["possession"] in {row["id"] for row in held}
        ]
        return of_runs(book, chances, "goal")
    within_ms = int(control.column.split(" ")[2]) * 1000

    def soon(row: Row) -> bool:
        shots = [shot for shot in book.in_possession("shots", row["id"]) if is_shot(shot)]
        return any(shot["at_ms"] - row["start_ms"] <= within_ms for shot in shots)

    return share(held, soon)


ENDED = {
    "lost": "turnover", "shot saved": "save", "shot missed": "missed_shot", "a goal": "goal",
    "a violation": "violation", "a whistle": "whistle", "the period’s end": "period_end",
}  # fmt: skip


def led_to(page: Page, control: Control) -> Found:
    """Where each kind of stretch leads."""
    book = page.book

    def called(run: Row) -> str:
        return {"set": "A set", "family": "An action"}.get(run["phase"]) or book.name(run)

    def after(run: Row) -> str | None:
        later = [one for one in book.runs_of[run["possession"]] if one["order"] > run["order"]]
        return called(later[0]) if later else book.by_id["possessions"][run["possession"]]["ended"]

    runs = [
        run
        for run in View(book, page.chosen, phase="all", side="").runs()
        if f"From {called(run).lower()}" == control.under[-1]
    ]
    gone = control.row.startswith("The ball gone: ")
    wanted = ENDED[control.row.removeprefix("The ball gone: ")] if gone else control.row
    return share(runs, lambda run: None if after(run) is None else after(run) == wanted)


RULES: Mapping[str, Rule] = {
    "clock / How far into the clock do things come? / *": moments,
    "clock / Early against late / *": entries,
    "clock / What is tried before settling? / *": tried,
    "clock / What comes next? / *": led_to,
    "clock / How long do possessions last? / *": lasted,
}

"""Recounts of the page of opponents: all of them, a line each, and one opponent's sheet."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

from tests.dashboard.recount.book import Row
from tests.dashboard.recount.of_events import cause, their_shooters
from tests.dashboard.recount.of_man_up import in_all
from tests.dashboard.recount.of_possessions import given_up
from tests.dashboard.recount.of_runs import action, fate, their_standing
from tests.dashboard.recount.of_screens import covered
from tests.dashboard.recount.reading import Control
from tests.dashboard.recount.recounted import Found, Page, Rule, all_of, of_runs, screens_by
from tests.dashboard.recount.view import View


def their_runs(page: Page, name: str) -> list[Row]:
    """All runs of an opponent, or all of theirs of one name."""
    view = page.view(team="theirs", phase="all", side="")
    if name in {game.opponent for game in view.games.values()}:
        return [run for run in view.runs() if view.games[run["game"]].opponent == name]
    return view.runs(name)


def tick(page: Page, control: Control) -> Found:
    """One run of the line it stands in, under the word for what it became."""
    [run] = [one for one in their_runs(page, control.row) if one["id"] == control.ids[0]]
    right = control.what.endswith(f": {fate(page.book, run)}") and control.what.startswith(f"{control.row}, ")
    return Found((run["id"],) if right else (), 1)


def counted(page: Page, control: Control) -> Found:
    """Runs of a line, and those that brought something."""
    runs = their_runs(page, control.row)
    if control.what.endswith(", runs"):
        return all_of(runs)
    fact = "goal" if control.what.endswith("a goal") else "shot"
    found = of_runs(page.book, runs, fact)
    if control.column == "Their runs":  # a plain count, in which a goal is one that is known
        return all_of(run for run in runs if run["id"] in found.ids)
    return found


def power_play(page: Page, control: Control) -> Found:
    """What came of their power plays, and what they ran in them."""
    if control.head != "Run in it":
        return in_all(
            page,
            replace(
                control,
                column=control.column.replace("Goal", "Brought a goal", 1)
                if control.column == "Goal"
                else control.column,
            ),
        )
    runs = View(page.book, page.chosen, team="theirs", strength="up", side="", phase="all").runs(control.row)
    return all_of(runs) if control.column == "Runs" else of_runs(page.book, runs, "shot")


def pair(page: Page, control: Control) -> Found:
    """Screens of theirs by who set them for whom."""
    rows = page.view(team="theirs", phase="all", side="").rows("screens")
    if control.head == "Set for":
        return screens_by(page.book, rows, control)
    setter, user = control.what.removesuffix(", screens").split(" for ")
    return all_of(row for row in rows if (row["setter"], row["user"]) == (setter, user))


def that_shot(page: Page, _: Sequence[str]) -> Sequence[int]:
    """Their runs that brought a shot, and all."""
    view = page.view(team="theirs", phase="all", side="")
    found = of_runs(page.book, view.runs(), "shot")
    return [found.k, found.n or 0]


def n_pairs(page: Page, _: Sequence[str]) -> Sequence[int]:
    """Pairs of theirs of whom both are known."""
    rows = page.view(team="theirs", phase="all", side="").rows("screens")
    return [
        len(
            {
                (row["setter"], row["user"])
                for row in rows
                if all(re.fullmatch(r"\d+", str(row[name])) for name in ("setter", "user"))
            }
        )
    ]


RULES: Mapping[str, Rule] = {
    "opponents / Each run, in order": tick,
    "opponents / Their runs": counted,
    "opponents / Runs with a shot": counted,
    "opponents / Who shoots? / *": their_shooters,
    "opponents / Their power play / *": power_play,
    "opponents / Who picks for whom? / *": pair,
    "opponents / Every pair? / *": pair,
    "opponents / How do they cover our screens? / *": covered,
    "opponents / What do they run? / *": action,
    "opponents / Which of it brings shots? / Counted": their_standing,
    "opponents / Why did their goals go in? / *": cause,
    "opponents / And after our lost balls, saves and misses? / *": given_up,
}

"""Recounts of the half floor: every shot at its place, the fields around it, and the rows of those without a place."""

from __future__ import annotations

import math
from collections.abc import Mapping

from tagger.floor.rules import floor_rules
from tests.dashboard.recount.book import Row, is_shot
from tests.dashboard.recount.of_game import clock, one_of
from tests.dashboard.recount.reading import Control
from tests.dashboard.recount.recounted import Found, Page, Rule, all_of


def shots(page: Page) -> list[Row]:
    """The shots of the page's team."""
    return [
        row for row in page.view(side="").rows("shots", "theirs" if page.name == "goals" else "ours") if is_shot(row)
    ]


def whole(page: Page, control: Control) -> Found:
    """All shots, or all goals."""
    goals = control.what.endswith(" goals")
    return all_of(row for row in shots(page) if not goals or row["result"] == "goal")


def unplaced(page: Page, control: Control) -> Found:
    """Those without a place, or from the other half."""
    if control.what.endswith("place unknown"):
        return all_of(row for row in shots(page) if row["x_m"] is None or row["y_m"] is None)
    return all_of(row for row in shots(page) if row["x_m"] is not None and row["x_m"] < 0)


def field(page: Page, control: Control) -> Found:
    """The shots of one field of the drawing."""
    lane, ring = control.what.removesuffix(", shots").split(", ")
    goal_x_m = floor_rules(page.book.season.texts.settings.rule_code).goal_x_m
    low, high = {"inside 4.5 m": (0.0, 4.5), "4.5 to 8 m": (4.5, 8.0), "beyond 8 m": (8.0, 99.0)}[ring]
    low_y, high_y = {"left": (2.5, 99.0), "middle": (-2.5, 2.5), "right": (-99.0, -2.5)}[lane]
    there = []
    for row in shots(page):
        if row["x_m"] is None or row["y_m"] is None or row["x_m"] < 0:
            continue
        away = math.dist((goal_x_m, 0), (row["x_m"], row["y_m"]))
        beside = low_y < row["y_m"] if lane == "left" else row["y_m"] < high_y
        if lane == "middle":
            beside = low_y <= row["y_m"] <= high_y
        if low < away <= high and beside:
            there.append(row)
    return all_of(there)


def shot(page: Page, control: Control) -> Found:
    """A shot of that game and time."""
    named, _, _ = control.what.partition(": ")
    opponent = {game.id: game.opponent for game in page.book.games}
    return one_of([row for row in shots(page) if f"{opponent[row['game']]}, {clock(row)}" == named], control)


RULES: Mapping[str, Rule] = {
    f"{page} / *{name}": rule
    for page in ("shots", "goals")
    for name, rule in (
        (", all goals", whole),
        (", all shots", whole),
        (", place unknown", unplaced),
        (", from beyond the centre", unplaced),
        (" m, shots", field),
        (": *", shot),
    )
}

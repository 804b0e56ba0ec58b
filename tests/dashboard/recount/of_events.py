"""Recounts of what players did, of screens, goals, places, lines and grades."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping

from tagger.floor.rules import floor_rules
from tests.dashboard.recount.book import Row, either, is_shot, resulted
from tests.dashboard.recount.reading import Control
from tests.dashboard.recount.recounted import Found, Page, Rule, all_of, share
from tests.dashboard.recount.view import View

ROLES: Mapping[str, tuple[str, str]] = {
    "Shot": ("shots", "shooter"),
    "Fed": ("shots", "feeder"),
    "Set screens": ("screens", "setter"),
    "Used screens": ("screens", "user"),
    "Lost": ("turnovers", "player"),
    "Loose": ("loose_balls", "player"),
    "Caused": ("turnovers", "by"),
}
WITHIN_MS = 15_000


def did(view: View, role: str, number: str) -> list[Row]:
    """The rows in which a man did something; loose balls and what he caused at any strength."""
    table, column = ROLES[role]
    if role in ("Loose", "Caused"):
        team = {"ours": "theirs", "theirs": "ours"}[view.team] if role == "Caused" else view.team
        view = View(view.book, view.chosen, strength="", team=team, phase="all", side="")
    return [row for row in view.rows(table) if row[column] == number and (table != "shots" or is_shot(row))]


def their_shooters(page: Page, control: Control) -> Found:
    """What a man of theirs did."""
    view = page.view(team="theirs", side="", phase="all")
    number = control.row.removeprefix("Their ")
    role, *results = {
        "Shots": ("Shot",),
        "On goal": ("Shot", "goal", "saved"),
        "Goals": ("Shot", "goal"),
        "Fed": ("Fed",),
        "Lost": ("Lost",),
    }[control.column]
    rows = did(view, role, number)
    return all_of(resulted_in(rows, *results) if results else rows)


def resulted_in(shots: list[Row], *results: str) -> list[Row]:
    return [shot for shot in shots if resulted(shot, *results)]


def cause(page: Page, control: Control) -> Found:
    """Goals against us by cause."""
    goals = [row for row in page.view(side="").rows("shots", "theirs") if row["result"] == "goal"]
    told = [row for row in goals if row["cause"] not in (None, "unseen")]
    its = [row for row in goals if page.book.answer_name("shot", "cause", row["cause"]) == control.row]
    if control.column == "Goals":
        return all_of(its)
    return Found(tuple(row["id"] for row in its), len(its), len(told), len(goals))


def place(page: Page, control: Control) -> Found:
    """A field of the floor: shots with a place, and the goals among those whose result is known."""
    told = re.match(r"(Ours|Theirs), (left|middle|right), ring (\d), (goals|shots)$", control.what)
    if told is None:
        raise LookupError(control.what)
    goal_x_m = floor_rules(page.book.season.texts.settings.rule_code).goal_x_m
    shots = [
        row
        for row in page.view(side="").rows("shots", told[1].lower())
        if is_shot(row) and _field(row, goal_x_m) == (told[2], int(told[3]))
    ]
    if told[4] == "shots":
        return all_of(shots)
    goals = tuple(row["id"] for row in shots if row["result"] == "goal")
    return Found(goals, len(goals), len(shots))


def _field(shot: Row, goal_x_m: float) -> tuple[str, int] | None:
    if shot["x_m"] is None or shot["y_m"] is None:
        return None
    away = math.dist((goal_x_m, 0), (shot["x_m"], shot["y_m"]))
    lane = "left" if shot["y_m"] > 2.5 else "right" if shot["y_m"] < -2.5 else "middle"
    return lane, 1 + (away > 4.5) + (away > 8)


def shooters(page: Page, control: Control) -> Found:
    """Shots with a known result, at a net that was not empty, and their goals."""
    view = page.view(side="", team="ours")
    number = control.row.split(" ")[0]
    shots = [
        row
        for row in view.rows("shots")
        if is_shot(row)
        and row["shooter"] == number
        and resulted(row, "goal") is not None
        and page.book.strength(row) != "empty_net"
    ]
    return all_of(shots if control.column.startswith("Shots") else resulted_in(shots, "goal"))


def line(page: Page, control: Control) -> Found:
    """Possessions in which one of our lines was on, and what happened while it was."""
    names = {**page.book.answers("line", "unit"), **page.book.answers("line", "line")}
    inside = page.book.in_possession

    def said(unit: str | None) -> str:
        return "" if unit is None else names.get(unit, unit)[:1].upper() + names.get(unit, unit)[1:]

    held = [
        row
        for row in page.view(side="").possessions("ours" if "With the ball" in control.under else "theirs")
        if any(said(unit) == control.row for unit, _, _ in turns(page, row))
    ]

    def on(row: Row, table: str) -> list[Row]:
        rows = [one for one in inside(table, row["id"]) if said(unit_when(page, row, one["at_ms"])) == control.row]
        return [one for one in rows if table != "shots" or is_shot(one)]

    if control.column == "Shots":
        timed = [row for row in held if row["end_ms"] is not None]
        ms = sum(end - start for row in timed for unit, start, end in turns(page, row) if said(unit) == control.row)
        shots = [shot for row in timed for shot in on(row, "shots")]
        return Found(tuple(shot["id"] for shot in shots), len(shots), ms)
    facts: Mapping[str, Callable[[Row], bool | None]] = {
        "With a shot while on": lambda row: bool(on(row, "shots")),
        "Goal": lambda row: either(resulted(shot, "goal") for shot in on(row, "shots")),
        "Ball lost": lambda row: bool(on(row, "turnovers")),
    }
    return all_of(held) if control.column == "Possessions" else share(held, facts[control.column])


def turns(page: Page, possession: Row) -> list[tuple[str | None, int, int]]:
    """Which of our lines was on in a possession, from when to when, by the marks of its period."""

    def found() -> list[tuple[str | None, int, int]]:
        start, end = possession["start_ms"], possession["end_ms"] or 10**12
        marks = sorted(
            (
                row
                for row in page.book.rows["lines"]
                if row["team"] == "ours"
                and (row["game"], row["period"]) == (possession["game"], possession["period"])
                and row["at_ms"] < end
            ),
            key=lambda row: row["at_ms"],
        )
        before = [row["unit"] for row in marks if row["at_ms"] <= start]
        cuts = [(row["at_ms"], row["unit"]) for row in marks if row["at_ms"] > start]
        edges = [(start, before[-1] if before else None), *cuts, (end, None)]
        return [(unit, since, edges[place + 1][0]) for place, (since, unit) in enumerate(edges[:-1])]

    return page.book.kept(("turns", possession["id"]), found)


def men(page: Page, team: str, possession: Row) -> list[tuple[tuple[str, ...], int, int]]:
    """Who of a team was on in a possession, from when to when."""

    def found() -> list[tuple[tuple[str, ...], int, int]]:
        start, end = possession["start_ms"], possession["end_ms"]
        marks = sorted(
            (
                row
                for row in page.book.rows["lines"]
                if row["team"] == team
                and (row["game"], row["period"]) == (possession["game"], possession["period"])
                and row["at_ms"] < end
            ),
            key=lambda row: row["at_ms"],
        )
        before = [row["players"] for row in marks if row["at_ms"] <= start]
        edges = [(start, before[-1] if before else None)]
        edges += [(row["at_ms"], row["players"]) for row in marks if row["at_ms"] > start] + [(end, None)]
        return [(tuple((on or "").split()), since, edges[place + 1][0]) for place, (since, on) in enumerate(edges[:-1])]

    return page.book.kept(("men", team, possession["id"]), found)


DEEDS: Mapping[str, tuple[str, str, str]] = {
    "Shots": ("shots", "shooter", "shot"),
    "Goals": ("shots", "shooter", "shot"),
    "Feeds": ("shots", "feeder", "shot.feeder"),
    "Passes before": ("shots", "feeder2", "shot.feeder2"),
    "Screens set": ("screens", "setter", "screen"),
    "Screens used": ("screens", "user", "screen"),
    "Balls lost": ("turnovers", "player", "turnover"),
    "Loose balls": ("loose_balls", "player", "loose_ball"),
}


def per_minute(page: Page, control: Control) -> Found:
    """What a man did while he was on the floor, and how long that was."""
    book, view = page.book, page.view(strength="", side="")
    team, wanted = view.team, page.view().strength
    number = control.row.removeprefix("their ").split(" ")[0]
    flipped = {"up": "down", "down": "up"}

    def at_strength(row: Row) -> bool:
        seen = book.strength(row)
        return wanted == (seen if row["team"] == team else flipped.get(str(seen), seen))

    both = [row for who in ("ours", "theirs") for row in view.possessions(who) if at_strength(row)]
    held = [row for row in both if any(number in on for on, _, _ in men(page, team, row))]
    if control.column in ("Possessions", "Possessions without the ball"):
        return all_of(row for row in held if (row["team"] == team) == (control.column == "Possessions"))
    table, column, kind = DEEDS[control.column]
    if table != "loose_balls":
        held = [row for row in held if row["team"] == team]
    held = [row for row in held if book.looked_for(row, kind)]
    ms = sum(end - since for row in held for on, since, end in men(page, team, row) if number in on)
    did = []
    for row in held:
        parts = men(page, team, row)
        for one in book.in_possession(table, row["id"]):
            on = next((on for on, since, _ in reversed(parts) if since < one["at_ms"]), parts[0][0])
            counts = is_shot(one) if table == "shots" else True
            if control.column == "Goals":
                counts = one["result"] == "goal"
            if counts and one["team"] == team and one[column] == number and number in on:
                did.append(one["id"])
    return Found(tuple(did), len(did), ms)


def per_game(page: Page, control: Control) -> Found:
    """What a man did, and in how many games: those in which he stands in any row, and the kind was looked for."""
    book, view = page.book, page.view(side="", phase="all")
    number = control.row.removeprefix("their ").split(" ")[0]
    role, kind = {
        "Shots": ("Shot", "shot"), "Goals": ("Shot", "shot"), "Feeds": ("Fed", "shot.feeder"),
        "Screens set": ("Set screens", "screen"), "Screens used": ("Used screens", "screen"),
        "Balls lost": ("Lost", "turnover"), "Loose balls, at any strength": ("Loose", "loose_ball"),
    }[control.column]  # fmt: skip
    own = did(view, role, number)
    rows = [row for each in ROLES for row in did(view, each, number)]
    rows += [row for row in view.rows("shots") if row["feeder2"] == number and is_shot(row)]
    every = page.view(side="", phase="all", strength="")
    rows += [row for row in book.rows["faceoffs"] if every.here(row) and row[view.team] == number]
    rows += [row for row in view.rows("grades") if view.team == "ours" and row["player"] == number]
    looked: dict[str, bool] = {}
    for row in book.rows["detail"]:
        looked[row["game"]] = looked.get(row["game"], False) or kind in (row["looks_for"] or "").split()
    games = {row["game"] for row in rows}
    found = all_of(resulted_in(own, "goal") if control.column == "Goals" else own)
    return Found(found.ids, found.k, sum(looked.get(game, True) for game in games))


def fed(page: Page, control: Control) -> Found:
    """Shots of a pair."""
    view = page.view(side="", phase="all")
    one, _, other = control.row.partition(" to ")
    feeder, shooter = (name.removeprefix("their ").split(" ")[0] for name in (one, other))
    shots = [row for row in view.rows("shots") if is_shot(row) and (row["feeder"], row["shooter"]) == (feeder, shooter)]
    if control.column == "Shots":
        return all_of(shots)
    results = ("goal",) if control.column == "Goals" else ("goal", "saved")
    return share(shots, lambda row: resulted(row, *results))


def unit_when(page: Page, possession: Row, at_ms: int) -> str | None:
    """The line that was on when something happened; a change on its frame comes after it."""
    held = turns(page, possession)
    return next((unit for unit, since, _ in reversed(held) if since < at_ms), held[0][0])


def line_change(page: Page, control: Control) -> Found:
    """Our line changes, the bad among them, and goals against within 15 s."""
    rows = page.view(side="", strength="").rows("lines")
    if control.column == "Changes":
        return all_of(rows)
    if control.column == "Bad":
        return share(rows, lambda row: None if row["bad"] in (None, "unseen") else row["bad"] == "yes")
    wanted = "yes" if control.column.endswith("bad one") else "no"

    def let_in(row: Row) -> bool:
        return any(
            shot["game"] == row["game"]
            and shot["team"] == "theirs"
            and shot["result"] == "goal"
            and 0 <= shot["at_ms"] - row["at_ms"] <= WITHIN_MS
            for shot in page.book.rows["shots"]
        )

    return share([row for row in rows if row["bad"] == wanted], let_in)


RULES: Mapping[str, Rule] = {
    "goals / *Changes, at any strength* / *": line_change,
    "goals / *What did each line see?* / *": line,
    "goals / *From which field?* / *": place,
    "shots / *From which field?* / *": place,
    "shots / *What were the shots worth?* / *": shooters,
    "goals / Why did we let them in? / *": cause,
}

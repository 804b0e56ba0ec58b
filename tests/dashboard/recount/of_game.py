"""Recounts of a game's page: the marks of its figure, what can be picked out of it, and its box score."""

from __future__ import annotations

import re
from collections.abc import Mapping

from tagger.screen.opening import day_of
from tests.dashboard.recount.book import Row
from tests.dashboard.recount.of_possessions import box, of_the_game, told
from tests.dashboard.recount.reading import Control
from tests.dashboard.recount.recounted import Found, Page, Rule, all_of
from tests.dashboard.recount.view import View

ENDED = {
    "goal": "goal",
    "save": "saved",
    "missed_shot": "missed",
    "turnover": "ball lost",
    "violation": "violation",
    "whistle": "whistle",
    "period_end": "end of the period",
}
MEN = ("shooter", "feeder", "feeder2", "setter", "setter2", "user", "player", "meant", "ours", "players", "out", "in")
OTHER_SIDES = ("by", "fouled")


def here(page: Page, table: str) -> list[Row]:
    """The game's rows of a table."""
    return [row for row in page.book.rows[table] if row["game"] == page.of]


def clock(row: Row) -> str:
    """When a row was, as its mark says it."""
    if row["clock_s"] is not None:
        return f"{int(row['clock_s']) // 60}:{int(row['clock_s']) % 60:02d}"
    at_s = int(row["at_ms"] if "at_ms" in row else row["start_ms"]) // 1000
    return f"film {at_s // 60}:{at_s % 60:02d}"


def possession(page: Page, control: Control) -> Found:
    """A possession of the figure: the one of that time, team, sets and end."""
    found = re.fullmatch(r"((?:film )?[\d:]+), ([^:]*)(?:: (.*))?", control.what)
    if found is None:
        raise LookupError(control.what)
    when, named, end = found.groups()
    alike = []
    for row in here(page, "possessions"):
        runs = [run for run in page.book.runs_of.get(row["id"], ()) if run["phase"] in ("set", "family") and run["set"]]
        sets = list(dict.fromkeys(page.book.set_name(run["set"]) for run in runs))
        who = {"ours": "ours", "theirs": "theirs"}.get(row["team"], "nobody’s")
        if clock(row) == when and ", ".join([who, *sets]) == named and ENDED.get(row["ended"]) == end:
            alike.append(row)
    return one_of(alike, control)


def goal(page: Page, control: Control) -> Found:
    """A goal of the score's step."""
    when, _, rest = control.what.partition(", goal ")
    team = "ours" if rest.startswith("for us") else "theirs" if rest.startswith("against us") else None
    goals = [row for row in here(page, "shots") if row["result"] == "goal"]
    return one_of([row for row in goals if clock(row) == when and row["team"] == team], control)


def one_of(alike: list[Row], control: Control) -> Found:
    """The row that is played, when it is one of those that the words fit."""
    return all_of([row for row in alike if (row["id"],) == control.ids] or alike[:1])


def goals_of(page: Page, control: Control) -> Found:
    """A side's goals, in the heading."""
    team = "ours" if control.what.endswith(page.book.season.texts.settings.team) else "theirs"
    return all_of(row for row in here(page, "shots") if row["result"] == "goal" and row["team"] == team)


def side(page: Page, control: Control) -> Found:
    """Shots and possessions of both, under the heading."""
    what, team = control.what.split(", ")
    return box(View(page.book, {"games": page.of}, strength=""), team, what)


def picked(page: Page, control: Control) -> Found:
    """What can be picked out: goals, our runs of a set, possessions in which one of ours is named."""
    name = control.what.removesuffix(", this game")
    sides: Mapping[str, str] = {"goals": "ours", "goals against": "theirs"}
    if name in sides:
        return all_of(r for r in here(page, "shots") if r["result"] == "goal" and r["team"] == sides[name])
    if control.table == "runs":
        runs = [row for row in here(page, "runs") if row["team"] == "ours" and row["phase"] == "set"]
        return all_of(row for row in runs if page.book.set_name(row["set"]) == name)
    number = name.split(" ")[0]
    held = {
        row.get("possession")
        for rows in page.book.rows.values()
        for row in rows
        if row["game"] == page.of
        and any(
            number in str(row.get(column) or "").split()
            for column in (OTHER_SIDES if row.get("team") == "theirs" else MEN)
        )
    }
    return all_of(row for row in here(page, "possessions") if row["id"] in held)


def last_game(page: Page, control: Control) -> Found:
    """A side's goals in the last game that is tagged."""
    last = [game.id for game in page.book.games if any(r["game"] == game.id for r in page.book.rows["possessions"])][-1]
    return all_of(
        row
        for row in page.book.rows["shots"]
        if row["game"] == last and row["result"] == "goal" and row["team"] == control.what.rsplit(", ", 1)[1]
    )


def in_course(page: Page, control: Control) -> Found:
    """A game's row: a side's goals, or one goal of a time."""
    opponent, day, rest = control.what.split(", ", 2)
    [game] = [one.id for one in page.book.games if one.opponent == opponent and day_of(one.date).startswith(f"{day} ")]
    goals = [row for row in page.book.rows["shots"] if row["game"] == game and row["result"] == "goal"]
    if rest.startswith("goals, "):
        return all_of(row for row in goals if row["team"] == rest.removeprefix("goals, "))
    return one_of([row for row in goals if rest.startswith(f"{clock(row)}: ")], control)


RULES: Mapping[str, Rule] = {
    "front / The last game, goals, *": last_game,
    "front / How did each game go? / *": in_course,
    "games / *What happened?* / *": told,
    "games / *What are its numbers?* / *": of_the_game,
    "games / Goals of *": goals_of,
    "games / *, this game": picked,
    "games / *, goal *": goal,
    "games / shots, *": side,
    "games / possessions, *": side,
    "games / *": possession,
}

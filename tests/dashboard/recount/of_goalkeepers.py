"""Recounts of what goalkeepers saved."""

from __future__ import annotations

import math
from collections.abc import Mapping

from tagger.floor.rules import floor_rules
from tests.dashboard.recount.book import Row, is_shot, resulted
from tests.dashboard.recount.of_people import keeper
from tests.dashboard.recount.reading import Control
from tests.dashboard.recount.recounted import Found, Page, Rule, all_of, share

STRENGTHS = {
    "Even strength": "even",
    "We are a man down": "up",
    "We are a man up": "down",
    "A net is empty": "empty_net",
}


def net_empty(page: Page, shot: Row) -> bool:
    """Whether our net was empty by the last mark before a shot."""
    marks = [row for row in page.book.rows["goalies"] if row["game"] == shot["game"] and row["team"] == "ours"]
    before = [row for row in marks if row["at_ms"] < shot["at_ms"]]
    return bool(before) and sorted(before, key=lambda row: row["at_ms"])[-1]["what"] == "out"


def faced(page: Page, control: Control) -> list[Row]:
    """The shots on our goal of a line of a table."""
    part = control.under[1]
    view = page.view(side="", phase="all", **({"strength": ""} if part == "At which strength?" else {}))
    man = (control.row if control.head == "In net" else control.about).split(" ")[0]
    shots = [
        shot
        for shot in view.rows("shots", "theirs")
        if shot["result"] in ("goal", "saved") and not net_empty(page, shot) and (keeper(page, shot) or "Nobody") == man
    ]
    if control.head == "Strength":
        return [shot for shot in shots if page.book.strength(shot) == STRENGTHS.get(control.row)]
    if control.head == "From":
        return [shot for shot in shots if field(page, shot) == control.row]
    if control.head == "Screen":
        said = {"After a screen in the run": True, "No screen in the run": False, "Not known": None}[control.row]
        return [shot for shot in shots if screened(page, shot) is said]
    return shots


def field(page: Page, shot: Row) -> str:
    """From where."""
    if shot["x_m"] is None or shot["y_m"] is None:
        return "No place marked"
    goal_x_m = floor_rules(page.book.season.texts.settings.rule_code).goal_x_m
    away = math.dist((goal_x_m, 0), (shot["x_m"], shot["y_m"]))
    lane = "Left" if shot["y_m"] > 2.5 else "Right" if shot["y_m"] < -2.5 else "Middle"
    return f"{lane}, " + ("within 4.5 m" if away <= 4.5 else "4.5 to 8 m" if away <= 8 else "beyond 8 m")


def screened(page: Page, shot: Row) -> bool | None:
    """Whether a screen came before it in its run."""
    if shot["run"] is None or not page.book.looked_for(shot, "screen"):
        return None
    return any(row["at_ms"] <= shot["at_ms"] for row in page.book.screens_of.get(shot["run"], ()))


def cell(page: Page, control: Control) -> Found:
    """A number of a table of saves."""
    shots = faced(page, control)
    if control.column == "On goal":
        return all_of(shots)
    if control.column == "Goals":
        return all_of(shot for shot in shots if shot["result"] == "goal")
    return share(shots, lambda shot: resulted(shot, "saved"))


def beside(page: Page, control: Control) -> Found:
    """Shots of theirs with a known result while he was in net."""
    number = control.row.split(" ")[0]
    shots = [
        shot
        for shot in page.view(side="", phase="all").rows("shots", "theirs")
        if is_shot(shot)
        and resulted(shot, "goal") is not None
        and page.book.strength(shot) != "empty_net"
        and keeper(page, shot) == number
    ]
    return all_of(shots if control.column.startswith("Shots") else [one for one in shots if one["result"] == "goal"])


RULES: Mapping[str, Rule] = {
    "goalkeeper / What did he save? / Beside what such shots bring / *": beside,
    "goalkeeper / *": cell,
}

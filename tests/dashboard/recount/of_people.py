"""Recounts of the pages of players: of all in one role, and of one man."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace

from tests.dashboard.recount.book import FREED, Row, resulted
from tests.dashboard.recount.of_events import ROLES, did, fed, per_game, per_minute, resulted_in
from tests.dashboard.recount.reading import Control
from tests.dashboard.recount.recounted import Found, Page, Rule, all_of, freed, share
from tests.dashboard.recount.view import View


def players_cell(page: Page, control: Control) -> Found:
    """A number of the table of players."""
    number = re.sub(r"\D", "", control.row)
    view = page.view(side="", phase="all")
    cells: Mapping[str, Callable[[], Found]] = {
        "Shot shots": lambda: all_of(did(view, "Shot", number)),
        "Shot on goal": lambda: all_of(resulted_in(did(view, "Shot", number), "goal", "saved")),
        "Shot goals": lambda: all_of(resulted_in(did(view, "Shot", number), "goal")),
        "Fed shots": lambda: all_of(did(view, "Fed", number)),
        "Fed goals": lambda: all_of(resulted_in(did(view, "Fed", number), "goal")),
        "Set screens set": lambda: all_of(did(view, "Set screens", number)),
        "Set screens freed one": lambda: share(did(view, "Set screens", number), lambda row: freed(row, *FREED)),
        "Used screens used": lambda: all_of(did(view, "Used screens", number)),
        "Used screens came free": lambda: share(did(view, "Used screens", number), lambda row: freed(row, "user")),
        "Ball lost": lambda: all_of(did(view, "Lost", number)),
        "At any strength won loose": lambda: all_of(did(view, "Loose", number)),
        "At any strength won off them": lambda: all_of(did(view, "Caused", number)),
    }
    return cells[control.column]()


DRAWN: Mapping[str, tuple[str, str, str]] = {
    "": ("Shot", "shots", "shots that were goals"),
    "feeder": ("Fed", "shots fed", "shots fed that were goals"),
    "setter": ("Set screens", "screens set", "screens set that freed somebody"),
    "user": ("Used screens", "screens used", "screens used that freed their user"),
    "lost": ("Lost", "balls lost", ""),
    "loose": ("Loose", "loose balls won", ""),
}
"""What is drawn by the address' word: whose rows, what they are called, and what the share counts."""


def man_on_axis(page: Page, control: Control) -> Found:
    """A mark of a man's line, or a number at its end."""
    number = control.what.removeprefix("their ").split(" ")[0].split(",")[0]
    view = page.view(side="", phase="all")
    role, many, that = DRAWN[page.chosen.get("role", "")]
    rows = did(view, role, number)
    if control.what.endswith(f", {that}"):
        rates: Mapping[str, Callable[[Row], bool | None]] = {
            "Set screens": lambda row: freed(row, *FREED),
            "Used screens": lambda row: freed(row, "user"),
        }
        return share(rows, rates.get(role, lambda row: resulted(row, "goal")))
    if control.what.endswith(f", {many}"):
        return per_game(page, replace(control, row=number, column=GAMES_OF[role])) if not that else all_of(rows)
    [row] = [row for row in rows if row["id"] in control.ids]
    game = page.view().games[row["game"]]
    said = f", {many}, {game.opponent}, " in control.what and control.what.endswith(f": {became(page, role, row)}")
    return all_of([row] if said else [])


GAMES_OF = {"Lost": "Balls lost", "Loose": "Loose balls, at any strength"}


def became(page: Page, role: str, row: Row) -> str:
    """What a mark says of itself."""
    table = ROLES[role][0]
    if table == "turnovers":
        return "ball lost"
    if table == "loose_balls":
        return "loose ball won"
    column = "result" if table == "shots" else "free"
    if row[column] in (None, "unseen"):
        return "not made out"
    kind = "shot" if table == "shots" else "screen"
    asked = page.book.language.question(kind, column) or {}
    [answer] = [each for each in asked["choices"] if each["code"] == row[column]]
    return str(answer["name"] if table == "shots" else answer.get("say") or answer["name"])


def player_figure(page: Page, control: Control) -> Found:
    """A figure of a player's page: of all games and every strength, as it says."""
    view = View(page.book, {}, strength="", team="ours", phase="all")
    tail = control.what.rsplit(", ", 1)[1]
    plain: Mapping[str, tuple[str, str]] = {
        "shot": ("Shot", ""), "goal": ("Shot", "goal"), "shot fed": ("Fed", ""), "screen set": ("Set screens", ""),
        "screen used": ("Used screens", ""), "ball lost": ("Lost", ""), "loose ball won": ("Loose", ""),
    }  # fmt: skip
    single = re.sub(r"^(shot|goal|screen|ball)s", r"\1", tail).replace("loose balls", "loose ball")
    role, result = plain[single]
    rows = did(view, role, page.of)
    return all_of(resulted_in(rows, result) if result else rows)


def player_rate(page: Page, control: Control, games: set[str] | None = None) -> Found:
    """A rate of a player's page, of all his games or of some."""
    view = View(page.book, {}, strength="", team="ours", phase="all")

    def his(role: str) -> list[Row]:
        return [row for row in did(view, role, page.of) if games is None or row["game"] in games]

    rates: Mapping[str, Callable[[], Found]] = {
        "Shots that were goals": lambda: share(his("Shot"), lambda row: resulted(row, "goal")),
        "Shots on goal": lambda: share(his("Shot"), lambda row: resulted(row, "goal", "saved")),
        "Shots he fed that were goals": lambda: share(his("Fed"), lambda row: resulted(row, "goal")),
        "Screens he set that freed somebody": lambda: share(his("Set screens"), lambda row: freed(row, *FREED)),
        "Screens he used that freed him": lambda: share(his("Used screens"), lambda row: freed(row, "user")),
        "Face-offs he took that we won": lambda: share(
            (row for row in page.book.rows["faceoffs"] if row["ours"] == page.of),
            lambda row: row["won"] == "ours" if row["won"] in ("ours", "theirs") else None,
        ),
        "Grades that were plus": lambda: share(
            (
                row
                for row in page.book.rows["grades"]
                if row["player"] == page.of and (games is None or row["game"] in games)
            ),
            lambda row: {"plus": True, "minus": False}.get(row["grade"]),
        ),
    }
    return rates[control.row]()


def in_net(page: Page, control: Control) -> Found:
    """What a goalkeeper saved and let in: he was in net whose mark is the last before the shot."""
    faced = [
        shot
        for shot in page.book.rows["shots"]
        if shot["team"] == "theirs" and shot["result"] in ("goal", "saved") and keeper(page, shot) == page.of
    ]
    if control.what.endswith("goals against"):
        return all_of(resulted_in(faced, "goal"))
    return share(faced, lambda shot: resulted(shot, "saved"))


def keeper(page: Page, shot: Row) -> str | None:
    man: str | None = None
    marks = [row for row in page.book.rows["goalies"] if row["game"] == shot["game"] and row["team"] == "ours"]
    first = True
    for mark in sorted(marks, key=lambda row: row["at_ms"]):
        if mark["at_ms"] < shot["at_ms"] or (first and mark["at_ms"] == shot["at_ms"]):
            man, first = (mark["player"] if mark["what"] == "in" else None), False
    return man


LISTED: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "Shots and feeds": ("ours", ("shooter", "feeder", "feeder2")),
    "Screens": ("ours", ("setter", "user", "setter2")),
    "Balls lost": ("ours", ("player",)),
    "Balls won off them": ("theirs", ("by",)),
    "Passes for him that were lost": ("ours", ("meant",)),
    "Illegal picks on him": ("theirs", ("hit",)),
    "Loose balls": ("ours", ("player",)),
    "Penalties": ("ours", ("player",)),
    "Fouls on him": ("theirs", ("fouled",)),
    "Grades": ("ours", ("player",)),
}


def his_film(page: Page, control: Control) -> Found:
    """A line of a player's film: one row that names him; or all that are listed with it, each of which does."""
    title = next(part for part in control.under if part in LISTED)
    rows = [page.book.by_id[control.table][id_] for id_ in control.ids]
    team, named = LISTED[title]
    for row in rows:
        if page.of not in [row.get(column) for column in named] or row.get("team", team) != team:
            raise LookupError(f"{title}: {row['id']} does not name {page.of}")
    if len(rows) > 1 and control.text != f"Play these {len(rows)}":
        raise LookupError(f"{title}: {control.text}")
    return all_of(rows)


HIS: Mapping[str, str] = {
    "shots": "Shot", "shots fed": "Fed", "screens set": "Set screens", "screens used": "Used screens",
    "balls lost": "Lost", "loose balls won": "Loose", "grades": "",
}  # fmt: skip


def his_rows(page: Page, many: str) -> list[Row]:
    """All that he did of one kind, in all games and at every strength."""
    if many == "grades":
        graded = [row for row in page.book.rows["grades"] if row["player"] == page.of]
        return [row for row in graded if row["grade"] in ("plus", "minus")]
    return did(View(page.book, {}, strength="", team="ours", phase="all"), HIS[many], page.of)


def his_mark(page: Page, control: Control) -> Found:
    """A mark in one of his games, all of a line, or what the line comes to."""
    lines: Mapping[str, str] = {
        "shots that were goals": "Shots that were goals",
        "shots fed that were goals": "Shots he fed that were goals",
        "screens set that freed somebody": "Screens he set that freed somebody",
        "screens used that freed their user": "Screens he used that freed him",
        "grades that were plus": "Grades that were plus",
    }
    told = control.what.split(", ")
    when, tail = "", told[-1]
    if tail in ("earlier", "later"):
        when, tail = tail, told[-2]
    if tail in lines:
        kept = halves(page)[when] if when else None
        return player_rate(page, replace(control, row=lines[tail]), kept)
    if tail == "all of them":
        return all_of(his_rows(page, told[-2]))
    if tail in HIS:
        return per_game(
            Page(page.book, "player", page.of, {"strength": ""}),
            replace(control, row=page.of, column=GAMES_OF[HIS[tail]]),
        )
    [row] = [row for row in his_rows(page, told[1]) if row["id"] in control.ids]
    [game] = [one for one in page.book.games if one.id == row["game"]]
    role = HIS[told[1]]
    said = {"plus": "done", "minus": "not done"}[row["grade"]] if not role else became(page, role, row)
    here = game.opponent in control.column and game.opponent in told[2] and control.what.endswith(f": {said}")
    return all_of([row] if here else [])


def halves(page: Page) -> Mapping[str, set[str]]:
    """The earlier and the later half of the games in which he has a mark in one of the lines."""
    there = {row["game"] for many in HIS for row in his_rows(page, many)}
    games = [game.id for game in page.book.games if game.id in there]
    half = len(games) // 2
    return {"earlier": set(games[:half]), "later": set(games[half:])}


RULES: Mapping[str, Rule] = {
    "players / How much per minute on the floor? / * / Per game / *": per_game,
    "players / How much per minute on the floor? / *": per_minute,
    "players / Who feeds whom? / *": fed,
    "players / What did each do, in every role? / *": players_cell,
    "players / *": man_on_axis,
    "player / In net / *": in_net,
    **dict.fromkeys((f"player / {title} / *" for title in LISTED), his_film),
    "player / What do his numbers come to? / *": player_rate,
    "player / Is he any different from earlier? / *": his_mark,
    "player / *": lambda page, control: (his_mark if control.row or control.column else player_figure)(page, control),
}

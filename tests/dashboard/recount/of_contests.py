"""Recounts of face-offs and loose balls, mark by mark."""

from __future__ import annotations

from collections.abc import Mapping

from tests.dashboard.recount.book import Row, is_shot
from tests.dashboard.recount.reading import Control
from tests.dashboard.recount.recounted import Found, Page, Rule, all_of, share

WON = {"Won": "ours", "Lost": "theirs", "Can’t see who won": "unseen", "Winner not answered": None}


def _here(page: Page, table: str) -> list[Row]:
    view = page.view(strength="")
    return [row for row in page.book.rows[table] if view.here(row)]


def _period(page: Page, table: str, row: Row) -> list[Row]:
    """The rows of a table in the period of a row."""

    def split() -> dict[tuple[str, int], list[Row]]:
        made: dict[tuple[str, int], list[Row]] = {}
        for each in page.book.rows[table]:
            made.setdefault((each["game"], each["period"]), []).append(each)
        return made

    return page.book.kept(("by period", table), split).get((row["game"], row["period"]), [])


def our_ball(page: Page, faceoff: Row) -> bool | None:
    """Whose possession begins next, before another face-off."""
    at = faceoff["at_ms"]
    again = min((row["at_ms"] for row in _period(page, "faceoffs", faceoff) if row["at_ms"] > at), default=None)
    later = [
        row
        for row in _period(page, "possessions", faceoff)
        if row["start_ms"] >= at and (again is None or row["start_ms"] < again)
    ]
    return min(later, key=lambda row: row["start_ms"])["team"] == "ours" if later else None


def shot(page: Page, faceoff: Row, team: str, seconds: int) -> bool | None:
    """Whether a team shot soon after."""
    if our_ball(page, faceoff) is None or not page.book.looked_for(faceoff, "shot"):
        return None
    return any(
        row["team"] == team and is_shot(row) and 0 <= row["at_ms"] - faceoff["at_ms"] <= seconds * 1000
        for row in _period(page, "shots", faceoff)
    )


def faceoff_cell(page: Page, control: Control) -> Found:
    """A number of a table of face-offs."""
    own = [row for row in _here(page, "faceoffs") if _named(control, row)]
    tail = control.what.removeprefix(f"{control.row}, ")
    if tail == "face-offs":
        return all_of(own)
    if tail == "won":
        return share(own, lambda row: row["won"] == "ours" if row["won"] in ("ours", "theirs") else None)
    if tail == "with our ball next":
        return share(own, lambda row: our_ball(page, row))
    _, _, _, _, who, _, seconds, _ = tail.split(" ")
    return share(own, lambda row: shot(page, row, who, int(seconds)))


def _named(control: Control, row: Row) -> bool:
    if control.head == "Face-off":
        return bool(row["won"] == WON[control.row])
    number = row["ours" if control.head == "Our man" else "theirs"]
    return _is(control.row.removeprefix("Their "), number)


def _is(said: str, number: str | None) -> bool:
    called = {None: "Not answered", "unseen": "Can’t see who"}.get(number)
    return said == called if called else said.split(" ")[0] == number


def before(page: Page, loose: Row) -> str:
    """What was marked last before a loose ball."""
    at, found = loose["at_ms"], [(-1, -1, "Nothing marked before in the period")]
    whose = {"ours": "Our", "theirs": "Their"}
    for row in _period(page, "faceoffs", loose):
        found.append((row["at_ms"], 0, "After a face-off"))
    for row in _period(page, "possessions", loose):
        if row["start_ms"] < at:
            found.append((row["start_ms"], 1 + (row["team"] != "ours"), f"{whose[row['team']]} ball, before settling"))
        if row["settled_ms"] is not None:
            found.append((row["settled_ms"], 3 + (row["team"] != "ours"), f"{whose[row['team']]} ball, settled"))
    for row in _period(page, "shots", loose):
        found.append((row["at_ms"], 5, f"After a shot of {row['team']}"))
    for row in _period(page, "turnovers", loose):
        found.append((row["at_ms"], 5, f"After {'we' if row['team'] == 'ours' else 'they'} lost the ball"))
    return max((each for each in found if each[0] <= at), key=lambda each: each[:2])[2]


def loose_cell(page: Page, control: Control) -> Found:
    """A number of the loose balls by what came before."""
    own = [row for row in _here(page, "loose_balls") if before(page, row) == control.row]
    if control.column == "Loose balls":
        return all_of(own)
    return share(own, lambda row: row["team"] == "ours" if row["team"] in ("ours", "theirs") else None)


def winner(page: Page, control: Control) -> Found:
    """What one of our men won."""
    own = [row for row in _here(page, "loose_balls") if row["team"] == "ours" and _is(control.row, row["player"])]
    begins = {
        "Won": ("",),
        "After a face-off": ("After a face-off",),
        "After a shot": ("After a shot",),
        "After a lost ball": ("After we", "After they"),
        "In a possession": ("Our ball", "Their ball"),
    }[control.column]
    return all_of(row for row in own if before(page, row).startswith(begins))


RULES: Mapping[str, Rule] = {
    "contests / What follows a face-off? / *": faceoff_cell,
    "contests / Who takes them? / *": faceoff_cell,
    "contests / Where are loose balls won? / *": loose_cell,
    "contests / Who wins them? / *": winner,
}

"""Recounts of the page of screens: its two grids, what a free man was worth, and the tables."""

from __future__ import annotations

from collections.abc import Mapping

from tests.dashboard.recount.book import FREED, Row, either, resulted
from tests.dashboard.recount.reading import Control
from tests.dashboard.recount.recounted import Found, Page, Rule, all_of, freed, screens_by, share


def all_screens(page: Page) -> list[Row]:
    """The screens that the page of screens shows."""
    return page.view(phase="all").rows("screens")


def worth(page: Page, control: Control) -> Found:
    """Screens that freed somebody and that freed nobody, and what followed."""
    book, rows = page.book, all_screens(page)
    came = [row for row in rows if row["free"] in FREED]
    held = [row for row in rows if row["free"] == "nobody"]
    result = "goal" if control.row.endswith("goal") else None

    def so(row: Row) -> bool | None:
        after = [shot for shot in book.shots_of.get(row["run"], ()) if shot["at_ms"] >= row["at_ms"]]
        if row["run"] is None:
            return None
        return bool(after) if result is None else either(resulted(shot, result) for shot in after)

    if control.column == "The difference":
        return all_of(row for row in [*came, *held] if so(row) is not None)
    return share(came if control.column == "Somebody came free" else held, so)


def covered(page: Page, control: Control) -> Found:
    """A dot of the grid: the screens that answer to both of its words; a single mark; the share of a row."""
    book = page.book

    def answer(name: str, row: Row) -> str:
        return "not answered" if row[name] is None else book.answer_name("screen", name, row[name])

    how, _, free = control.what.removeprefix("Covered: ").partition(" → came free: ")
    if not free:
        how = how.removesuffix(", screens that freed somebody")
        its = [row for row in all_screens(page) if answer("coverage", row).lower() == how.lower()]
        return share(its, lambda row: freed(row, "user", "setter", "third_man"))
    free, single, _ = free.partition(", ")
    its = [
        row
        for row in all_screens(page)
        if (answer("coverage", row).lower(), answer("free", row).lower()) == (how.lower(), free.lower())
    ]
    return all_of(row for row in its if not single or row["id"] == control.ids[0])


def paired(page: Page, control: Control) -> Found:
    """The screens of one man for another."""
    setter, user = control.what.removesuffix(", screens").split(" for ")
    return all_of(row for row in all_screens(page) if (row["setter"], row["user"]) == (setter, user))


RULES: Mapping[str, Rule] = {
    "screens / What was a free man worth? / *": worth,
    "screens / Who came free, by how they were covered / *": covered,
    "screens / Who sets for whom / *": paired,
    "screens / *": lambda page, control: screens_by(page.book, all_screens(page), control),
}

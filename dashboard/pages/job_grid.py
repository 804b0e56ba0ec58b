"""Checkpoints by man: a mark a grade, those of ten and more as how many of them were done."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import sqrt
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.deeds import kinds_of, legend, marks_of
from dashboard.pages.names import blank, checkpoint_name, set_name
from dashboard.pages.numbers import plausibly, plays, records, table
from dashboard.pages.players import name_of

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.slice import Slice
    from dashboard.loading import Filmed
    from dashboard.moment import Moment

WORDS = "A mark a grade, one disc where there are many, filled as far as they were done:"
_LARGEST_PX, _SMALLEST_PX = 20, 10


def job_grid(moment: Moment, filmed: Filmed, part: Slice) -> list[Component]:
    """The figure.

    Parameters
    ----------
    moment, filmed
        The season, and which rows have film.
    part : Slice
        What is looked at.

    Returns
    -------
    list of Component
        A line a checkpoint, a column a man, the most graded first; nothing where no grade names both.
    """
    from analysis.execution import graded

    small_n = moment.settings.small_n
    lines = records(graded(moment.tables, part, by=("set", "checkpoint"), small_n=small_n))
    lines = [row for row in lines if not blank(row["checkpoint"])]
    fields = records(graded(moment.tables, part, by=("set", "checkpoint", "player"), small_n=small_n))
    fields = [row for row in fields if not blank(row["checkpoint"])]
    if not lines:
        return []
    men: dict[str, int] = {}
    sets: dict[Any, int] = {}
    for row in fields:
        if not blank(row["player"]) and str(row["player"]).isdigit():
            men[str(row["player"])] = men.get(str(row["player"]), 0) + int(row["grades"])
    for row in lines:
        sets[_code(row["set"])] = sets.get(_code(row["set"]), 0) + int(row["grades"])
    lines.sort(key=lambda row: (-sets[_code(row["set"])], _code(row["set"]), -int(row["grades"])))
    columns = sorted(men, key=lambda man: (-men[man], man))
    most = max((int(row["done_n"]) for row in fields), default=1)
    by_cell = {(_code(row["set"]), str(row["checkpoint"]), str(row["player"])): row for row in fields}
    head = [html.Th("Checkpoint", className="l"), html.Th("Done", className="l")]
    head += [html.Th(man, title=f"{man} {name_of(moment, man)}".strip()) for man in columns]
    made, before = [], None
    for row in lines:
        cells = [by_cell.get((_code(row["set"]), str(row["checkpoint"]), man)) for man in columns]
        made.append(_line(moment, filmed, row, list(zip(columns, cells, strict=True)), most, before != row["set"]))
        before = row["set"]
    ids = [str(id_) for row in lines for id_ in row["grades_ids"]]
    said = legend(kinds_of(moment, "grades", ids), WORDS, class_name="pip")
    return [table(head, made, "his-games jobs"), said]


def _code(value: Any) -> str:
    return "" if blank(value) else str(value)


def _line(
    moment: Moment,
    filmed: Filmed,
    row: Mapping[str, Any],
    cells: Sequence[tuple[str, Mapping[str, Any] | None]],
    most: int,
    first: bool,
) -> Component:
    name, play = checkpoint_name(moment, row["set"], row["checkpoint"]), set_name(moment, row["set"])
    what = f"{name} ({play})"
    made: list[Component] = [
        html.Th([name, html.Small(play)], scope="row"),
        html.Td(_share(filmed, row, what), className="w"),
    ]
    for man, cell in cells:
        named: dict[str, Any] = {"data-game": man}
        inside = _field(moment, filmed, cell, f"{what}, {man}", most) if cell is not None else ""
        made.append(html.Td(inside, className=None if cell is not None else "none", **named))
    return html.Tr(made, className="apart" if first else None)


def _share(filmed: Filmed, row: Mapping[str, Any], what: str) -> Component:
    """How many were done, of those that could be graded; the rest is said in the table of checkpoints."""
    k, n = int(row["done_k"]), int(row["done_n"])
    if not n:
        return html.Span("none to say it from", className="few")
    said = plays(filmed, f"{k} of {n}", "grades", row["done_ids"], f"{what}, done")
    if bool(row["done_few"]):
        return html.Span([said, html.Small("too few to say")], className="few")
    return html.Span([said, html.Small(plausibly(float(row["done_lo"]), float(row["done_hi"])))])


def _field(moment: Moment, filmed: Filmed, cell: Mapping[str, Any], what: str, most: int) -> Any:
    """Single marks, or one disc with how many were done."""
    n = int(cell["done_n"])
    if n < moment.settings.small_n:
        return marks_of(filmed, "grades", cell["grades_ids"], what, class_name="pip")
    wide = f"{max(_SMALLEST_PX, _LARGEST_PX * sqrt(n / most)):.0f}px"
    share = {"width": wide, "height": wide, "--done": f"{int(cell['done_k']) / n * 100:.0f}%"}
    words = html.Span(f"{int(cell['done_k'])} of {n}")
    return plays(
        filmed, [html.I(className="part", style=share), words], "grades", cell["done_n_ids"], f"{what}, done", "spot"
    )

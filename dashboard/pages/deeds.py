"""What players do, one thing at a time: which rows are a man's, what each of them became, and how it is drawn.

A mark's class says its shape (`assets/people.css`); each plays its row. A page draws the marks of one man's role so:

    marks_of(filmed, ROLES["setter"], ids, "7 Zoë Ravenscroft")
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.names import answer_name, blank
from dashboard.story import when

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from dashboard.loading import Filmed
    from dashboard.moment import Moment


@dataclass(frozen=True)
class Role:
    """One thing that players do.

    Attributes
    ----------
    table, column : str
        Event table of its rows, and the answer that names the man.
    count : str
        The count of `analysis.players` with the ids of those rows.
    rate : str
        Its rate there; empty where it is counted by the game.
    many : str
        Its rows, in the plural.
    came : str
        What the rate counts, after "shots that".
    most : str
        What who has the most of them did.
    title : str
        As a heading.
    """

    table: str
    column: str
    count: str
    rate: str
    many: str
    came: str
    most: str
    title: str

    @property
    def that(self) -> str:
        """The rows that the rate counts, as "shots that were goals"."""
        return f"{self.many} that {self.came}"


ROLES: Mapping[str, Role] = {
    "": Role(
        table="shots",
        column="shooter",
        count="shots",
        rate="shooting",
        many="shots",
        came="were goals",
        most="took",
        title="Shots",
    ),
    "feeder": Role(
        table="shots",
        column="feeder",
        count="feeds",
        rate="fed_goal",
        many="shots fed",
        came="were goals",
        most="fed",
        title="Fed",
    ),
    "setter": Role(
        table="screens",
        column="setter",
        count="screens_set",
        rate="freed",
        many="screens set",
        came="freed somebody",
        most="set",
        title="Screens set",
    ),
    "user": Role(
        table="screens",
        column="user",
        count="screens_used",
        rate="came_free",
        many="screens used",
        came="freed their user",
        most="used",
        title="Screens used",
    ),
    "lost": Role(
        table="turnovers",
        column="player",
        count="turnovers",
        rate="",
        many="balls lost",
        came="",
        most="lost",
        title="Balls lost",
    ),
    "loose": Role(
        table="loose_balls",
        column="player",
        count="loose_balls",
        rate="",
        many="loose balls won",
        came="",
        most="won",
        title="Loose balls",
    ),
}
"""By their words in the address, the usual one first."""
_SHOT = {"goal": "goal", "saved": "saved", "wide": "missed", "post": "missed", "blocked": "missed"}
_GRADE = {"plus": "plus", "minus": "minus"}
BECAME = {
    "goal": "goal",
    "saved": "saved",
    "missed": "missed or blocked",
    "freed": "somebody came free",
    "held": "nobody came free",
    "lost": "ball lost",
    "won": "loose ball won",
    "plus": "done",
    "minus": "not done",
    "unknown": "not made out",
}
"""What a mark can be, in words."""


def kind_of(table: str, row: Mapping[str, Any]) -> str:
    """What a row became.

    Parameters
    ----------
    table : str
        Its event table.
    row : mapping
        The row.

    Returns
    -------
    str
        One of `BECAME`.
    """
    if table == "shots":
        return _SHOT.get(str(row.get("result")), "unknown")
    if table == "grades":
        return _GRADE.get(str(row.get("grade")), "unknown")
    if table == "screens":
        free = row.get("free")
        return "unknown" if blank(free) or free == "unseen" else "held" if free in ("nobody", "illegal") else "freed"
    return "lost" if table == "turnovers" else "won"


def came_of(moment: Moment, table: str, row: Mapping[str, Any]) -> str:
    """What came of it, in the words of the answers.

    Parameters
    ----------
    moment : Moment
        The season.
    table : str
        Its event table.
    row : mapping
        The row.

    Returns
    -------
    str
        As "saved", "the user came free".
    """
    kind = kind_of(table, row)
    if kind == "unknown":
        return BECAME[kind]
    if table == "shots":
        return answer_name(moment, "shot", "result", row.get("result"))
    if table == "screens":
        choices = (moment.language.question("screen", "free") or {}).get("choices") or ()
        return next((str(one.get("say") or one["name"]) for one in choices if one["code"] == row["free"]), BECAME[kind])
    return BECAME[kind]


def in_order(moment: Moment, table: str, ids: Iterable[str]) -> list[str]:
    """Rows in order of play.

    Parameters
    ----------
    moment : Moment
        The season.
    table : str
        Their event table.
    ids : iterable of str
        The rows.

    Returns
    -------
    list of str
        Game after game.
    """
    rows, place = moment.rows(table), {game.id: at for at, game in enumerate(moment.games)}
    return sorted(map(str, ids), key=lambda id_: (place.get(str(rows[id_]["game"]), -1), rows[id_].get("at_ms") or 0))


def marks_of(filmed: Filmed, table: str, ids: Iterable[str], plain: str, *, class_name: str = "tick") -> Component:
    """A row of marks, one for each row, in order of play.

    Parameters
    ----------
    filmed : Filmed
        Which rows have film.
    table : str
        Event table of the rows.
    ids : iterable of str
        The rows.
    plain : str
        Whose they are, and what, in plain words.
    class_name : str
        "tick" along an axis, "pip" in a field of a table.

    Returns
    -------
    Component
        One stop for the keys, from which arrows walk along; what has no film is no control.
    """
    moment = filmed.moment
    rows, has_film = moment.rows(table), filmed.ids(table)
    made: list[Component] = []
    before, reached = "", False
    held = in_order(moment, table, ids)
    for id_ in held:
        row = rows[id_]
        game = moment.game(str(row["game"]))
        first = " first" if before and before != row["game"] else ""
        before = str(row["game"])
        said = f"{plain}, {game.opponent if game else before}, {when(row)}: {came_of(moment, table, row)}"
        classes = f"{class_name} {kind_of(table, row)}{first}"
        if id_ not in has_film:
            made.append(html.I(className=classes, title=f"{said} (no film)"))
            continue
        data: dict[str, Any] = {"data-table": table, "data-ids": id_, "data-what": said}
        keys = -1 if reached else 0
        made.append(html.Button(className=f"plays {classes}", type="button", title=said, tabIndex=keys, **data))
        reached = True
    named: dict[str, Any] = {"aria-label": f"{plain}: {len(held)}, in order", "data-marks": ""}
    return html.Div(made, className=f"{class_name}s", role="group", **named)


def legend(kinds: Iterable[str], words: str, *, class_name: str = "tick") -> Component:
    """What the shapes say.

    Parameters
    ----------
    kinds : iterable of str
        Which of `BECAME` there are.
    words : str
        What a mark is.
    class_name : str
        As for the marks.

    Returns
    -------
    Component
        A line.
    """
    there = set(kinds)
    shapes = [
        html.Span([html.I(className=f"{class_name} {code}"), name]) for code, name in BECAME.items() if code in there
    ]
    return html.Div(
        [html.Span(words), *shapes, html.Span("strong: has film and plays", className="onscreen")],
        className=f"legend {class_name}{'ed' if class_name == 'tick' else 's-key'}",
    )


def kinds_of(moment: Moment, table: str, ids: Sequence[str]) -> set[str]:
    """What some rows became.

    Parameters
    ----------
    moment : Moment
        The season.
    table : str
        Their event table.
    ids : sequence of str
        The rows.

    Returns
    -------
    set of str
        Of `BECAME`.
    """
    rows = moment.rows(table)
    return {kind_of(table, rows[str(id_)]) for id_ in ids}

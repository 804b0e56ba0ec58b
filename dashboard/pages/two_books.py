"""Two books of a game, a line a kind of mark: in order of the film, what stands in both and what in one alone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.names import blank
from dashboard.story import film_time

if TYPE_CHECKING:
    import pandas as pd
    from dash.development.base_component import Component

    from dashboard.loading import Filmed

NAMES = {
    "possessions": "Possessions",
    "runs": "Runs",
    "screens": "Screens",
    "shots": "Shots",
    "turnovers": "Balls lost",
    "faceoffs": "Face-offs",
    "loose_balls": "Loose balls",
    "penalties": "Penalties",
    "whistles": "Whistles",
    "grades": "Grades",
}
ONE = {
    "possessions": "possession",
    "runs": "run",
    "screens": "screen",
    "shots": "shot",
    "turnovers": "ball lost",
    "faceoffs": "face-off",
    "loose_balls": "loose ball",
    "penalties": "penalty",
    "whistles": "whistle",
    "grades": "grade",
}
MOST_BESIDE = 110
"""Marks in one line of a row; what is more stands in a second line below."""


def beside(
    game: str,
    filmed: Filmed,
    rows: Sequence[Mapping[str, Any]],
    books: Sequence[Mapping[str, pd.DataFrame]],
    names: Sequence[str],
) -> list[Component]:
    """The figure.

    Parameters
    ----------
    game : str
        Its id.
    filmed : Filmed
        Which moments have film.
    rows : sequence of mapping
        Rows of `analysis.agreement.marks_agreed` with at least a mark each.
    books : sequence of mapping
        The event tables of both.
    names : sequence of str
        Whose they are.

    Returns
    -------
    list of Component
        A line a kind; each mark plays its moment, whichever book it is of.
    """
    made = []
    most = max((int(row["paired"]) + n_alone(row) for row in rows), default=1)
    for row in rows:
        kind, both, alone = str(row["kind"]), int(row["paired"]), n_alone(row)
        title = NAMES[kind]
        marks = _marks(game, filmed, row, books, names)
        walk: dict[str, Any] = {"data-marks": "", "aria-label": f"{title}, in order of the film"}
        said = f"{both} of {both + alone} in both"
        made.append(
            html.Div(
                [html.B(title), html.Div(marks, className="ticks", role="group", **walk), html.Span(said)],
                className="kind",
            )
        )
    shapes = ((" both", "in both books"), (" one", f"only in {names[0]}’s"), (" other", f"only in {names[1]}’s"))
    keys = [html.Span([html.I(className=f"tick{code}"), words]) for code, words in shapes]
    more = html.Span("strong: has film and plays", className="onscreen")
    legend = html.Div([html.Span("A mark each, in order of the film:"), *keys, more], className="legend ticked")
    style = {"--most": str(min(most, MOST_BESIDE)), "--games": "0"}
    return [html.Div([*made, legend], className="two-books", style=style)] if made else []


def n_alone(row: Mapping[str, Any]) -> int:
    """How many of a kind stand in one book alone.

    Parameters
    ----------
    row : mapping
        Of `analysis.agreement.marks_agreed`.

    Returns
    -------
    int
        Of both books together.
    """
    return len(row["one_only_ids"]) + len(row["other_only_ids"])


def _marks(
    game: str,
    filmed: Filmed,
    row: Mapping[str, Any],
    books: Sequence[Mapping[str, pd.DataFrame]],
    names: Sequence[str],
) -> list[Component]:
    kind = str(row["kind"])
    first, second = (book[kind] for book in books)
    alone = (set(row["one_only_ids"]), set(row["other_only_ids"]))
    there: list[tuple[int, str, str]] = []
    for place, frame in enumerate((first, second)):
        for id_, at in zip(frame["id"].astype(str), frame[_when(frame)], strict=True):
            if blank(at) or (place == 1 and id_ not in alone[1]):
                continue
            code = "both" if id_ not in alone[place] else ("one", "other")[place]
            there.append((int(at), code, "in both books" if code == "both" else f"only in {names[place]}’s book"))
    made: list[Component] = []
    reached = False
    for at_ms, code, words in sorted(there):
        moment, said = f"{game}@{at_ms}", f"{ONE[kind]}, film {film_time(at_ms)}: {words}"
        if not filmed.count("moments", [moment]):
            made.append(html.I(className=f"tick {code}", title=f"{said} (no film)"))
            continue
        data: dict[str, Any] = {"data-table": "moments", "data-ids": moment, "data-what": said}
        keys = -1 if reached else 0
        made.append(html.Button(className=f"plays tick {code}", type="button", title=said, tabIndex=keys, **data))
        reached = True
    return made


def _when(frame: pd.DataFrame) -> str:
    return "at_ms" if "at_ms" in frame else "start_ms"


def moments_of(frame: pd.DataFrame, game: str, ids: Any) -> list[str]:
    """Moments of rows that are in a book that is not counted, so that they play all the same.

    Parameters
    ----------
    frame : DataFrame
        An event table.
    game : str
        The game's id.
    ids : iterable of str
        Of its rows.

    Returns
    -------
    list of str
        As "g1@33000".
    """
    at = dict(zip(frame["id"].astype(str), frame[_when(frame)], strict=True))
    return [f"{game}@{int(at[id_])}" for id_ in ids if not blank(at[id_])]

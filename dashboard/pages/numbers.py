"""Numbers as a reader meets them: as people say them, each a control that plays what it was counted from.

A number all of whose rows have film has a plain underline, one of which only some have it a dotted one. One without
film is plain text: there is nothing behind it to press. What leads to another page looks otherwise.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import pandas as pd
from dash import html

from dashboard.pages import ids

MEANT = (
    "“Plausibly” is a range for the rate behind the count. Over many seasons, ranges like it hold the true rate "
    "about nineteen times in twenty. They allow for games that differ, but not for a set that was kept for some "
    "opponents, nor for what nobody marked. Where a number is of one game, its range is of that game alone."
)

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from dashboard.loading import Filmed


def records(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """The rows of a result table.

    Parameters
    ----------
    frame : DataFrame
        Any.

    Returns
    -------
    list of dict
        Column → value.
    """
    names = [str(name) for name in frame.columns]
    columns = [_values(frame.iloc[:, place]) for place in range(len(names))]
    return [dict(zip(names, row, strict=True)) for row in zip(*columns, strict=True)]


def _values(column: pd.Series) -> list[Any]:
    """A column's, what is unknown as None; pandas goes over its rows by words of Python and takes ten times as long."""
    return [None if value is pd.NA else value for value in column.tolist()]


def plays(
    filmed: Filmed,
    children: Any,
    table: str,
    ids: Sequence[str],
    what: str,
    class_name: str = "",
    *,
    inline: bool = False,
) -> Component:
    """A number, or any words, that plays some rows.

    Parameters
    ----------
    filmed : Filmed
        Which rows have film.
    children : str, number or components
        What is read.
    table : str
        Event table of the rows.
    ids : sequence of str
        The rows that were counted.
    what : str
        What they are, for the line above the film: "Lantern, runs with a shot".
    class_name : str
        Further classes.
    inline : bool
        For whole sentences, which break over lines as a button can't.

    Returns
    -------
    Component
        A button; plain text when none of the rows has film, and why when it is pointed at.
    """
    n_film = filmed.count(table, ids)
    some = "some" if n_film < len(set(ids)) else ""
    classes = " ".join(part for part in ("plays", some, class_name) if part)
    if n_film == 0:
        why = f"{what}: no film of {'it' if len(ids) == 1 else 'them'}" if ids else None
        return html.Span(children, className=class_name or None, title=why)
    said = f"{what}: {n_film} of {len(ids)} {'has' if len(ids) == 1 else 'have'} film"
    data: dict[str, Any] = {"data-table": table, "data-ids": " ".join(ids), "data-what": what}
    if inline:
        return html.Span(children, className=classes, role="button", tabIndex=0, title=said, **data)
    return html.Button(children, className=classes, type="button", title=said, **data)


def count_of(filmed: Filmed, row: Mapping[str, Any], name: str, table: str, what: str) -> Component:
    """A count of a result table.

    Parameters
    ----------
    filmed : Filmed
        Which rows have film.
    row : mapping
        A row of a result table with `<name>` and `<name>_ids`, or with the rate's `<name>_k`.
    name : str
        The count or rate.
    table : str
        Event table of its ids.
    what : str
        What it is.

    Returns
    -------
    Component
        The number.
    """
    value = row[name] if f"{name}_k" not in row else row[f"{name}_k"]
    return plays(filmed, f"{int(value)}", table, row[f"{name}_ids"], what)


def plausibly(lo: float, hi: float) -> str:
    """An interval of a share as people say it.

    Parameters
    ----------
    lo, hi : float
        From 0 to 1.

    Returns
    -------
    str
        As "plausibly 5–36 in 100".
    """
    return f"plausibly {round(lo * 100)}–{round(hi * 100)} in 100"


def meant(page: Sequence[Any]) -> list[Component]:
    """What "plausibly" means, for the foot of a page that says it.

    Parameters
    ----------
    page : sequence of components
        All of the page.

    Returns
    -------
    list of Component
        One paragraph; none where no interval is said.
    """
    return [html.P(MEANT, className="soft below", id=ids.MEANT)] if _says(page) else []


def _says(part: Any) -> bool:
    """Whether a part of a page says an interval."""
    if isinstance(part, str):
        return "plausibl" in part
    if isinstance(part, list | tuple):
        return any(_says(each) for each in part)
    return _says(getattr(part, "children", None) or ())


def rate_words(filmed: Filmed, row: Mapping[str, Any], name: str, table: str, what: str) -> Component:
    """A rate in words: how often of how many, and how sure that is; greyed under the coach's small n.

    Parameters
    ----------
    filmed : Filmed
        Which rows have film.
    row : mapping
        A row of a result table with the rate's columns.
    name : str
        The rate.
    table : str
        Event table of its ids.
    what : str
        What it is.

    Returns
    -------
    Component
        As "3 of 20, plausibly 5–36 in 100".
    """
    k, n = int(row[f"{name}_k"]), int(row[f"{name}_n"])
    if n == 0:
        return html.Span("none to say it from", className="few")
    said = f"{k} of {n}"
    asked = int(row.get(f"{name}_asked", n))
    answered = f"answered in {n} of {asked}" if asked > n else ""
    if bool(row.get(f"{name}_withheld", False)):
        told = f"no rate: {answered or 'answered'}, and more often where there was a shot"
        return html.Span([plays(filmed, said, table, row[f"{name}_ids"], what), html.Small(told)])
    if bool(row[f"{name}_few"]):
        more = [html.Small(answered)] if answered else []
        return html.Span(
            [plays(filmed, said, table, row[f"{name}_ids"], what), " · too few to say", *more], className="few"
        )
    interval = plausibly(float(row[f"{name}_lo"]), float(row[f"{name}_hi"]))
    told = f"{interval}; {answered}" if answered else interval
    return html.Span([plays(filmed, said, table, row[f"{name}_ids"], what), html.Small(told)])


def bar(row: Mapping[str, Any], name: str) -> Component:
    """The estimate and interval of a share, drawn from 0 to 100 in a line.

    Parameters
    ----------
    row : mapping
        A row of a result table with the rate's columns.
    name : str
        The rate.

    Returns
    -------
    Component
        Empty where there is nothing to draw.
    """
    values = [row[f"{name}_lo"], row[name], row[f"{name}_hi"]]
    if any(pd.isna(value) for value in values):
        return html.Span(className="bar none")
    lo, p, hi = (f"{float(value) * 100:.1f}%" for value in values)
    few = " few" if bool(row[f"{name}_few"]) else ""
    said = f"{int(row[f'{name}_k'])} of {int(row[f'{name}_n'])}, {plausibly(float(values[0]), float(values[2]))}"
    name_it: dict[str, Any] = {"aria-label": said}
    style = {"--lo": lo, "--p": p, "--hi": hi}
    return html.Span([html.I(), html.B()], className=f"bar{few}", style=style, role="img", **name_it)


def film_line(filmed: Filmed, table: str, ids: Iterable[str], what: str) -> str:
    """How many of some rows have film, as a sentence.

    Parameters
    ----------
    filmed : Filmed
        Which rows have film.
    table : str
        Theirs.
    ids : iterable of str
        The rows.
    what : str
        What they are, in the plural.

    Returns
    -------
    str
        As "133 of 183 runs have film."
    """
    held = list(ids)
    return f"{filmed.count(table, held)} of {len(held)} {what} have film."


def table(head: Sequence[Any], rows: Iterable[Component], class_name: str = "") -> Component:
    """A table in a frame that scrolls sideways on a narrow screen, rather than the page.

    Parameters
    ----------
    head : sequence of components
        The cells of the heading; none for a table without.
    rows : iterable of Component
        `html.Tr`.
    class_name : str
        Further classes.

    Returns
    -------
    Component
        The frame with the table.
    """
    body = html.Tbody(list(rows))
    made = html.Table([html.Thead(html.Tr(list(head))), body] if head else [body], className=class_name or None)
    name_it: dict[str, Any] = {"aria-label": "table"}
    return html.Div(made, className="frame", tabIndex=0, role="group", **name_it)

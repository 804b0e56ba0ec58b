"""Result tables as a page shows them: a row for each row, its numbers as people say them, each of them playing."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.names import blank
from dashboard.pages.numbers import bar, count_of, plays, rate_words, table

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from dashboard.loading import Filmed

COUNT, SHORT, RATE, WORDS, TEXT, SEVERAL = "count", "short", "rate", "words", "text", "several"
MINUTES, GAMES, MEDIAN = "minutes", "games", "median"


@dataclass(frozen=True)
class Column:
    """One column of numbers.

    Attributes
    ----------
    name : str
        The count's or the rate's.
    title : str
        Over the column.
    kind : str
        "count"; "short": "3 of 20" alone; "words": with what is plausible; "rate": drawn too; "text": as it stands;
        "minutes": a count, in how many minutes, and what is plausible a minute; "games": so many a game; "median": a
        measure in seconds;
        "several": the counts of several rates, whose names `name` holds and whose words `what` holds, with "|" between.
    of : str
        Event table of its ids.
    what : str
        What its rows are, for the line above the film.
    wide : bool
        Left out on a phone.
    """

    name: str
    title: str
    kind: str
    of: str
    what: str
    wide: bool = False


def grid(
    filmed: Filmed,
    rows: Iterable[Mapping[str, Any]],
    named: Callable[[Mapping[str, Any]], Any],
    first: str,
    columns: Sequence[Column],
    *,
    about: Callable[[Mapping[str, Any]], str] | None = None,
    class_name: str = "",
) -> Component:
    """A result table.

    Parameters
    ----------
    filmed : Filmed
        Which rows have film.
    rows : iterable of mapping
        Rows of the result table, in order.
    named : callable
        What a row is called; text, or a link with the text as its children.
    first : str
        Over the names.
    columns : sequence of Column
        Its numbers.
    about : callable, optional
        A second, quiet line under the name.
    class_name : str
        Further classes.

    Returns
    -------
    Component
        In its frame.
    """
    head = [html.Th(first, className="l")]
    for column in columns:
        left = column.kind in (RATE, WORDS, TEXT, MINUTES, GAMES, MEDIAN)
        head.append(
            html.Th(
                column.title,
                className=" ".join(part for part in ("l" if left else "", "wide" if column.wide else "") if part)
                or None,
                colSpan=2 if column.kind == RATE else None,
            )
        )
    made = []
    for row in rows:
        name = named(row)
        plain = str(name if isinstance(name, str) else getattr(name, "children", ""))
        said = about(row) if about else ""
        cells: list[Component] = [html.Th([name, html.Small(said)] if said else name, scope="row")]
        for column in columns:
            cells += _cells(filmed, row, column, plain)
        made.append(html.Tr(cells))
    return table(head, made, f"grid {class_name}".strip())


def _cells(filmed: Filmed, row: Mapping[str, Any], column: Column, name: str) -> list[Component]:
    what = f"{name}, {column.what}"
    wide = "wide" if column.wide else None
    if column.kind == COUNT:
        return [html.Td(count_of(filmed, row, column.name, column.of, what), className=wide)]
    if column.kind == TEXT:
        value = row.get(column.name)
        return [html.Td("" if blank(value) else value, className=f"l {wide or ''}".strip())]
    if column.kind == SEVERAL:
        counts: list[Any] = []
        for each, words in zip(column.name.split("|"), column.what.split("|"), strict=True):
            k = str(int(row[f"{each}_k"])) if int(row[f"{each}_n"]) else "–"
            counts += [" · " if counts else "", plays(filmed, k, column.of, row[f"{each}_ids"], f"{name}, {words}")]
        return [html.Td(counts, className=f"pair {wide or ''}".strip())]
    if column.kind == SHORT:
        return [html.Td(short(filmed, row, column.name, column.of, what), className=f"pair {wide or ''}".strip())]
    if column.kind == MEDIAN:
        return [html.Td(seconds(filmed, row, column.name, column.of, what), className=f"w {wide or ''}".strip())]
    if column.kind == GAMES:
        return [html.Td(a_game(filmed, row, column.name, column.of, what), className=f"w {wide or ''}".strip())]
    if column.kind == MINUTES:
        return [html.Td(a_minute(filmed, row, column.name, column.of, what), className=f"w {wide or ''}".strip())]
    if column.kind == WORDS:
        return [html.Td(rate_words(filmed, row, column.name, column.of, what), className=f"w {wide or ''}".strip())]
    return [
        html.Td(bar(row, column.name), className="drawn"),
        html.Td(rate_words(filmed, row, column.name, column.of, what), className="w"),
    ]


def short(filmed: Filmed, row: Mapping[str, Any], name: str, of: str, what: str) -> Component:
    """A share as its counts alone: "3 of 20", quiet where these are too few.

    Parameters
    ----------
    filmed : Filmed
        Which rows have film.
    row : mapping
        A row of a result table with the rate's columns.
    name : str
        The rate.
    of : str
        Event table of its ids.
    what : str
        What it is.

    Returns
    -------
    Component
        "–" where there is nothing to count.
    """
    k, n = int(row[f"{name}_k"]), int(row[f"{name}_n"])
    if n == 0:
        return html.Span("–", className="few")
    few = "few" if bool(row[f"{name}_few"]) else ""
    return html.Span(
        [plays(filmed, f"{k}", of, row[f"{name}_ids"], what), html.Span(f" of {n}", className="soft")],
        className=few or None,
    )


def a_minute(filmed: Filmed, row: Mapping[str, Any], name: str, of: str, what: str) -> Component:
    """A rate per minute in words: how often in how long, and how sure that is.

    Parameters
    ----------
    filmed : Filmed
        Which rows have film.
    row : mapping
        A row of a result table with the rate's columns, its n in ms.
    name : str
        The rate.
    of : str
        Event table of its ids.
    what : str
        What it is.

    Returns
    -------
    Component
        As "4 in 18:38, plausibly 0.1–0.5 a minute".
    """
    k, whole_s = int(row[f"{name}_k"]), round(int(row[f"{name}_n"]) / 1000)
    if whole_s == 0:
        return html.Span("no time to say it from", className="few")
    said: list[Any] = [plays(filmed, str(k), of, row[f"{name}_ids"], what), f" in {whole_s // 60}:{whole_s % 60:02d}"]
    if bool(row[f"{name}_few"]):
        return html.Span([*said, " · too few to say"], className="few")
    lo, hi = (f"{float(row[f'{name}_{end}']):.1f}" for end in ("lo", "hi"))
    return html.Span([*said, html.Small(f"plausibly {lo}–{hi} a minute")])


def a_game(filmed: Filmed, row: Mapping[str, Any], name: str, of: str, what: str) -> Component:
    """A rate per game in words: how often in how many games, and how sure that is.

    Parameters
    ----------
    filmed : Filmed
        Which rows have film.
    row : mapping
        A row of a result table with the rate's columns, its n in games.
    name : str
        The rate.
    of : str
        Event table of its ids.
    what : str
        What it is.

    Returns
    -------
    Component
        As "13 in 8 games, plausibly 0.9–2.8 a game".
    """
    k, n = int(row[f"{name}_k"]), int(row[f"{name}_n"])
    if n == 0:
        return html.Span("not looked for", className="few")
    said: list[Any] = [plays(filmed, str(k), of, row[f"{name}_ids"], what), f" in {n} game{'' if n == 1 else 's'}"]
    if bool(row[f"{name}_few"]):
        return html.Span([*said, html.Small("too few to say")], className="few")
    lo, hi = (f"{float(row[f'{name}_{end}']):.1f}" for end in ("lo", "hi"))
    return html.Span([*said, html.Small(f"plausibly {lo}–{hi} a game")])


def seconds(filmed: Filmed, row: Mapping[str, Any], name: str, of: str, what: str) -> Component:
    """A median in words: in seconds, how sure it is, and of how many.

    Parameters
    ----------
    filmed : Filmed
        Which rows have film.
    row : mapping
        A row of a result table with the measure's columns.
    name : str
        The measure.
    of : str
        Event table of its ids.
    what : str
        What it is.

    Returns
    -------
    Component
        As "9.8 s, plausibly 9.5–10.3 s, of 136".
    """
    n = int(row[f"{name}_n"])
    if n == 0:
        return html.Span("–", className="few")
    said = plays(filmed, f"{float(row[name]):.1f} s", of, row[f"{name}_ids"], what)
    if bool(row[f"{name}_few"]) or blank(row[f"{name}_lo"]):
        return html.Span([said, html.Small(f"of {n} · too few to say")], className="few")
    lo, hi = (f"{float(row[f'{name}_{end}']):.1f}" for end in ("lo", "hi"))
    return html.Span([said, html.Small(f"plausibly {lo}–{hi} s, of {n}")])


def contents(parts: Sequence[tuple[str, str]]) -> Component:
    """What stands on a page, in one line of links.

    Parameters
    ----------
    parts : sequence of (str, str)
        Id of a heading, and what it is called here.

    Returns
    -------
    Component
        Links within the page.
    """
    made: list[Any] = []
    for place, (id_, name) in enumerate(parts):
        made += [" · " if place else "", html.A(name, href=f"#{id_}")]
    return html.P(["On this page: ", *made], className="contents soft")

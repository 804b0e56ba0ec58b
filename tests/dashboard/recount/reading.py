"""A page as its reader meets it: every number that plays, with the heading, the column and the row it stands under."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from dash import dcc, html
from dash.development.base_component import Component

from dashboard.loading import Filmed, Present


class AllFilmed(Filmed):
    """As if every row had film, and nothing had some too: each number is a control then, a zero as well."""

    def ids(self, table: str) -> frozenset[str]:
        """All rows of a table."""
        return frozenset(self.moment.rows(table))

    def count(self, table: str, ids: Any) -> int:
        """One where there is nothing."""
        return len(list(ids)) or 1


class FilmedPresent(Present):
    """The season with film of everything."""

    def filmed(self) -> Filmed:
        """See `AllFilmed`."""
        moment = self.now()
        return AllFilmed(moment, {game.id: () for game in moment.games})


@dataclass(frozen=True)
class Control:
    """A number that plays.

    Attributes
    ----------
    under : tuple of str
        The page's headings above it: of the page, of its part, of what is folded.
    head, column, row, about : str
        What stands over its table's first column, over its own, at the head of its row, and quietly under that; ""
        outside a table.
    what : str
        The line above its film.
    text : str
        What is read.
    beside : str
        All that stands in its cell or its sentence.
    table : str
        Event table of its ids.
    ids : tuple of str
        The rows it plays.
    """

    under: tuple[str, ...]
    head: str
    column: str
    row: str
    about: str
    what: str
    text: str
    beside: str
    table: str
    ids: tuple[str, ...]

    def __str__(self) -> str:
        where = " / ".join(part for part in (*self.under, self.row, self.column) if part)
        return f"{where}: “{self.text}” ({self.what})"


@dataclass
class _Place:
    heading: str = ""
    part: str = ""
    small: str = ""
    folded: list[str] = field(default_factory=list)
    row: str = ""
    about: str = ""
    head: str = ""
    column: str = ""
    beside: str = ""

    def under(self) -> tuple[str, ...]:
        return tuple(part for part in (self.heading, self.part, self.small, *self.folded) if part)


def words(part: Any) -> str:
    """All that can be read in a part of a page, one space between."""
    return " ".join(_words(part).split())


def _words(part: Any) -> str:
    if part is None:
        return ""
    if isinstance(part, list | tuple):
        return "".join(_words(each) for each in part)
    if not isinstance(part, Component):
        return str(part)
    inside = _words(getattr(part, "children", None))
    return inside if isinstance(part, html.Span | html.B | html.Button | dcc.Link | html.A) else f" {inside} "


def controls(parts: Sequence[Component]) -> list[Control]:
    """All numbers of a page that play, the marks of its figures among them."""
    return list(_walk(list(parts), _Place()))


def _walk(part: Any, at: _Place) -> Iterator[Control]:
    if isinstance(part, list | tuple):
        for each in part:
            yield from _walk(each, at)
        return
    if not isinstance(part, Component):
        return
    if isinstance(part, html.Table):
        yield from _table(part, at)
    elif "plays" in str(getattr(part, "className", "")).split() and hasattr(part, "data-ids"):
        yield _control(part, at)
    else:
        _headed(part, at)
        if isinstance(part, html.Details):
            yield from _folded(part, at)
        else:
            own = isinstance(part, html.P | html.Li | html.B | html.Div) and not at.row
            before, at.beside = at.beside, words(part) if own else at.beside
            yield from _walk(getattr(part, "children", None), at)
            at.beside = before


def _headed(part: Component, at: _Place) -> None:
    if isinstance(part, html.H1):
        at.heading, at.part, at.small = words(part), "", ""
    elif isinstance(part, html.H2):
        at.part, at.small = words(part), ""
    elif isinstance(part, html.H3):
        at.small = words(part)


def _folded(part: Component, at: _Place) -> Iterator[Control]:
    inside = list(part.children) if isinstance(part.children, list | tuple) else [part.children]
    summary = next((each.children for each in inside if isinstance(each, html.Summary)), "")
    said = summary if isinstance(summary, list | tuple) else [summary]
    for each in said:
        _headed(each, at)  # a fold's heading is a heading
    title = words([each for each in said if not isinstance(each, html.H2)])
    at.folded.append(title)
    yield from _walk([each for each in inside if not isinstance(each, html.Summary)], at)
    at.folded.pop()


def _control(part: Component, at: _Place) -> Control:
    data: Mapping[str, Any] = part.to_plotly_json()["props"]
    return Control(
        at.under(),
        head=at.head,
        column=at.column,
        row=at.row,
        about=at.about,
        what=data["data-what"],
        text=words(part),
        beside=at.beside,
        table=data["data-table"],
        ids=tuple(data["data-ids"].split()),
    )


def _table(made: html.Table, at: _Place) -> Iterator[Control]:
    heads: list[list[str]] = []
    for part in made.children:
        rows = part.children if isinstance(part.children, list | tuple) else [part.children]
        if isinstance(part, html.Thead):
            heads = [_titles(row) for row in rows]
            continue
        for row in rows:
            place = 0
            heads_of = [cell for cell in row.children if isinstance(cell, html.Th)]
            at.row, at.about = (" ".join(_split(cell)[loud] for cell in heads_of) for loud in (0, 1))
            for cell in row.children:
                titles = [titles[place] for titles in heads if place < len(titles)]
                at.head = heads[-1][0] if heads else ""
                at.column, at.beside = " ".join(title for title in titles if title), words(cell)
                yield from _walk(cell.children, at)
                place += int(getattr(cell, "colSpan", None) or 1)
            at.row = at.about = at.head = at.column = at.beside = ""


def _titles(row: html.Tr) -> list[str]:
    made: list[str] = []
    for cell in row.children:
        made += [words(cell)] * int(getattr(cell, "colSpan", None) or 1)
    return made


def _split(cell: html.Th) -> tuple[str, str]:
    """The head of a row in two: what it is called, and what stands quietly under it."""
    inside = cell.children if isinstance(cell.children, list | tuple) else [cell.children]
    quiet = [part for part in inside if isinstance(part, html.Small)]
    return words([part for part in inside if part not in quiet]), words(quiet)


def prose(parts: Sequence[Component]) -> list[str]:
    """Sentences, headings and captions outside tables, without the numbers in them that play."""
    return [text for text in _prose(list(parts)) if text]


def _prose(part: Any) -> Iterator[str]:
    if isinstance(part, list | tuple):
        for each in part:
            yield from _prose(each)
    elif isinstance(part, html.P | html.H3 | html.Summary | html.Small) or getattr(part, "className", "") == "verdict":
        yield words(_silent(part))
    elif isinstance(part, Component) and not isinstance(part, html.Table | html.Form):
        choices = "filter" in str(getattr(part, "className", "")).split()
        yield from _prose(None if choices else getattr(part, "children", None))


def _silent(part: Any) -> Any:
    if isinstance(part, list | tuple):
        return [_silent(each) for each in part]
    if not isinstance(part, Component):
        return part
    if "plays" in str(getattr(part, "className", "")).split():
        return ""
    return html.Span(_silent(getattr(part, "children", None)))

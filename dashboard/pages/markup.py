"""Plain parts of a page as text: what never changes after it is shown needs no component of its own.

Dash's renderer keeps a watch over every component, each of which looks at all others' news: a game of 150 possessions,
some 3,000 components, took it 20 s to show. As one text the same page takes a twentieth of a second. All that people
wrote is escaped; no component here holds markup.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from html import escape
from typing import Any

from dash import dcc, html
from dash.development.base_component import Component

_NAMES = {
    "className": "class",
    "maxLength": "maxlength",
    "colSpan": "colspan",
    "tabIndex": "tabindex",
    "rowSpan": "rowspan",
}
_VOID = frozenset({"br", "hr", "img", "input"})
_PLAIN = "dash_html_components"
_NOT_SAID = ("_", "available_", "children")
"""What a component keeps beside what it was given; asked of Dash itself, this was half the time a page takes."""


def is_plain(part: Any) -> bool:
    """Whether a part of a page can be text: only elements and links, all the way down.

    Parameters
    ----------
    part : component, text, number, list or None
        The part.

    Returns
    -------
    bool
        False where something in it lives, as a figure does.
    """
    if isinstance(part, list | tuple):
        return all(is_plain(each) for each in part)
    if not isinstance(part, Component):
        return True
    return (part._namespace == _PLAIN or isinstance(part, dcc.Link)) and is_plain(getattr(part, "children", None))


def _same(href: str) -> str:
    return href


def markup(part: Any, way: Callable[[str], str] = _same) -> str:
    """A plain part as HTML.

    Parameters
    ----------
    part : component, text, number, list or None
        The part; see `is_plain`.
    way : callable
        Where a link to another page leads, by the address it has.

    Returns
    -------
    str
        HTML, every text and every value in it escaped.

    Examples
    --------
    >>> markup(html.B(["1 < 2", None]))
    '<b>1 &lt; 2</b>'
    """
    if part is None or isinstance(part, bool):
        return ""
    if isinstance(part, list | tuple):
        return "".join(markup(each, way) for each in part)
    if not isinstance(part, Component):
        return escape(str(part), quote=False)
    tag = "a" if isinstance(part, dcc.Link) else str(part._type).lower()
    values = {name: value for name, value in vars(part).items() if not name.startswith(_NOT_SAID)}
    if isinstance(part, dcc.Link):
        values |= {"data-way": "", "href": way(values["href"])}
    head = f"<{tag}{''.join(_attribute(name, value) for name, value in values.items())}>"
    return head if tag in _VOID else f"{head}{markup(getattr(part, 'children', None), way)}</{tag}>"


def settled(parts: Iterable[Component], way: Callable[[str], str] = _same) -> list[Component]:
    """A page with its plain parts as text.

    Parameters
    ----------
    parts : iterable of Component
        What a page function gives.
    way : callable
        Where its links lead, by the address they have.

    Returns
    -------
    list of Component
        Neighbouring plain parts are one element that carries its HTML in `data-html`; the page's script puts it in.
    """
    made: list[Component] = []
    held: list[Component] = []

    def put() -> None:
        if held:
            data: dict[str, Any] = {"data-html": markup(held, way)}
            made.append(html.Div(className="plain", **data))
            held.clear()

    for part in parts:
        if is_plain(part):
            held.append(part)
        else:
            put()
            made.append(part)
    put()
    return made


def _attribute(name: str, value: Any) -> str:
    if value is None or value is False:
        return ""
    if isinstance(value, Mapping):
        value = ";".join(f"{_css(each)}:{escape(str(setting))}" for each, setting in value.items())
    plain = _NAMES.get(name, name)
    return f" {plain}" if value is True else f' {plain}="{escape(str(value))}"'


def _css(name: str) -> str:
    return name if name.startswith("--") else "".join(f"-{each.lower()}" if each.isupper() else each for each in name)

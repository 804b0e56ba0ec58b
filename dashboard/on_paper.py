"""A page as a sheet of paper has it: nothing to press, nothing to choose, and of what is folded away its answer."""

from __future__ import annotations

from typing import Any

from dash import dcc, html
from dash.development.base_component import Component

from dashboard.pages.drawing import Drawn

_LEFT_OUT = frozenset({"onscreen", "filter", "contents", "ways", "books", "more"})
"""What needs the program, or leads about in it."""


def on_paper(part: Any) -> Any:
    """A part of a page without what needs the program.

    Parameters
    ----------
    part : component, text, number, list or None
        The part.

    Returns
    -------
    component, text, list or None
        None where nothing of it is left.
    """
    if isinstance(part, list | tuple):
        return [made for each in part if (made := on_paper(each)) is not None]
    if not isinstance(part, Component):
        return part
    classes = set(str(getattr(part, "className", None) or "").split())
    if classes & _LEFT_OUT or isinstance(part, html.Form | dcc.Graph):
        return None
    if isinstance(part, html.Details) and "fold" in classes:
        return _folded(part, classes)
    inside = on_paper(getattr(part, "children", None))
    if isinstance(part, Drawn):
        return part.on_paper(inside)
    if isinstance(part, dcc.Link | html.A | html.Button) or "plays" in classes:
        return html.Span(inside)
    kept = {name: value for name, value in part.to_plotly_json()["props"].items() if name not in ("children", "id")}
    if isinstance(part, html.Details):
        kept["open"] = True
    kind: Any = type(part)
    return kind(inside, **kept)


def _folded(part: html.Details, classes: set[str]) -> Component | None:
    """What is folded away, whole or as its question and answer; nothing where the question has no answer beside it."""
    summary, *inside = part.children
    title, *answer = summary.children
    if "printed" in classes:
        return html.Div([html.H2(title.children), *on_paper(inside)], className="unfolded")
    if not answer or "no-answer" in classes:
        return None
    return html.P([html.B(title.children), " ", *(on_paper(each.children) for each in answer)], className="in-short")

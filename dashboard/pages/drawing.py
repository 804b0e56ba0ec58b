"""Figures drawn as SVG, in the colours of the page they stand on: print and forced colours keep every mark.

Elements of a drawing are components like those of a page, so that they become text with it, and go into a report.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from dash import html

if TYPE_CHECKING:
    from dashboard.loading import Filmed

SHAPES: dict[str, tuple[str, dict[str, Any]]] = {
    "dot": ("circle", {"r": 4.5}),
    "ring": ("circle", {"r": 4.3}),
    "triangle": ("path", {"d": "M0-4.8L4.8 3.8H-4.8Z"}),
    "turned": ("path", {"d": "M0 4.8L4.8-3.8H-4.8Z"}),
    "target": (
        "path",
        {"d": "M-4.3 0a4.3 4.3 0 1 0 8.6 0a4.3 4.3 0 1 0-8.6 0M-.9 0a.9 .9 0 1 0 1.8 0a.9 .9 0 1 0-1.8 0"},
    ),
    "diamond": ("path", {"d": "M0-3.4L3.4 0L0 3.4L-3.4 0Z"}),
    "cross": ("path", {"d": "M-3.4-3.4L3.4 3.4M3.4-3.4L-3.4 3.4"}),
    "square": ("rect", {"x": -3.8, "y": -3.8, "width": 7.6, "height": 7.6}),
    "bar": ("path", {"d": "M0-5V5"}),
}
"""How each shape is drawn around its middle, in px: those of the vocabulary's endings, and what shots need besides."""


class Drawn(html.Div):
    """One element of a drawing.

    Parameters
    ----------
    tag : str
        As "rect".
    inside : component, text or list, optional
        What it holds.
    **attributes : any
        The element's own, `className` for its class.
    """

    def __init__(self, tag: str, inside: Any = None, /, **attributes: Any) -> None:
        super().__init__(inside)
        self._type = tag
        self._prop_names = ["children", *attributes]
        for name, value in attributes.items():
            setattr(self, name, value)

    def on_paper(self, inside: Any) -> Drawn:
        """The same where nothing can be pressed.

        Parameters
        ----------
        inside : component, text or list
            What it holds there.

        Returns
        -------
        Drawn
            Without what only a program needs.
        """
        kept = {
            name: getattr(self, name)
            for name in self._prop_names[1:]
            if not name.startswith(("data-", "role", "tabIndex", "aria-label"))
        }
        return Drawn(self._type, inside, **kept)


def shape(code: str, x: float | str = 0, y: float | str = 0) -> Drawn:
    """A shape with its middle somewhere.

    Parameters
    ----------
    code : str
        One of `SHAPES`.
    x, y : float or str
        In px, or as "12.5%".

    Returns
    -------
    Drawn
        A drawing in the drawing, so that it keeps its size whatever the figure's width is.
    """
    tag, attributes = SHAPES[code]
    inside = Drawn(tag, None, className=f"shape {code}", **attributes)
    return Drawn("svg", inside, x=x, y=y, overflow="visible", **{"aria-hidden": "true"})


def key_of(code: str) -> Drawn:
    """A shape for a legend.

    Parameters
    ----------
    code : str
        One of `SHAPES`.

    Returns
    -------
    Drawn
        As tall as a letter.
    """
    return Drawn("svg", shape(code, 7, 7), className="drawing key", width=14, height=14, **{"aria-hidden": "true"})


def mark(
    filmed: Filmed,
    inside: Any,
    table: str,
    ids: Sequence[str],
    what: str,
    class_name: str = "",
    *,
    tells: bool = False,
    **data: Any,
) -> Drawn:
    """A mark of a figure: a control that plays its rows, with a name for who does not see it.

    Parameters
    ----------
    filmed : Filmed
        Which rows have film.
    inside : components
        What is drawn.
    table : str
        Event table of the rows.
    ids : sequence of str
        The rows that it stands for.
    what : str
        What they are, for the line above the film.
    class_name : str
        Further classes.
    tells : bool
        Whether it can be pressed without film too, since the page then tells what happened.
    **data : any
        Further attributes.

    Returns
    -------
    Drawn
        Of the class `unfilmed`, and not to be pressed unless it tells, where none of its rows has film.
    """
    n_film = filmed.count(table, ids)
    held = inside if isinstance(inside, list) else [inside]
    if n_film == 0:
        said = f"{what} (no film)"
        classes = f"mark unfilmed {class_name}".strip()
        if tells:
            data |= {"role": "button", "tabIndex": -1, "aria-label": said}
        return Drawn("g", [Drawn("title", said), *held], className=classes, **data)
    about = what if n_film == len(ids) else f"{what}: {n_film} of {len(ids)} have film"
    names = {"role": "button", "tabIndex": -1, "aria-label": about}
    asked = {"data-table": table, "data-ids": " ".join(ids), "data-what": what}
    classes = f"mark plays {class_name}".strip()
    return Drawn("g", [Drawn("title", about), *held], className=classes, **names, **asked, **data)


def first_in_reach(marks: Sequence[Drawn]) -> None:
    """Let the first mark of a row be come to by Tab; arrows lead on from it.

    Parameters
    ----------
    marks : sequence of Drawn
        In order.
    """
    for each in marks:
        if getattr(each, "role", None) == "button":
            setattr(each, "tabIndex", 0)  # noqa: B010  an attribute of the element, which no type knows
            return

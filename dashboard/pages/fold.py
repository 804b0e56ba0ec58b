"""What is folded away on a page, under a title that is a question with its answer.

A page says its verdict, one figure, one table; each further part of it is

    fold("How soon?", "the median shot comes after 7.4 s", [table], "soon")

On paper its title and answer stand as a line, all of it where it is `printed`, and nothing where what stands beside the
title is `no_answer` but says what lies inside. It opens by itself where a link leads to its `id_`, and what a reader
opened stands in the address (`assets/moving.js`). Its look is in `assets/figures.css`. A recount knows what is in it
under the title alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from dash import html

if TYPE_CHECKING:
    from dash.development.base_component import Component


def fold(
    title: str, answer: str, inside: Sequence[Component], id_: str, *, printed: bool = False, no_answer: bool = False
) -> Component:
    """A part of a page that opens on a click, and stays open in the page's address.

    Parameters
    ----------
    title : str
        As a question.
    answer : str
        What it comes to, read without opening; empty where it takes a table to say.
    inside : sequence of Component
        What is folded away.
    id_ : str
        Of its title, for links.
    printed : bool
        Whether what is folded away stands on a report's sheet.
    no_answer : bool
        Whether `answer` only says what lies inside.

    Returns
    -------
    Component
        Closed.
    """
    kinds = ["fold", *(["printed"] if printed else []), *(["no-answer"] if no_answer else [])]
    said = [html.Span(answer, className="soft")] if answer else []
    return html.Details([html.Summary([html.H2(title, id=id_), *said]), *inside], className=" ".join(kinds))

"""Where a set's runs go, as bands as wide as their runs: who came free of the screens, which look, what it became.

Each band and each end of one is a control that plays its runs.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.axis import FATES
from dashboard.pages.drawing import Drawn, first_in_reach, mark
from dashboard.pages.names import blank, free_name, look_name
from dashboard.pages.numbers import plays, records

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.slice import Slice
    from dashboard.loading import Filmed
    from dashboard.moment import Moment

TITLE = "Where do its runs go?"
HEADS = ("Came free", "Look", "What it became")
FREED = ("user", "setter", "third_man")
_FREE_IN_ORDER = (*FREED, "nobody", "unseen", "no_screen", "not_looked_for")
_SHOTS = ("goal", "saved", "missed", "shot")
_TALL_PX, _LEAST_PX, _APART_PX, _MOST_PX = 300, 22, 3, 9
"""All runs one upon the other; room for a line of words; between two; one run."""


@dataclass
class _Node:
    """What some runs have in common."""

    code: str | None
    name: str
    ids: list[str] = field(default_factory=list)
    top: float = 0.0
    slot: float = 0.0
    tall: float = 0.0
    used: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class _Way:
    """What one run went through."""

    id: str
    free: str | None
    look: str | None
    fate: str


def bands(moment: Moment, filmed: Filmed, part: Slice, play: str, became: Mapping[str, str]) -> list[Component]:
    """The figure.

    Parameters
    ----------
    moment, filmed
        The season, and which rows have film.
    part : Slice
        What is looked at: one set.
    play : str
        The set's code.
    became : mapping of str to str
        Run's id → one of `axis.FATES`, in order of play.

    Returns
    -------
    list of Component
        A sentence and the figure; what to mark where neither screens nor looks are.
    """
    from analysis.looks import flow

    place = {id_: at for at, id_ in enumerate(became)}
    ways = [
        _Way(str(id_), _said(row["free"]), _said(row["look"]), became[str(id_)])
        for row in records(flow(moment.tables, part))
        for id_ in row["runs_ids"]
    ]
    ways.sort(key=lambda way: place[way.id])
    if not any(way.free in (*FREED, "nobody") or way.look not in (None, "unseen") for way in ways):
        said = "Neither who came free of a screen nor which look it was is marked in these runs; both make this figure."
        return [html.P(said)]
    columns = (
        _nodes(ways, "free", _FREE_IN_ORDER, lambda code: free_name(moment, code)),
        _nodes(ways, "look", _looks(moment, play), lambda code: look_name(moment, play, code)),
        _nodes(ways, "fate", tuple(FATES), lambda code: FATES[str(code)]),
    )
    tall = max(_put(column, len(ways)) for column in columns)
    between = [_between(filmed, ways, columns[at], columns[at + 1], HEADS[at : at + 2], tall) for at in (0, 1)]
    drawn: list[Component] = []
    for at, column in enumerate(columns):
        drawn.append(_labels(filmed, column, HEADS[at], at))
        drawn += between[at : at + 1]
    heads = [html.Span(head, className=f"head at{at}") for at, head in enumerate(HEADS)]
    scrolls: dict[str, Any] = {"aria-label": TITLE, "role": "region"}
    return [
        html.P(
            [
                f"{len(ways)} runs, as wide as they are many",
                html.Span("; press a band or a word", className="onscreen"),
                ". Blue to the left: somebody came free; blue to the right: a shot.",
            ],
            className="lede",
        ),
        html.Div(
            [html.Div(heads, className="heads"), html.Div(drawn, className="bands", style={"height": f"{tall:.0f}px"})],
            className="frame flows",
            tabIndex=0,
            **scrolls,
        ),
    ]


def _said(value: Any) -> str | None:
    return None if blank(value) else str(value)


def _looks(moment: Moment, play: str) -> tuple[str, ...]:
    held = moment.playbook.by_code.get(play)
    return (*(look.code for look in held.looks), "none", "unseen") if held else ("none", "unseen")


def _nodes(ways: Sequence[_Way], what: str, order: Sequence[str], named: Any) -> list[_Node]:
    """The runs by one answer, in a fixed order; answers that nobody knows any more and none at all come last."""
    found: dict[str | None, _Node] = {}
    for way in ways:
        code = getattr(way, what)
        found.setdefault(code, _Node(code, named(code))).ids.append(way.id)
    last = len(order)
    return sorted(
        found.values(),
        key=lambda node: (node.code is None, order.index(node.code) if node.code in order else last, node.name),
    )


def _put(column: Sequence[_Node], n: int) -> float:
    """Give each of a column its place; how tall the column is."""
    scale, top = min(_MOST_PX, _TALL_PX / max(n, 1)), 0.0
    for node in column:
        node.tall = max(len(node.ids) * scale, 1.5)
        node.slot = max(node.tall, _LEAST_PX)
        node.top = top + (node.slot - node.tall) / 2
        top += node.slot + _APART_PX
    return top


def _labels(filmed: Filmed, column: Sequence[_Node], head: str, at: int) -> Component:
    made = []
    for node in column:
        what = f"{head}: {node.name}"
        said: list[Any] = [html.Span(node.name), " ", html.B(str(len(node.ids)))]
        words = plays(filmed, said if at == 0 else said[::-1], "runs", node.ids, what, "node")
        middle = node.top + node.tall / 2
        bar = {"top": f"{node.top:.1f}px", "height": f"{node.tall:.1f}px"}
        made += [
            html.I(style=bar),
            html.Div(words, className="named", style={"top": f"{middle - _LEAST_PX / 2:.1f}px"}),
        ]
    return html.Div(made, className=f"labels at{at}")


def _between(
    filmed: Filmed,
    ways: Sequence[_Way],
    left: Sequence[_Node],
    right: Sequence[_Node],
    heads: Sequence[str],
    tall: float,
) -> Drawn:
    """The bands between two columns, each as wide as its runs at both ends."""
    names = ("free", "look") if heads[0] == HEADS[0] else ("look", "fate")
    marks = []
    for one in left:
        for other in right:
            ids = [
                way.id for way in ways if getattr(way, names[0]) == one.code and getattr(way, names[1]) == other.code
            ]
            if not ids:
                continue
            what = f"{heads[0]}: {one.name} → {heads[1]}: {other.name}"
            ends = [
                (node, node.top + node.used.get(side, 0.0), node.tall * len(ids) / len(node.ids))
                for node, side in ((one, "out"), (other, "in"))
            ]
            for (node, _, wide), side in zip(ends, ("out", "in"), strict=True):
                node.used[side] = node.used.get(side, 0.0) + wide
            strong = one.code in FREED if names[0] == "free" else other.code in _SHOTS
            path = Drawn("path", None, d=_band(ends[0][1:], ends[1][1:]))
            marks.append(mark(filmed, path, "runs", ids, what, "band strong" if strong else "band"))
    first_in_reach(marks)
    made = {"viewBox": f"0 0 100 {tall:.0f}", "preserveAspectRatio": "none", "data-walk": ""}
    return Drawn("svg", marks, className="drawing between", **made)


def _band(one: tuple[float, float], other: tuple[float, float]) -> str:
    """A band's outline: from its top and width at the left to those at the right."""
    (top, wide), (to, narrow) = one, other
    return (
        f"M0 {top:.1f}C50 {top:.1f} 50 {to:.1f} 100 {to:.1f}V{to + narrow:.1f}"
        f"C50 {to + narrow:.1f} 50 {top + wide:.1f} 0 {top + wide:.1f}Z"
    )

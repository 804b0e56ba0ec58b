"""Figures: pure functions from result tables to what is drawn. A clicked point plays what it was counted from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import plotly.graph_objects as go

FONT = "Atkinson Hyperlegible, system-ui, sans-serif"
INK, SOFT, LINE = "#1D2224", "#565F62", "#DDD8CB"
SIDES = (("left", "triangle-left", "#0072B2", -0.16), ("right", "triangle-right", "#D55E00", 0.16))
_ROW_PX = 54
_FEW_OPACITY = 0.4


def by_side(rows: Sequence[Mapping[str, Any]], names: Mapping[str, str], rate: str, what: str) -> go.Figure:
    """A rate of each set to the left and to the right, with intervals.

    Parameters
    ----------
    rows : sequence of mapping
        Rows of `analysis.sets.sets(by_side=True)` that have a set.
    names : mapping of str to str
        Set code → name, in the order from top to bottom.
    rate : str
        The rate, as "shot".
    what : str
        What its ids are, as "runs with a shot".

    Returns
    -------
    Figure
        A trace a side; each point's `customdata` is {table, ids, what}; few are drawn faintly.
    """
    import plotly.graph_objects as go

    places = {code: len(names) - 1 - place for place, code in enumerate(names)}
    figure = go.Figure()
    for side, shape, colour, apart in SIDES:
        those = [row for row in rows if row["side"] == side and row["set"] in places and int(row[f"{rate}_n"]) > 0]
        for few in (False, True):
            part = [row for row in those if bool(row[f"{rate}_few"]) is few]
            if part or not few:
                y = [places[row["set"]] - apart for row in part]
                figure.add_trace(
                    _points(part, y, names, rate=rate, what=what, side=side, shape=shape, colour=colour, few=few)
                )
    figure.update_layout(
        height=_ROW_PX * max(len(names), 1) + 90,
        margin={"l": 0, "r": 20, "t": 36, "b": 36},
        paper_bgcolor="rgba(0,0,0,0)",
        plot_bgcolor="rgba(0,0,0,0)",
        font={"family": FONT, "size": 15, "color": INK},
        legend={"orientation": "h", "x": 0, "y": 1, "yanchor": "bottom", "font": {"size": 13}},
        hoverlabel={"bgcolor": "#FFFFFF", "bordercolor": LINE, "font": {"family": FONT, "color": INK}},
        dragmode=False,
        showlegend=True,
    )
    figure.update_xaxes(
        range=[-0.02, 1.02],
        tickvals=[0, 0.25, 0.5, 0.75, 1],
        ticktext=["0", "25", "50", "75", "100"],
        gridcolor=LINE,
        zeroline=False,
        fixedrange=True,
        tickfont={"size": 13, "color": SOFT},
    )
    figure.update_yaxes(
        range=[-0.6, max(len(names), 1) - 0.4],
        tickvals=list(places.values()),
        ticktext=[names[code] for code in places],
        showgrid=False,
        zeroline=False,
        fixedrange=True,
        automargin=True,
    )
    return figure


def _points(
    rows: Sequence[Mapping[str, Any]],
    y: Sequence[float],
    names: Mapping[str, str],
    *,
    rate: str,
    what: str,
    side: str,
    shape: str,
    colour: str,
    few: bool,
) -> go.Scatter:
    import plotly.graph_objects as go

    x = [float(row[rate]) for row in rows]
    return go.Scatter(
        x=x,
        y=y,
        mode="markers",
        name=f"to the {side}",
        legendgroup=side,
        showlegend=not few,
        opacity=_FEW_OPACITY if few else 1.0,
        marker={"symbol": shape, "size": 13, "color": colour},
        error_x={
            "type": "data",
            "symmetric": False,
            "array": [float(row[f"{rate}_hi"]) - at for row, at in zip(rows, x, strict=True)],
            "arrayminus": [at - float(row[f"{rate}_lo"]) for row, at in zip(rows, x, strict=True)],
            "color": _faint(colour) if few else colour,
            "thickness": 2,
            "width": 0,
        },
        customdata=[
            {"table": "runs", "ids": " ".join(row[f"{rate}_ids"]), "what": f"{names[row['set']]} to the {side}, {what}"}
            for row in rows
        ],
        hovertext=[_said(row, rate, names[row["set"]], side) for row in rows],
        hoverinfo="text",
    )


def _faint(colour: str) -> str:
    red, green, blue = (int(colour[at : at + 2], 16) for at in (1, 3, 5))
    return f"rgba({red},{green},{blue},{_FEW_OPACITY})"


def _said(row: Mapping[str, Any], rate: str, name: str, side: str) -> str:
    lo, hi = round(float(row[f"{rate}_lo"]) * 100), round(float(row[f"{rate}_hi"]) * 100)
    few = ", too few to say" if row[f"{rate}_few"] else ""
    return f"{name} to the {side}: {row[f'{rate}_k']} of {row[f'{rate}_n']}, plausibly {lo}–{hi} in 100{few}"

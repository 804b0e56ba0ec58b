"""Shots on the half floor: each at its place, as what it came to; those without a place in a row of their own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.drawing import Drawn, first_in_reach, key_of, mark, shape
from dashboard.pages.filters import WHERE, options, picked, slice_of
from dashboard.pages.fold import fold
from dashboard.pages.half_floor import LANES, SHAPE_WORDS, half_floor, shape_of
from dashboard.pages.names import blank
from dashboard.pages.names import key_of as key_that_marks
from dashboard.pages.numbers import count_of, plays, records
from dashboard.pages.shot_worth import worth
from dashboard.story import happened, when
from tagger.floor.rules import floor_rules

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.slice import Slice
    from dashboard.loading import Filmed, Present
    from dashboard.moment import Moment

FILTER = ("Showing ", *WHERE, ", ", "{strength}", ".")
PACKED_PX = 18
WHO = {"ours": "Ours", "theirs": "Theirs"}


def page(present: Present, of: str, chosen: Mapping[str, str]) -> list[Component]:
    """The page of our shots.

    Parameters
    ----------
    present : Present
        The season.
    of
        Not asked.
    chosen : mapping of str to str
        What part of the season.

    Returns
    -------
    list of Component
        The page.
    """
    moment, filmed = present.now(), present.filmed()
    if not moment.rows("shots"):
        return [html.H1("Where do we shoot from?"), *none_tagged(moment)]
    part, rows = shown(moment, chosen, "ours")
    fields = field_by_field(moment, filmed, part, "ours")
    return [
        html.H1(verdict(filmed, rows, "ours")),
        *figure_of(moment, filmed, rows, chosen, "ours"),
        fold("From which field?", "goals of shots, field by field", fields, "place", no_answer=True),
        fold(
            "What were the shots worth?",
            "our shooters beside what such shots bring",
            worth(moment, filmed, part),
            "worth",
            no_answer=True,
        ),
    ]


def none_tagged(moment: Moment) -> list[Component]:
    """What is said before the first shot.

    Parameters
    ----------
    moment : Moment
        The season.

    Returns
    -------
    list of Component
        What to do.
    """
    key = key_that_marks(moment, "shot")
    return [html.P(f"No shot is tagged yet. {key} marks one; its result is asked first, then its place.")]


def shown(moment: Moment, chosen: Mapping[str, str], team: str) -> tuple[Slice, list[dict[str, Any]]]:
    """What part of the season is shown, and a team's shots in it.

    Parameters
    ----------
    moment : Moment
        The season.
    chosen : mapping of str to str
        From the address.
    team : str
        "ours" or "theirs".

    Returns
    -------
    tuple of Slice and list of dict
        The slice holds both teams; the shots are rows in order of play, dumped and waved off ones not among them.
    """
    from analysis.shots import attempts
    from analysis.slice import cut

    part = replace(slice_of(moment, chosen), team=None, phases=None, sides=None)
    shots = cut(moment.tables, replace(part, team=team), "shots")["shots"]
    there = set(shots["id"][attempts(shots)])
    return part, [row for id_, row in moment.rows("shots").items() if id_ in there]


def verdict(filmed: Filmed, rows: Sequence[Mapping[str, Any]], team: str) -> list[Any]:
    """How many goals in how many shots.

    Parameters
    ----------
    filmed : Filmed
        Which rows have film.
    rows : sequence of mapping
        The team's shots.
    team : str
        "ours" or "theirs".

    Returns
    -------
    list
        For a heading; both numbers play.
    """
    ids = [str(row["id"]) for row in rows]
    goals = [str(row["id"]) for row in rows if row.get("result") == "goal"]
    against = " against us" if team == "theirs" else ""
    if not ids:
        return [f"No shot of {'ours' if team == 'ours' else 'theirs'} in this part of the season."]
    said = [
        plays(filmed, str(len(each)), "shots", each, f"{WHO[team]}, all {name}", inline=True)
        for each, name in ((goals, "goals"), (ids, "shots"))
    ]
    return [
        said[0],
        f" goal{'' if len(goals) == 1 else 's'}{against} in ",
        said[1],
        f" shot{'' if len(ids) == 1 else 's'}.",
    ]


def figure_of(
    moment: Moment, filmed: Filmed, rows: Sequence[Mapping[str, Any]], chosen: Mapping[str, str], team: str
) -> list[Component]:
    """The half floor with a team's shots, and rows of those that have no place on it.

    Parameters
    ----------
    moment, filmed
        The season, and which rows have film.
    rows : sequence of mapping
        The team's shots.
    chosen : mapping of str to str
        From the address.
    team : str
        "ours" or "theirs".

    Returns
    -------
    list of Component
        What it shows in words, the drawing, its legend, the rows.
    """
    from analysis.shot_chart import LANE_HALF_WIDTH_M, RINGS_M

    placed = [row for row in rows if not blank(row.get("x_m")) and not blank(row.get("y_m"))]
    near = [row for row in placed if float(row["x_m"]) >= 0]
    unknown = [row for row in rows if blank(row.get("x_m")) or blank(row.get("y_m"))]
    beyond = [row for row in placed if float(row["x_m"]) < 0]
    few = len(rows) < moment.settings.small_n
    floor = floor_rules(moment.settings.rule_code)
    seen = picked(options(moment)["strength"], chosen.get("strength", "")).words
    facing = "Seen from above, the goal on top, as the shooter faces it."
    strength = f" Strength is the shooters’: {seen}." if team == "theirs" else ""
    if not rows:
        return []
    made: list[Component] = [html.P(f"{_placed_words(len(placed), len(rows))} {facing}{strength}", className="lede")]
    if near:
        told = [(row, words_of(moment, row)) for row in near]
        fields = _in_fields(moment, near)
        made.append(
            html.Div(
                half_floor(filmed, floor, fields, told, rings_m=RINGS_M, lane_m=LANE_HALF_WIDTH_M, few=few),
                className="floor-figure",
            )
        )
    made.append(_legend(filmed, rows, few))
    if near:
        hint = "Press a shot, or a field beside its shots for all of them; arrows walk from shot to shot."
        made.append(html.P(hint, className="soft hint onscreen"))
    for name, those in (("Place unknown", unknown), ("From beyond the centre", beyond)):
        if those:
            made.append(_packed(moment, filmed, those, f"{WHO[team]}, {name.lower()}", name, few))
    return made


def _placed_words(n_placed: int, n: int) -> str:
    if n_placed == n:
        return "Every shot has its place." if n > 1 else "It has its place."
    if n_placed == 0:
        return "No shot has its place marked: the keyboard cannot say it yet."
    return f"{n_placed} of {n} shots have a place."


def words_of(moment: Moment, shot: Mapping[str, Any]) -> str:
    """A shot in one line.

    Parameters
    ----------
    moment : Moment
        The season.
    shot : mapping
        Its row.

    Returns
    -------
    str
        As "Quarry Hill, 11:42: 14 shot: goal".
    """
    game = moment.game(str(shot["game"]))
    return f"{game.opponent if game else shot['game']}, {when(shot)}: {happened(moment, 'shots', shot)}"


def _in_fields(moment: Moment, rows: Sequence[Mapping[str, Any]]) -> dict[tuple[str, int], list[str]]:
    import pandas as pd

    from analysis.shot_chart import fields

    goal_x_m = floor_rules(moment.settings.rule_code).goal_x_m
    frame = pd.DataFrame({name: [float(row[name]) for row in rows] for name in ("x_m", "y_m")})
    found: dict[tuple[str, int], list[str]] = {}
    for row, lane, ring in zip(rows, *fields(frame, goal_x_m=goal_x_m), strict=True):
        found.setdefault((str(lane), int(ring)), []).append(str(row["id"]))
    return found


def _packed(
    moment: Moment, filmed: Filmed, rows: Sequence[Mapping[str, Any]], what: str, name: str, few: bool
) -> Component:
    """Shots side by side, at no place: their number plays all, each of them itself."""
    ids = [str(row["id"]) for row in rows]
    marks = []
    for row in rows:
        reach = Drawn("rect", x=0, y=0, width=PACKED_PX, height=PACKED_PX + 6, className="hit")
        inside = [reach, shape(shape_of(row, few), PACKED_PX / 2, PACKED_PX / 2 + 3)]
        marks.append(mark(filmed, inside, "shots", [str(row["id"])], words_of(moment, row), "shot"))
    first_in_reach(marks)
    each = [Drawn("svg", one, className="drawing packed", width=PACKED_PX, height=PACKED_PX + 6) for one in marks]
    told: dict[str, Any] = {"data-walk": "", "aria-label": f"{name}: {len(rows)} shots"}
    said: list[Any] = [html.B(name), ": ", plays(filmed, str(len(ids)), "shots", ids, what)]
    return html.Div([html.P(said), html.Div(each, className="pack", role="group", **told)], className="unplaced")


def _legend(filmed: Filmed, rows: Sequence[Mapping[str, Any]], few: bool) -> Component:
    there = {shape_of(row, few) for row in rows}
    shapes = [html.Span([key_of(code), name]) for code, name in SHAPE_WORDS.items() if code in there]
    n_film = filmed.count("shots", [str(row["id"]) for row in rows])
    film = (
        [html.Span("pale: no film", className="onscreen")]
        if 0 < n_film < len(rows)
        else [html.Span("none has film here", className="onscreen")]
        if not n_film
        else []
    )
    return html.Div([*shapes, *film], className="legend")


def field_by_field(moment: Moment, filmed: Filmed, part: Slice, team: str) -> list[Component]:
    """Goals of shots in each field, with what is plausible where there are enough.

    Parameters
    ----------
    moment, filmed
        The season, and which rows have film.
    part : Slice
        What is looked at.
    team : str
        "ours" or "theirs".

    Returns
    -------
    list of Component
        Lanes side by side, rings outwards.
    """
    from analysis.shot_chart import RINGS_M, chart

    goal_x_m = floor_rules(moment.settings.rule_code).goal_x_m
    rows = records(chart(moment.tables, part, goal_x_m=goal_x_m, small_n=moment.settings.small_n))
    own = [row for row in rows if row["team"] == team]
    placed = {(row["lane"], int(row["ring"])): row for row in own if not blank(row["lane"])}
    n_placed = sum(int(row["shots"]) for row in placed.values())
    if not n_placed:
        return [html.P("No shot has its place marked. The keyboard cannot say it yet.")]
    n = sum(int(row["shots"]) for row in own)
    rings = " m and ".join(f"{edge:g}" for edge in RINGS_M)
    said = f"{WHO[team]}: the place is marked in {n_placed} of {n} shots."
    words = f"{said} Rings at {rings} m from the middle of the goal line; left out are shots without a place."
    return [html.P(words, className="soft"), _chart(filmed, placed, WHO[team])]


def _chart(filmed: Filmed, placed: Mapping[tuple[Any, int], Mapping[str, Any]], who: str) -> Component:
    """Lanes and rings with counts, the goal above."""
    most = max((int(row["shots"]) for row in placed.values()), default=1) or 1
    rings = sorted({ring for _, ring in placed})
    cells: list[Component] = [html.Div("goal", className="mouth")]
    for ring in rings:
        for lane in LANES:
            row = placed.get((lane, ring))
            n = int(row["shots"]) if row else 0
            style = {"--weight": f"{n / most:.3f}"}
            inside: list[Any] = [html.Span("–", className="few")]
            if row and n:
                what = f"{who}, {lane}, ring {ring}"
                goals = plays(filmed, str(int(row["goal_k"])), "shots", row["goal_ids"], f"{what}, goals")
                inside = [html.B([goals, " of ", count_of(filmed, row, "shots", "shots", f"{what}, shots")])]
                if bool(row["goal_few"]):
                    inside.append(html.Small("too few to say"))
                else:
                    inside.append(html.Small(f"{round(row['goal_lo'] * 100)}–{round(row['goal_hi'] * 100)} in 100"))
            cells.append(html.Div(inside, className=f"field ring{ring}", style=style))
    cells += [html.Small(lane, className="soft") for lane in LANES]
    return html.Div(cells, className="floor")

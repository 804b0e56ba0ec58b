"""Half a floor drawn to scale, seen from above with the goal on top, and every shot that has a place at its place.

Lines, arcs and creases are those of the season's rule code. Shots keep their size whatever the width of the page is,
since each stands at a share of the drawing; only the floor itself is drawn in metres.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from dashboard.pages.drawing import Drawn, first_in_reach, mark, shape

if TYPE_CHECKING:
    from dashboard.loading import Filmed
    from tagger.floor.rules import FloorRules

SHOT_SHAPES = {"goal": "dot", "saved": "ring", "post": "triangle", "wide": "triangle", "blocked": "turned"}
"""A shot's shape by its result; whatever else it came to, nobody saw it."""
UNSEEN = "diamond"
FEW_GOAL = "target"
SHAPE_WORDS = {
    "dot": "goal",
    "target": "goal",
    "ring": "saved",
    "triangle": "missed",
    "turned": "blocked",
    "diamond": "not seen",
}
BELOW_M = 1.5
"""So much floor is drawn below the restraining line, or below the farthest shot."""
LANES = ("left", "middle", "right")


def shape_of(shot: Mapping[str, Any], few: bool) -> str:
    """Which shape a shot has.

    Parameters
    ----------
    shot : mapping
        Its row.
    few : bool
        Whether there are too few shots to say a rate of: then all are hollow.

    Returns
    -------
    str
        One of `drawing.SHAPES`.
    """
    code = SHOT_SHAPES.get(str(shot.get("result")), UNSEEN)
    return FEW_GOAL if few and code == "dot" else code


def half_floor(
    filmed: Filmed,
    floor: FloorRules,
    fields: Mapping[tuple[str, int], Sequence[str]],
    shots: Sequence[tuple[Mapping[str, Any], str]],
    *,
    rings_m: Sequence[float],
    lane_m: float,
    few: bool,
) -> Drawn:
    """The drawing.

    Parameters
    ----------
    filmed : Filmed
        Which rows have film.
    floor : FloorRules
        The floor of the season's rule code.
    fields : mapping of (str, int) to sequence of str
        Lane and ring → ids of its shots.
    shots : sequence of (mapping, str)
        Rows of shots with a place in this half, each with its words.
    rings_m : sequence of float
        Where the rings end, in metres from the middle of the goal line.
    lane_m : float
        The middle lane reaches so far to either side.
    few : bool
        Whether there are too few to say a rate of.

    Returns
    -------
    Drawn
        Fields below, shots above; all of them play.
    """
    depth_m, wide_m = depth_of(floor, [row for row, _ in shots]), floor.width_m
    below = [
        _field(filmed, floor, (lane, ring), fields.get((lane, ring), ()), rings_m, lane_m)
        for ring in range(len(rings_m) + 1, 0, -1)
        for lane in LANES
    ]
    ground = Drawn(
        "svg",
        [
            *_clips(floor, lane_m),
            Drawn("path", d=_boards(floor), className="ice"),
            *below,
            *_lines(floor, rings_m, lane_m),
        ],
        viewBox=f"0 0 {wide_m:.3f} {depth_m:.3f}",
        width="100%",
        height="100%",
    )
    marks = [
        mark(
            filmed,
            [_hit(shot, floor, depth_m), shape(shape_of(shot, few), *_at(shot, floor, depth_m))],
            "shots",
            [str(shot["id"])],
            words,
            f"shot {shot.get('result') or 'unseen'}",
        )
        for shot, words in shots
    ]
    first_in_reach(marks)
    labels = [
        Drawn(
            "text", f"{ring:g} m", x=_share(wide_m / 2 + ring + 0.25, wide_m), y=_share(_goal_y(floor) + 0.2, depth_m)
        )
        for ring in rings_m
    ]
    name_it = {"aria-label": f"{len(shots)} shots at their places", "role": "group", "data-walk": ""}
    over = Drawn("g", marks, **name_it)
    return Drawn(
        "svg",
        [ground, *labels, over],
        className="drawing half-floor",
        style={"aspect-ratio": f"{wide_m:.3f} / {depth_m:.3f}"},
        width="100%",
    )


def _goal_y(floor: FloorRules) -> float:
    return floor.goal_line_to_boards_m


def _share(part: float, whole: float) -> str:
    return f"{part / whole * 100:.2f}%"


def _at(shot: Mapping[str, Any], floor: FloorRules, depth_m: float) -> tuple[str, str]:
    """Where a shot stands: from the left edge as the shooter faces the goal, and from the end boards."""
    return (
        _share(floor.width_m / 2 - float(shot["y_m"]), floor.width_m),
        _share(floor.length_m / 2 - float(shot["x_m"]), depth_m),
    )


def _hit(shot: Mapping[str, Any], floor: FloorRules, depth_m: float) -> Drawn:
    x, y = _at(shot, floor, depth_m)
    return Drawn("circle", cx=x, cy=y, r=9, className="hit")


def _boards(floor: FloorRules) -> str:
    half_m, wide_m, r = floor.length_m / 2, floor.width_m, f"{floor.corner_radius_m:.3f}"
    corner = f"A{r} {r} 0 0 1"
    top = f"M0 {half_m:.3f}V{r}{corner} {r} 0H{wide_m - floor.corner_radius_m:.3f}"
    return f"{top}{corner} {wide_m:.3f} {r}V{half_m:.3f}Z"


def depth_of(floor: FloorRules, shots: Sequence[Mapping[str, Any]]) -> float:
    """How far from the end boards the drawing reaches.

    Parameters
    ----------
    floor : FloorRules
        The floor of the season's rule code.
    shots : sequence of mapping
        Rows of shots with a place in this half.

    Returns
    -------
    float
        In metres: beyond the restraining line and every shot, at most to the centre.
    """
    half_m = floor.length_m / 2
    deepest = max((half_m - float(row["x_m"]) for row in shots), default=0.0)
    return min(half_m, max(half_m - floor.restraining_from_centre_m, deepest) + BELOW_M)


def _lines(floor: FloorRules, rings_m: Sequence[float], lane_m: float) -> list[Drawn]:
    half_m, wide_m, goal_y = floor.length_m / 2, floor.width_m, _goal_y(floor)
    middle = wide_m / 2
    restraining = half_m - floor.restraining_from_centre_m
    inside = {"clip-path": "url(#on-floor)"}
    made = [
        Drawn("circle", cx=f"{middle:.3f}", cy=f"{goal_y:.3f}", r=f"{ring:g}", className="ring-line", **inside)
        for ring in rings_m
    ]
    made += [
        Drawn("path", d=f"M{middle + side * lane_m:.3f} 0V{half_m:.3f}", className="ring-line", **inside)
        for side in (-1, 1)
    ]
    goal = f"M{middle - floor.goal_width_m / 2:.3f} {goal_y:.3f}H{middle + floor.goal_width_m / 2:.3f}"
    return [
        *made,
        Drawn("path", d=f"M0 {restraining:.3f}H{wide_m:.3f}", className="floor-line", **inside),
        Drawn("path", d=f"M0 {half_m:.3f}H{wide_m:.3f}", className="floor-line"),
        Drawn("circle", cx=f"{middle:.3f}", cy=f"{goal_y:.3f}", r=f"{floor.crease_radius_m:.3f}", className="crease"),
        Drawn("path", d=goal, className="goal-mouth"),
        Drawn("path", d=_boards(floor), className="boards"),
    ]


def _clips(floor: FloorRules, lane_m: float) -> list[Drawn]:
    half_m, wide_m, middle = floor.length_m / 2, floor.width_m, floor.width_m / 2
    edges = {
        "left": (0.0, middle - lane_m),
        "middle": (middle - lane_m, middle + lane_m),
        "right": (middle + lane_m, wide_m),
    }
    made = [Drawn("clipPath", Drawn("path", d=_boards(floor)), id="on-floor")]
    for lane, (low, high) in edges.items():
        rect = Drawn("rect", x=f"{low:.3f}", y=0, width=f"{high - low:.3f}", height=f"{half_m:.3f}")
        made.append(Drawn("clipPath", rect, id=f"lane-{lane}"))
    return made


def _field(
    filmed: Filmed,
    floor: FloorRules,
    field: tuple[str, int],
    ids: Sequence[str],
    rings_m: Sequence[float],
    lane_m: float,
) -> Drawn:
    """One of the fields, as large as it is; pressed beside its shots it plays them all."""
    lane, ring = field
    middle, goal_y = floor.width_m / 2, _goal_y(floor)
    outer = rings_m[ring - 1] if ring <= len(rings_m) else floor.length_m
    inner = rings_m[ring - 2] if ring > 1 else 0.0
    d = _disc(middle, goal_y, outer) + (_disc(middle, goal_y, inner) if inner else "")
    drawn = Drawn("path", d=d, className="hit", **{"clip-path": f"url(#lane-{lane})", "fill-rule": "evenodd"})
    words = field_words(field, rings_m)
    held = Drawn("g", drawn, **{"clip-path": "url(#on-floor)"})
    if not ids:
        return Drawn("g", [Drawn("title", f"{words}: no shot"), held], className="field")
    return mark(filmed, held, "shots", ids, f"{words}, shots", "field")


def field_words(field: tuple[str, int], rings_m: Sequence[float]) -> str:
    """What a field is called.

    Parameters
    ----------
    field : (str, int)
        Lane and ring.
    rings_m : sequence of float
        Where the rings end.

    Returns
    -------
    str
        As "left, 4.5 to 8 m".
    """
    lane, ring = field
    if ring == 1:
        return f"{lane}, inside {rings_m[0]:g} m"
    if ring > len(rings_m):
        return f"{lane}, beyond {rings_m[-1]:g} m"
    return f"{lane}, {rings_m[ring - 2]:g} to {rings_m[ring - 1]:g} m"


def _disc(x: float, y: float, r: float) -> str:
    return f"M{x - r:.3f} {y:.3f}a{r:.3f} {r:.3f} 0 1 0 {2 * r:.3f} 0a{r:.3f} {r:.3f} 0 1 0 {-2 * r:.3f} 0Z"

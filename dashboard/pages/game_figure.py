"""A game as one figure: the score as a step along each period's clock, and below it whose ball it was, lane by lane.

Ours stand above the line, theirs below; a letter is the set that was run, a shape is how it ended. What has film is
filled and plays, what has none is an outline. A stretch that is dragged over is told and played (`assets/drawn.js`).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.clock_axis import Axis, axis_of
from dashboard.pages.drawing import Drawn, first_in_reach, key_of, mark, shape
from dashboard.pages.names import set_name
from dashboard.pages.score import Score, most, step_of
from dashboard.story import ORDINALS, happened, when

if TYPE_CHECKING:
    from dashboard.loading import Filmed
    from dashboard.story import Told

HEIGHT = 134
STEP_TOP, STEP_FOOT = 8, 40
SHAPES_Y = {"ours": 55, "theirs": 105}
LANE_Y = {"ours": 63, "theirs": 82}
LANE = 15
REACH = {"ours": (46, 34), "theirs": (80, 34)}
AXIS_Y = 130
LETTER_SHARE = 1.5
"""A possession that is narrower than this share of its period has no room for its set's letter."""
UNTAGGED_SHARE = 25
TEAMS = {"ours": "Ours", "theirs": "Theirs"}


@dataclass(frozen=True)
class Period:
    """One period of a game: its number, None for what is outside any; what is told of it; where it stands."""

    number: int | None
    told: tuple[Told, ...]
    axis: Axis
    ended: bool


def period_name(number: int | None, n_periods: int) -> str:
    """What a period is called.

    Parameters
    ----------
    number : int or None
        Its own; None for what stands outside any.
    n_periods : int
        How many a game has without overtime.

    Returns
    -------
    str
        As "2nd period", "Overtime", "2nd overtime".
    """
    if number is None:
        return "Outside any period"
    if number <= n_periods:
        return f"{ORDINALS.get(number, f'{number}th')} period"
    over = number - n_periods
    return "Overtime" if over == 1 else f"{ORDINALS.get(over, f'{over}th')} overtime"


def periods_of(filmed: Filmed, game: str, told: Sequence[Told]) -> list[Period]:
    """The periods of a game, each along its own clock.

    Parameters
    ----------
    filmed : Filmed
        With the season.
    game : str
        The game's id.
    told : sequence of Told
        Its possessions.

    Returns
    -------
    list of Period
        Those with anything told in them, in order of time.
    """
    settings = filmed.moment.settings
    rows = filmed.moment.folded[game].rows
    marked = {row.get("period"): row for row in rows.get("periods", ())}
    made = []
    for number in dict.fromkeys(one.period for one in told):
        those = tuple(one for one in told if one.period == number)
        readings = [
            (int(row.get("at_ms", row.get("start_ms")) or 0), float(row["clock_s"]))
            for table in ("possessions", "runs", "shots")
            for row in rows.get(table, ())
            if row.get("period") == number and row.get("clock_s") is not None
        ]
        row = marked.get(number, {})
        first = int(row.get("start_ms", those[0].start_ms))
        last = max(int(row.get("end_ms") or 0), *(one.end_ms or one.start_ms + 1000 for one in those))
        usual = settings.period_minutes * 60.0 if number is not None and number <= settings.n_periods else None
        axis = axis_of(readings if number is not None else (), usual, min(first, those[0].start_ms), last)
        made.append(Period(number, those, axis, row.get("end_ms") is not None))
    return made


def figure(filmed: Filmed, game: str, periods: Sequence[Period], score: Score) -> html.Div:
    """The figure.

    Parameters
    ----------
    filmed : Filmed
        Which rows have film.
    game : str
        The game's id.
    periods : sequence of Period
        Of `periods_of`.
    score : Score
        The game's.

    Returns
    -------
    Component
        With its legend.
    """
    sets = sets_of(filmed, game)
    own = [play.name for play in filmed.moment.playbook.sets]
    letters = letters_of({name for names in sets.values() for name in names}, own)
    reach = most([score])
    margin = 0
    made = []
    for period in periods:
        goals = [row for row in score.goals if row.get("period") == period.number]
        drawn, margin = _period(filmed, period, goals, margin, (reach, sets, letters))
        made.append(drawn)
    by_film = [period_name(one.number, score.n_periods) for one in periods if not one.axis.by_clock]
    note = f"Along the film, since the clock was not read: {', '.join(by_film).lower()}." if by_film else ""
    return html.Div([*made, *_legend(filmed, periods, letters, note)], className="game-figure")


def sets_of(filmed: Filmed, game: str) -> dict[str, list[str]]:
    """Which sets were run in each possession of a game.

    Parameters
    ----------
    filmed : Filmed
        With the season.
    game : str
        The game's id.

    Returns
    -------
    dict of str to list of str
        Possession → names of sets, in order; none where none was named.
    """
    found: dict[str, list[str]] = {}
    for run in filmed.moment.folded[game].rows.get("runs", ()):
        if run.get("phase") in ("set", "family") and run.get("set") is not None:
            found.setdefault(str(run["possession"]), []).append(set_name(filmed.moment, run["set"]))
    return found


def letters_of(names: Collection[str], first: Sequence[str]) -> dict[str, str]:
    """A letter for each set, so that it can stand in its possession.

    Parameters
    ----------
    names : collection of str
        The sets' names.
    first : sequence of str
        Those that come first to a letter.

    Returns
    -------
    dict of str to str
        Name → its first letter that no other has; a letter and a number where that leaves none.
    """
    found: dict[str, str] = {}
    for name in sorted(names, key=lambda each: (each not in first, each)):
        given = [letter.upper() for letter in name if letter.isalnum()] or ["?"]
        free = next((letter for letter in given if letter not in found.values()), None)
        found[name] = free or f"{given[0]}{len(found)}"
    return found


def _period(
    filmed: Filmed,
    period: Period,
    goals: Sequence[Mapping[str, Any]],
    margin: int,
    shared: tuple[int, Mapping[str, Sequence[str]], Mapping[str, str]],
) -> tuple[html.Div, int]:
    reach, sets, letters = shared
    axis = period.axis
    name = period_name(period.number, filmed.moment.settings.n_periods)
    grid = [
        part
        for share, words in axis.ticks()
        for part in (
            Drawn("line", x1=f"{share:.2f}%", x2=f"{share:.2f}%", y1=STEP_TOP, y2=AXIS_Y - 14, className="hair"),
            Drawn("text", words, x=f"{share:.2f}%", y=AXIS_Y, className=f"tick {_end(share)}"),
        )
    ]
    step, margin = _step(filmed, axis, goals, margin, reach)
    lanes = [_possession(filmed, one, axis, sets.get(one.id, ())) for one in period.told]
    first_in_reach(lanes)
    named = [part for one in period.told for part in _letter(one, axis, sets.get(one.id, ()), letters)]
    last = max(axis.share(one.end_ms or one.start_ms) for one in period.told)
    rest = []
    if not period.ended and 100 - last > UNTAGGED_SHARE:
        words = f"not tagged from {axis.said(last)} on"
        rest = [Drawn("text", words, x=f"{(last + 100) / 2:.1f}%", y=LANE_Y["ours"] + 12, className="rest")]
    base = Drawn("line", x1="0", x2="100%", y1=79.5, y2=79.5, className="base")
    told = {
        "data-period": name,
        "data-length": f"{axis.length_s:g}",
        "data-clock": "down" if axis.by_clock else f"{axis.first_ms / 1000:g}",
        "aria-label": f"{name}: the score and {len(period.told)} possessions",
    }
    brush = Drawn("rect", None, className="brush", x=0, y=2, width=0, height=AXIS_Y - 16)
    drawing = Drawn(
        "svg",
        [*grid, base, brush, *rest, *step, *lanes, *named],
        className="drawing period",
        width="100%",
        height=HEIGHT,
        role="group",
        **told,
        **{"data-walk": ""},
    )
    usual = period.number is None or period.number <= filmed.moment.settings.n_periods
    number = "–" if period.number is None else str(period.number) if usual else "OT"
    return html.Div([html.B(number, title=name), drawing], className="period-row"), margin


def _end(share: float) -> str:
    return "first" if share < 4 else "last" if share > 96 else ""


def _step(
    filmed: Filmed, axis: Axis, goals: Sequence[Mapping[str, Any]], margin: int, reach: int
) -> tuple[list[Drawn], int]:
    """The score's step over one period, a goal at each riser."""

    def height(value: int) -> float:
        return (STEP_TOP + STEP_FOOT) / 2 - value / reach * (STEP_FOOT - STEP_TOP) / 2

    level = Drawn("line", x1="0", x2="100%", y1=height(0), y2=height(0), className="level")
    made, marks, at = [level], [], 0.0
    for goal in goals:
        share, before = axis.share(int(goal["at_ms"])), margin
        margin += step_of(goal)
        made.append(_line(at, share, height(before), height(before)))
        made.append(_line(share, share, height(before), height(margin)))
        team = str(goal.get("team") or "nobodys")
        x, y = f"{share:.2f}%", height(margin)
        drawn = [Drawn("circle", cx=x, cy=y, r=12, className="hit"), Drawn("circle", cx=x, cy=y, r=4, className="goal")]
        what = f"{when(goal)}, goal {'for us' if team == 'ours' else 'against us' if team == 'theirs' else 'of nobody'}"
        said = happened(filmed.moment, "shots", goal)
        marks.append(mark(filmed, drawn, "shots", [str(goal["id"])], f"{what}: {said}", f"scored {team}"))
        at = share
    last = axis.share(axis.knots[-1][0]) if axis.by_clock else 100.0
    end = max(at, last if last < 96 else 100.0)
    made.append(_line(at, end, height(margin), height(margin)))
    words = f"+{margin}" if margin > 0 else f"−{-margin}" if margin else "0"
    made.append(Drawn("text", words, x=f"{end:.2f}%", dx=8, y=height(margin) + 4, className="margin"))
    first_in_reach(marks)
    return [*made, Drawn("g", marks, role="group", **{"aria-label": "goals", "data-walk": ""})], margin


def _line(x1: float, x2: float, y1: float, y2: float) -> Drawn:
    return Drawn("line", x1=f"{x1:.2f}%", x2=f"{x2:.2f}%", y1=f"{y1:.1f}", y2=f"{y2:.1f}", className="step")


def _letter(one: Told, axis: Axis, names: Sequence[str], letters: Mapping[str, str]) -> list[Drawn]:
    """The last set of a possession, beside its mark and not in it: the mark's name says the set whole."""
    first, last = axis.share(one.start_ms), axis.share(one.end_ms or one.start_ms + 1000)
    if not names or last - first < LETTER_SHARE:
        return []
    y = LANE_Y[one.team if one.team in LANE_Y else "ours"] + 11.5
    data = {"data-letter": one.id, "aria-hidden": "true"}
    return [Drawn("text", letters[names[-1]], className="letter", x=f"{(first + last) / 2:.2f}%", y=y, **data)]


def _possession(filmed: Filmed, one: Told, axis: Axis, names: Sequence[str]) -> Drawn:
    first, last = axis.share(one.start_ms), axis.share(one.end_ms or one.start_ms + 1000)
    width = max(last - first, 0.15)
    side = one.team if one.team in LANE_Y else "ours"
    top, deep = REACH[side]
    at = {"x": f"{first:.2f}%", "width": f"{width:.2f}%"}
    inside = [
        Drawn("rect", None, className="hit", y=top, height=deep, **at),
        Drawn("rect", None, className="lane", y=LANE_Y[side], height=LANE, **at),
    ]
    drawn = filmed.moment.language.endings.get(one.ended, {}).get("shape")
    if drawn:
        inside.append(shape(str(drawn), f"{last:.2f}%", SHAPES_Y[side]))
    data = {"data-from": f"{first:.2f}", "data-to": f"{last:.2f}", "data-possession": one.id}
    team = one.team or "nobody"
    return mark(filmed, inside, "possessions", [one.id], what_of(one, names), f"held {team}", tells=True, **data)


def what_of(one: Told, names: Sequence[str] = ()) -> str:
    """A possession in one line.

    Parameters
    ----------
    one : Told
        The possession.
    names : sequence of str
        The sets that were run in it.

    Returns
    -------
    str
        As "11:42, ours, Lantern: saved".
    """
    who = TEAMS.get(one.team, "nobody’s").lower()
    return f"{one.when}, {', '.join([who, *dict.fromkeys(names)])}{f': {one.ending}' if one.ending else ''}"


def _legend(
    filmed: Filmed, periods: Sequence[Period], letters: Mapping[str, str], note: str
) -> list[html.Div | html.P]:
    endings = filmed.moment.language.endings
    there = {str(endings.get(one.ended, {}).get("shape")) for period in periods for one in period.told}
    shapes = [
        html.Span([key_of(str(each["code"])), each["name"]])
        for each in filmed.moment.language.data["shapes"]
        if each["code"] in there
    ]
    sets = [html.Span([html.B(letter), f" {name}"]) for name, letter in letters.items()]
    has_film = filmed.ids("possessions")
    all_there = all(one.id in has_film for period in periods for one in period.told)
    none = has_film.isdisjoint(one.id for period in periods for one in period.told)
    film = (
        [] if all_there or none else [html.Span("filled: has film and plays; an outline: none", className="onscreen")]
    )
    parts = [
        html.Span("the line: goals ahead or behind"),
        html.Span([html.I(className="lane-key ours"), "ours, above"]),
        html.Span([html.I(className="lane-key theirs"), "theirs, below"]),
        *shapes,
        *film,
    ]
    made: list[html.Div | html.P] = [html.Div(parts, className="legend")]
    if sets:
        made.append(html.Div([html.Span("Letters, what was run:"), *sets], className="legend letters"))
    shown = ", and its film plays" if not none else "; there is no film of this game here, so nothing plays"
    hint = f"Drag over a stretch, or press a possession: what happened there is told below{shown}."
    return [*made, html.P([hint, f" {note}" if note else ""], className="soft hint onscreen")]

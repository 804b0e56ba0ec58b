"""How each game of the season went: its score as a step from the first period to the last, a row a game."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from dash import dcc, html

from dashboard.pages.drawing import Drawn, first_in_reach, mark
from dashboard.pages.numbers import plays
from dashboard.pages.score import Score, margin_words, most, result_word, score_of, step_of
from dashboard.story import happened, when
from tagger.screen.opening import day_of

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from dashboard.loading import Filmed
    from tagger.game import Game

HEIGHT, EDGE = 48, 7
MINUTE_MS = 60_000


def season_course(filmed: Filmed) -> Component:
    """The games as rows, the last one first.

    Parameters
    ----------
    filmed : Filmed
        With the season.

    Returns
    -------
    Component
        Each row leads to its game, and its goals play; all have one scale.
    """
    moment = filmed.moment
    scores = {game.id: score_of(moment, game.id) for game in moment.games}
    reach = most(scores.values())
    rows = [_row(filmed, game, scores[game.id], reach) for game in reversed(moment.games)]
    told = "Above the dotted line we are ahead; a dot is a goal and plays where it is filled."
    return html.Div([html.P(told, className="soft hint"), html.Ol(rows, className="courses")])


def _row(filmed: Filmed, game: Game, score: Score, reach: int) -> Component:
    day = day_of(game.date).rsplit(" ", 1)[0]
    where = "home" if game.home else "away"
    name = html.Span(
        [dcc.Link(game.opponent, href=f"/games/{game.id}"), html.Small(f"{day}, {where}")], className="foe"
    )
    if not filmed.moment.folded[game.id].rows.get("possessions") and not score.goals:
        return html.Li([name, html.Span("nothing tagged yet", className="soft")])
    ours, theirs = (
        plays(filmed, str(len(ids)), "shots", ids, f"{game.opponent}, {day}, goals, {team}")
        for ids, team in ((score.ours, "ours"), (score.theirs, "theirs"))
    )
    said = result_word(score).lower() if score.whole else "so far"
    result = html.Span([html.B([ours, "–", theirs]), html.Small(said)], className="result")
    return html.Li([name, _drawing(filmed, game, score, reach), result])


def _drawing(filmed: Filmed, game: Game, score: Score, reach: int) -> Component:
    slots = max(score.n_periods, *score.periods, 1)
    day = day_of(game.date).rsplit(" ", 1)[0]

    def height(margin: int) -> float:
        return HEIGHT / 2 - margin / reach * (HEIGHT / 2 - EDGE)

    edges = [
        Drawn(
            "line",
            x1=f"{slot / slots * 100:.2f}%",
            x2=f"{slot / slots * 100:.2f}%",
            y1=4,
            y2=HEIGHT - 4,
            className="hair",
        )
        for slot in range(slots + 1)
    ]
    level = Drawn("line", x1="0", x2="100%", y1=HEIGHT / 2, y2=HEIGHT / 2, className="level")
    steps, marks, margin = [], [], 0
    at = (min(score.periods) - 1) / slots * 100 if score.periods else 0.0
    for goal in score.goals:
        share = max(_share(filmed, game.id, goal, score, slots), at)
        before, margin = margin, margin + step_of(goal)
        steps += [_line(at, share, height(before), height(before)), _line(share, share, height(before), height(margin))]
        x, y = f"{share:.2f}%", height(margin)
        drawn = [
            Drawn("circle", cx=x, cy=y, r=10, className="hit"),
            Drawn("circle", cx=x, cy=y, r=3.5, className="goal"),
        ]
        words = f"{game.opponent}, {day}, {when(goal)}: {happened(filmed.moment, 'shots', goal)}"
        marks.append(mark(filmed, drawn, "shots", [str(goal["id"])], words, f"scored {goal.get('team') or 'nobodys'}"))
        at = share
    steps.append(
        _line(at, max(at, len(score.periods) / slots * 100 if score.ended else at), height(margin), height(margin))
    )
    first_in_reach(marks)
    name_it = {"role": "group", "data-walk": "", "aria-label": f"{game.opponent}, {day}: {margin_words(score.margin)}"}
    return Drawn(
        "svg",
        [*edges, level, *steps, *marks],
        className="drawing period course",
        width="100%",
        height=HEIGHT,
        **name_it,
    )


def _line(x1: float, x2: float, y1: float, y2: float) -> Drawn:
    return Drawn("line", x1=f"{x1:.2f}%", x2=f"{x2:.2f}%", y1=f"{y1:.1f}", y2=f"{y2:.1f}", className="step")


def _share(filmed: Filmed, game: str, goal: Mapping[str, Any], score: Score, slots: int) -> float:
    """How far through the game a goal was: by the clock, else by the film of its period; periods are equally wide."""
    settings = filmed.moment.settings
    number = goal.get("period")
    if number is None:
        return 0.0
    part = 0.5
    periods = filmed.moment.folded[game].rows.get("periods", ())
    row = next((each for each in periods if each.get("period") == number), None)
    if goal.get("clock_s") is not None and int(number) <= settings.n_periods:
        part = 1 - float(goal["clock_s"]) / (settings.period_minutes * 60)
    elif row is not None:
        long_ms = (row.get("end_ms") or row["start_ms"] + settings.period_minutes * MINUTE_MS) - row["start_ms"]
        part = (int(goal["at_ms"]) - int(row["start_ms"])) / max(long_ms, 1)
    return (int(number) - 1 + min(max(part, 0.0), 1.0)) / slots * 100

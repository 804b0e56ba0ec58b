"""Games and excerpts from a seed: the event simulation, run from the first whistle to the last."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sample_data.errors import NoExcerpt
from sample_data.match import WALKS_OUT_S, Match
from sample_data.plays import CHECKPOINTS
from sample_data.rates import TrueRates
from sample_data.script import OTHER, Script, Touch, apart
from sample_data.shooting import End
from sample_data.squad import Squad, herons, opponents
from sample_data.truth import Grade, Truth
from tagger.floor.rules import floor_rules

FACE_OFF_S = 3.0
LAST_PERIOD = 3
_ATTEMPTS = 400
_TABLES = (
    "periods", "clocks", "possessions", "runs", "screens", "shots", "turnovers", "whistles", "face_offs", "loose_balls",
    "penalties", "lines", "goalies",
)  # fmt: skip


AFTER_S = 6.0
"""So long a film goes on after the horn."""


@dataclass(frozen=True)
class OnFilm:
    """The period of a game that is on film, the last one; `take` is which of the courses it could have taken."""

    period: int
    take: int


@dataclass(frozen=True)
class Simulated:
    """A truth without film, and the beats from which an excerpt's film is drawn."""

    truth: Truth
    script: Script


def simulate_game(
    seed: int, opponent: str, *, rates: TrueRates | None = None, rule_code: str = "canadian",
    on_film: OnFilm | None = None,
) -> Simulated:  # fmt: skip
    """A whole game: events only, but for a period that is on film.

    Parameters
    ----------
    seed : int
        The same seed gives the same game.
    opponent : str
        Name of the other team; its players are drawn from it.
    rates : TrueRates, optional
        How things truly go.
    rule_code : str
        Floor and clocks. Three periods of 15 minutes stop time, as the sample season plays them.
    on_film : OnFilm, optional
        The period that is played so that it can be filmed. Those before it are the same with and without.

    Returns
    -------
    Simulated
        With `Truth.kind` ``game``; the script is that of the period on film.
    """
    match = _match(np.random.default_rng([seed, 0]), opponent, seed, rates, rule_code, quick=False)
    at_s = ended_s = 5.0
    for number in range(1, LAST_PERIOD + 1):
        if on_film and number == on_film.period:
            match.rng = np.random.default_rng([seed, number, on_film.take])
            match.onto_film(at_s - WALKS_OUT_S)
        match.start_period(number, at_s, match.period_s)
        horn_s = _play(match, at_s, None)
        if horn_s is None:
            raise AssertionError("a whole period always ends")
        match.to_period(number, at_s, match.period_s, True, horn_s)
        ended_s = horn_s
        if match.filmed:
            match.script = match.script.until(horn_s)
            match.off_film(horn_s, horn_s + AFTER_S)
        at_s = horn_s + match.between(100, 150)
    return Simulated(_truth(match, seed, "game", ended_s, rule_code), match.script)


def simulate_excerpt(
    seed: int, seconds: float, opponent: str, *, period: int = 1, rates: TrueRates | None = None,
    rule_code: str = "canadian",
) -> Simulated:  # fmt: skip
    """The first part of a period, with the beats to draw it from.

    Parameters
    ----------
    seed : int
        The same seed gives the same excerpt.
    seconds : float
        Length of the film, at least 20.
    opponent : str
        Name of the other team.
    period : int
        Which period begins.
    rates : TrueRates, optional
        How things truly go.
    rule_code : str
        Floor and clocks.

    Returns
    -------
    Simulated
        With `Truth.kind` ``excerpt``. Every possession in it is complete; the film ends in dead time.

    Raises
    ------
    NoExcerpt
        If no course of play fits the length.
    """
    for attempt in range(_ATTEMPTS):
        match = _match(np.random.default_rng([seed, 1, attempt]), opponent, seed, rates, rule_code, quick=True)
        match.start_period(period, 0.0, match.period_s)
        match.script.touches.append(Touch(0.0, "dead", None, (0.0, 0.0)))
        if _play(match, FACE_OFF_S, seconds) is not None:
            match.to_period(period, FACE_OFF_S, match.period_s, False, seconds)
            for team, number in list(match._on):
                match.leave(team, number, seconds + 1.0)
            return Simulated(_truth(match, seed, "excerpt", seconds, rule_code), match.script)
    raise NoExcerpt(seconds, seed)


def _match(
    rng: np.random.Generator, opponent: str, seed: int, rates: TrueRates | None, rule_code: str, *, quick: bool
) -> Match:
    squads = {"ours": herons(), "theirs": opponents(opponent, 1)}
    rules = floor_rules(rule_code)
    return Match(rng, rules, rates or TrueRates(), squads, rules.period_min * 60.0, quick)


def _play(match: Match, at_s: float, film_s: float | None) -> float | None:
    """Play from a face-off on; returns when it ended, or None when an excerpt would not end well."""
    team, number, got_s = match.face_off(at_s)
    gained = "faceoff"
    while True:
        horn_s = match.live_from_s + match.clock_s
        short = False
        if film_s is not None:
            if got_s > film_s - 7:
                return None
            short = got_s > film_s - 13
        end = match.possession(team, number, gained, got_s, short)
        if film_s is None and end.from_s >= horn_s:
            return _horn(match, horn_s)
        why, penalty = match.after(end, team)
        if why is None:
            if end.to is None or end.holder is None:
                raise AssertionError("live play goes on with somebody")
            team, number, gained, got_s = end.to, end.holder, end.gained, end.from_s
            continue
        stop_s = end.from_s + {"goal": 0.4, "penalty": 0.4}.get(why, 0.0)
        if film_s is None and stop_s >= horn_s:
            return _horn(match, horn_s)
        if film_s is not None and stop_s > film_s - 3:
            return None
        drawn = match.drawn
        to = OTHER[drawn.team] if penalty and drawn else end.to
        match.whistle(stop_s, why, to if why != "goal" else "faceoff", True)
        match.stop_clock(stop_s)
        match.drawn = drawn if penalty else None
        if why == "goal":
            match.goal_frees(team, stop_s)
        if film_s is not None and stop_s > film_s - 9:
            _idle(match, end, stop_s, to, film_s)
            return film_s
        restart_s = stop_s + match.dead_s(why)
        if film_s is not None and restart_s > film_s - 8:
            return None
        if penalty:
            match.to_box(stop_s)
        if why == "goal":
            _between_goals(match, stop_s, restart_s)
            team, number, got_s = match.face_off(restart_s)
            gained = "faceoff"
        else:
            team = to or team
            number = _award(match, team, end, stop_s, restart_s)
            got_s, gained = restart_s, "whistle" if penalty else end.gained


def _horn(match: Match, horn_s: float) -> float:
    match.cut(horn_s)
    match.whistle(horn_s, "period_end", None, True)
    match.stop_clock(horn_s)
    return horn_s


def _between_goals(match: Match, stop_s: float, restart_s: float) -> None:
    """The scorers gather, units change, everybody lines up."""
    match.script.touches.append(Touch(stop_s + 4.0, "hidden", None, (0.0, 0.0)))
    match.script.touches.append(Touch(restart_s - 2.5, "dead", None, (0.0, 0.0)))
    for team in ("ours", "theirs"):
        if match.rng.random() < 0.8:
            match.change(team, stop_s + 2.5, False)
    match.line_up(stop_s + 6.0, restart_s)


def _award(match: Match, team: str, end: End, stop_s: float, restart_s: float) -> str:
    """The ball is put down for a team; returns who takes it."""
    other, sign = OTHER[team], match.attacks(team)
    for side in (team, other):
        if match.rng.random() < 0.35:
            match.change(side, stop_s + 1.0, False)
    x, y = match.inside(end.place, 2.5)
    place = (sign * min(sign * x, match.rules.goal_x_m - 10.0), y)  # never right at the goal
    taker = min(match.five[team], key=lambda n: apart(match.where[team, n], place))
    match.script.touches.append(Touch(max(stop_s + 0.3, end.from_s + 0.3), "hidden", None, place))
    on_s = match._on[team, taker][0]
    there = match.send(team, taker, place, max(stop_s + 1.0, on_s), restart_s - 1.5)
    match.script.touches.append(Touch(min(there, restart_s - 0.5), "held", (team, taker)))
    mates = [number for number in match.five[team] if number != taker]
    ahead = [match.inside((place[0] + sign * match.between(2, 8), left * sign)) for left in (-8.0, 8.0, -4.0, 4.5)]
    for number, spot in zip(mates, ahead, strict=False):
        on_s = match._on[team, number][0]
        match.send(team, number, spot, max(stop_s + match.between(1.5, 3), on_s), restart_s - match.between(0.5, 1.5))
    marks = [place, *ahead]
    for number, spot in zip(match.five[other], marks, strict=False):
        goal_side = match.inside((spot[0] + sign * 2.6, spot[1] * 0.85))
        on_s = match._on[other, number][0]
        match.send(other, number, goal_side, max(stop_s + match.between(1.5, 3), on_s), restart_s - 0.8)
    match.whistle(restart_s, "restart", team, False)
    match.run_clock(restart_s)
    return taker


def _idle(match: Match, end: End, stop_s: float, to: str | None, film_s: float) -> None:
    """Dead time up to the end of the film: people walk."""
    match.script.touches.append(Touch(max(stop_s + 1.5, end.from_s + 0.6), "hidden", None, match.inside(end.place)))
    for team in ("ours", "theirs"):
        for number in match.five[team]:
            x, y = match.where[team, number]
            spot = match.inside((x * 0.85 + match.between(-2, 2), y * 0.9 + match.between(-2, 2)))
            match.send(team, number, spot, stop_s + match.between(0.8, 2.5), film_s)


def _truth(match: Match, seed: int, kind: str, length_s: float, rule_code: str) -> Truth:
    match.finish(length_s)
    rows: dict[str, Any] = {name: tuple(sorted(match.rows.get(name, []), key=_when)) for name in _TABLES}
    rows["grades"] = _grades(match, seed)
    teams = {team: _team(squad) for team, squad in match.squads.items()}
    return Truth(seed=seed, kind=kind, rule_code=rule_code, teams=teams, length_ms=round(length_s * 1000), **rows)


def _grades(match: Match, seed: int) -> tuple[Grade, ...]:
    """Checkpoints of our set runs, graded better when the run freed somebody."""
    rng, rates = np.random.default_rng([seed, 6]), match.rates
    freed = {s.run for s in match.rows.get("screens", []) if s.free not in ("nobody", "illegal")}
    grades = []
    for run in sorted(match.rows.get("runs", []), key=_when):
        if run.phase != "set" or rng.random() > rates.graded:
            continue
        for checkpoint, role in CHECKPOINTS[run.set].items():
            plus = rates.plus_freed if run.id in freed else rates.plus_covered
            grade = "not_gradable" if rng.random() < rates.not_gradable else "plus" if rng.random() < plus else "minus"
            grades.append(Grade(run.id, run.end_ms, run.roles[role], checkpoint, grade))
    return tuple(grades)


def _when(row: object) -> int:
    for name in ("at_ms", "drawn_ms", "start_ms"):
        if hasattr(row, name):
            return int(getattr(row, name))
    raise AttributeError(f"{type(row).__name__} has no time")


def _team(squad: Squad) -> dict[str, object]:
    people = {number: [person.shoots, person.position] for number, person in squad.people.items()}
    return {"name": squad.name, "people": people, "goalies": list(squad.goalies)}

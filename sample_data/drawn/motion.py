"""From beats to places: where every player and the ball is at every moment of an excerpt.

Everybody is steered: attackers to be somewhere at a given moment, defenders to stay between their check and the goal,
goalkeepers to face the ball; nobody is faster or turns quicker than a young player can, and bodies push each other
apart. The steering runs at a fixed rate and is sampled for the film's frames, so that the frame rate changes nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sample_data.drawn.ball import Ball
from sample_data.drawn.body import Body
from sample_data.room import settle
from sample_data.script import Live, Place, Player, Room, Script
from tagger.floor.rules import FloorRules

RATE_HZ = 50
TOP_M_S = 7.0
GUARD_M_S = 6.6
GOALIE_M_S = 4.0
PULL_M_S2 = 9.0
LAG_S = 0.16
CLOSE_PULL_M_S2 = 13.0  # short steps beside somebody, as against a sprint
CLOSE_LAG_S = 0.1
BODY_M = 0.95
OPENS_S = 0.7
BRAKE_M_S2 = 6.5
BRAKES_S = 0.15

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Track:
    """One stay on the floor: from `from_frame` on, one row of `place_m` (x, y) and `heading` (radians) a frame."""

    who: Player
    goal: int
    from_frame: int
    place_m: Floats
    heading: Floats

    def at(self, frame: int) -> tuple[float, float, float] | None:
        """x, y, heading in a frame, or None when he is not on the floor."""
        index = frame - self.from_frame
        if not 0 <= index < len(self.heading):
            return None
        return float(self.place_m[index, 0]), float(self.place_m[index, 1]), float(self.heading[index])


@dataclass(frozen=True)
class Flight:
    """A shot in the air: by whom, from when to when, and what it comes to."""

    who: Player
    from_s: float
    to_s: float
    result: str


@dataclass(frozen=True)
class Moved:
    """All places of an excerpt.

    Attributes
    ----------
    tracks : tuple of Track
        One for every stay on the floor.
    ball_m : ndarray, shape (n_frames, 3)
        x, y and height, metres.
    holder : tuple
        For each frame the `Player` with the ball or None.
    ball_shown : ndarray of bool, shape (n_frames,)
        False while an official has the ball or it is over the boards.
    live : tuple of bool
        For each frame whether the ball is in play.
    rooms : tuple of Room
        Who is free from when to when.
    flights : tuple of Flight
        Shots, in order.
    """

    tracks: tuple[Track, ...]
    ball_m: Floats
    holder: tuple[Player | None, ...]
    ball_shown: NDArray[np.bool_]
    live: tuple[bool, ...]
    rooms: tuple[Room, ...] = ()
    flights: tuple[Flight, ...] = ()


def move(script: Script, rules: FloorRules, hands: dict[Player, str], seconds: float, fps: float, seed: int) -> Moved:
    """Play a script out.

    Parameters
    ----------
    script : Script
        Beats of an excerpt.
    rules : FloorRules
        The floor.
    hands : dict
        ``L`` or ``R`` of every player.
    seconds, fps : float
        Length and frame rate of the film.
    seed : int
        For the small sway of standing people.

    Returns
    -------
    Moved
        With ``round(seconds * fps)`` frames.
    """
    rng = np.random.default_rng([seed, 2])
    bodies = [Body(stint, script, rng, hands.get(stint.who) == "L") for stint in script.stints]
    ball = Ball(script.touches, seconds)
    lives = sorted(script.lives, key=lambda live: live.from_s)
    n_steps = int(np.ceil(seconds * RATE_HZ)) + 2
    places = np.full((n_steps, len(bodies), 2), np.nan)
    headings = np.zeros((n_steps, len(bodies)))
    balls = np.zeros((n_steps, 3))
    holders: list[Player | None] = []
    shown = np.zeros(n_steps, dtype=bool)
    for step in range(n_steps):
        t = step / RATE_HZ
        on = {body.who: body for body in bodies if body.from_s <= t < body.to_s}
        live = next((live for live in lives if live.from_s <= t < live.to_s), None)
        ball.step(t, on)
        rooms = [room for room in script.rooms if live is not None and room.from_s - 0.3 <= t < room.to_s]
        wanted: dict[Player, Floats] = {}
        for body in sorted(on.values(), key=lambda body: live is not None and body.who[0] != live.team):
            wanted[body.who] = _wanted(
                body, t, live, on=on, ball=ball, rules=rules, others=wanted, rooms=rooms
            )  # attackers first: checkers go with them
        _give_room(on, wanted, rooms, t)
        _push_apart(on, wanted)
        for body in on.values():
            lag_s, pull = (CLOSE_LAG_S, CLOSE_PULL_M_S2) if body.close else (LAG_S, PULL_M_S2)
            change = (wanted[body.who] - body.speed) / lag_s
            size = math.hypot(*change)
            body.speed = body.speed + change * min(1.0, pull / max(size, 1e-9)) / RATE_HZ
            body.place = body.place + body.speed / RATE_HZ
            _turn(body, ball, any(room.who == body.who for room in rooms))
        for index, body in enumerate(bodies):
            if body.who in on and on[body.who] is body:
                places[step, index], headings[step, index] = body.place, body.heading
        balls[step], shown[step] = ball.place, ball.shown
        holders.append(ball.holder)
    settle(script, places, [body.who for body in bodies], [body.goal for body in bodies], RATE_HZ, rules.goal_x_m)
    moved = _sampled(
        bodies, places, headings, balls=balls, holders=holders, shown=shown, lives=lives, seconds=seconds, fps=fps
    )
    flights = tuple(
        Flight(touch.who, touch.at_s, until, touch.result or "")
        for touch, until in zip(ball.touches, ball.ends, strict=True)
        if touch.how == "shot" and touch.who is not None
    )
    return replace(moved, rooms=tuple(script.rooms), flights=flights)


def _wanted(
    body: Body, t: float, live: Live | None, *, on: dict[Player, Body], ball: Ball, rules: FloorRules,
    others: dict[Player, Floats], rooms: list[Room],
) -> Floats:  # fmt: skip
    """The speed a body wants, metres per second; `others` is what those want who were asked before."""
    body.close = False
    if body.goal:
        return _keeper(body, ball, rules)
    spot = body.spot_at(t)
    if (
        live is not None
        and body.who[0] != live.team
        and (spot is None or t >= spot.at_s or spot.from_s < live.from_s - 0.7)
    ):
        return _defend(body, t, live, on=on, ball=ball, rules=rules, others=others, rooms=rooms)
    to = (body.enters if spot is None else np.array(spot.place)) - body.place
    if spot is not None and t < spot.at_s:
        wanted = to / max(spot.at_s - t - BRAKES_S, 0.12)
        far = math.hypot(*to)
        wanted *= min(1.0, (2 * BRAKE_M_S2 * far) ** 0.5 / max(math.hypot(*wanted), 1e-9))
    else:
        sway = 0.35 * np.array(
            [math.sin(0.9 * t + body.sway[0]) + math.sin(2.3 * t + body.sway[1]),
             math.sin(1.1 * t + body.sway[2]) + math.sin(1.9 * t + body.sway[3])]
        )  # fmt: skip
        wanted = to * 1.6 + (sway if live is not None else sway * 0.4)
        wanted *= min(1.0, 2.6 / max(math.hypot(*wanted), 1e-9))
    return wanted * min(1.0, TOP_M_S / max(math.hypot(*wanted), 1e-9))


def _defend(
    body: Body, t: float, live: Live, *, on: dict[Player, Body], ball: Ball, rules: FloorRules,
    others: dict[Player, Floats], rooms: list[Room],
) -> Floats:  # fmt: skip
    goal = np.array([live.attacks * rules.goal_x_m, 0.0])
    guard = body.guard_at(t, on)
    body.close = guard is not None and guard.close
    keeps = 1.0
    ahead = np.zeros(2)
    if guard is None:
        target = goal - np.array([live.attacks * 4.5, 1.5 * np.sin(body.sway[0])])
    elif guard.close:
        check = on[guard.of]
        side = _unit(goal - check.place)
        for room in rooms:
            if room.who in on and room.who != guard.of and room.from_s - 0.3 <= t:
                aside = check.place - on[room.who].place
                side = _unit(side + 1.2 * _unit(aside) * min(1.0, 3.0 / (math.hypot(*aside) + 1e-9)))
        target = check.place + side * guard.gap_m
        off = target - body.place
        far = math.hypot(*off) + 1e-9
        along = 0.5 * (others.get(guard.of, check.speed) + check.speed)
        wanted = off / far * min(8.0 * far, (2 * BRAKE_M_S2 * far) ** 0.5) + along
        return wanted * min(1.0, TOP_M_S / max(math.hypot(*wanted), 1e-9))
    else:
        check = on[guard.of]
        keeps, ahead = guard.keeps, check.speed
        to_goal = goal - check.place
        far = math.hypot(*to_goal) + 1e-9
        to_ball = ball.place[:2] - check.place
        away = math.hypot(*to_ball) + 1e-9
        gap = guard.gap_m
        if ball.holder == guard.of:
            gap = min(gap, 1.25)
        else:
            gap += min(1.3, 0.09 * away)
        if far > 20:
            gap += 1.2
        target = check.place + to_goal / far * min(gap, 0.5 * far)
        if ball.holder != guard.of and far < 20:
            target = target + to_ball / away * min(0.9, 0.12 * away)
    from_goal = target - goal
    near = math.hypot(*from_goal) + 1e-9
    if near < 1.9:
        target = goal + from_goal / near * 1.9
    wanted = (target - body.place) * 3.2 + ahead * 0.55
    top = GUARD_M_S * keeps
    return wanted * min(1.0, top / max(math.hypot(*wanted), 1e-9))


def _keeper(body: Body, ball: Ball, rules: FloorRules) -> Floats:
    goal = np.array([body.goal * rules.goal_x_m, 0.0])
    to_ball = ball.place[:2] - goal
    if to_ball[0] * body.goal > 0 and abs(to_ball[1]) < rules.goal_width_m / 2:  # it is in the net
        return -body.speed
    behind = to_ball[0] * body.goal > -0.3
    far = math.hypot(*to_ball) + 1e-9
    out = 1.15 if far < 14 else 1.5
    target = goal + to_ball / far * out
    if behind:
        target = goal + np.array([-body.goal * 0.45, 0.55 * np.sign(to_ball[1])])
    target[1] = min(0.95, max(-0.95, float(target[1])))
    target[0] = body.goal * min(body.goal * target[0], rules.goal_x_m - 0.4)
    wanted = (target - body.place) * 5.0
    return wanted * min(1.0, GOALIE_M_S / max(math.hypot(*wanted), 1e-9))


def _unit(way: Floats) -> Floats:
    return way / (math.hypot(*way) + 1e-9)


def _give_room(on: dict[Player, Body], wanted: dict[Player, Floats], rooms: list[Room], t: float) -> None:
    """Nobody of the other team comes nearer to a free man than his room, which opens step by step after contact."""
    for room in rooms:
        if room.who not in on or t < room.from_s:
            continue
        free = on[room.who]
        opened = min(1.0, max(0.0, (t - room.from_s) / OPENS_S))
        for body in on.values():
            if body.who[0] == room.who[0] or body.goal:
                continue
            radius = room.room_m * (opened**3 if body.close else 0.4 + 0.6 * opened)
            away = body.place - free.place
            far = math.hypot(*away) + 1e-9
            if far >= radius + 0.3:
                continue
            away = away / far
            least = float(free.speed @ away) + 5.0 * (radius - far)
            short = least - float(wanted[body.who] @ away)
            if short > 0:
                moved = wanted[body.who] + away * short
                wanted[body.who] = moved * min(1.0, TOP_M_S / max(math.hypot(*moved), 1e-9))


def _push_apart(on: dict[Player, Body], wanted: dict[Player, Floats]) -> None:
    whos = list(on)
    places = np.array([on[who].place for who in whos])
    offsets = places[:, None, :] - places[None, :, :]
    far = np.hypot(offsets[..., 0], offsets[..., 1])
    np.fill_diagonal(far, np.inf)
    close = far < BODY_M
    if not close.any():
        return
    push = np.where(close, (BODY_M - np.minimum(far, BODY_M)) / np.maximum(far, 0.05), 0.0)
    moves = (offsets * push[..., None]).sum(axis=1) * 7.0
    for who, shove in zip(whos, moves, strict=True):
        wanted[who] = wanted[who] + shove * (0.3 if on[who].goal else 0.5 if on[who].close else 1.0)


def _turn(body: Body, ball: Ball, free: bool) -> None:
    quick = math.hypot(*body.speed)
    to_x, to_y = float(ball.place[0] - body.place[0]), float(ball.place[1] - body.place[1])
    look = math.atan2(to_y, to_x) if math.hypot(to_x, to_y) > 0.6 else body.heading
    if ball.holder == body.who:
        look = math.atan2(0.0, -np.sign(body.place[0])) if body.goal else body.heading
    course = math.atan2(body.speed[1], body.speed[0])
    share = min(1.0, max(0.0, (quick - 1.2) / 2.0)) * (0.3 if free and ball.holder != body.who else 1.0)
    wanted = math.atan2(
        share * math.sin(course) + (1 - share) * math.sin(look),
        share * math.cos(course) + (1 - share) * math.cos(look),
    )
    turn = (wanted - body.heading + math.pi) % (2 * math.pi) - math.pi
    body.heading += min(7.0, max(-7.0, turn * 6.0)) / RATE_HZ


def _sampled(
    bodies: list[Body], places: Floats, headings: Floats, *, balls: Floats, holders: list[Player | None],
    shown: NDArray[np.bool_], lives: list[Live], seconds: float, fps: float,
) -> Moved:  # fmt: skip
    n_frames = round(seconds * fps)
    at = np.arange(n_frames) / fps * RATE_HZ
    low = np.minimum(at.astype(int), len(balls) - 2)
    share = at - low
    near = np.minimum(np.rint(at).astype(int), len(balls) - 1)
    tracks = []
    for index, body in enumerate(bodies):
        here = ~np.isnan(places[low, index, 0]) & ~np.isnan(places[low + 1, index, 0])
        frames = np.flatnonzero(here)
        if not len(frames):
            continue
        first, last = int(frames[0]), int(frames[-1]) + 1
        a, b = low[first:last], share[first:last, None]
        spot: Any = places[a, index] * (1 - b) + places[a + 1, index] * b
        tracks.append(Track(body.who, body.goal, first, spot, headings[near[first:last], index]))
    ball = balls[low] * (1 - share[:, None]) + balls[low + 1] * share[:, None]
    times = np.arange(n_frames) / fps
    live = tuple(any(one.from_s <= t < one.to_s for one in lives) for t in times)
    return Moved(tuple(tracks), ball, tuple(holders[k] for k in near), shown[near], live)


def place_of(moved: Moved, who: Player, frame: int) -> Place | None:
    """Where a player is in a frame, or None when he is not on the floor."""
    for track in moved.tracks:
        if track.who == who and (here := track.at(frame)) is not None:
            return here[0], here[1]
    return None

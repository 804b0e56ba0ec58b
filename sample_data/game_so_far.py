"""The state of a game while it is made up: who is where, whose penalty runs, and what is kept of it."""

from __future__ import annotations

from typing import Any

import numpy as np

from sample_data.rates import TrueRates
from sample_data.script import Place, Player, Script, Spot, Stint, apart, ms
from sample_data.squad import Squad
from sample_data.truth import Line, Penalty
from tagger.floor.rules import RUNNERS, FloorRules

BENCH_X_M = {"ours": -5.0, "theirs": 5.0}


class GameSoFar:
    """The state of a game while it is made up.

    Parameters
    ----------
    rng : numpy Generator
        The only source of chance.
    rules : FloorRules
        Floor and clocks.
    rates : TrueRates
        How things go.
    squads : dict
        `Squad` of ``ours`` and ``theirs``.
    period_s : float
        Length of a period on the clock.
    quick : bool
        For a short film: dead time is short, and attacks are played so that they can be seen.

    Attributes
    ----------
    filmed : bool
        Whether what is played now is played so that it can be seen.
    """

    def __init__(
        self, rng: np.random.Generator, rules: FloorRules, rates: TrueRates, squads: dict[str, Squad], period_s: float,
        quick: bool,
    ) -> None:  # fmt: skip
        self.rng, self.rules, self.rates, self.squads = rng, rules, rates, squads
        self.period_s, self.quick, self.filmed = period_s, quick, quick
        self.script = Script()
        self.rows: dict[str, list[Any]] = {}
        self.five: dict[str, list[str]] = {}
        self.goalie: dict[str, str] = {}
        self.where: dict[Player, Place] = {}
        self.boxed: list[Penalty] = []
        self.left_in_box_s: list[float] = []
        self.drawn: Penalty | None = None
        self.period = 0
        self.clock_s = period_s
        self.live_from_s = 0.0
        self.t = 0.0
        self._ids: dict[str, int] = {}
        self._on: dict[Player, tuple[float, Place, int]] = {}
        self._side = {"ours": 1, "theirs": -1}

    # book-keeping

    def keep(self, table: str, row: Any) -> None:
        """Keep a row of the truth."""
        self.rows.setdefault(table, []).append(row)

    def new_id(self, letter: str) -> str:
        """The next id with this letter."""
        self._ids[letter] = self._ids.get(letter, 0) + 1
        return f"{letter}{self._ids[letter]}"

    def attacks(self, team: str) -> int:
        """+1 if the team attacks towards +x in this period, else -1."""
        return self._side[team] * (1 if self.period % 2 else -1)

    def inside(self, place: Place, edge_m: float = 0.9) -> Place:
        """The place, or the nearest one inside the boards."""
        half_l, half_w = self.rules.length_m / 2 - edge_m, self.rules.width_m / 2 - edge_m
        x, y = float(np.clip(place[0], -half_l, half_l)), float(np.clip(place[1], -half_w, half_w))
        corner = max(0.5, self.rules.corner_radius_m - edge_m)
        cx, cy = half_l - corner, half_w - corner
        dx, dy = abs(x) - cx, abs(y) - cy
        if dx > 0 and dy > 0 and (far := (dx * dx + dy * dy) ** 0.5) > corner:
            x, y = float(np.sign(x)) * (cx + dx * corner / far), float(np.sign(y)) * (cy + dy * corner / far)
        return x, y

    def n_runners(self, team: str, at_s: float) -> int:
        """Runners that the team has on the floor at a moment."""
        away = [one for one in self.boxed if one.team == team and one.start_ms <= ms(at_s) < one.end_ms]
        return RUNNERS - len(away)

    def between(self, low: float, high: float) -> float:
        """A number drawn evenly between two."""
        return float(self.rng.uniform(low, high))

    # who is on the floor

    def enter(self, team: str, number: str, at_s: float, place: Place, goal: int = 0) -> None:
        """A player comes onto the floor."""
        self._on[team, number] = (at_s, place, goal)
        self.where[team, number] = place

    def leave(self, team: str, number: str, at_s: float) -> None:
        """A player is off the floor."""
        from_s, place, goal = self._on.pop((team, number))
        self.script.stints.append(Stint((team, number), from_s, at_s, place, self.where[team, number], goal))

    def send(self, team: str, number: str, place: Place, from_s: float, at_s: float) -> float:
        """Send a player somewhere in dead time; returns when he is there."""
        at_s = max(at_s, from_s + apart(self.where[team, number], place) / 4.2 + 0.2)
        self.script.spots.append(Spot(from_s, at_s, (team, number), place))
        self.where[team, number] = place
        return at_s

    def bench(self, team: str) -> Place:
        """Where the team's gate is."""
        return BENCH_X_M[team] + self.between(-2.0, 2.0), -self.rules.width_m / 2 + 0.35

    def box(self, team: str) -> Place:
        """Where the team's penalty box is."""
        return BENCH_X_M[team] * 0.6, self.rules.width_m / 2 - 0.35

    def change(self, team: str, at_s: float, all_of_them: bool) -> None:
        """The next five go out for those on the floor, through the gate."""
        squad = self.squads[team]
        weights = [0.34, 0.28, 0.2, 0.07, 0.06, 0.05][: len(squad.fives)]
        pick = int(self.rng.choice(len(weights), p=[weight / sum(weights) for weight in weights]))
        boxed = {one.player for one in self.boxed if one.team == team and one.end_ms > ms(at_s)}
        n_out = RUNNERS - len(boxed)
        fresh = [number for number in squad.fives[pick] if number not in boxed][:n_out]
        staying = [number for number in self.five.get(team, []) if number in fresh]
        going = [number for number in self.five.get(team, []) if number not in fresh]
        coming = [number for number in fresh if number not in staying]
        for order, number in enumerate(going):
            gone = self.send(team, number, self.bench(team), at_s + 0.4 * order + self.between(0, 0.4), at_s + 2.0)
            self.leave(team, number, gone)
        for order, number in enumerate(coming):
            self.enter(team, number, at_s + 1.2 + 0.5 * order, self.bench(team))
        self.five[team] = fresh
        if coming or all_of_them:
            self.keep("lines", Line(ms(at_s), team, tuple(fresh)))

    def let_back(self, at_s: float) -> bool:
        """Bring back players whose penalty ended by now; True if somebody came."""
        came = False
        for one in self.boxed:
            if one.end_ms <= ms(at_s) and one.ended == "on":
                self.release(one, "served")
                came = True
        self.boxed = [one for one in self.boxed if one.ended == "on"]
        return came

    def release(self, one: Penalty, how: str) -> None:
        """A player comes out of the box."""
        back_s = one.end_ms / 1000
        index = self.boxed.index(one)
        self.boxed[index] = done = Penalty(one.drawn_ms, one.start_ms, one.end_ms, one.team, one.player, how)
        self.keep("penalties", done)
        self.enter(one.team, one.player, back_s, self.box(one.team))
        self.five[one.team].append(one.player)

"""A game, or an excerpt of one: periods, face-offs, possessions one after the other, penalties, changes, dead time."""

from __future__ import annotations

from typing import Any

import numpy as np

from sample_data.attack import Attack
from sample_data.filmed import FilmedAttack
from sample_data.game_so_far import BENCH_X_M, GameSoFar
from sample_data.script import OTHER, Place, Script, Spot, Touch, apart, ms
from sample_data.shooting import End
from sample_data.truth import Clock, FaceOff, Goalie, Line, LooseBall, Penalty, Period, Whistle

PENALTY_S = 120.0
WALKS_OUT_S = 12.0
"""So long before its first face-off a period's runners come out."""
_SHORT = {(0, 0), (0, 1), (1, 0), (1, 1), (0, 2), (2, 0)}
_AT_MS = ("whistles", "face_offs", "shots", "screens", "turnovers", "loose_balls")


class Match(GameSoFar):
    """A game that is played out; parameters are those of `GameSoFar`."""

    def whistle(self, at_s: float, why: str, ball_to: str | None, stops: bool) -> None:
        """Blow the whistle."""
        self.keep("whistles", Whistle(ms(at_s), why, ball_to, stops))

    def start_period(self, number: int, at_s: float, clock_s: float) -> None:
        """Everybody at the face-off places; no whistle yet."""
        self.period, self.clock_s, self.t = number, clock_s, at_s
        first = not self.goalie
        for team in ("ours", "theirs"):
            own = -self.attacks(team) * self.rules.goal_x_m
            if first:
                self.goalie[team] = self.squads[team].goalies[0]
                self.enter(team, self.goalie[team], at_s, (own - np.sign(own) * 1.3, 0.0), int(np.sign(own)))
                self.keep("goalies", Goalie(ms(at_s), team, self.goalie[team]))
                self.five[team] = list(self.squads[team].fives[0 if team == "ours" else int(self.rng.integers(0, 3))])
                self.keep("lines", Line(ms(at_s), team, tuple(self.five[team])))
                for place, runner in zip(self.face_off_places(team), self.five[team], strict=True):
                    self.enter(team, runner, at_s, place)
            else:
                keeper, there_s = self.goalie[team], at_s - (WALKS_OUT_S if self.filmed else 0.0)
                self.leave(team, keeper, there_s)
                self.enter(team, keeper, there_s, (own - np.sign(own) * 1.3, 0.0), int(np.sign(own)))
                self.change(team, at_s - WALKS_OUT_S, True)
        if not first:
            self.line_up(at_s - 9.0, at_s)

    def onto_film(self, at_s: float) -> None:
        """A film begins: whoever is on the floor stands in front of his bench, and what was before is not on it."""
        self.filmed, self.script = True, Script()
        for team in OTHER:
            for order, number in enumerate(self.five[team]):
                place = (BENCH_X_M[team] + 1.4 * (order - 2), 1.6 + 0.7 * (order % 2) - self.rules.width_m / 2)
                self._on[team, number] = (at_s, place, 0)
                self.where[team, number] = place

    def off_film(self, horn_s: float, at_s: float) -> None:
        """The horn has gone: everybody walks, until the film ends."""
        self.script.touches.append(Touch(horn_s + 2.5, "hidden", None, (0.0, 0.0)))
        for team in OTHER:
            for number in self.five[team]:
                x, y = self.where[team, number]
                place = self.inside((x * 0.85 + self.between(-2, 2), y * 0.9 + self.between(-2, 2)))
                self.send(team, number, place, horn_s + self.between(0.3, 1.2), at_s)
        for team, number in list(self._on):
            self.leave(team, number, at_s + 1.0)

    def face_off_places(self, team: str) -> list[Place]:
        """Five places for a face-off, the taker's first."""
        sign, far = self.attacks(team), self.rules.restraining_from_centre_m + 0.8
        shift = 0.9 if team == "ours" else -0.9
        places = [(-0.75 * sign, 0.0), (far * sign, 4.5 * sign + shift), (far * sign, -4.5 * sign + shift)]
        return [*places, (-far * sign, 5.0 * sign + shift), (-far * sign, -5.0 * sign + shift)]

    def line_up(self, from_s: float, at_s: float) -> None:
        """Send everybody to the face-off places, shortest ways first."""
        for team in ("ours", "theirs"):
            waiting = list(self.five[team])
            for place in self.face_off_places(team)[: len(waiting)]:
                runner = min(waiting, key=lambda number: apart(self.where[team, number], place))
                waiting.remove(runner)
                on_s = self._on[team, runner][0]
                self.send(team, runner, place, max(from_s + self.between(0, 1.0), on_s), at_s - self.between(0.8, 1.6))

    def face_off(self, at_s: float) -> tuple[str, str, float]:
        """Blow, draw, and somebody comes away with it: team, number, when."""
        self.whistle(at_s, "face_off", None, False)
        self.run_clock(at_s)
        takers = {team: min(self.five[team], key=lambda n: apart(self.where[team, n], (0, 0))) for team in self.five}
        won_by = "ours" if self.rng.random() < self.rates.face_off else "theirs"
        self.script.touches.append(Touch(at_s - 0.01, "dead", None, (0.0, 0.0)))
        angle = self.between(-2.6, 2.6)
        reach = self.between(2.2, 5.0)
        spot = (-self.attacks(won_by) * reach * abs(float(np.cos(angle))), reach * float(np.sin(angle)))
        number = takers[won_by] if self.rng.random() < 0.62 else self._near(won_by, spot, takers[won_by])
        loose_s = at_s + self.between(0.5, 1.1)
        self.script.touches.append(Touch(loose_s, "loose", None, spot))
        got_s = max(loose_s + 0.5, at_s + apart(self.where[won_by, number], spot) / 5.2 + 0.3)
        self.script.spots.append(Spot(at_s, got_s, (won_by, number), spot))
        self.where[won_by, number] = spot
        lost_by = OTHER[won_by]
        chaser = takers[lost_by]
        self.script.spots.append(Spot(loose_s, got_s + 0.1, (lost_by, chaser), (spot[0] * 0.7, spot[1] * 0.7)))
        self.where[lost_by, chaser] = (spot[0] * 0.7, spot[1] * 0.7)
        self.keep("face_offs", FaceOff(ms(at_s), takers["ours"], takers["theirs"], won_by, number))
        self.keep("loose_balls", LooseBall(ms(got_s), won_by, number))
        return won_by, number, got_s

    def _near(self, team: str, spot: Place, but: str) -> str:
        return min((n for n in self.five[team] if n != but), key=lambda n: apart(self.where[team, n], spot))

    def run_clock(self, at_s: float) -> None:
        """The clock runs from now."""
        self.live_from_s = at_s
        self.keep("clocks", Clock(ms(at_s), self.period, round(self.clock_s, 2), True))
        self.boxed = [
            Penalty(one.drawn_ms, min(one.start_ms or ms(at_s), ms(at_s)), ms(at_s + left), one.team, one.player, "on")
            for one, left in zip(self.boxed, self.left_in_box_s, strict=True)
        ]

    def stop_clock(self, at_s: float) -> None:
        """The clock stands from now; penalties with it."""
        self.clock_s -= at_s - self.live_from_s
        self.keep("clocks", Clock(ms(at_s), self.period, round(max(0.0, self.clock_s), 2), False))
        self.let_back(at_s)
        self.left_in_box_s = [one.end_ms / 1000 - at_s for one in self.boxed]
        far = ms(at_s) + 10**7
        self.boxed = [Penalty(o.drawn_ms, o.start_ms, far, o.team, o.player, "on") for o in self.boxed]

    def possession(self, team: str, number: str, gained: str, at_s: float, short: bool = False) -> End:
        """Play one possession."""
        kind = FilmedAttack if self.filmed else Attack
        return kind(self, team, number, at_s).play(gained, short)

    def after(self, end: End, team: str) -> tuple[str | None, bool]:
        """What follows a possession: why play stops, if it does, and whether a penalty is to be served."""
        drawn = self.drawn
        if drawn is None:
            return end.whistle, False
        boxed = {team: sum(one.team == team for one in self.boxed) + (drawn.team == team) for team in OTHER}
        on_floor = drawn.player in self.five[drawn.team]
        possible = on_floor and (boxed["ours"], boxed["theirs"]) in _SHORT
        if end.ended in ("goal", "whistle") or not possible:
            self.keep("penalties", drawn)
            self.drawn = None
            return end.whistle, False
        return "penalty", True

    def to_box(self, at_s: float) -> None:
        """The player whose penalty was drawn goes to the box; his team plays on one short."""
        drawn, self.drawn = self.drawn, None
        if drawn is None:
            return
        self.boxed.append(Penalty(drawn.drawn_ms, 0, 10**9, drawn.team, drawn.player, "on"))
        self.left_in_box_s.append(PENALTY_S)
        self.five[drawn.team].remove(drawn.player)
        gone_s = self.send(drawn.team, drawn.player, self.box(drawn.team), at_s + 1.0, at_s + 3.0)
        self.leave(drawn.team, drawn.player, gone_s)

    def finish(self, at_s: float) -> None:
        """The game, or the film, is over: write down penalties that are not."""
        self.let_back(at_s)
        for one in self.boxed:
            until = max(one.start_ms, min(one.end_ms, ms(at_s) + 1))
            self.keep("penalties", Penalty(one.drawn_ms, one.start_ms, until, one.team, one.player, "on"))
        if self.drawn:
            self.keep("penalties", self.drawn)

    def goal_frees(self, team: str, at_s: float) -> None:
        """A goal of the side with more runners ends a minor of the other."""
        against = [one for one in self.boxed if one.team == OTHER[team] and one.start_ms]
        ours = [one for one in self.boxed if one.team == team]
        if len(against) > len(ours):
            one = against[0]
            index = self.boxed.index(one)
            self.boxed[index] = one = Penalty(one.drawn_ms, one.start_ms, ms(at_s), one.team, one.player, "on")
            self.release(one, "goal")
            del self.left_in_box_s[index], self.boxed[index]

    def dead_s(self, why: str) -> float:
        """How long play stands still after a whistle."""
        if self.quick:
            return {"goal": self.between(15, 18), "penalty": self.between(12, 14)}.get(why, self.between(7, 9))
        return {"goal": self.between(18, 35), "penalty": self.between(20, 40)}.get(why, self.between(8, 16))

    def to_period(self, number: int, at_s: float, clock_s: float, whole: bool, end_s: float) -> None:
        """Write a period down."""
        self.keep("periods", Period(number, ms(at_s), ms(end_s), clock_s, whole))

    def cut(self, at_s: float) -> None:
        """Play ended by the horn: what would have happened later did not happen."""
        horn = ms(at_s)
        for table in _AT_MS:
            self.rows[table] = [row for row in self.rows.get(table, []) if row.at_ms < horn]
        self.rows["runs"] = [_till(run, horn) for run in self.rows["runs"] if run.start_ms < horn]
        self.rows["possessions"] = [_till(one, horn) for one in self.rows["possessions"] if one.start_ms < horn]
        if self.drawn and self.drawn.drawn_ms >= horn:
            self.drawn = None


def _till(row: Any, horn_ms: int) -> Any:
    from dataclasses import replace

    if row.end_ms < horn_ms or (row.end_ms == horn_ms and row.ended == "period_end"):
        return row
    if hasattr(row, "look"):
        named = row.look is not None
        return replace(
            row, end_ms=horn_ms, ended="period_end", penalty_drawn=False,
            look="none" if named else None, look_open="none" if named else None,
        )  # fmt: skip
    settled = row.settled_ms if row.settled_ms is not None and row.settled_ms < horn_ms else None
    return replace(row, end_ms=horn_ms, ended="period_end", settled_ms=settled)

"""One possession, from the first control to its end: the way up the floor, tries, and the last seconds of the clock."""

from __future__ import annotations

from sample_data.plays import PLAYS, to_side
from sample_data.rates import SetRates
from sample_data.script import Live, Touch, apart, ms
from sample_data.shooting import End
from sample_data.tries import Tries
from sample_data.truth import Possession

LEAST_TRY_S = 9.5


class Attack(Tries):
    """One possession of one team. Parameters are those of `Beats`."""

    gained = "faceoff"

    def play(self, gained: str, short: bool = False) -> End:
        """Play the possession out and hand its rows to the match.

        Parameters
        ----------
        gained : str
            How the team got the ball.
        short : bool
            End it at once with the ball out of play: the last possession of an excerpt.
        """
        self.gained = gained
        start, by = self.t, self.holder
        self.settled_s: float | None = None
        self.settled_strength = ""
        self.hold(self.holder, start)
        end = self._over_the_boards(start) if short else self._play(start)
        self.leave_off()
        self.match.script.lives.append(Live(start, end.from_s, self.team, self.sign))
        for run in self.runs:
            self.match.keep("runs", run)
        self.match.keep(
            "possessions",
            Possession(
                id=self.id,
                period=self.match.period,
                team=self.team,
                strength=self.settled_strength or self.strength(end.at_s),
                attacks=self.sign,
                gained=gained,
                by=by,
                crossed=self.crossed,
                settled_ms=None if self.settled_s is None else ms(self.settled_s),
                start_ms=ms(start),
                end_ms=ms(end.at_s),
                ended=end.ended,
            ),
        )
        return end

    def _play(self, start: float) -> End:
        rates = self.match.rates
        self.pair_up(start + 0.25)
        if self.chance(rates.fail_clear):
            return self._fail_clear(start)
        live = self.gained in ("save", "turnover", "missed_shot")
        if live and self.strength(start) == "5v5" and self.chance(rates.fast_break):
            end = self._fast_break(start)
            if end:
                return end
        choice = self._choose()
        self._come_up(start, *choice)
        for turn in range(12):
            self._back_from_the_box()
            flowed = self.base == "flowed"
            if self.clock_end_s - self.t < LEAST_TRY_S and not flowed:
                return self._last_seconds()
            end = self.try_set(*(choice if turn == 0 else self._choose()))
            if end:
                return end
        return self._last_seconds()

    def _choose(self) -> tuple[SetRates, str]:
        """The next set and its side."""
        strength = self.strength(self.t)
        rates = self.match.rates
        options = rates.man_up if strength == "5v4" else rates.even if strength == "5v5" else (rates.of("freelance"),)
        picked = self.draw({option.code: option.use for option in options})
        chosen = next(option for option in options if option.code == picked)
        return chosen, "left" if self.chance(chosen.left) else "right"

    def _back_from_the_box(self) -> None:
        """Players whose penalty is over are on the floor again."""
        if self.match.let_back(self.t):
            self.pair_up(self.t)

    def _outlet(self) -> None:
        """A goalkeeper with the ball gives it to a runner."""
        if self.holder not in self.match.squads[self.team].goalies:
            return
        to = self.nearest(self.where(self.holder))[int(self.rng.integers(0, 2))]
        place = self.wobble(self.rink(2 * self.match.rules.goal_x_m - 5.0, self.seen(self.where(to))[1] * 0.8), 0.8)
        self.move(to, place, self.t, self.t + self.between(0.8, 1.6))
        self.t = self.pass_ball(to, self.t + self.between(0.9, 1.8))

    def _come_up(self, start: float, rates: SetRates, side: str) -> None:
        """From the first control to a settled offence."""
        self._outlet()
        play = PLAYS[rates.code]
        settled = self.t + self.between(1.6, 2.8)
        for role, number in self.match.squads[self.team].roles(self.five, play, side).items():
            place = self.wobble(self.rink(*to_side(play.places[role], side)))
            run_s = apart(self.where(number), place) / self.between(4.6, 5.2)
            settled = max(settled, self.move(number, place, self.t + self.between(0, 0.5), self.t + run_s + 0.5))
        if self.chance(0.6) and settled - self.t > 3.0:
            mates = [number for number in self.five if number != self.holder]
            self.pass_ball(self.one_of(mates), self.t + self.between(1.2, settled - self.t - 1.4))
        self.t = self.settled_s = max(settled, self.t)
        self.settled_strength = self.strength(self.t)
        self.note(start, self.t, "settled", phase="transition")

    def _fail_clear(self, start: float) -> End:
        """The ball is lost on the way up."""
        self._outlet()
        for number in self.five:
            out, left = self.seen(self.where(number))
            self.move(number, self.match.inside(self.rink(out - self.between(3, 8), left * 0.8)), self.t, self.t + 2.5)
        end = self.lose(self.draw({"bad_pass": 0.5, "stripped": 0.3, "dropped": 0.2}), self.t + self.between(1.2, 2.4))
        self.note(start, end.at_s, "turnover", phase="transition")
        return end

    def _over_the_boards(self, start: float) -> End:
        """A throw that nobody can reach."""
        self.pair_up(start + 0.25)
        self._outlet()
        for number in self.five:
            out, left = self.seen(self.where(number))
            self.move(number, self.match.inside(self.rink(out - self.between(5, 9), left * 0.8)), self.t, self.t + 2.5)
        at_s = self.t + self.between(1.6, 2.4)
        x, _ = self.where(self.holder)
        place = (x + self.sign * 5.0, self.match.rules.width_m / 2 + 4.0)
        self.match.script.touches.append(Touch(at_s, "out", (self.team, self.holder), place, 2.4))
        self.lost(self.holder, "bad_pass", at_s)
        self.note(start, at_s, "turnover", phase="transition")
        return End(
            at_s,
            "turnover",
            self.other,
            holder=None,
            place=self.match.inside(place),
            gained="whistle",
            from_s=at_s + 0.7,
            whistle="out_of_play",
        )

    def _fast_break(self, start: float) -> End | None:
        """Up the floor before the defence is back: most often a shot, else it settles."""
        rates = self.match.rates
        self._outlet()
        order = sorted(self.five, key=lambda number: self.seen(self.where(number))[0])
        leader, trailer = order[0], order[1]
        place = self.wobble(self.rink(self.between(3.5, 6.0), self.between(-2.5, 2.5)), 0.2)
        there = self.move(leader, place, self.t, self.t + apart(self.where(leader), place) / 6.2)
        self.move(trailer, self.rink(4.5, -4.0 * self.either()), self.t, there)
        for number in order[2:]:
            self.move(number, self.rink(self.between(11, 15), self.between(-6, 6)), self.t + 0.4, there + 1.0)
        feeders: tuple[str, ...] = ()
        if self.holder != leader:
            feeders = (self.holder,)
            self.t = self.pass_ball(leader, max(self.t + 0.5, there - self.between(0.7, 1.5)))
        self.t = max(self.t, there) + self.between(0.15, 0.35)
        if self.chance(rates.fast_break_shot):
            self.note(start, self.t, "shot", phase="transition")
            end = self.shoot(leader, feeders, self.t, rates.fast_break_goal)
            return end or self._last_seconds()
        if self.chance(0.35):
            end = self.lose("bad_pass", self.t)
            self.note(start, end.at_s, "turnover", phase="transition")
            return end
        return None

    def _last_seconds(self) -> End:
        """The shot clock runs down: a hurried shot from far out, or the violation."""
        start = self.t
        if self.chance(0.62) and self.clock_end_s - self.t > 1.0:
            out, left = self.seen(self.where(self.holder))
            place = self.rink(min(max(out, 7.0), 10.0), left * 0.8)
            at_s = max(self.t + 0.8, self.clock_end_s - self.between(0.8, 2.0))
            at_s = max(at_s, self.move(self.holder, place, at_s - 1.2, at_s))
            self.note(start, at_s, "shot")
            end = self.shoot(self.holder, (), at_s, 0.03, dump=True)
            if end:
                return end
            start = self.t
        if self.clock_end_s - self.t > LEAST_TRY_S:
            end = self.lose("stripped", self.t + self.between(1.5, 3.0))
            self.note(start, end.at_s, "turnover")
            return end
        at_s = max(self.t + 0.3, self.clock_end_s)
        self.lost(self.holder, "shot_clock", at_s)
        self.note(start, at_s, "turnover")
        return End(
            at_s,
            "violation",
            self.other,
            holder=None,
            place=self.where(self.holder),
            gained="turnover",
            from_s=at_s,
            whistle="shot_clock",
        )

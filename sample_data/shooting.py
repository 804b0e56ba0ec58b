"""Shots, rebounds, second chances and lost balls of one attack, and the book-keeping of its runs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from sample_data.beats import PASS_M_S, Beats
from sample_data.game_so_far import GameSoFar
from sample_data.script import OTHER, Place, Touch, apart, ms
from sample_data.truth import LooseBall, Penalty, Run, Shot, Turnover

NONE = "none"
_BASE_AFTER = {"broken": "broken"}


@dataclass(frozen=True)
class End:
    """How a possession ended, and who has the ball from when on; `whistle` says why play stopped, if it did."""

    at_s: float
    ended: str
    to: str | None
    holder: str | None
    place: Place
    gained: str
    from_s: float
    whistle: str | None = None


class Shooting(Beats):
    """An attack that can shoot and lose the ball.

    Parameters are those of `Beats`.

    Attributes
    ----------
    shot_m_s : float
        How fast a shot is.
    least_flight_s : float
        How long the shortest is in the air.
    """

    shot_m_s = 21.0
    least_flight_s = 0.12

    def __init__(self, match: GameSoFar, team: str, holder: str, at_s: float) -> None:
        super().__init__(match, team, holder, at_s)
        self.id = match.new_id("p")
        self.clock_end_s = at_s + match.rules.shot_clock_s
        self.runs: list[Run] = []
        self.base = "not_tagged"
        self.parent: str | None = None
        self.drawn_s: float | None = None
        self.crossed = True
        self.struck_m = 0.0

    @property
    def run_id(self) -> str:
        """Id of the run that is on."""
        return f"{self.id}.{len(self.runs) + 1}"

    def strength(self, at_s: float) -> str:
        """Runners, the attackers' first."""
        return f"{self.match.n_runners(self.team, at_s)}v{self.match.n_runners(self.other, at_s)}"

    def note(
        self, start_s: float, end_s: float, ended: str, *, phase: str | None = None, name: str | None = None,
        side: str | None = None, look: str | None = None, look_open: str | None = None,
        roles: Mapping[str, str] | None = None,
    ) -> Run:  # fmt: skip
        """Write a run down; one that nothing names has the phase that the stretch before left it."""
        run = Run(
            id=self.run_id,
            possession=self.id,
            team=self.team,
            strength=self.strength(end_s if phase == "transition" else start_s),
            order=len(self.runs) + 1,
            set=name,
            side=side,
            phase=phase or self.base,
            parent=self.parent,
            start_ms=ms(start_s),
            end_ms=ms(end_s),
            look=look,
            look_open=look_open,
            ended=ended,
            penalty_drawn=False,
            roles=dict(roles or {}),
        )
        self.base, self.parent = _BASE_AFTER.get(ended, "not_tagged"), None
        tried = run.phase in ("set", "family", "freelance")
        if tried and self.drawn_s is None and self.chance(self.match.rates.penalty_drawn):
            self.drawn_s = self.between(start_s + 0.3 * (end_s - start_s), end_s - 0.1)
            run = replace(run, penalty_drawn=True)
            player = self.one_of(self.against)
            self.match.drawn = Penalty(ms(self.drawn_s), 0, 0, self.other, player, "wiped")
        self.runs.append(run)
        return run

    def shoot(
        self, shooter: str, feeders: tuple[str, ...], at_s: float, goal_p: float, *, dump: bool = False
    ) -> End | None:  # fmt: skip
        """The last run's shot and what comes of it. None when the shooters have the ball again and start over."""
        run = self.runs[-1]
        rates, rules = self.match.rates, self.match.rules
        result = "goal" if self.chance(goal_p) else self.draw(rates.miss)
        place = self.where(shooter)
        out, left = self.seen(place)
        hit_s = self.fly(result, shooter, out, left, at_s)
        goalie = self.match.goalie[self.other]
        recovered: str | None = None
        end: End | None = None
        got: tuple[str, float, Place] | None = None
        if result == "goal":
            end = End(
                at_s,
                "goal",
                None,
                holder=None,
                place=self.rink(-0.6, 0),
                gained="faceoff",
                from_s=hit_s,
                whistle="goal",
            )
        elif result == "saved" and self.chance(rates.held):
            recovered = "no"
            self.hold(goalie, hit_s, self.other)
            end = End(
                at_s,
                "save",
                self.other,
                holder=goalie,
                place=self.where(goalie, self.other),
                gained="save",
                from_s=hit_s,
            )
        else:
            again = self.chance(rates.own_rebound[result]) and len(self.runs) < 9
            recovered = "yes" if again else "no"
            got = self.rebound(result, again, hit_s, (out, left))
            if not again:
                told = "save" if result == "saved" else "missed_shot"
                end = End(at_s, told, self.other, holder=got[0], place=got[2], gained=told, from_s=got[1])
        causes = rates.cause if run.phase != "second_chance" else {"rebound": 1.0}
        self.match.keep(
            "shots",
            Shot(
                id=self.match.new_id("s"),
                possession=self.id,
                run=run.id,
                at_ms=ms(at_s),
                team=self.team,
                strength=self.strength(at_s),
                shooter=shooter,
                feeder=feeders[0] if feeders else NONE,
                feeder2=feeders[1] if len(feeders) > 1 else NONE,
                result="dump" if dump and result in ("wide", "blocked") else result,
                recovered=recovered,
                x_m=round(rules.goal_x_m - out, 2),
                y_m=round(left, 2),
                cause=self.draw(causes) if result == "goal" and self.team == "theirs" else None,
            ),
        )
        if end or got is None:
            return end
        return self.second_chance(got, result, at_s, run)

    def fly(self, result: str, shooter: str, out: float, left: float, at_s: float) -> float:
        """Send the ball on its way; returns when it is there."""
        rules = self.match.rules
        length = max(0.5, float((out**2 + left**2) ** 0.5))
        flight = max(self.least_flight_s, length / self.shot_m_s)
        post = rules.goal_width_m / 2
        height = self.between(0.15, rules.goal_height_m * 0.9)
        across = self.either() * {"goal": post * self.between(0.3, 0.85), "post": post + 0.03}.get(result, post * 0.6)
        target = self.rink({"goal": -0.35, "saved": 0.6}.get(result, 0.0), across)
        if result == "blocked":
            share = 1 - 1.5 / max(1.6, length)
            target, flight, height = self.rink(out * share, left * share), 0.1, 1.2
        if result == "wide":
            behind = rules.goal_line_to_boards_m
            miss = self.either() * (post + self.between(0.25, 1.2))
            target = self.rink(-behind, left + (miss - left) * (out + behind) / max(out, 0.8))
            target = self.match.inside(target, 0.1)
            flight = (length + behind) / self.shot_m_s
        self.struck_m = across
        self.match.script.touches.append(Touch(at_s, "shot", (self.team, shooter), target, height, result))
        if result == "goal":
            self.match.script.touches.append(Touch(at_s + flight, "dead", None, self.rink(-0.7, across)))
        return at_s + flight

    def rebound(
        self, result: str, again: bool, hit_s: float, shot_from: tuple[float, float]
    ) -> tuple[str, float, Place]:
        """The ball is loose after a shot: who gets it, when, where."""
        team = self.team if again else self.other
        spot = self.match.inside(self.bounces_to(result, shot_from))
        number = self.nearest(spot, team)[0]
        self.match.script.touches.append(Touch(hit_s, "loose", None, spot))
        got_s = self.move(number, spot, hit_s - 0.1, hit_s + self.between(0.6, 1.1), team)
        self.hold(number, got_s, team)
        self.match.keep("loose_balls", LooseBall(ms(got_s), team, number))
        rivals = OTHER[team]
        near = self.match.inside((spot[0] - self.sign * 1.1, spot[1] * 0.9))
        self.move(self.nearest(spot, rivals)[0], near, hit_s, got_s + 0.2, rivals)
        return number, got_s, spot

    def bounces_to(self, result: str, shot_from: tuple[float, float]) -> Place:
        """Where a shot that is loose is picked up."""
        if result == "wide":
            return self.rink(self.between(-2.0, 2.5), self.between(3.0, 8.0) * self.either())
        if result == "blocked":
            return self.rink(max(1.5, shot_from[0] - self.between(0.5, 2.5)), shot_from[1] + self.between(-1.5, 1.5))
        return self.rink(self.between(1.9, 5.0), self.between(-3.2, 3.2))

    def second_chance(self, got: tuple[str, float, Place], result: str, shot_s: float, run: Run) -> End | None:
        """The shooters have it again: put back at once, or carried out to start over."""
        number, got_s, place = got
        self.base, self.parent = "second_chance", run.id
        if result in self.match.rules.fresh_clock_results:
            self.clock_end_s = got_s + self.match.rules.shot_clock_s
        out, left = self.seen(place)
        self.t = got_s
        if 0.8 < out < 5.6 and abs(left) < 4.2 and self.chance(self.match.rates.put_back):
            at_s = got_s + self.between(0.35, 0.75)
            self.note(shot_s, at_s, "shot")
            return self.shoot(number, (), at_s, self.match.rates.put_back_goal)
        self.t = self.pull_out(got_s + self.between(0.5, 1.0))
        self.note(shot_s, self.t, "pull_out")
        return None

    def pull_out(self, at_s: float) -> float:
        """The ball goes back out to start over; returns when it is there."""
        out, left = self.seen(self.where(self.holder))
        if out < 8.5 and self.chance(0.6):
            mates = [number for number in self.five if number != self.holder]
            high = max(mates, key=lambda number: self.seen(self.where(number))[0])
            self.move(high, self.rink(self.between(10.0, 11.0), self.between(-2.5, 2.5)), at_s - 0.6, at_s + 0.5)
            return self.pass_ball(high, at_s) + 0.3
        place = self.rink(self.between(10.2, 11.4), left * 0.5)
        return self.move(self.holder, place, at_s, at_s + self.between(1.0, 1.8))

    def lose(self, kind: str, at_s: float, victim: str | None = None, meant: str | None = None) -> End:
        """The ball is lost to the other team; the run has to be noted by the caller."""
        victim = victim or self.holder
        if kind == "bad_pass":
            meant = meant or self.one_of([number for number in self.five if number != victim])
            thief = self.check_of(meant)
            a, b = self.where(victim), self.where(meant)
            place = (a[0] + 0.75 * (b[0] - a[0]), a[1] + 0.75 * (b[1] - a[1]))
            self.match.script.touches.append(Touch(at_s, "pass", (self.team, victim)))
            flight = max(0.35, 0.75 * apart(a, b) / PASS_M_S + 0.1)
            got_s = self.move(thief, place, at_s - 0.6, at_s + flight, self.other)
            got_s = min(got_s, at_s + flight + 0.5)
        else:
            thief = self.check_of(victim)
            x, y = self.where(victim)
            place = self.match.inside((x - self.sign * self.between(0.5, 2.0), y + self.between(-1.5, 1.5)))
            self.match.script.touches.append(Touch(at_s, "loose", (self.team, victim), place))
            got_s = self.move(thief, place, at_s, at_s + self.between(0.6, 1.2), self.other)
            self.match.keep("loose_balls", LooseBall(ms(got_s), self.other, thief))
        self.hold(thief, got_s, self.other)
        self.lost(victim, kind, at_s)
        return End(at_s, "turnover", self.other, holder=thief, place=place, gained="turnover", from_s=got_s)

    def lost(self, player: str, kind: str, at_s: float) -> None:
        """Write a turnover of the run that is on down."""
        out, left = self.seen(self.where(player))
        x_m = self.match.rules.goal_x_m - out
        if x_m < 0 and not any(run.phase in ("set", "freelance", "family") for run in self.runs):
            self.crossed = False
        self.match.keep(
            "turnovers",
            Turnover(
                id=self.match.new_id("t"),
                possession=self.id,
                run=self.run_id,
                at_ms=ms(at_s),
                team=self.team,
                strength=self.strength(at_s),
                player=player,
                kind=kind,
                where="own_end" if x_m < 0 else "far_end",
                x_m=round(x_m, 2),
                y_m=round(left, 2),
            ),
        )

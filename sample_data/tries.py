"""Tries at a set: places, screens, coverage, looks, and how the try ends."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sample_data.plays import PLAYS, Look, Play, to_side
from sample_data.rates import COVERAGE, SETTER_NEXT, SetRates
from sample_data.script import Place, Touch, apart, ms
from sample_data.shooting import NONE, End, Shooting
from sample_data.truth import Screen


@dataclass(frozen=True)
class Try:
    """One try as it was drawn: the set, to which side, who fills which role, who will come free, how it will end."""

    rates: SetRates
    play: Play
    side: str
    roles: Mapping[str, str]
    start_s: float
    screened: bool
    free: str
    ended: str
    look: Look
    look_open: str


class Tries(Shooting):
    """An attack that runs sets. Parameters are those of `Beats`.

    Attributes
    ----------
    reads_s : tuple of float
        How long after a screen's contact the ball carrier decides, from and to.
    early_s : float
        How long before that the look's shooter leaves for his place.
    back_s : tuple of float
        When the user of a screen that is set again goes back for it, after contact, and when he is there.
    still_s : float
        How long the setter has stood still when the user comes.
    """

    reads_s = (0.75, 1.2)
    early_s = 0.5
    back_s = (0.5, 1.4)
    still_s = 0.0

    def try_set(self, rates: SetRates, side: str) -> End | None:
        """One try at a set. None when the possession goes on."""
        made = self.drawn_try(rates, side)
        ready = self.take_places(made)
        truth = self.match.rates
        if self.base != "flowed" and self.strength(made.start_s) == "5v5" and self.chance(truth.unnamed):
            return self.die_early(made, ready)
        looking = ready + self.between(1.0, 2.2)
        ended = made.ended
        if made.screened:
            looking = self.screens(made, ready) + self.between(*self.reads_s)
        else:
            looking = self.begin_set(made, ready, looking)
        if made.free == "illegal":
            at_s = looking - 0.4
            self.lost(made.roles[made.play.pick.setter], "illegal_pick", at_s)
            self.noted(made, at_s, "turnover")
            place = self.match.inside(self.where(self.holder))
            return End(
                at_s,
                "violation",
                self.other,
                holder=None,
                place=place,
                gained="turnover",
                from_s=at_s,
                whistle="illegal_pick",
            )
        if ended == "flowed" and self.clock_end_s - looking < 10:
            ended = "broken"  # no time for another set
        if ended == "shot":
            return self.take_look(made, looking)
        if ended == "turnover":
            return self.spoil(made, looking)
        if ended == "whistle":
            return self.out_of_play(made, looking)
        if ended == "pull_out":
            self.t = self.pull_out(looking)
        elif ended == "broken":
            self.t = self.break_up(looking)
        else:
            self.t = looking + self.between(0.2, 0.5)
        self.noted(made, self.t, ended)
        if ended == "flowed":
            self.base = "flowed"
        return None

    def drawn_try(self, rates: SetRates, side: str) -> Try:
        """Draw who comes free, how it ends and which look is taken, in that order."""
        truth = self.match.rates
        play = PLAYS[rates.code]
        roles = self.match.squads[self.team].roles(self.five, play, side)
        screened = self.chance(rates.screened) and {play.pick.setter, play.pick.user} <= set(roles)
        free = self.draw(rates.free) if screened else "nobody"
        ended = self.draw(rates.end_covered if free in ("nobody", "illegal") else rates.end_free)
        look = play.look(self.draw(rates.looks))
        if not set(look.chain) <= set(roles):
            look = next(option for option in play.looks if set(option.chain) <= set(roles))
        others = [option.code for option in play.looks if option.code != look.code]
        look_open = self.one_of(others) if self.chance(truth.open_not_taken) else NONE
        return Try(
            rates,
            play,
            side,
            roles=roles,
            start_s=self.t,
            screened=screened,
            free=free,
            ended=ended,
            look=look,
            look_open=look_open,
        )

    def begin_set(self, made: Try, ready: float, looking: float) -> float:
        """What is seen of a set that never comes to its screen; returns when the ball carrier decides."""
        return looking

    def noted(self, made: Try, end_s: float, ended: str, looked: bool = False) -> None:
        """Write the try down as a run."""
        if self.team == "theirs":
            self.note(made.start_s, end_s, ended, phase="family", name=made.play.family, side=made.side)
        elif made.rates.code == "freelance":
            self.note(made.start_s, end_s, ended, phase="freelance")
        else:
            self.note(
                made.start_s, end_s, ended, phase="set", name=made.rates.code, side=made.side, roles=made.roles,
                look=made.look.code if looked else NONE, look_open=made.look_open,
            )  # fmt: skip

    def take_places(self, made: Try) -> float:
        """Runners go to their places and the ball to the role that begins; returns when both is done."""
        pick, first, start = made.play.pick, made.look.chain[0], made.start_s
        ready = start + 0.8
        for role, number in made.roles.items():
            place = self.wobble(self.rink(*to_side(made.play.places[role], made.side)), 0.35)
            if apart(self.where(number), place) > 0.8:
                leave = start + self.between(0.0, 0.5)
                length = apart(self.where(number), place)
                there = self.move(number, place, leave, leave + length / self.between(2.6, 3.8))
                if role in (first, pick.setter, pick.user):
                    ready = max(ready, there)
        at_s = start
        if self.chance(0.45):
            mates = [number for number in made.roles.values() if number not in (self.holder, made.roles[first])]
            if mates:
                at_s = self.pass_ball(self.one_of(mates), at_s + self.between(0.3, 0.9))
        if self.holder != made.roles[first]:
            at_s = self.pass_ball(made.roles[first], at_s + self.between(0.4, 1.0))
        self.t = max(at_s, min(ready, start + 4.0))
        return self.t

    def screens(self, made: Try, ready: float) -> float:
        """The set's screen, sometimes set twice; returns the moment of the last contact."""
        again = made.play.pick.kind == "on_ball" and made.free != "illegal" and self.chance(self.match.rates.repick)
        again = again and self.clock_end_s - ready > 7
        if again:
            contact = self.screen(made, ready, "nobody", made.free != "nobody")
            user = made.roles[made.play.pick.user]
            back = self.rink(*to_side((made.play.places[made.play.pick.user]), made.side))
            ready = self.move(user, self.wobble(back, 0.3), contact + self.back_s[0], contact + self.back_s[1])
        return self.screen(made, ready, made.free, False)

    def following(self, made: Try, free: str) -> str:
        """What the setter will do after the screen."""
        return self.draw(SETTER_NEXT[made.rates.code])

    def screen_place(self, made: Try) -> Place:
        """Where the screen is set."""
        return self.wobble(self.rink(*to_side(made.play.pick.place, made.side)), 0.25)

    def screen(self, made: Try, ready: float, free: str, stays: bool) -> float:
        """One screen: setter to the place, user past it, defenders by their coverage; returns when they touch."""
        pick, side = made.play.pick, made.side
        setter, user = made.roles[pick.setter], made.roles[pick.user]
        coverage = self.draw(COVERAGE[free])
        following = "stayed" if stays else self.following(made, free)
        place = self.screen_place(made)
        out, left = self.seen(place)
        toward = -1 if side == "left" else 1
        there = self.move(setter, place, ready + 0.1, ready + self.between(0.9, 1.4))
        if pick.second and pick.second in made.roles:
            there = max(
                there, self.move(made.roles[pick.second], self.rink(out + 0.5, left + 0.9 * toward), ready, there)
            )
        there += self.still_s
        contact = self.move(user, self.passing(made, place), there - 0.35, there + self.between(0.3, 0.55))
        self.cover(made, free, coverage, contact)
        self.part(made, free, following, contact)
        self.match.keep(
            "screens",
            Screen(
                id=self.match.new_id("k"),
                possession=self.id,
                run=self.run_id,
                at_ms=ms(contact),
                team=self.team,
                kind=pick.kind,
                side=side,
                setter=setter,
                user=user,
                coverage=coverage,
                free=free,
                setter_next=following,
            ),
        )
        return contact

    def passing(self, made: Try, place: Place) -> Place:
        """Where the user is when he touches the setter."""
        out, left = self.seen(place)
        return self.rink(out - 0.1, left + (-0.8 if made.side == "left" else 0.8))

    def part(self, made: Try, free: str, following: str, contact: float) -> None:
        """Where everybody goes who took part in a screen."""
        pick, side = made.play.pick, made.side
        if pick.second and pick.second in made.roles:
            away = self.wobble(self.rink(6.8, -2.2 if side == "left" else 2.2), 0.4)
            self.move(made.roles[pick.second], away, contact + 0.5, contact + 2.2)
        went = self.wobble(self.rink(*to_side(pick.user_next, side)), 0.3)
        self.move(made.roles[pick.user], went, contact, contact + 0.7)
        leave = contact + (-0.3 if following == "slipped" else 0.35)
        then = self.wobble(self.rink(*to_side(pick.setter_next[following], side)), 0.3)
        self.move(made.roles[pick.setter], then, leave, leave + 1.0)

    def cover(self, made: Try, free: str, coverage: str, at_s: float) -> None:
        """What the defence does at the screen, as tasks of the two defenders."""
        setter, user = made.roles[made.play.pick.setter], made.roles[made.play.pick.user]
        until = at_s + 2.2
        mine, his = self.check_of(user), self.check_of(setter)
        if coverage == "switched":
            self.switch(user, setter, at_s + 0.1)
            if free not in ("nobody", "illegal"):
                self.guard(mine, setter, at_s + 0.1, until, gap_m=2.6, keeps=0.6)
        elif coverage == "doubled":
            self.guard(his, user, at_s, until, gap_m=0.9)
            self.guard(mine, user, at_s, until, gap_m=1.4)
        elif coverage == "blown":
            both = setter if free == "user" else user
            self.guard(mine, both, at_s, until, gap_m=1.2)
            self.guard(his, both, at_s, until, gap_m=1.0)
        elif coverage == "shown":
            self.guard(his, user, at_s, at_s + 0.8, gap_m=0.8)
            self.guard(mine, user, at_s, until, gap_m=1.4, keeps=0.75 if free == "user" else 1.0)
        elif coverage == "under":
            self.guard(mine, user, at_s, until, gap_m=2.8, keeps=0.7 if free == "user" else 0.95)
        else:
            self.guard(mine, user, at_s, until, gap_m=1.2, keeps=0.45 if free == "user" else 0.95)

    def take_look(self, made: Try, at_s: float) -> End | None:
        """The look is taken: the passes of its chain, then the shot."""
        chain = made.look.chain
        at_s = self.chain(made, at_s, len(chain) - 1)
        at_s += self.between(0.25, 0.6) if len(chain) > 1 else self.between(0.05, 0.25)
        truth = self.match.rates
        goal_p = made.rates.goal[made.look.code] * (truth.covered_goal_factor if made.free == "nobody" else 1.0)
        self.noted(made, at_s, "shot", looked=True)
        feeders = tuple(made.roles[role] for role in reversed(chain[:-1]))
        return self.shoot(made.roles[chain[-1]], feeders, at_s, goal_p)

    def chain(self, made: Try, at_s: float, n_passes: int) -> float:
        """The first passes of a look while its shooter goes to his place; returns when the last is caught."""
        chain = made.look.chain
        place = self.wobble(self.rink(*to_side(made.look.place, made.side)), 0.35)
        there = self.move(made.roles[chain[-1]], place, at_s - self.early_s, at_s + 0.25)
        for role in chain[1 : n_passes + 1]:
            last = role == chain[-1]
            at_s = self.pass_ball(made.roles[role], max(at_s, there - 0.5) if last else at_s)
            at_s += 0.0 if last else self.between(0.25, 0.5)
        return max(at_s, there) if n_passes == len(chain) - 1 else at_s

    def spoil(self, made: Try, at_s: float) -> End:
        """The ball is lost in the look."""
        chain = made.look.chain
        last = made.roles[chain[-1]]
        if len(chain) == 1:
            kind = self.draw({"stripped": 0.6, "bad_pass": 0.3, "dropped": 0.1})
            end = self.lose(kind, at_s, last)
        elif self.chance(0.68):
            at_s = self.chain(made, at_s, len(chain) - 2)
            end = self.lose("bad_pass", at_s + 0.15, self.holder, last)
        else:
            at_s = self.chain(made, at_s, len(chain) - 1)
            end = self.lose("dropped", at_s + 0.05, last)
        self.noted(made, end.at_s, "turnover", looked=True)
        return end

    def die_early(self, made: Try, ready: float) -> End | None:
        """A stretch that ends before anyone could tell what it was."""
        at_s = ready + self.between(0.4, 1.2)
        if self.chance(0.35):
            end = self.lose(self.draw({"bad_pass": 0.5, "stripped": 0.35, "dropped": 0.15}), at_s)
            self.note(made.start_s, end.at_s, "turnover")
            return end
        self.t = self.pull_out(at_s)
        self.note(made.start_s, self.t, "pull_out")
        return None

    def out_of_play(self, made: Try, at_s: float) -> End:
        """The ball goes over the boards and the whistle with it."""
        x, y = self.where(self.holder)
        place = (x, (self.match.rules.width_m / 2 + 3.0) * (1 if y > 0 else -1))
        self.match.script.touches.append(Touch(at_s - 0.5, "out", (self.team, self.holder), place, 2.4))
        self.noted(made, at_s, "whistle")
        return End(
            at_s,
            "whistle",
            self.other,
            holder=None,
            place=self.match.inside(place),
            gained="whistle",
            from_s=at_s,
            whistle="out_of_play",
        )

    def break_up(self, at_s: float) -> float:
        """Nothing comes of it: bodies drift out of their places."""
        for number in self.five:
            if number != self.holder and self.chance(0.6):
                out, left = self.seen(self.where(number))
                drift = self.rink(max(2.2, out + self.between(-1.5, 2.0)), left * self.between(0.6, 1.1))
                self.move(number, self.match.inside(drift), at_s - 0.2, at_s + 1.2)
        return at_s + self.between(0.8, 1.5)

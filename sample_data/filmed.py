"""An attack that is filmed: what its rows say can be seen on the floor, by somebody who knows nothing but the picture.

A whole game is events only; there it is enough that a row says who came free. In a film the man who came free has
room and everybody else at the screen has none, the setter does what the row says he did, a pull-out takes the ball
back over the restraining line, a set that never comes to its screen is seen to begin, and one action flows into the
next without the ball going out in between. Nothing here changes how often anybody comes free or a run ends in some way;
only the other team's cuts, which are told from their off-ball actions by it, have no screen.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from sample_data.attack import Attack
from sample_data.plays import to_side
from sample_data.rates import SETTER_NEXT, SetRates, Share
from sample_data.room import FREE_M, JUDGED_S, Leaving, spread
from sample_data.script import Judged, Place, Room, apart
from sample_data.tries import Try

ROOM_M = FREE_M + 1.0  # what the defenders leave him, so that a late step of theirs does not take it from him
LEADS_S = 0.2  # a setter rolls or pops so long after contact, and a slip is so long before
SLIPS_S = 0.3
SHOULDERS_M = 0.95  # two who brush past each other are so far apart
GIVEN_UP_M = 2.6  # a screener who turns back comes no nearer to the user, so that nobody takes it for a screen
OVER_LINE_M = 0.4  # a ball that is pulled out goes at least so far back over the restraining line
FLOWS_OUT_M = 1.2  # so far the ball may drift out while one action flows into the next

SETTER_TAKES: Mapping[str, Mapping[str, str]] = {
    "lantern": {"roll": "rolled"},
    "keel": {"inside": "rolled"},
    "ferry": {"slip": "slipped"},
    "breakwater": {"pop": "popped"},
    "tidepool": {"seal": "rolled"},
    "freelance": {"swing": "popped"},
}
"""Looks in which the setter has the ball, by set, and what he must have done for it."""


def following_shares(code: str, look: str, looks: Share) -> Share:
    """What the setter does after the screen when this look is the one that would be taken.

    Parameters
    ----------
    code : str
        The set.
    look : str
        The look.
    looks : mapping
        True shares of the set's looks.

    Returns
    -------
    mapping
        Shares which, over all looks, come to `SETTER_NEXT` again.
    """
    shares = dict(SETTER_NEXT[code])
    takes = SETTER_TAKES.get(code, {})
    if look in takes:
        return {takes[look]: 1.0}
    for taken, what in takes.items():
        shares[what] -= looks[taken]
    return {what: max(0.0, share) for what, share in shares.items()}


class FilmedAttack(Attack):
    """One possession of one team, on film. Parameters are those of `Beats`."""

    reads_s = (JUDGED_S + 0.15, JUDGED_S + 0.5)
    early_s = 0.1
    back_s = (JUDGED_S + 0.1, JUDGED_S + 1.0)
    still_s = 0.25
    shot_m_s = 19.0
    least_flight_s = 0.28
    third: str | None = None

    # the try

    def drawn_try(self, rates: SetRates, side: str) -> Try:
        """As drawn; when it flows on, whoever has the ball begins, and a cut of theirs has no screen to be illegal."""
        made = super().drawn_try(rates, side)
        if self.base == "flowed":
            roles = dict(made.roles)
            first = made.look.chain[0]
            had = next(role for role, number in roles.items() if number == self.holder)
            roles[had], roles[first] = roles[first], self.holder
            made = replace(made, roles=roles)
        if self.is_cut(made) and made.free == "illegal":
            made = replace(made, free="nobody", ended="turnover")
        return made

    def is_cut(self, made: Try) -> bool:
        """The other team's cuts are cuts: nobody sets a screen for them."""
        return self.team == "theirs" and made.play.family == "cut"

    def take_places(self, made: Try) -> float:
        """As ever, but when one action flows into the next the ball stays where it is."""
        if self.base != "flowed":
            return super().take_places(made)
        ready = made.start_s + 0.5
        for role, number in made.roles.items():
            if number != self.holder:
                place = self.wobble(self.rink(*to_side(made.play.places[role], made.side)), 0.35)
                run_s = apart(self.where(number), place) / self.between(3.4, 4.4)
                there = self.move(number, place, made.start_s, made.start_s + run_s)
                if role in (made.play.pick.setter, made.play.pick.user):
                    ready = max(ready, there)
        self.t = min(ready, made.start_s + 3.0)
        return self.t

    def begin_set(self, made: Try, ready: float, looking: float) -> float:
        """The screener comes up for the set's screen, and turns back before there is one."""
        pick = made.play.pick
        if made.play.family == "isolation" or not {pick.setter, pick.user} <= set(made.roles):
            return looking
        if self.is_cut(made):
            return max(looking, self.cut(made, ready))
        setter, user = made.roles[pick.setter], made.roles[pick.user]
        start, goal = self.where(setter), self.rink(*to_side(pick.place, made.side))
        steps = [(start[0] + k * (goal[0] - start[0]) / 8, start[1] + k * (goal[1] - start[1]) / 8) for k in range(7)]
        free = [place for place in steps if apart(place, self.where(user)) > GIVEN_UP_M]
        if setter == self.holder or not free:
            return looking
        there = self.move(setter, free[-1], ready + 0.1, ready + self.between(0.8, 1.1))
        back = self.move(setter, start, there + 0.35, there + 1.3)
        return max(looking, back - 0.6)

    def screens(self, made: Try, ready: float) -> float:
        """The set's screen; for a cut of theirs, the cut."""
        return self.cut(made, ready) - self.reads_s[0] if self.is_cut(made) else super().screens(made, ready)

    def cut(self, made: Try, ready: float) -> float:
        """The cutter goes round outside and through the middle, far from the man who makes room for him."""
        pick = made.play.pick
        clear = self.wobble(self.rink(*to_side((3.4, 6.2), made.side)), 0.2)
        self.move(made.roles[pick.setter], clear, ready, ready + 0.8)
        turn = self.wobble(self.rink(*to_side((7.6, 3.2), made.side)), 0.2)
        there = self.move(made.roles[pick.user], turn, ready + 0.1, ready + 0.9)
        end = self.wobble(self.rink(*to_side(pick.user_next, made.side)), 0.25)
        return self.move(made.roles[pick.user], end, there, there + 0.8) + 0.2

    def pull_out(self, at_s: float) -> float:
        """The ball goes back over the restraining line, by a carry or a pass; returns when it is there."""
        rules = self.match.rules
        out_m = rules.goal_x_m - rules.restraining_from_centre_m + OVER_LINE_M + self.between(0.2, 1.2)
        left = self.seen(self.where(self.holder))[1]
        if self.chance(0.5):
            mates = [number for number in self.five if number != self.holder]
            high = max(mates, key=lambda number: self.seen(self.where(number))[0])
            there = self.move(high, self.rink(out_m, self.between(-2.5, 2.5)), at_s, at_s + 0.6)
            return self.pass_ball(high, there - 0.2) + 0.25
        return self.move(self.holder, self.rink(out_m, left * 0.6), at_s, at_s + self.between(1.1, 1.5)) + 0.1

    def bounces_to(self, result: str, shot_from: tuple[float, float]) -> Place:
        """Off a pipe at an angle, to the side of that pipe; else as ever."""
        if result != "post":
            return super().bounces_to(result, shot_from)
        return self.rink(self.between(0.5, 4.5), (1 if self.struck_m > 0 else -1) * self.between(3.5, 6.5))

    # the screen

    def following(self, made: Try, free: str) -> str:
        """What the setter will do after the screen: what the look asks of him, or anything else he does."""
        return self.draw(following_shares(made.rates.code, made.look.code, made.rates.looks))

    def screen_place(self, made: Try) -> Place:
        """Where the screen is set; the ball does not go out for it when one action flows into the next."""
        place = super().screen_place(made)
        out, left = self.seen(place)
        if self.base != "flowed" or made.roles[made.play.pick.user] != self.holder:
            return place
        return self.rink(min(out, self.seen(self.where(self.holder))[0] + FLOWS_OUT_M), left)

    def passing(self, made: Try, place: Place) -> Place:
        """Shoulder to shoulder with the setter, on the side to which the user goes on."""
        x, y = self.where(made.roles[made.play.pick.user])
        far = max(0.1, apart((x, y), place))
        along = ((place[0] - x) / far * SHOULDERS_M, (place[1] - y) / far * SHOULDERS_M)
        sides = ((place[0] - along[1], place[1] + along[0]), (place[0] + along[1], place[1] - along[0]))
        goes_on = self.rink(*to_side(made.play.pick.user_next, made.side))
        return min(sides, key=lambda side: apart(side, goes_on))

    def part(self, made: Try, free: str, following: str, contact: float) -> None:
        """User and setter go apart, so that one second after contact it can be seen who has room."""
        pick, side = made.play.pick, made.side
        user, setter = made.roles[pick.user], made.roles[pick.setter]
        second = self.second_of(made)
        place = self.where(setter)
        ends = {what: self.rink(*to_side(end, side)) for what, end in pick.setter_next.items()}
        leaves = {
            user: Leaving(self.where(user), self.rink(*to_side(pick.user_next, side)), 2.4, 3.9),
            setter: Leaving(
                place, self.pops_to(place) if following == "popped" else ends[following], *_REACH[following]
            ),
        }
        if second:
            out, left = self.seen(self.where(second))
            leaves[second] = Leaving(self.where(second), self.rink(out + 3.0, left), 1.8, 2.4)
        others = [self.where(number) for number in self.five if number not in leaves]
        who = {"user": user, "setter": setter}.get(free)
        third = self.where(self.third) if free == "third_man" and self.third else None
        found = spread(leaves, who, others, third, lambda spot: self.match.inside(self.off_crease(spot)))
        judged = contact + JUDGED_S - 0.05
        self.move(user, found[user], contact, judged)
        leave = contact + (-SLIPS_S if following == "slipped" else LEADS_S)
        self.move(setter, found[setter], leave, judged)
        if second:
            self.move(second, found[second], contact + 0.15, judged)
        if who:
            self.room(who, contact + 0.1, contact)
        if free != "illegal":
            self.judge(made, free, contact)
        if following != "stayed" and setter != made.roles[made.look.chain[-1]]:
            self.move(setter, self.wobble(ends[following], 0.3), judged + 0.1, judged + 1.0)

    def pops_to(self, place: Place) -> Place:
        """Away from goal and middle."""
        out, left = self.seen(place)
        return self.rink(out + 1.5, left + (1.5 if left > 0 else -1.5))

    def room(self, who: str, from_s: float, contact: float) -> None:
        """He is free until the ball carrier has decided."""
        self.match.script.rooms.append(Room(from_s, contact + self.reads_s[1] + 0.3, (self.team, who), ROOM_M))

    @staticmethod
    def second_of(made: Try) -> str | None:
        """The other setter of a double screen."""
        return made.roles.get(made.play.pick.second or "")

    def took_part(self, made: Try) -> list[str]:
        """User, setter, and the other setter of a double screen."""
        second = self.second_of(made)
        both = [made.roles[made.play.pick.user], made.roles[made.play.pick.setter]]
        return [*both, second] if second else both

    def screen(self, made: Try, ready: float, free: str, stays: bool) -> float:
        """One screen; the defenders of those who take part have taken up their checks before."""
        self.take_up(self.took_part(made), ready)
        return super().screen(made, ready, free, stays)

    def take_up(self, runners: list[str], at_s: float) -> None:
        """Every one of these runners has a checker of his own."""
        busy = [defender for defender, runner in self.checks.items() if runner in runners and defender in self.against]
        for runner in runners:
            if runner not in [self.checks[defender] for defender in busy]:
                rest = [number for number in self.nearest(self.where(runner), self.other) if number not in busy]
                if rest:
                    self.checks[rest[0]] = runner
                    self.guard(rest[0], runner, at_s, at_s + 150)
                    busy.append(rest[0])

    def cover(self, made: Try, free: str, coverage: str, at_s: float) -> None:
        """What the defence does at the screen: a checker at everybody but the man who comes free."""
        pick = made.play.pick
        user, setter = made.roles[pick.user], made.roles[pick.setter]
        mine, his = self.check_of(user), self.check_of(setter)
        from_s, until = at_s - 0.3, at_s + self.reads_s[1] + 0.3
        for defender, runner in self.checks.items():
            if defender in self.against and defender not in (mine, his) and runner in self.five:
                part = runner == self.second_of(made)
                self.guard(defender, runner, from_s, until, gap_m=0.8 if part else 1.1, close=True)
        if free == "third_man":
            self.leave_third(made, coverage, at_s, until)
        shown_s = at_s + 0.1
        if coverage == "switched":
            self.switch(user, setter, at_s)
            self.stick(his, user, from_s, until)
            if free == "setter":
                self.guard(mine, setter, at_s, until, gap_m=2.6, keeps=0.5)
            else:
                self.stick(mine, setter, at_s - 0.1, until)
        elif free == "setter":  # both are at the user: doubled, blown, or shown for too long
            self.stick(mine, user, from_s, until)
            self.guard(his, user, from_s, until, gap_m=1.0, close=True)
        elif coverage == "blown":
            self.stick(his, setter, from_s, until)
            self.guard(mine, setter, at_s, until, gap_m=1.2, close=True)
        else:
            self.stick(his, setter, from_s, until)
            if coverage == "shown":
                self.guard(his, user, at_s - 0.5, shown_s, gap_m=1.2, close=True)
            if free == "user":
                self.guard(mine, user, at_s, until, gap_m=2.8 if coverage == "under" else 1.2, keeps=0.4)
            else:
                self.stick(mine, user, from_s, until)
                if coverage == "under":
                    self.guard(mine, user, from_s, shown_s, gap_m=2.0)

    def judge(self, made: Try, free: str, contact: float) -> None:
        """Write down who must be seen to be free, and who is held by whom."""
        pick = made.play.pick
        part = self.took_part(made)
        who = {"user": made.roles[pick.user], "setter": made.roles[pick.setter], "third_man": self.third}.get(free)
        at_s = contact + JUDGED_S
        held: dict[str, str] = {}
        for guard in self.match.script.guards[::-1]:
            if guard.close and guard.from_s <= at_s < guard.to_s and guard.who[1] not in held:
                held[guard.who[1]] = guard.of[1]
        checks = [(runner, defender) for defender, runner in held.items() if runner in part and runner != who]
        self.match.script.judged.append(
            Judged(
                at_s,
                (self.team, who) if who else None,
                tuple(((self.team, runner), (self.other, defender)) for runner, defender in checks),
            )
        )

    def stick(self, who: str, to: str, from_s: float, to_s: float) -> None:
        """A checker at his man, goal side, with his stick on the other's hands."""
        self.guard(who, to, from_s, to_s, gap_m=0.75, close=True)

    def leave_third(self, made: Try, coverage: str, at_s: float, until: float) -> None:
        """A third man's checker helps at the screen, and his man is free."""
        user = made.roles[made.play.pick.user]
        rest = [number for number in self.five if number not in self.took_part(made)]
        last = made.roles[made.look.chain[-1]]

        def alone(number: str) -> float:
            return min(apart(self.where(number), self.where(mate)) for mate in self.five if mate != number)

        self.third = third = last if last in rest else max(rest, key=alone)
        helper = next((defender for defender, runner in self.checks.items() if runner == third), None)
        if helper is not None and helper in self.against:
            self.guard(helper, user, at_s - 0.4, until, gap_m=1.0 if coverage == "doubled" else 2.0, close=True)
        self.room(third, at_s - 0.3, at_s)


_REACH = {"rolled": (2.2, 2.8), "popped": (1.6, 2.6), "slipped": (2.6, 4.2), "stayed": (0.0, 0.3)}
"""How far a setter is from the screen's place one second after contact, least and most, by what he did."""

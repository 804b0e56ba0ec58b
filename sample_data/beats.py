"""The telling of an attack: where people are sent and what the ball does, from the point of view of the attackers.

Two ways to say a place: rink coordinates, and metres out from the attacked goal line with metres to the left of its
middle, as plays have them.
"""

from __future__ import annotations

from collections.abc import Mapping

from sample_data.game_so_far import GameSoFar
from sample_data.script import OTHER, Guard, Place, Spot, Touch, apart

PASS_M_S = 12.5
RUN_M_S = 5.4


class Beats:
    """Who attacks whom, and the small moves of which everything is made.

    Parameters
    ----------
    match : GameSoFar
        The game so far: rates, squads, places; takes the beats.
    team, holder : str
        Who has the ball, by number.
    at_s : float
        Seconds from the film's first frame.
    """

    def __init__(self, match: GameSoFar, team: str, holder: str, at_s: float) -> None:
        self.match = match
        self.rng = match.rng
        self.team = team
        self.other = OTHER[team]
        self.holder = holder
        self.t = at_s
        self.sign = match.attacks(team)
        self.checks: dict[str, str] = {}
        self.sent: set[str] = set()

    @property
    def five(self) -> list[str]:
        """The attackers on the floor."""
        return self.match.five[self.team]

    @property
    def against(self) -> list[str]:
        """The defenders on the floor."""
        return self.match.five[self.other]

    def rink(self, out_m: float, left_m: float) -> Place:
        """Rink coordinates of a place given from the attacked goal line."""
        return (self.sign * (self.match.rules.goal_x_m - out_m), self.sign * left_m)

    def seen(self, place: Place) -> tuple[float, float]:
        """A rink place as metres out from the attacked goal line and left of its middle."""
        return self.match.rules.goal_x_m - self.sign * place[0], self.sign * place[1]

    def where(self, number: str, team: str | None = None) -> Place:
        """Where a player was last sent; a defender whom nobody sent is at his check, on the side of the goal."""
        if team == self.other and number in self.checks and number not in self.sent:
            runner = self.checks[number]
            if runner in self.five:
                x, y = self.match.where[self.team, runner]
                goal_x, far = self.sign * self.match.rules.goal_x_m, 1.8
                length = max(far + 0.1, apart((x, y), (goal_x, 0.0)))
                return x + (goal_x - x) * far / length, y - y * far / length
        return self.match.where[team or self.team, number]

    def leave_off(self) -> None:
        """The attack is over: write down where the defenders stand."""
        for number in self.against:
            self.match.where[self.other, number] = self.where(number, self.other)

    def nearest(self, place: Place, team: str | None = None) -> list[str]:
        """Runners of a team, the nearest to a place first."""
        team = team or self.team
        return sorted(self.match.five[team], key=lambda number: apart(self.where(number, team), place))

    def wobble(self, place: Place, size_m: float = 0.45) -> Place:
        """A place as people really take it."""
        dx, dy = self.rng.normal(0, size_m, 2)
        return self.match.inside((place[0] + float(dx), place[1] + float(dy)))

    def between(self, low: float, high: float) -> float:
        """A number drawn evenly between two."""
        return float(self.rng.uniform(low, high))

    def either(self) -> int:
        """+1 or -1."""
        return 1 if self.rng.random() < 0.5 else -1

    def chance(self, p: float) -> bool:
        """True with the given probability."""
        return bool(self.rng.random() < p)

    def draw(self, shares: Mapping[str, float]) -> str:
        """One of the names, by its share."""
        names = list(shares)
        total = sum(shares.values())
        return names[int(self.rng.choice(len(names), p=[shares[name] / total for name in names]))]

    def one_of(self, names: list[str]) -> str:
        """One of the names, all alike."""
        return names[int(self.rng.integers(0, len(names)))]

    def move(self, number: str, place: Place, from_s: float, at_s: float, team: str | None = None) -> float:
        """Send a player; he arrives at the given moment or as soon as he can. Returns when."""
        who = (team or self.team, number)
        if who[0] == self.team:
            place = self.off_crease(place)
        at_s = max(at_s, from_s + apart(self.where(number, team), place) / RUN_M_S + 0.15)
        self.match.script.spots.append(Spot(from_s, at_s, who, place))
        self.match.where[who] = place
        if who[0] == self.other:
            self.sent.add(number)
        return at_s

    def off_crease(self, place: Place) -> Place:
        """The place, or the nearest one outside the attacked goal's crease, where attackers may not stand."""
        radius = self.match.rules.crease_radius_m + 0.3
        out, left = self.seen(place)
        far = max(0.01, float((out * out + left * left) ** 0.5))
        return place if far >= radius else self.rink(out * radius / far, left * radius / far)

    def hold(self, number: str, at_s: float, team: str | None = None) -> None:
        """A player has the ball from this moment on."""
        team = team or self.team
        self.match.script.touches.append(Touch(at_s, "held", (team, number)))
        if team == self.team:
            self.holder = number

    def pass_ball(self, to: str, at_s: float) -> float:
        """Throw the ball to a team-mate; returns when he has it."""
        length = apart(self.where(self.holder), self.where(to))
        caught_s = at_s + min(max(length / PASS_M_S + 0.12, 0.3), 1.6)
        self.match.script.touches.append(Touch(at_s, "pass", (self.team, self.holder)))
        self.hold(to, caught_s)
        return caught_s

    def guard(
        self,
        who: str,
        of: str,
        from_s: float,
        to_s: float,
        *,
        gap_m: float = 1.6,
        keeps: float = 1.0,
        close: bool = False,
    ) -> None:
        """Give a defender his task for a while."""
        self.match.script.guards.append(
            Guard(from_s, to_s, (self.other, who), of=(self.team, of), gap_m=gap_m, keeps=keeps, close=close)
        )

    def check_of(self, number: str) -> str:
        """The defender whose check this runner is."""
        for defender, runner in self.checks.items():
            if runner == number and defender in self.against:
                return defender
        return self.nearest(self.where(number), self.other)[0]

    def pair_up(self, at_s: float) -> None:
        """Give every defender a check: the runner who stands nearest, one each."""
        free = list(self.five)
        self.checks = {}
        for defender in self.against:
            at = self.where(defender, self.other)
            options = free or list(self.five)
            self.checks[defender] = min(options, key=lambda number: apart(self.where(number), at))
            if self.checks[defender] in free:
                free.remove(self.checks[defender])
        for defender, runner in self.checks.items():
            self.guard(defender, runner, at_s, at_s + 150)

    def switch(self, one: str, two: str, at_s: float) -> None:
        """The defenders of two runners trade their checks."""
        a, b = self.check_of(one), self.check_of(two)
        if a != b:
            self.checks[a], self.checks[b] = two, one
            self.guard(a, two, at_s, at_s + 150)
            self.guard(b, one, at_s, at_s + 150)

"""What the players and the ball are told to do: beats that the event simulation writes and the motion follows.

Times are seconds from the film's first frame, places are rink coordinates in metres. A whole game without film
keeps no beats.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

Player = tuple[str, str]
"""Team (``ours`` or ``theirs``) and number."""
Place = tuple[float, float]
OTHER = {"ours": "theirs", "theirs": "ours"}


@dataclass(frozen=True)
class Touch:
    """What the ball does from this moment until the next touch.

    ``how`` is ``held`` (by `who`), ``pass`` (from `who`, caught by the next touch's `who`), ``shot`` (towards `place`),
    ``loose`` (rolling, to be at `place` when the next touch begins), ``dead`` (lying at `place`),
    ``hidden`` (an official has it) or ``out`` (flying over the boards to `place`).
    """

    at_s: float
    how: str
    who: Player | None = None
    place: Place | None = None
    height_m: float = 0.0
    result: str | None = None


@dataclass(frozen=True)
class Spot:
    """A player leaves for a place at one moment and is there at another."""

    from_s: float
    at_s: float
    who: Player
    place: Place


@dataclass(frozen=True)
class Guard:
    """A defender's task: stay between this attacker and the goal, `gap_m` away, `keeps` of his speed kept.

    A `close` one goes with him step for step and looks after nothing else.
    """

    from_s: float
    to_s: float
    who: Player
    of: Player
    gap_m: float = 1.6
    keeps: float = 1.0
    close: bool = False


@dataclass(frozen=True)
class Room:
    """An attacker is free: his room grows to `room_m` from the first moment on, and lasts until the second."""

    from_s: float
    to_s: float
    who: Player
    room_m: float


@dataclass(frozen=True)
class Judged:
    """A moment at which it is judged who came free of a screen: nobody but `free`; `checks` has who holds whom."""

    at_s: float
    free: Player | None
    checks: tuple[tuple[Player, Player], ...]


@dataclass(frozen=True)
class Stint:
    """An unbroken stay on the floor, entered from one place and left at another; goalkeepers stay in `goal` (±1)."""

    who: Player
    from_s: float
    to_s: float
    enters: Place
    leaves: Place
    goal: int = 0


@dataclass(frozen=True)
class Live:
    """A stretch of live play: which team attacks which end."""

    from_s: float
    to_s: float
    team: str
    attacks: int


@dataclass
class Script:
    """All beats of an excerpt, in the order in which they were written."""

    touches: list[Touch] = field(default_factory=list)
    spots: list[Spot] = field(default_factory=list)
    guards: list[Guard] = field(default_factory=list)
    rooms: list[Room] = field(default_factory=list)
    judged: list[Judged] = field(default_factory=list)
    stints: list[Stint] = field(default_factory=list)
    lives: list[Live] = field(default_factory=list)

    def until(self, horn_s: float) -> Script:
        """What is played before the horn; a ball that is in the air then comes down."""
        touches = sorted(self.touches, key=lambda touch: touch.at_s)
        n = sum(touch.at_s < horn_s for touch in touches)
        while n < len(touches) and touches[n - 1].how in ("pass", "shot", "loose") and touches[n].at_s < horn_s + 1.5:
            n += 1
        return Script(
            touches[:n],
            [spot for spot in self.spots if spot.from_s < horn_s],
            [guard for guard in self.guards if guard.from_s < horn_s],
            rooms=[room for room in self.rooms if room.from_s < horn_s],
            judged=[moment for moment in self.judged if moment.at_s < horn_s],
            stints=[stint for stint in self.stints if stint.from_s < horn_s],
            lives=[replace(live, to_s=min(live.to_s, horn_s)) for live in self.lives if live.from_s < horn_s],
        )

    def later(self, by_s: float) -> Script:
        """The same, so much later."""
        return Script(
            [replace(touch, at_s=touch.at_s + by_s) for touch in self.touches],
            [replace(spot, from_s=spot.from_s + by_s, at_s=spot.at_s + by_s) for spot in self.spots],
            [replace(guard, from_s=guard.from_s + by_s, to_s=guard.to_s + by_s) for guard in self.guards],
            rooms=[replace(room, from_s=room.from_s + by_s, to_s=room.to_s + by_s) for room in self.rooms],
            judged=[replace(moment, at_s=moment.at_s + by_s) for moment in self.judged],
            stints=[replace(stint, from_s=stint.from_s + by_s, to_s=stint.to_s + by_s) for stint in self.stints],
            lives=[replace(live, from_s=live.from_s + by_s, to_s=live.to_s + by_s) for live in self.lives],
        )


def apart(a: Place, b: Place) -> float:
    """Distance between two places, in metres."""
    return float(((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) ** 0.5)


def ms(seconds: float) -> int:
    """Whole milliseconds."""
    return round(seconds * 1000)

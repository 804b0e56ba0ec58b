"""Floor and game by rule code: lengths in metres, periods, clocks, penalties.

Where codes differ a number is a setting of the code, never a constant elsewhere in the program. Each number
says where it is from; the keys in square brackets are those of the list of sources in DEVELOPERS.md. What no
source confirmed is said there too.

Floor coordinates are metres, origin at the floor's centre, +x towards the attacked goal, +y left when facing it.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from tagger.floor.errors import UnknownRules

FOOT_M = 0.3048
INCH_M = 0.0254
RUNNERS = 5
"""A side's, goalkeeper not counted; the same in every code [F3]."""


@dataclass(frozen=True)
class PenaltyRules:
    """How long penalties are and which goals end them; a rule code's, or the season's own.

    Attributes
    ----------
    minor_ms, major_ms : int
        Play time that is served: 2 and 5 minutes [F12].
    goals_end_minor : int
        So many goals against a short side end its minor: 1 [F12]. 0: none does.
    goals_end_major : int
        The same for a major: 0, from memory; some codes release after two.
    goal_ends_delayed : bool
        Whether a goal while the arm is up wipes the minor out; from memory.
    most_down : int
        A side is never more down than this [F12].
    """

    minor_ms: int = 120_000
    major_ms: int = 300_000
    goals_end_minor: int = 1
    goals_end_major: int = 0
    goal_ends_delayed: bool = True
    most_down: int = 2


@dataclass(frozen=True)
class FloorRules:
    """The floor and the frame of the game under one rule code.

    Lengths end in ``_m`` (metres) and times in ``_s`` (seconds) or ``_min`` (minutes).
    """

    code: str
    length_m: float
    width_m: float
    corner_radius_m: float
    goal_line_to_boards_m: float
    goal_width_m: float
    goal_height_m: float
    crease_radius_m: float
    restraining_from_centre_m: float
    n_periods: int
    period_min: int
    shot_clock_s: int
    fresh_clock_results: tuple[str, ...]
    penalties: PenaltyRules = field(default_factory=PenaltyRules)

    @property
    def goal_x_m(self) -> float:
        """Distance of a goal line from the floor's centre, in metres."""
        return self.length_m / 2 - self.goal_line_to_boards_m


_NLL = FloorRules(
    code="nll",
    length_m=200 * FOOT_M,  # [G1]
    width_m=85 * FOOT_M,  # [G1]
    corner_radius_m=28 * FOOT_M,  # as the host rink has them; an NHL rink's [G9]
    goal_line_to_boards_m=12 * FOOT_M,  # [G5]
    goal_width_m=4 * FOOT_M + 9 * INCH_M,  # 4'9" [G1][G6]
    goal_height_m=4 * FOOT_M,  # [G1][G6]
    crease_radius_m=9 * FOOT_M + 3 * INCH_M,  # 9'3" [G8]; pages that call it a diameter are wrong
    restraining_from_centre_m=42 * FOOT_M + 6 * INCH_M,  # 42'6" [G8]
    n_periods=4,  # [F1]
    period_min=15,  # [F1]
    shot_clock_s=30,  # [F1]
    fresh_clock_results=("goal", "saved"),  # a shot on goal is needed [F1][F8]
)

_CANADIAN = FloorRules(
    code="canadian",
    length_m=190 * FOOT_M,  # middle of 180 to 200 ft [G2][G3]
    width_m=85 * FOOT_M,  # middle of 80 to 90 ft [G2][G3]
    corner_radius_m=28 * FOOT_M,  # as the host rink has them; an NHL rink's [G9]
    goal_line_to_boards_m=12 * FOOT_M,  # unverified: taken over from the professional floor [G5]
    goal_width_m=4 * FOOT_M,  # 4'0" inside [G7]
    goal_height_m=4 * FOOT_M,  # [G7]
    crease_radius_m=9 * FOOT_M,  # 9'0", from memory: unverified
    restraining_from_centre_m=42 * FOOT_M + 6 * INCH_M,  # unverified: taken over from the professional floor [G8]
    n_periods=3,  # [F4][F5]
    period_min=15,  # minor: 12 to 20 by age [F5]; seniors play 20 [F4], so a season says its own
    shot_clock_s=30,  # [F8]
    fresh_clock_results=("goal", "saved"),  # a shot on goal is needed [F8]
    penalties=PenaltyRules(),  # unverified: taken over from the professional code
)

_BY_CODE = {rules.code: rules for rules in (_NLL, _CANADIAN)}


def rule_codes() -> tuple[str, ...]:
    """The rule codes that have a floor, in alphabetical order."""
    return tuple(sorted(_BY_CODE))


def floor_rules(code: str) -> FloorRules:
    """Floor and game of a rule code.

    Parameters
    ----------
    code : str
        A rule code as in ``season.toml``.

    Returns
    -------
    FloorRules
        Lengths in metres, times in seconds and minutes.

    Raises
    ------
    UnknownRules
        If no floor has this code; the message names those that do.
    """
    try:
        return _BY_CODE[code]
    except KeyError:
        raise UnknownRules(code, rule_codes()) from None

"""Floor and game by rule code: lengths in metres, periods, clocks, players.

Where codes differ a number is a setting of the code, never a constant elsewhere in the program. Each number
says where it is from; the keys in square brackets are those of the list of sources in DEVELOPERS.md. What no
source confirmed is listed in `unverified`, by field name, so that a page can say so.

Floor coordinates are metres, origin at the floor's centre, +x towards the attacked goal, +y left when facing it.
"""

from __future__ import annotations

from dataclasses import dataclass

from tagger.floor.errors import UnknownRules

FOOT_M = 0.3048
INCH_M = 0.0254


@dataclass(frozen=True)
class FloorRules:
    """The floor and the frame of the game under one rule code.

    Lengths end in ``_m`` (metres) and times in ``_s`` (seconds) or ``_min`` (minutes).
    """

    code: str
    name: str
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
    advance_s: int
    n_runners: int
    fresh_clock_results: tuple[str, ...]
    unverified: tuple[str, ...]

    @property
    def goal_x_m(self) -> float:
        """Distance of a goal line from the floor's centre, in metres."""
        return self.length_m / 2 - self.goal_line_to_boards_m

    def to_goal_m(self, x_m: float, y_m: float) -> float:
        """Distance in metres from a place on the floor to the middle of the attacked goal line."""
        return float(((self.goal_x_m - x_m) ** 2 + y_m**2) ** 0.5)


_NLL = FloorRules(
    code="nll",
    name="professional league",
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
    advance_s=8,  # [F2]
    n_runners=5,  # [F3]
    fresh_clock_results=("goal", "saved"),  # a shot on goal is needed [F1][F8]
    unverified=(),
)

_CANADIAN = FloorRules(
    code="canadian",
    name="Canadian box",
    length_m=190 * FOOT_M,  # middle of 180 to 200 ft [G2][G3]
    width_m=85 * FOOT_M,  # middle of 80 to 90 ft [G2][G3]
    corner_radius_m=28 * FOOT_M,  # as the host rink has them; an NHL rink's [G9]
    goal_line_to_boards_m=12 * FOOT_M,  # unverified: taken over from the professional floor [G5]
    goal_width_m=4 * FOOT_M,  # 4'0" inside [G7]
    goal_height_m=4 * FOOT_M,  # [G7]
    crease_radius_m=9 * FOOT_M,  # 9'0", from memory: unverified
    restraining_from_centre_m=42 * FOOT_M + 6 * INCH_M,  # unverified: taken over from the professional floor [G8]
    n_periods=3,  # [F4][F5]
    period_min=20,  # senior [F4]; minor 12 to 20 by age [F5], so a season says its own
    shot_clock_s=30,  # [F8]
    advance_s=10,  # several codes [F8]
    n_runners=5,  # [F3]
    fresh_clock_results=("goal", "saved"),  # a shot on goal is needed [F8]
    unverified=("goal_line_to_boards_m", "crease_radius_m", "restraining_from_centre_m"),
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

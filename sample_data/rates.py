"""The true rates of the invented teams, in one place, so that what the analysis finds can be checked.

Every run of a set draws first who came free, then how the run ended, then which look was taken, then how a shot
went. So the true share of runs with a shot is a sum over who came free; `SetRates` gives it as a property. All
numbers are invented: rates that a youth team could have, no norms of any league.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

Share = Mapping[str, float]

FREE = ("user", "setter", "third_man", "nobody", "illegal")
ENDS = ("shot", "turnover", "pull_out", "whistle", "broken", "flowed")


@dataclass(frozen=True)
class SetRates:
    """How the runs of one set truly go.

    Attributes
    ----------
    code : str
        The set's code in the playbook, or ``freelance``.
    use : float
        Weight with which the set is chosen among those of the same strength.
    left : float
        Share of runs to the left side.
    screened : float
        Share of runs that come to their screen.
    free : mapping
        Shares of who came free of a screen, over `FREE`, summing to 1.
    end_free, end_covered : mapping
        Shares of how the run ends, over `ENDS`, when somebody came free, and when nobody did or no screen came.
        An illegal screen always ends as a turnover.
    looks : mapping
        Shares of the looks, by code.
    goal : mapping
        Share of goals among shots, by look, of a shooter whose run freed somebody.
    """

    code: str
    use: float
    left: float
    screened: float
    free: Share
    end_free: Share
    end_covered: Share
    looks: Share
    goal: Share

    @property
    def p_free(self) -> float:
        """True share of runs in which the screen freed somebody."""
        return self.screened * (1 - self.free.get("nobody", 0.0) - self.free.get("illegal", 0.0))

    def p_end(self, end: str) -> float:
        """True share of runs with the given end, one of `ENDS`."""
        illegal = self.screened * self.free.get("illegal", 0.0)
        covered = 1 - self.p_free - illegal
        p = self.p_free * self.end_free.get(end, 0.0) + covered * self.end_covered.get(end, 0.0)
        return p + (illegal if end == "turnover" else 0.0)

    @property
    def p_shot(self) -> float:
        """True share of runs that end with a shot of the set's own."""
        return self.p_end("shot")


def _ends(shot: float, turnover: float, pull_out: float, whistle: float, broken: float, flowed: float) -> Share:
    return dict(zip(ENDS, (shot, turnover, pull_out, whistle, broken, flowed), strict=True))


def _free(user: float, setter: float, third: float, nobody: float, illegal: float) -> Share:
    return dict(zip(FREE, (user, setter, third, nobody, illegal), strict=True))


_OUR_SETS = (
    SetRates(
        code="lantern", use=0.27, left=0.62, screened=0.95,
        free=_free(0.32, 0.17, 0.08, 0.39, 0.04),
        end_free=_ends(0.74, 0.12, 0.07, 0.02, 0.03, 0.02), end_covered=_ends(0.33, 0.17, 0.28, 0.03, 0.12, 0.07),
        looks={"hands": 0.46, "roll": 0.27, "skip": 0.18, "backdoor": 0.09},
        goal={"hands": 0.17, "roll": 0.30, "skip": 0.16, "backdoor": 0.33},
    ),
    SetRates(
        code="keel", use=0.19, left=0.45, screened=0.92,
        free=_free(0.27, 0.10, 0.05, 0.52, 0.06),
        end_free=_ends(0.66, 0.17, 0.08, 0.03, 0.04, 0.02), end_covered=_ends(0.27, 0.20, 0.31, 0.03, 0.13, 0.06),
        looks={"curl": 0.55, "inside": 0.23, "return": 0.22},
        goal={"curl": 0.20, "inside": 0.29, "return": 0.12},
    ),
    SetRates(
        code="ferry", use=0.16, left=0.50, screened=0.93,
        free=_free(0.20, 0.30, 0.06, 0.42, 0.02),
        end_free=_ends(0.70, 0.17, 0.05, 0.02, 0.04, 0.02), end_covered=_ends(0.30, 0.22, 0.26, 0.03, 0.12, 0.07),
        looks={"slip": 0.44, "carry": 0.27, "cross": 0.17, "down": 0.12},
        goal={"slip": 0.31, "carry": 0.15, "cross": 0.14, "down": 0.22},
    ),
    SetRates(
        code="breakwater", use=0.15, left=0.40, screened=0.94,
        free=_free(0.21, 0.09, 0.07, 0.59, 0.04),
        end_free=_ends(0.55, 0.22, 0.12, 0.03, 0.05, 0.03), end_covered=_ends(0.22, 0.25, 0.30, 0.03, 0.14, 0.06),
        looks={"downhill": 0.43, "pop": 0.24, "dump": 0.14, "swing": 0.13, "lob": 0.06},
        goal={"downhill": 0.13, "pop": 0.11, "dump": 0.22, "swing": 0.12, "lob": 0.28},
    ),
    SetRates(
        code="tidepool", use=0.08, left=0.55, screened=0.90,
        free=_free(0.36, 0.13, 0.03, 0.46, 0.02),
        end_free=_ends(0.71, 0.15, 0.05, 0.03, 0.04, 0.02), end_covered=_ends(0.28, 0.20, 0.29, 0.03, 0.14, 0.06),
        looks={"cut": 0.56, "seal": 0.24, "late": 0.20},
        goal={"cut": 0.30, "seal": 0.27, "late": 0.09},
    ),
    SetRates(
        code="freelance", use=0.15, left=0.50, screened=0.45,
        free=_free(0.28, 0.12, 0.05, 0.50, 0.05),
        end_free=_ends(0.62, 0.20, 0.09, 0.03, 0.04, 0.02), end_covered=_ends(0.34, 0.25, 0.22, 0.03, 0.11, 0.05),
        looks={"drive": 0.55, "feed": 0.30, "swing": 0.15},
        goal={"drive": 0.13, "feed": 0.24, "swing": 0.12},
    ),
)  # fmt: skip

_OUR_MAN_UP = (
    SetRates(
        code="samphire", use=0.85, left=0.55, screened=0.20,
        free=_free(0.30, 0.20, 0.10, 0.38, 0.02),
        end_free=_ends(0.82, 0.08, 0.06, 0.02, 0.01, 0.01), end_covered=_ends(0.62, 0.14, 0.16, 0.03, 0.03, 0.02),
        looks={"corner": 0.38, "diagonal": 0.27, "top": 0.18, "weak": 0.17},
        goal={"corner": 0.26, "diagonal": 0.45, "top": 0.18, "weak": 0.27},
    ),
    SetRates(
        code="freelance", use=0.15, left=0.50, screened=0.20,
        free=_free(0.30, 0.20, 0.10, 0.38, 0.02),
        end_free=_ends(0.70, 0.14, 0.10, 0.02, 0.02, 0.02), end_covered=_ends(0.50, 0.20, 0.20, 0.04, 0.04, 0.02),
        looks={"drive": 0.45, "feed": 0.35, "swing": 0.20},
        goal={"drive": 0.22, "feed": 0.35, "swing": 0.20},
    ),
)  # fmt: skip


@dataclass(frozen=True)
class TrueRates:
    """All true parameters of the invented season."""

    even: tuple[SetRates, ...] = _OUR_SETS
    man_up: tuple[SetRates, ...] = _OUR_MAN_UP
    fail_clear: float = 0.07
    fast_break: float = 0.11
    fast_break_shot: float = 0.72
    fast_break_goal: float = 0.30
    unnamed: float = 0.07
    covered_goal_factor: float = 0.6
    miss: Share = field(default_factory=lambda: {"saved": 0.60, "wide": 0.23, "blocked": 0.11, "post": 0.06})
    held: float = 0.48
    own_rebound: Share = field(default_factory=lambda: {"saved": 0.26, "post": 0.42, "wide": 0.36, "blocked": 0.30})
    put_back: float = 0.45
    put_back_goal: float = 0.27
    repick: float = 0.22
    penalty_drawn: float = 0.030
    open_not_taken: float = 0.17
    face_off: float = 0.53
    cause: Share = field(
        default_factory=lambda: {
            "beaten": 0.34,
            "late_switch": 0.22,
            "no_help": 0.20,
            "bad_change": 0.07,
            "goalkeeper": 0.17,
        }
    )

    graded: float = 0.75
    plus_freed: float = 0.82
    plus_covered: float = 0.58
    not_gradable: float = 0.07

    def of(self, code: str, strength: str = "5v5") -> SetRates:
        """True rates of a set by its code.

        Raises
        ------
        KeyError
            If no set of that strength has the code.
        """
        for rates in self.man_up if strength == "5v4" else self.even:
            if rates.code == code:
                return rates
        raise KeyError(code)


COVERAGE: Mapping[str, Share] = {
    "user": {"stayed": 0.42, "under": 0.26, "blown": 0.18, "shown": 0.14},
    "setter": {"switched": 0.34, "doubled": 0.36, "blown": 0.20, "shown": 0.10},
    "third_man": {"doubled": 0.55, "shown": 0.25, "switched": 0.20},
    "nobody": {"switched": 0.45, "stayed": 0.30, "shown": 0.15, "under": 0.10},
    "illegal": {"stayed": 0.60, "switched": 0.40},
}
"""Shares of what the defence did at a screen, by who came free of it."""

SETTER_NEXT: Mapping[str, Share] = {
    "lantern": {"rolled": 0.62, "popped": 0.22, "stayed": 0.16},
    "keel": {"stayed": 0.55, "rolled": 0.35, "popped": 0.10},
    "ferry": {"slipped": 0.82, "rolled": 0.18},
    "breakwater": {"popped": 0.58, "rolled": 0.28, "stayed": 0.14},
    "tidepool": {"rolled": 0.55, "stayed": 0.45},
    "samphire": {"popped": 0.50, "rolled": 0.50},
    "freelance": {"rolled": 0.50, "popped": 0.30, "slipped": 0.10, "stayed": 0.10},
}
"""Shares of what the setter did after the screen, by set."""

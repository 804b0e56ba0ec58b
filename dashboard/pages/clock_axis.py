"""Where moments of a period stand along its game clock; along the film where nobody read the clock."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass

from dashboard.story import film_time

MINUTE_S = 60


@dataclass(frozen=True)
class Axis:
    """A period from left to right.

    Attributes
    ----------
    length_s : float
        Seconds from its left end to its right one.
    by_clock : bool
        Whether these are of the game clock; else of the film.
    first_ms : int
        Where it begins on the game's time line.
    knots : tuple of (int, float)
        Moments of the game's time line, and how many seconds of the axis lie before them; both rising.
    """

    length_s: float
    by_clock: bool
    first_ms: int
    knots: tuple[tuple[int, float], ...]

    def share(self, at_ms: int) -> float:
        """How far along the axis a moment stands.

        Parameters
        ----------
        at_ms : int
            On the game's time line.

        Returns
        -------
        float
            From 0 to 100; between two readings of the clock as if it ran evenly.
        """
        return min(max(self._before_s(at_ms) / self.length_s, 0.0), 1.0) * 100

    def _before_s(self, at_ms: int) -> float:
        place = bisect_right(self.knots, (at_ms, float("inf")))
        if place == 0:
            first_ms, first_s = self.knots[0]
            return first_s - (first_ms - at_ms) / 1000
        low_ms, low_s = self.knots[place - 1]
        if place == len(self.knots):
            return low_s + (at_ms - low_ms) / 1000
        high_ms, high_s = self.knots[place]
        return low_s + (high_s - low_s) * (at_ms - low_ms) / (high_ms - low_ms)

    def said(self, share: float) -> str:
        """What stands at a place of the axis.

        Parameters
        ----------
        share : float
            From 0 to 100.

        Returns
        -------
        str
            The clock, as "12:20"; the film's time where that is the axis.
        """
        gone_s = share / 100 * self.length_s
        return film_time(round(self.length_s - gone_s if self.by_clock else self.first_ms / 1000 + gone_s) * 1000)

    def ticks(self) -> list[tuple[float, str]]:
        """Where the axis is labelled.

        Returns
        -------
        list of (float, str)
            Place from 0 to 100, and words: every five minutes, both ends.
        """
        step_s = (
            5 * MINUTE_S if self.length_s >= 6 * MINUTE_S else MINUTE_S if self.length_s >= MINUTE_S else self.length_s
        )
        n = int(self.length_s // step_s)
        edges = [step * step_s for step in range(n + 1)]
        shares = [(self.length_s - edge if self.by_clock else edge) / self.length_s * 100 for edge in edges]
        return [(share, self.said(share)) for share in sorted(shares)]


def axis_of(readings: Iterable[tuple[int, float]], usual_s: float | None, first_ms: int, last_ms: int) -> Axis:
    """The axis of a period.

    Parameters
    ----------
    readings : iterable of (int, float)
        Moments of the game's time line in the period, and what the clock had left then, in seconds.
    usual_s : float or None
        How long such a period lasts; None where that is not known, as in overtime.
    first_ms, last_ms : int
        Where it begins and ends on the game's time line, as far as it is marked.

    Returns
    -------
    Axis
        By the clock where it was read at all.
    """
    read = sorted(readings)
    if not read:
        return Axis(max(last_ms - first_ms, 1000) / 1000, False, first_ms, ((first_ms, 0.0),))
    most_s = max(left_s for _, left_s in read)
    full_s = -(-most_s // MINUTE_S) * MINUTE_S or MINUTE_S
    length_s = max(full_s, usual_s or 0.0)
    knots: list[tuple[int, float]] = []
    for at_ms, left_s in read:
        gone_s = length_s - left_s
        if not knots or (
            at_ms > knots[-1][0] and gone_s >= knots[-1][1]
        ):  # a clock that was set back is not gone back with
            knots.append((at_ms, gone_s))
    return Axis(length_s, True, first_ms, tuple(knots))

"""Film time to play time, and play time to the game's clock.

Play time runs while the ball is in play. With a stop clock it stands from a whistle or a goal to the next mark of play;
with running time it runs from a period's beginning to its end. The clock is read off the film now and then; between two
readings that agree with the play time between them it is worked out, everywhere else it stays unknown.

Two readings that differ by more than 3 s from the play time between them leave the time between unknown. Overtime has
no clock until it is read, even with running time; a penalty that stops play stops the clock.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field

AGREE_MS = 3000
"""How far two readings and the play time between them may differ and still be believed: a reading is whole seconds,
and a whistle's key comes a moment late. Common practice, no source."""


@dataclass
class PlayTime:
    """Play time as it adds up over a game.

    Attributes
    ----------
    stop_clock : bool
        Whether it stands at whistles and goals.
    """

    stop_clock: bool
    _starts: list[int] = field(default_factory=list)
    _before: list[int] = field(default_factory=list)
    _ends: list[int] = field(default_factory=list)

    def start(self, at_ms: int) -> None:
        """Play goes on from here; nothing when it is on."""
        if len(self._ends) == len(self._starts):
            self._before.append(self.until(at_ms))
            self._starts.append(at_ms)

    def halt(self, at_ms: int, *, period_over: bool = False) -> None:
        """A whistle, a goal or a period's end: play stands from here, unless time runs on."""
        if (self.stop_clock or period_over) and len(self._ends) < len(self._starts):
            self._ends.append(max(at_ms, self._starts[-1]))

    def until(self, at_ms: int) -> int:
        """Play time up to a moment of the game.

        Parameters
        ----------
        at_ms : int
            Game time.

        Returns
        -------
        int
            Milliseconds of play since the first period began.
        """
        place = bisect_right(self._starts, at_ms) - 1
        if place < 0:
            return 0
        end = self._ends[place] if place < len(self._ends) else at_ms
        return self._before[place] + max(0, min(at_ms, end) - self._starts[place])


@dataclass
class PeriodClock:
    """One period's clock.

    Attributes
    ----------
    play : PlayTime
        The game's play time.
    start_ms : int
        Game time of the period's beginning.
    full_s : int or None
        What the clock says then; None for a period of which the settings say nothing (overtime).
    readings : list of (int, int)
        Game time and seconds left, as read off the film, in order.
    """

    play: PlayTime
    start_ms: int
    full_s: int | None
    readings: list[tuple[int, int]] = field(default_factory=list)

    def left_s(self, at_ms: int) -> int | None:
        """Seconds left at a moment.

        Parameters
        ----------
        at_ms : int
            Game time within the period.

        Returns
        -------
        int or None
            None where the film gives too little: with a stop clock before any reading, and between two readings that
            disagree with the play time between them.
        """
        if not self.readings and self.play.stop_clock:
            return None
        begins = [(self.start_ms, self.full_s)] if self.full_s is not None else []
        anchors = [*begins, *self.readings]
        before = [anchor for anchor in anchors if anchor[0] <= at_ms]
        later = [anchor for anchor in anchors if anchor[0] > at_ms]
        if not before:
            return None
        since_ms, left_s = before[-1]
        played = self.play.until(at_ms) - self.play.until(since_ms)
        if later:
            until_ms, then_s = later[0]
            whole = self.play.until(until_ms) - self.play.until(since_ms)
            if abs((left_s - then_s) * 1000 - whole) > AGREE_MS:
                return None
            if whole > 0:
                played = round(played * (left_s - then_s) * 1000 / whole)
        left = round(left_s - played / 1000)
        return left if left >= 0 else None

"""Where the ball is: in a stick, in the air, on the floor, in the net, or away."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from sample_data.drawn.body import Body
from sample_data.script import Player, Touch

Floats = NDArray[np.float64]


class Ball:
    """Where the ball is."""

    def __init__(self, touches: Sequence[Touch], end_s: float) -> None:
        self.touches = sorted(touches, key=lambda touch: touch.at_s)
        self.ends = [touch.at_s for touch in self.touches[1:]] + [end_s]
        self.index = 0
        self.place = np.array([0.0, 0.0, 0.05])
        self.start = self.place.copy()
        self.holder: Player | None = None
        self.shown = True
        self.sent = False

    def step(self, t: float, on: dict[Player, Body]) -> None:
        """Move on to the moment `t`."""
        while self.index + 1 < len(self.touches) and self.touches[self.index + 1].at_s <= t:
            self.index += 1
            self.start = self.place.copy()
        touch, end_s = self.touches[self.index], self.ends[self.index]
        u = min(1.0, max(0.0, (t - touch.at_s) / max(0.02, end_s - touch.at_s)))
        self.holder = touch.who if touch.how == "held" and touch.who in on else None
        self.shown = touch.how != "hidden"
        if touch.how == "held":
            if self.holder is not None:
                stick = in_stick(on[self.holder], t)
                since = t - touch.at_s
                self.place = stick if since > 0.1 else self.place + (stick - self.place) * 0.5
        elif touch.how == "pass":
            self._fly(u, self._catcher(on), 0.25 + 0.035 * self._length(self._catcher(on)))
        elif touch.how == "shot":
            self._shot(touch, t, end_s, on)
        elif touch.how == "loose" and touch.place is not None:
            ease = 1 - (1 - u) ** 1.8
            self.place[:2] = self.start[:2] + (np.array(touch.place) - self.start[:2]) * ease
            bounce = abs(np.cos(u * 9.0)) * (1 - u) ** 1.5 * min(1.2, 0.35 + self.start[2] * 0.5)
            self.place[2] = 0.05 + bounce * min(1.0, 0.3 + self.start[2])
        elif touch.how == "out" and touch.place is not None:
            v = min(1.0, (t - touch.at_s) / 0.9)
            self.place[:2] = self.start[:2] + (np.array(touch.place) - self.start[:2]) * v
            self.place[2] = self.start[2] + 4 * touch.height_m * v * (1 - v) + 0.4 * v
            self.shown = v < 1.0
        elif touch.place is not None:
            v = min(1.0, (t - touch.at_s) / 0.12)
            self.place[:2] = self.start[:2] + (np.array(touch.place) - self.start[:2]) * v
            self.place[2] = self.start[2] + (0.05 - self.start[2]) * min(1.0, (t - touch.at_s) / 0.4)

    def _catcher(self, on: dict[Player, Body]) -> Floats:
        follows = self.touches[self.index + 1] if self.index + 1 < len(self.touches) else None
        if follows is not None and follows.who in on and follows.who is not None:
            return in_stick(on[follows.who], follows.at_s)
        return self.start

    def _length(self, target: Floats) -> float:
        return float(np.hypot(*(target[:2] - self.start[:2])))

    def _fly(self, u: float, target: Floats, rise_m: float) -> None:
        self.place = self.start + (target - self.start) * u
        self.place[2] += 4 * rise_m * u * (1 - u)

    def _shot(self, touch: Touch, t: float, end_s: float, on: dict[Player, Body]) -> None:
        target = np.array([*(touch.place or (0.0, 0.0)), touch.height_m])
        if touch.result == "saved":
            keepers = [body for body in on.values() if body.goal and body.who[0] != (touch.who or ("", ""))[0]]
            if keepers:
                target[:2] = keepers[0].place + 0.3 * (self.start[:2] - keepers[0].place) / (
                    np.hypot(*(self.start[:2] - keepers[0].place)) + 0.01
                )
        u = min(1.0, (t - touch.at_s) / max(0.02, end_s - touch.at_s))
        self.place = self.start + (target - self.start) * u


def in_stick(body: Body, t: float) -> Floats:
    """Where the ball lies in a player's stick: rink x, y and height."""
    cradle = 0.12 * np.sin(2 * np.pi * 1.6 * t + body.sway[0])
    ahead = np.array([np.cos(body.heading), np.sin(body.heading)])
    aside = np.array([-ahead[1], ahead[0]])
    if body.goal:
        return np.array([*(body.place + ahead * 0.55 + aside * body.hand * 0.12), 0.45 + 0.1 * cradle])
    place = body.place + ahead * (0.42 + cradle) + aside * body.hand * 0.42
    return np.array([place[0], place[1], 1.45 + 0.5 * cradle])

"""Frames of a film: the painted rink, goals, players and ball over it, and a scoreboard that tells the clock."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sample_data.drawn.camera import View, views
from sample_data.drawn.figure import FROM_HIGH, OVER_LIFE, Colour, Kit, Pose, draw_figure
from sample_data.drawn.goal import draw_goal, fine
from sample_data.drawn.motion import Moved, Track
from sample_data.drawn.rink import Painted, paint, wide_view
from sample_data.script import Player
from sample_data.truth import Truth
from tagger.floor.rules import FloorRules

TRAIL_S = 0.28
LAMP_S = 3.0
CHEERS_S = 2.5

Floats = NDArray[np.float64]
Picture = NDArray[np.uint8]


def kit(colour: str, dark: bool) -> Kit:
    """A kit around a jersey colour such as ``#0B6E4F``; `dark` jerseys carry light numbers."""
    red, green, blue = (int(colour[k : k + 2], 16) for k in (1, 3, 5))
    jersey: Colour = (blue, green, red)
    if dark:
        return Kit(jersey, (236, 240, 240), (40, 38, 36), (255, 255, 255), _mix(jersey, (250, 250, 250), 0.15))
    return Kit(jersey, (60, 44, 36), (74, 60, 52), (24, 20, 18), (228, 230, 232))


def _mix(a: Colour, b: Colour, share: float) -> Colour:
    return tuple(int(p * (1 - share) + q * share) for p, q in zip(a, b, strict=True))  # type: ignore[return-value]


@dataclass(frozen=True)
class Look:
    """How a film looks: size, frame rate, camera, kits of both teams.

    A camera that stands still can stand `high`: players are drawn larger then, and so is the scoreboard, which shows
    both teams' jerseys.
    """

    width_px: int
    height_px: int
    fps: float
    pan: bool
    kits: dict[str, Kit]
    high: bool = False


class Film:
    """A film that can be drawn frame by frame, in any order.

    Parameters
    ----------
    truth : Truth
        Events, for the scoreboard.
    moved : Moved
        All places.
    rules : FloorRules
        The floor.
    look : Look
        Size, rate, camera, kits.
    before : tuple of int
        Goals of ours and theirs before the film begins, for the scoreboard.
    """

    def __init__(
        self, truth: Truth, moved: Moved, rules: FloorRules, look: Look, before: tuple[int, int] = (0, 0)
    ) -> None:
        self.truth, self.moved, self.rules, self.look = truth, moved, rules, look
        self.before = before
        self.views = views(
            moved, rules, look.width_px, height_px=look.height_px, fps=look.fps, pan=look.pan, seed=truth.seed,
            high=look.high,
        )  # fmt: skip
        self.run_m = [_run(track) for track in moved.tracks]
        self.speed = [_speed(track, look.fps) for track in moved.tracks]
        self.hands = {
            (team, number): person[0] == "L"
            for team, told in truth.teams.items()
            for number, person in told["people"].items()
        }
        self.shots = [(shot.at_ms, (shot.team, shot.shooter)) for shot in truth.shots]
        self.attacks = {
            shot.at_ms: p.attacks for shot in truth.shots for p in truth.possessions if p.id == shot.possession
        }

    @cached_property
    def painted(self) -> Painted:
        """The empty rink, painted when the first frame is drawn."""
        shown = wide_view(self.views[0]) if self.look.pan else self.views[0]
        if not self.look.high:
            return paint(self.rules, shown, self.truth.seed)
        benches = self.look.kits["ours"].jersey, self.look.kits["theirs"].jersey
        return paint(self.rules, shown, self.truth.seed, benches)

    @property
    def n_frames(self) -> int:
        """How many frames the film has."""
        return len(self.moved.ball_m)

    def frames(self) -> Iterator[Picture]:
        """All frames in order: blue, green, red."""
        for index in range(self.n_frames):
            yield self.frame(index)

    def frame(self, index: int) -> Picture:
        """One frame, shape (height, width, 3): blue, green, red."""
        import cv2

        view = self.views[index]
        if self.look.pan:
            size = (self.look.width_px, self.look.height_px)
            across = view.from_view(self.painted.view)
            empty: Any = cv2.warpPerspective(
                self.painted.picture, across, size, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT
            )
            front: Any = cv2.warpPerspective(self.painted.front, across, size, flags=cv2.INTER_NEAREST)
        else:
            empty, front = self.painted.picture, self.painted.front
        picture = empty.copy()
        self._scoreboard(picture, view, index)
        things: list[tuple[float, Any]] = []
        for order, track in enumerate(self.moved.tracks):
            here = track.at(index)
            if here is not None:
                things.append((here[1], self._pose(order, track, index, here)))
        for side in (-1, 1):
            things.append((0.0 if not things else 0.62, side))
        things.sort(key=lambda pair: -pair[0])
        for _, thing in things:
            if isinstance(thing, tuple):
                over_life = FROM_HIGH if self.look.high else OVER_LIFE
                draw_figure(picture, view, thing[1], self.look.kits[thing[0]], over_life)
            elif isinstance(thing, int):
                draw_goal(picture, view, self.rules, thing)
        self._lamps(picture, view, index)
        self._trail(picture, view, index)
        self._ball(picture, view, index)
        cv2.copyTo(empty, front, picture)
        return picture

    def _pose(self, order: int, track: Track, index: int, here: tuple[float, float, float]) -> tuple[str, Pose]:
        k = index - track.from_frame
        who: Player = track.who
        at_ms = index * 1000 / self.look.fps
        raised = 0.0
        for shot_ms, shooter in self.shots:
            if shooter == who and -420 < at_ms - shot_ms < 260:
                raised = 0.45 * (1 - abs(at_ms - shot_ms + 80) / 400)
        return who[0], Pose(
            x_m=here[0],
            y_m=here[1],
            heading=here[2],
            run_m=float(self.run_m[order][k]),
            speed_m_s=float(self.speed[order][k]),
            number=who[1],
            goalie=track.goal != 0,
            left_handed=self.hands.get(who, False),
            has_ball=self.moved.holder[index] == who,
            raised=max(0.0, raised, self._calls(who, index)),
            reach=self._save(track, index) if track.goal else None,
        )

    def _calls(self, who: Player, index: int) -> float:
        """How high a stick is held by somebody who is free and wants the ball, or has just scored."""
        t = index / self.look.fps
        if self.moved.holder[index] != who:
            for room in self.moved.rooms:
                if room.who == who and room.from_s + 0.4 < t < room.to_s:
                    return 0.4 * min(1.0, (t - room.from_s - 0.4) / 0.3)
        for flight in self.moved.flights:
            if flight.who == who and flight.result == "goal" and 0.3 < t - flight.to_s < CHEERS_S:
                return 0.6
        return 0.0

    def _save(self, track: Track, index: int) -> tuple[float, float, float, float] | None:
        """Where a goalkeeper's stick goes who saves a shot: to the ball."""
        t = index / self.look.fps
        for flight in self.moved.flights:
            since = t - flight.to_s
            if flight.result == "saved" and flight.who[0] != track.who[0] and -0.2 < since < 0.5:
                hit = min(len(self.moved.ball_m) - 1, round(flight.to_s * self.look.fps))
                share = min(1.0, (since + 0.2) / 0.16) * min(1.0, (0.5 - since) / 0.3)
                x, y, z = (float(value) for value in self.moved.ball_m[hit])
                return x, y, z, share
        return None

    def _trail(self, picture: Picture, view: View, index: int) -> None:
        """A shot draws a line behind it that fades, so that the eye can follow it to where it ends."""
        import cv2

        t, fps = index / self.look.fps, self.look.fps
        for flight in self.moved.flights:
            if not flight.from_s <= t < flight.to_s + TRAIL_S:
                continue
            first = max(round(flight.from_s * fps), index - round(TRAIL_S * fps))
            last = min(index, round(flight.to_s * fps), len(self.moved.ball_m) - 1)
            seen = view.seen(self.moved.ball_m[first : last + 1])
            for k in range(len(seen) - 1):
                share = 1 - (index - first - k - 1) / (TRAIL_S * fps)
                if share <= 0 or seen[k : k + 2, 2].min() < 1:
                    continue
                layer = picture.copy()
                wide = max(2, round(0.09 * view.focal_px / float(seen[k, 2])))
                cv2.line(
                    layer,
                    fine(seen[k]),
                    fine(seen[k + 1]),
                    (80, 205, 255),
                    thickness=wide,
                    lineType=cv2.LINE_AA,
                    shift=4,
                )
                cv2.addWeighted(layer, 0.75 * share, picture, 1 - 0.75 * share, 0, dst=picture)

    def _lamps(self, picture: Picture, view: View, index: int) -> None:
        """A lamp on the glass behind each goal, lit when a goal is scored there."""
        import cv2

        t = index / self.look.fps
        lit = {
            self.attacks.get(round(flight.from_s * 1000), 0)
            for flight in self.moved.flights
            if flight.result == "goal" and 0 <= t - flight.to_s < LAMP_S
        }
        for side in (-1, 1):
            here = view.seen(np.array([[side * (self.rules.length_m / 2 + 0.1), 4.0, 3.0]]))[0]
            if here[2] < 1:
                continue
            scale = view.focal_px / float(here[2])
            if side in lit:
                glow = picture.copy()
                cv2.circle(
                    glow,
                    fine(here),
                    round(0.95 * scale * 16),
                    (70, 60, 255),
                    thickness=-1,
                    lineType=cv2.LINE_AA,
                    shift=4,
                )
                cv2.addWeighted(glow, 0.45, picture, 0.55, 0, dst=picture)
            colour = (60, 60, 255) if side in lit else (34, 30, 84)
            cv2.circle(
                picture,
                fine(here),
                round(0.32 * scale * 16),
                colour,
                thickness=-1,
                lineType=cv2.LINE_AA,
                shift=4,
            )

    def _ball(self, picture: Picture, view: View, index: int) -> None:
        import cv2

        if not self.moved.ball_shown[index]:
            return
        here = view.seen(self.moved.ball_m[index : index + 1])[0]
        if here[2] < 1:
            return
        scale = view.focal_px / float(here[2])
        radius = max(2.8, 0.08 * scale)
        if self.moved.ball_m[index, 2] < 0.9:
            foot = view.seen(self.moved.ball_m[index : index + 1] * [1, 1, 0])[0]
            cv2.ellipse(
                picture,
                fine(foot),
                (int(radius * 16), int(radius * 8)),
                angle=0,
                startAngle=0,
                endAngle=360,
                color=(64, 60, 56),
                thickness=-1,
                lineType=cv2.LINE_AA,
                shift=4,
            )
        if index and self.moved.ball_shown[index - 1]:
            before = self.views[index].seen(self.moved.ball_m[index - 1 : index])[0]
            if np.hypot(*(here[:2] - before[:2])) > 2.2 * radius:
                start = before + (here - before) * 0.35
                streak = picture.copy()
                cv2.line(
                    streak,
                    fine(start),
                    fine(here),
                    (60, 180, 255),
                    thickness=max(2, round(1.5 * radius)),
                    lineType=cv2.LINE_AA,
                    shift=4,
                )
                x0, y0 = np.maximum(np.minimum(start[:2], here[:2]) - 8, 0).astype(int)
                x1, y1 = (np.maximum(start[:2], here[:2]) + 9).astype(int)
                part = picture[y0 : max(y0, y1), x0 : max(x0, x1)]
                part[:] = (
                    cv2.addWeighted(part, 0.45, streak[y0 : max(y0, y1), x0 : max(x0, x1)], 0.55, 0)
                    if part.size
                    else part
                )
        cv2.circle(
            picture,
            fine(here),
            round((radius + 0.9) * 16),
            (30, 40, 60),
            thickness=-1,
            lineType=cv2.LINE_AA,
            shift=4,
        )
        cv2.circle(
            picture,
            fine(here),
            round(radius * 16),
            (70, 190, 255),
            thickness=-1,
            lineType=cv2.LINE_AA,
            shift=4,
        )

    def _scoreboard(self, picture: Picture, view: View, index: int) -> None:
        import cv2

        y = self.rules.width_m / 2 + 9.5
        half, low = (6.8, 5.0) if self.look.high else (4.2, 6.6)
        corners = np.array([[-half, y, 9.2], [half, y, 9.2], [half, y, low], [-half, y, low]])
        seen = view.seen(corners)
        if (
            (seen[:, 2] < 1).any()
            or seen[:, 1].max() < 0
            or seen[:, 0].max() < 0
            or seen[:, 0].min() > picture.shape[1]
        ):
            return
        board = self._board(index * 1000 / self.look.fps)
        h, w = board.shape[:2]
        source = np.array([[0, 0], [w, 0], [w, h], [0, h]], np.float32)
        matrix = cv2.getPerspectiveTransform(source, seen[:, :2].astype(np.float32))
        x0, y0 = np.maximum(seen[:, :2].min(axis=0), 0).astype(int)
        x1 = min(picture.shape[1], int(seen[:, 0].max()) + 1)
        y1 = min(picture.shape[0], int(seen[:, 1].max()) + 1)
        if x1 <= x0 or y1 <= y0:
            return
        moved = np.array([[1, 0, -x0], [0, 1, -y0], [0, 0, 1.0]]) @ matrix
        laid = cv2.warpPerspective(board, moved, (x1 - x0, y1 - y0), flags=cv2.INTER_AREA)
        cover = cv2.warpPerspective(np.full((h, w), 255, np.uint8), moved, (x1 - x0, y1 - y0))
        cv2.copyTo(laid, cover, picture[y0:y1, x0:x1])

    def _board(self, at_ms: float) -> Picture:
        import cv2

        truth = self.truth
        clock = truth.left_on_clock_s(round(at_ms))
        left_s = truth.periods[0].clock_s if clock is None else clock
        goals = [shot for shot in truth.shots if shot.result == "goal" and shot.at_ms + 900 < at_ms]
        ours = sum(shot.team == "ours" for shot in goals)
        board = np.full((130, 420, 3), (22, 20, 20), np.uint8)
        cv2.rectangle(board, (3, 3), (416, 126), (90, 84, 80), 3)
        up = int(np.ceil(left_s - 1e-6))
        size = 1.7 if self.look.high else 2.0
        _centred(board, f"{up // 60}:{up % 60:02d}", 210, y=62, size=size, colour=(60, 200, 255), thick=4)
        _centred(board, f"{truth.periods[0].number}", 210, y=112, size=1.3, colour=(230, 230, 230), thick=2)
        for x, team, name, score in (
            (75, "ours", "HERONS", self.before[0] + ours),
            (345, "theirs", truth.teams["theirs"]["name"].split()[0].upper(), self.before[1] + len(goals) - ours),
        ):
            _centred(board, name[:9], x, y=36, size=0.72, colour=(230, 230, 230), thick=2)
            if self.look.high:
                cv2.rectangle(board, (x - 62, 112), (x + 62, 122), self.look.kits[team].jersey, -1)
            _centred(board, str(score), x, y=100 if self.look.high else 106, size=2.1, colour=(240, 240, 240), thick=4)
        return board


def _centred(board: Picture, text: str, x: int, *, y: int, size: float, colour: Colour, thick: int) -> None:
    import cv2

    (w, _), _ = cv2.getTextSize(text, cv2.FONT_HERSHEY_DUPLEX, size, thick)
    cv2.putText(
        board,
        text,
        (x - w // 2, y),
        fontFace=cv2.FONT_HERSHEY_DUPLEX,
        fontScale=size,
        color=colour,
        thickness=thick,
        lineType=cv2.LINE_AA,
    )


def _run(track: Track) -> Floats:
    steps = np.hypot(*np.diff(track.place_m, axis=0).T)
    return np.concatenate([[0.0], np.cumsum(steps)])


def _speed(track: Track, fps: float) -> Floats:
    steps = np.hypot(*np.diff(track.place_m, axis=0).T) * fps
    speed = np.concatenate([steps[:1], steps]) if len(steps) else np.zeros(1)
    span = max(1, int(fps * 0.3))
    return np.convolve(np.pad(speed, span // 2, mode="edge"), np.ones(span) / span, mode="same")[
        span // 2 : span // 2 + len(speed)
    ]

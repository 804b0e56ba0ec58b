"""A film with its truth: simulate, move, draw, sound, encode.

It encodes its own film, so that what is drawn depends on nothing of the program that it is there to test.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np

from sample_data.drawn.draw import Film, Look, kit
from sample_data.drawn.motion import Moved, move, place_of
from sample_data.drawn.sound import RATE_HZ, sound
from sample_data.errors import SampleOption
from sample_data.period_film import period_film, score_before
from sample_data.script import Player
from sample_data.sim import LAST_PERIOD, OnFilm, Simulated, simulate_excerpt, simulate_game
from sample_data.truth import Shot, Truth, Turnover, write_truth
from tagger.floor.rules import floor_rules
from tagger.progress import Progress
from tagger.written import whole_file

GOP = 25
MOST_S = 2400
AUDIO_BITS_S = 56_000
LONG_AUDIO_BITS_S = 32_000
AWAY = {"Quarry Hill": ("#F2EFE6", False), "Millrace": ("#8E2F2B", True)}
"""Jersey of the other team, and whether it is dark; others wear light against our dark, and dark against our light."""


@dataclass(frozen=True)
class FilmOptions:
    """What film to make.

    Attributes
    ----------
    seed : int
        Same seed, same truth, same drawn pixels.
    seconds : float
        Length, at least 20; of a period its beginning, so long at most.
    width_px, height_px : int
        Even numbers of pixels, at least 320 x 180.
    fps : float
        Frames a second, 10 to 120.
    pan : bool
        The camera pans, tilts and zooms; otherwise it stands still and sees the whole floor.
    opponent : str
        Name of the other team.
    period : int
        Which period begins.
    home : bool
        We wear our dark jersey; otherwise the light one.
    crf : int
        Constant quality of the picture's encoder: lower is better and larger.
    take : int, optional
        The period, with its dead time, of the whole game that the seed gives: which of the courses that the
        period could have taken (`sample_data.sim.OnFilm`). None for a short film of its own.
    """

    seed: int
    seconds: float = 150.0
    width_px: int = 1280
    height_px: int = 720
    fps: float = 25.0
    pan: bool = False
    opponent: str = "Quarry Hill"
    period: int = 1
    home: bool = True
    crf: int = 28
    take: int | None = None

    def __post_init__(self) -> None:
        if not 20 <= self.seconds <= MOST_S:
            raise SampleOption("--seconds", self.seconds, f"a length from 20 to {MOST_S} seconds")
        if self.take is not None and self.period != LAST_PERIOD:
            raise SampleOption("--period", self.period, f"{LAST_PERIOD} with --take: a game's last one")
        if self.width_px % 2 or self.height_px % 2 or self.width_px < 320 or self.height_px < 180:
            size = f"{self.width_px}x{self.height_px}"
            raise SampleOption("--size", size, "even numbers of pixels from 320x180 up, such as 1280x720")
        if not 10 <= self.fps <= 120:
            raise SampleOption("--fps", self.fps, "a frame rate from 10 to 120")


def plan_film(options: FilmOptions) -> tuple[Truth, Film]:
    """The truth of a film, with places of every frame, and the film ready to be drawn.

    Parameters
    ----------
    options : FilmOptions
        What to make.

    Returns
    -------
    tuple of Truth and Film
    """
    made, before = _made(options)
    seconds = made.truth.length_ms / 1000
    rules = floor_rules(made.truth.rule_code)
    hands: dict[Player, str] = {
        (team, number): person[0]
        for team, told in made.truth.teams.items()
        for number, person in told["people"].items()
    }
    moved = move(made.script, rules, hands, seconds, options.fps, options.seed)
    truth = _with_places(made.truth, moved, options.fps)
    ours = ("#0B6E4F", True) if options.home else ("#F2EFE6", False)
    theirs = AWAY.get(options.opponent, ("#F2EFE6", False) if options.home else ("#8E2F2B", True))
    if theirs[1] == ours[1]:
        theirs = ("#F2EFE6", False) if options.home else ("#8E2F2B", True)
    look = Look(
        options.width_px,
        options.height_px,
        options.fps,
        options.pan,
        {"ours": kit(*ours), "theirs": kit(*theirs)},
        high=options.take is not None and not options.pan,
    )
    film = Film(truth, moved, rules, look, before)
    return replace(truth, film=_frames(film, options)), film


def _made(options: FilmOptions) -> tuple[Simulated, tuple[int, int]]:
    """What happens in the film, and the score before it."""
    if options.take is None:
        return simulate_excerpt(options.seed, options.seconds, options.opponent, period=options.period), (0, 0)
    game = simulate_game(options.seed, options.opponent, on_film=OnFilm(options.period, options.take))
    return period_film(game, options.period, options.seconds), score_before(game.truth, options.period)


def make_film(options: FilmOptions, target: Path, *, progress: Progress | None = None) -> tuple[Path, Path]:
    """Write a film and its truth.

    Parameters
    ----------
    options : FilmOptions
        What to make.
    target : Path
        The film, ``….mp4``; the truth is written beside it as ``….truth.json.gz``.
    progress : callable, optional
        Told the share done (0 to 1) and a few words.

    Returns
    -------
    tuple of Path and Path
        Film and truth, each whole or not at all.
    """
    tell = progress or (lambda done, text: None)
    tell(0.0, "making up the game")
    truth, film = plan_film(options)
    told = target.with_suffix(".truth.json.gz")
    with whole_file(target) as beside, whole_file(told) as told_beside:
        _encode(film, truth, options, beside, tell)
        write_truth(truth, told_beside)
    tell(1.0, "done")
    return target, told


def _encode(film: Film, truth: Truth, options: FilmOptions, path: Path, tell: Progress) -> None:
    import av

    rate = Fraction(options.fps).limit_denominator(1001)
    samples = (np.asarray(sound(truth)) * 32767).astype(np.int16)
    with av.open(str(path), "w", format="mp4", options={"movflags": "faststart"}) as out:
        picture: Any = out.add_stream("libx264", rate=rate)
        picture.width, picture.height, picture.pix_fmt = options.width_px, options.height_px, "yuv420p"
        picture.gop_size = GOP
        picture.options = {
            "crf": str(options.crf),
            "preset": "slow",
            "profile": "high",
            "x264-params": "scenecut=0:ipratio=1.1:aq-mode=2",
        }
        heard: Any = out.add_stream("aac", rate=RATE_HZ, layout="mono")
        heard.bit_rate = AUDIO_BITS_S if options.take is None else LONG_AUDIO_BITS_S
        sent = 0
        for index, pixels in enumerate(film.frames()):
            shown = av.VideoFrame.from_ndarray(pixels, format="bgr24")
            shown.pts = index
            shown.time_base = 1 / rate
            out.mux(picture.encode(shown))
            until = min(len(samples), round((index + 1) / options.fps * RATE_HZ))
            while sent + 1024 <= until or (index + 1 == film.n_frames and sent < len(samples)):
                out.mux(heard.encode(_audio(samples[sent : sent + 1024], sent)))
                sent += 1024
            if index % 50 == 0:
                tell(index / film.n_frames, f"frame {index} of {film.n_frames}")
        out.mux(picture.encode(None))
        out.mux(heard.encode(None))


def _audio(samples: Any, at: int) -> Any:
    import av

    block = av.AudioFrame.from_ndarray(samples.reshape(1, -1), format="s16", layout="mono")
    block.sample_rate = RATE_HZ
    block.pts = at
    block.time_base = Fraction(1, RATE_HZ)
    return block


def _with_places(truth: Truth, moved: Moved, fps: float) -> Truth:
    """Shots and turnovers at the places where they were seen to happen."""
    attacks = {possession.id: possession.attacks for possession in truth.possessions}

    def placed(row: Any, number: str) -> Any:
        here = place_of(moved, (row.team, number), round(row.at_ms / 1000 * fps))
        if here is None:
            return row
        sign = attacks[row.possession]
        return replace(row, x_m=round(sign * here[0], 2), y_m=round(sign * here[1], 2))

    shots: tuple[Shot, ...] = tuple(placed(shot, shot.shooter) for shot in truth.shots)
    lost: tuple[Turnover, ...] = tuple(placed(turnover, turnover.player) for turnover in truth.turnovers)
    return replace(truth, shots=shots, turnovers=lost)


def _frames(film: Film, options: FilmOptions) -> dict[str, Any]:
    """The truth's ``film`` part."""
    holders: list[list[Any]] = []
    for index, who in enumerate(film.moved.holder):
        team, number = who or (None, None)
        if not holders or holders[-1][1:] != [team, number]:
            holders.append([index, team, number])
    ball = np.rint(film.moved.ball_m * 100).astype(int)
    seen = film.views
    return {
        "width": options.width_px,
        "height": options.height_px,
        "fps": options.fps,
        "n_frames": film.n_frames,
        "pan": options.pan,
        "stints": [
            {
                "team": track.who[0],
                "number": track.who[1],
                "from_frame": track.from_frame,
                "x_cm": np.rint(track.place_m[:, 0] * 100).astype(int).tolist(),
                "y_cm": np.rint(track.place_m[:, 1] * 100).astype(int).tolist(),
            }
            for track in film.moved.tracks
        ],
        "ball": {
            "x_cm": ball[:, 0].tolist(),
            "y_cm": ball[:, 1].tolist(),
            "z_cm": ball[:, 2].tolist(),
            "shown": _changes(film.moved.ball_shown.tolist()),
            "holder": holders,
        },
        "camera": {
            "place_m": list(seen[0].place_m),
            "pan_mrad": [round(view.pan_rad * 1000, 2) for view in seen],
            "tilt_mrad": [round(view.tilt_rad * 1000, 2) for view in seen],
            "focal_px": [round(view.focal_px, 1) for view in seen],
        },
    }


def _changes(values: list[bool]) -> list[list[Any]]:
    found: list[list[Any]] = []
    for index, value in enumerate(values):
        if not found or found[-1][1] != value:
            found.append([index, value])
    return found

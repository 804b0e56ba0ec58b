"""The truth of an invented game: what happened, and in an excerpt with film, where everything was in every frame.

Written as one gzipped JSON object, ``OUT.truth.json.gz``:

``version``        1
``seed``, ``kind`` the seed; ``game`` (events only), ``excerpt`` or ``period`` (of a game) with film
``rule_code``, ``teams``   ``{"ours": {"name", "people": {number: [shoots, position]}, "goalies"}, "theirs": …}``
``length_ms``      length of the film, or of the game from its first whistle to its last
``periods`` … ``grades``    lists of rows, one list for each dataclass below, with that dataclass's fields
``film``           only with film: ``width``, ``height``, ``fps``, ``n_frames``, and
    ``stints``     one entry for each unbroken stay of a player on the floor: ``team``, ``number``, ``from_frame``, and
                   ``x_cm``, ``y_cm``: whole centimetres, one value a frame
    ``ball``       ``x_cm``, ``y_cm``, ``z_cm``, one value a frame; ``holder``: list of ``[from_frame, team, number]``,
                   team and number null while nobody has it
    ``camera``     ``place_m`` and for every frame ``pan_mrad``, ``tilt_mrad`` (thousandths of a radian; pan to the
                   right from the view across the floor, tilt downwards) and ``focal_px``; the optical axis goes
                   through the picture's middle, y is down

Times are whole milliseconds from the film's first frame (without film: from the game's first). Spans are half-open.
Rows speak the codes of the event tables (`tagger.tables`): a question that was asked and had no answer is ``none``.
Strength counts the runners of the team with the ball first. Places in rows are in floor coordinates: metres, origin
at the floor's centre, +x towards the goal that the team in question attacks, +y left when facing it. Places of frames
are in rink coordinates: the same axes for the team that attacks towards +x; `Possession.attacks` is +1 or -1 and
multiplies one into the other.
"""

from __future__ import annotations

import gzip
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import Any

TRUTH_VERSION = 1


@dataclass(frozen=True)
class Period:
    """A period, or the part of one that an excerpt shows; `clock_s` is what was left on the clock at its start."""

    number: int
    start_ms: int
    end_ms: int
    clock_s: float
    whole: bool


@dataclass(frozen=True)
class Clock:
    """What the game clock showed at a moment, and whether it ran from there on."""

    at_ms: int
    period: int
    left_s: float
    runs: bool


@dataclass(frozen=True)
class Possession:
    """A possession. It ends with the shot, loss or whistle that ends it, not when the other team has the ball.

    Its strength is that at which it settled or, when it never did, ended.
    """

    id: str
    period: int
    team: str
    strength: str
    attacks: int
    gained: str
    by: str
    crossed: bool
    settled_ms: int | None
    start_ms: int
    end_ms: int
    ended: str


@dataclass(frozen=True)
class Run:
    """A stretch of a possession: a try at a set (theirs: a family of action), or one that nothing names, by phase."""

    id: str
    possession: str
    team: str
    strength: str
    order: int
    set: str | None
    side: str | None
    phase: str
    parent: str | None
    start_ms: int
    end_ms: int
    look: str | None
    look_open: str | None
    ended: str
    penalty_drawn: bool
    roles: Mapping[str, str]


@dataclass(frozen=True)
class Screen:
    """A screen at the moment of contact."""

    id: str
    possession: str
    run: str
    at_ms: int
    team: str
    kind: str
    side: str
    setter: str
    user: str
    coverage: str
    free: str
    setter_next: str


@dataclass(frozen=True)
class Shot:
    """A shot at the moment of release."""

    id: str
    possession: str
    run: str
    at_ms: int
    team: str
    strength: str
    shooter: str
    feeder: str
    feeder2: str
    result: str
    recovered: str | None
    x_m: float
    y_m: float
    cause: str | None


@dataclass(frozen=True)
class Turnover:
    """A ball lost without a shot."""

    id: str
    possession: str
    run: str | None
    at_ms: int
    team: str
    strength: str
    player: str
    kind: str
    where: str
    x_m: float
    y_m: float


@dataclass(frozen=True)
class Whistle:
    """A whistle, why, and who has the ball next; `stops` tells play-stopping ones from those that start it."""

    at_ms: int
    why: str
    ball_to: str | None
    stops: bool


@dataclass(frozen=True)
class FaceOff:
    """A face-off: who took it for each team, and which team came away with the ball."""

    at_ms: int
    ours: str
    theirs: str
    won_by: str
    player: str


@dataclass(frozen=True)
class LooseBall:
    """A contested ball won."""

    at_ms: int
    team: str
    player: str


@dataclass(frozen=True)
class Penalty:
    """A minor penalty of `team`: the arm goes up at `drawn_ms`; the span, if not empty, is the time short-handed."""

    drawn_ms: int
    start_ms: int
    end_ms: int
    team: str
    player: str
    ended: str


@dataclass(frozen=True)
class Line:
    """Runners who went out together from this moment on."""

    at_ms: int
    team: str
    players: tuple[str, ...]


@dataclass(frozen=True)
class Goalie:
    """Who is in goal from this moment on."""

    at_ms: int
    team: str
    player: str


@dataclass(frozen=True)
class Grade:
    """How a player did what a checkpoint of the run's set asks: ``plus``, ``minus`` or ``not_gradable``."""

    run: str
    at_ms: int
    player: str
    checkpoint: str
    grade: str


@dataclass(frozen=True)
class Truth:
    """Everything that truly happened; see the module's description for the file."""

    seed: int
    kind: str
    rule_code: str
    teams: Mapping[str, Any]
    length_ms: int
    periods: tuple[Period, ...]
    clocks: tuple[Clock, ...]
    possessions: tuple[Possession, ...]
    runs: tuple[Run, ...]
    screens: tuple[Screen, ...]
    shots: tuple[Shot, ...]
    turnovers: tuple[Turnover, ...]
    whistles: tuple[Whistle, ...]
    face_offs: tuple[FaceOff, ...]
    loose_balls: tuple[LooseBall, ...]
    penalties: tuple[Penalty, ...]
    lines: tuple[Line, ...]
    goalies: tuple[Goalie, ...]
    grades: tuple[Grade, ...] = ()
    film: Mapping[str, Any] | None = None
    version: int = TRUTH_VERSION

    def score(self) -> tuple[int, int]:
        """Goals of ours and theirs."""
        goals = [shot.team for shot in self.shots if shot.result == "goal"]
        return goals.count("ours"), goals.count("theirs")

    def left_on_clock_s(self, at_ms: int) -> float | None:
        """Seconds left in the period at a moment; None before the first whistle."""
        before = [clock for clock in self.clocks if clock.at_ms <= at_ms]
        if not before:
            return None
        last = before[-1]
        return max(0.0, last.left_s - (at_ms - last.at_ms) / 1000 * last.runs)


_ROWS: dict[str, type[Any]] = {
    "periods": Period,
    "clocks": Clock,
    "possessions": Possession,
    "runs": Run,
    "screens": Screen,
    "shots": Shot,
    "turnovers": Turnover,
    "whistles": Whistle,
    "face_offs": FaceOff,
    "loose_balls": LooseBall,
    "penalties": Penalty,
    "lines": Line,
    "goalies": Goalie,
    "grades": Grade,
}


def truth_bytes(truth: Truth) -> bytes:
    """The truth as gzipped JSON; the same truth gives the same bytes."""
    plain = {field.name: getattr(truth, field.name) for field in fields(truth) if field.name not in _ROWS}
    for name in _ROWS:
        plain[name] = [asdict(row) for row in getattr(truth, name)]
    text = json.dumps(plain, ensure_ascii=False, separators=(",", ":"))
    return gzip.compress(text.encode("utf-8"), compresslevel=9, mtime=0)


def write_truth(truth: Truth, path: Path) -> None:
    """Write the truth beside its film."""
    path.write_bytes(truth_bytes(truth))


def read_truth(path: Path) -> Truth:
    """Read a truth back as it was written.

    Raises
    ------
    ValueError
        If the file is of another version.
    """
    plain = json.loads(gzip.decompress(path.read_bytes()).decode("utf-8"))
    if plain.get("version") != TRUTH_VERSION:
        raise ValueError(f"{path.name} is truth version {plain.get('version')}; this program reads {TRUTH_VERSION}")
    for name, row in _ROWS.items():
        rows = plain.get(name, [])
        if row is Line:
            rows = [{**entry, "players": tuple(entry["players"])} for entry in rows]
        plain[name] = tuple(row(**entry) for entry in rows)
    return Truth(**plain)

"""The sets on the floor: who stands where, who picks for whom, and where each look ends.

Places are pairs (metres out from the attacked goal line, metres to the left of its middle when facing it), for the
side ``left``; the right side is the mirror image.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

Place = tuple[float, float]


@dataclass(frozen=True)
class Look:
    """One option: the ball goes along `chain` by passes, and its last role shoots from `place`."""

    code: str
    chain: tuple[str, ...]
    place: Place


@dataclass(frozen=True)
class Pick:
    """The screen of a set: kind, who sets it for whom, where, and where both go then."""

    kind: str
    setter: str
    user: str
    place: Place
    user_next: Place
    setter_next: Mapping[str, Place]
    second: str | None = None


@dataclass(frozen=True)
class Play:
    """A set's choreography."""

    code: str
    family: str
    places: Mapping[str, Place]
    pick: Pick
    looks: tuple[Look, ...]

    def look(self, code: str) -> Look:
        """The look with this code."""
        return next(look for look in self.looks if look.code == code)

    @property
    def ball(self) -> str:
        """The role that has the ball when the set begins."""
        return self.looks[0].chain[0]


LANTERN = Play(
    code="lantern",
    family="two_man",
    places={"wick": (9.4, 6.4), "glass": (2.6, 5.9), "post": (9.8, 0.3), "moth": (9.1, -6.3), "shade": (3.0, -5.6)},
    pick=Pick(
        "on_ball", "glass", "wick", (8.0, 5.0), (6.9, 2.7),
        {"rolled": (2.9, 1.5), "popped": (8.4, 6.6), "stayed": (7.4, 4.6), "slipped": (3.2, 2.2)},
    ),
    looks=(
        Look("hands", ("wick",), (6.9, 2.7)),
        Look("roll", ("wick", "glass"), (2.9, 1.5)),
        Look("skip", ("wick", "moth"), (7.6, -4.6)),
        Look("backdoor", ("wick", "post", "shade"), (2.4, -1.9)),
    ),
)  # fmt: skip

KEEL = Play(
    code="keel",
    family="off_ball",
    places={
        "helm": (9.6, -0.8), "hull": (2.9, 5.7), "ballast": (4.2, -4.9), "swimmer": (8.6, 7.0), "anchor": (9.2, -6.2),
    },
    pick=Pick(
        "double", "hull", "swimmer", (5.7, 4.6), (5.1, 1.5),
        {"rolled": (3.5, 2.2), "popped": (7.4, 5.6), "stayed": (5.2, 4.2), "slipped": (3.5, 2.2)}, second="ballast",
    ),
    looks=(
        Look("curl", ("helm", "swimmer"), (5.1, 1.5)),
        Look("inside", ("helm", "hull"), (3.5, 2.2)),
        Look("return", ("helm", "anchor"), (8.0, -4.7)),
    ),
)  # fmt: skip

FERRY = Play(
    code="ferry",
    family="two_man",
    places={"pilot": (9.3, 5.2), "ferryman": (6.2, -0.6), "quay": (2.8, 5.9), "bank": (3.2, -5.7), "bell": (9.3, -4.9)},
    pick=Pick(
        "on_ball", "ferryman", "pilot", (8.0, 3.8), (6.7, 3.0),
        {"slipped": (2.4, -1.4), "rolled": (2.7, 0.6), "popped": (8.8, 1.4), "stayed": (7.6, 3.4)},
    ),
    looks=(
        Look("slip", ("pilot", "ferryman"), (2.4, -1.4)),
        Look("carry", ("pilot",), (6.7, 3.0)),
        Look("cross", ("pilot", "bell"), (7.7, -3.7)),
        Look("down", ("pilot", "quay"), (2.9, 3.7)),
    ),
)  # fmt: skip

BREAKWATER = Play(
    code="breakwater",
    family="two_man",
    places={"wave": (10.0, -0.6), "stone": (7.0, 4.0), "gull": (2.8, 5.8), "tern": (3.0, -5.6), "buoy": (9.0, -6.4)},
    pick=Pick(
        "on_ball", "stone", "wave", (9.0, 1.2), (6.1, 2.3),
        {"popped": (8.6, -1.0), "rolled": (4.2, 0.4), "stayed": (8.6, 1.2), "slipped": (4.4, 0.2)},
    ),
    looks=(
        Look("downhill", ("wave",), (6.1, 2.3)),
        Look("pop", ("wave", "stone"), (8.4, -1.0)),
        Look("dump", ("wave", "gull"), (2.8, 3.5)),
        Look("swing", ("wave", "buoy"), (7.7, -4.8)),
        Look("lob", ("wave", "tern"), (2.6, -2.1)),
    ),
)  # fmt: skip

TIDEPOOL = Play(
    code="tidepool",
    family="cut",
    places={"crab": (4.4, 3.6), "minnow": (6.9, 7.0), "heron": (9.3, 4.6), "reed": (3.0, -5.7), "bank": (9.6, -3.0)},
    pick=Pick(
        "off_ball", "crab", "minnow", (5.2, 4.2), (3.9, 0.7),
        {"rolled": (3.1, 2.3), "stayed": (4.4, 3.4), "popped": (6.5, 5.0), "slipped": (3.1, 2.3)},
    ),
    looks=(
        Look("cut", ("heron", "minnow"), (3.9, 0.7)),
        Look("seal", ("heron", "crab"), (3.1, 2.3)),
        Look("late", ("heron",), (7.3, 3.4)),
    ),
)  # fmt: skip

SAMPHIRE = Play(
    code="samphire",
    family="off_ball",
    places={"root": (9.4, 0.4), "leaf": (8.2, 5.6), "salt": (8.0, -5.6), "bloom": (2.8, 4.6), "seed": (2.7, -3.7)},
    pick=Pick(
        "off_ball", "bloom", "leaf", (5.4, 4.2), (6.4, 3.6),
        {"popped": (4.2, 5.4), "rolled": (2.6, 2.2), "stayed": (5.0, 4.0), "slipped": (2.6, 2.2)},
    ),
    looks=(
        Look("corner", ("root", "leaf"), (6.6, 3.9)),
        Look("diagonal", ("root", "leaf", "seed"), (2.4, -1.7)),
        Look("top", ("leaf", "root"), (7.7, 0.5)),
        Look("weak", ("leaf", "root", "salt"), (6.6, -3.9)),
    ),
)  # fmt: skip

FREELANCE = Play(
    code="freelance",
    family="isolation",
    places={"one": (9.0, 5.8), "two": (2.8, 5.8), "three": (9.8, 0.0), "four": (9.0, -6.0), "five": (3.1, -5.6)},
    pick=Pick(
        "on_ball", "three", "one", (8.6, 4.2), (6.6, 2.4),
        {"rolled": (3.6, 1.8), "popped": (9.2, 3.4), "stayed": (8.4, 4.0), "slipped": (3.6, 1.8)},
    ),
    looks=(
        Look("drive", ("one",), (6.3, 2.6)),
        Look("feed", ("one", "two"), (2.7, 2.6)),
        Look("swing", ("one", "three", "four"), (7.4, -4.6)),
    ),
)  # fmt: skip

PLAYS = {play.code: play for play in (LANTERN, KEEL, FERRY, BREAKWATER, TIDEPOOL, SAMPHIRE, FREELANCE)}

CHECKPOINTS = {
    "lantern": {"feet_set": "glass", "shoulder": "wick", "safety": "post"},
    "keel": {"wall": "hull", "wait": "swimmer", "safety": "anchor"},
    "ferry": {"early": "ferryman", "eyes": "pilot", "safety": "bell"},
    "breakwater": {"high": "stone", "speed": "wave", "safety": "buoy"},
    "tidepool": {"pin": "crab", "burst": "minnow"},
    "samphire": {"spread": "root", "fake": "leaf"},
}
"""Whose work each checkpoint of the playbook grades: role by checkpoint, by set."""


def to_side(place: Place, side: str) -> Place:
    """A place of a play as run to the given side, ``left`` or ``right``."""
    return place if side == "left" else (place[0], -place[1])

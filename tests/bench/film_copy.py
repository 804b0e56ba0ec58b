"""Repacking and viewing copies against the ffmpeg program with the same settings."""

from __future__ import annotations

import tempfile
from pathlib import Path

from tagger.film.convert import make_playable
from tagger.film.index import build_index
from tagger.film.viewing import VIEWING_SETTINGS, make_viewing_copy
from tests.bench.figure import Figure, at_least
from tests.bench.heavy import camera_like, ffmpeg, looped, paired

NAME = "film-copy"
ABOUT = "repacking, and the viewing copy, against the ffmpeg program doing the same"


def run() -> list[Figure]:
    """Figures of a ten-minute stream to repack, and 20 s of 1080p to copy."""
    with tempfile.TemporaryDirectory() as folder:
        minute = camera_like(Path(folder, "minute.mp4"), seconds=60, size=(1280, 720), bit_rate=3_000_000)
        ten = looped(minute, Path(folder, "ten.mp4"), 10)
        stream = Path(folder, "ten.ts")
        ffmpeg("-i", str(ten), "-c", "copy", str(stream))
        index = build_index(stream)
        ours, theirs = Path(folder, "ours.mp4"), Path(folder, "theirs.mp4")

        def new(target: Path) -> Path:
            """No file there yet, as when a film comes in: replacing a large file waits for the disk."""
            target.unlink(missing_ok=True)
            return target

        repack = paired(
            lambda: make_playable(stream, new(ours), index=index),
            lambda: ffmpeg("-i", str(stream), "-c", "copy", "-movflags", "+faststart", str(new(theirs))),
        )
        heavy = camera_like(Path(folder, "heavy.mp4"), seconds=20)
        heavy_index = build_index(heavy)
        copy = paired(
            lambda: make_viewing_copy(heavy, new(ours), index=heavy_index),
            lambda: ffmpeg(*_same_copy(heavy, new(theirs))),
        )
    return [
        Figure("repack, 10 min", repack.one_s, "s"),
        Figure("ffmpeg repacks", repack.other_s, "s"),
        at_least("repack speed by ffmpeg's", 1 / repack.ratio, "times", 0.9),
        Figure("the same by processor time", 1 / repack.cpu_ratio, "times"),
        Figure("viewing copy, 20 s of 1080p", copy.one_s, "s"),
        Figure("ffmpeg makes the same", copy.other_s, "s"),
        at_least("viewing copy speed by ffmpeg's", 1 / copy.ratio, "times", 0.8),
        Figure("the same by processor time", 1 / copy.cpu_ratio, "times"),
    ]


def _same_copy(source: Path, target: Path) -> list[str]:
    words = ["-i", str(source), "-vf", "scale=-2:720:flags=bicubic", "-pix_fmt", "yuv420p", "-c:v", "libx264"]
    for name, value in VIEWING_SETTINGS.options().items():
        words += [f"-{name}" if name != "profile" else "-profile:v", value]
    return [*words, "-fps_mode", "passthrough", "-c:a", "copy", "-movflags", "+faststart", str(target)]

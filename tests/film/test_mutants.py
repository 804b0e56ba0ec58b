"""Broken films: no crash, no hang, no file left behind. The bench runs many more of them."""

from __future__ import annotations

from pathlib import Path

from tagger.film.child import Limits, in_child
from tests.counts import cases
from tests.film.conftest import MakeFilm
from tests.film.examine import examine_mutants
from tests.film.maker import Recipe

SOURCES = [
    Recipe("mutant-mp4", size=(160, 90), n_frames=40),
    Recipe("mutant-ts", suffix=".ts", size=(160, 90), n_frames=40),
    Recipe("mutant-mkv", suffix=".mkv", size=(160, 90), n_frames=40, sound="ac3"),
    Recipe("mutant-avi", suffix=".avi", codec="mpeg4", size=(160, 90), n_frames=40, sound="pcm_s16le"),
]
LIMITS = Limits(memory_mb=1500, silence_s=20)


def test_broken_films_work_or_end_in_one_line_and_leave_nothing(film: MakeFilm, tmp_path: Path) -> None:
    sources = [film(recipe)[0] for recipe in SOURCES]
    seeds = list(range(cases(36, many=72)))  # 72 are every way over every source
    seen: list[str] = []
    found = in_child(
        examine_mutants,
        tmp_path,
        sources,
        seeds,
        film=tmp_path,
        limits=LIMITS,
        progress=lambda d, text: seen.append(text),
    )
    assert len(found) == len(seeds), seen[-1:]
    assert list(tmp_path.iterdir()) == []
    refused = sum(bool(lines) for lines in found.values())
    assert len(seeds) / 8 < refused < len(seeds), "some are beyond reading, most are not"

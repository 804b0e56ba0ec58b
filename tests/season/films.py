"""What the tests of film work share: films that take a moment, and waiting for something to come to be."""

from __future__ import annotations

import time
from collections.abc import Callable
from fractions import Fraction

from tagger.work.jobs import JobList
from tests.film.maker import Recipe

PLAIN = Recipe("first half", n_frames=60)
WRAPPED = Recipe("wrapped", suffix=".mkv", sound="ac3", n_frames=40)
OLD = Recipe("old", suffix=".avi", codec="mpeg4", sound="pcm_s16le", n_frames=40)
LONG = Recipe("long groups", n_frames=150, gop=150, size=(160, 90))
GAME = Recipe("slow", suffix=".avi", codec="mpeg4", sound=None, size=(320, 180), n_frames=1500, rate=Fraction(10))
FIELDS = Recipe("fields", suffix=".ts", interlaced=True, size=(352, 288), n_frames=40)


def until(what: Callable[[], object], within_s: float = 200) -> None:
    """Wait until something holds."""
    end = time.monotonic() + within_s
    while not what():
        assert time.monotonic() < end, "it never came to be"
        time.sleep(0.02)


def running(jobs: JobList, kind: str) -> bool:
    """Whether work of a kind is under way."""
    return any(job.state == "running" and job.kind == kind for job in jobs.all())

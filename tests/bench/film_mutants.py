"""Many broken films: no crash, no hang, no file left behind."""

from __future__ import annotations

import tempfile
import time
from itertools import pairwise
from pathlib import Path

from tagger.film.child import in_child
from tagger.film.errors import FilmError
from tests.bench.figure import Figure, at_least, at_most
from tests.film.examine import examine_mutants
from tests.film.maker import make
from tests.film.test_mutants import LIMITS, SOURCES

NAME = "film-mutants"
ABOUT = "360 films broken on purpose, each probed, indexed, looked and listened through, cut and converted"
N_MUTANTS = 360


def run() -> list[Figure]:
    """How many ended well, and the longest that one took."""
    with tempfile.TemporaryDirectory() as folder:
        work, made = Path(folder, "work"), Path(folder, "made")
        work.mkdir()
        made.mkdir()
        sources = [make(recipe, made) for recipe in SOURCES]
        times = [time.perf_counter()]

        def note(done: float, text: str) -> None:
            times.append(time.perf_counter())

        n_good = n_refused = 0
        for start in range(0, N_MUTANTS, 36):
            seeds = list(range(start, start + 36))
            try:
                found = in_child(examine_mutants, work, sources, seeds, film=work, limits=LIMITS, progress=note)
            except FilmError as error:
                print(error)
                continue
            n_good += len(found)
            n_refused += sum(bool(lines) for lines in found.values())
            times.append(time.perf_counter())
        left = len(list(work.iterdir()))
    longest = max(b - a for a, b in pairwise(times))
    return [
        at_least(f"ended well, of {N_MUTANTS}", n_good, "films", N_MUTANTS),
        Figure("of these refused or readable in part", n_refused, "films"),
        at_most("longest", longest, "s", 20),
        at_most("files left behind", left, "files", 0),
    ]

"""How soon the command line answers, and what it spends the time on."""

import statistics
import subprocess
import sys
import time
from pathlib import Path

from tests.bench.figure import Figure, at_most

NAME = "startup"
ABOUT = "`floorbook --help`, the whole process; and an empty Python process beside it"
CLONE = Path(__file__).resolve().parents[2]
N_RUNS = 11


def run() -> list[Figure]:
    """Time both, first run left out: it fills the caches."""
    bare = [_seconds([sys.executable, "-c", "pass"]) for _ in range(N_RUNS)][1:]
    told = [_seconds([sys.executable, "-m", "dashboard.cli", "--help"]) for _ in range(N_RUNS)][1:]
    return [
        Figure("empty Python process, median", statistics.median(bare), "s"),
        at_most("floorbook --help, median", statistics.median(told), "s", 0.5),
        at_most("floorbook --help, slowest of ten", max(told), "s", 0.5),
    ]


def _seconds(command: list[str]) -> float:
    start = time.perf_counter()
    subprocess.run(command, cwd=CLONE, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start

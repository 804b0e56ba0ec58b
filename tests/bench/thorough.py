"""The tests that take a few cases when a change is checked, each with as many as are worth a quarter of an hour."""

from __future__ import annotations

import os
import re
import subprocess
import sys

from tests.bench.figure import Figure, at_least, at_most
from tests.counts import MANY
from tests.house.tree import CLONE, modules

NAME = "thorough"
ABOUT = "tests that take a few cases in the check, with many: random keys, seasons, films, kills, damage"
_SUMMARY = re.compile(r"(\d+) (passed|failed|error)")


def run() -> list[Figure]:
    """How many of these tests passed, and how many did not."""
    files = [str(path) for path in modules("tests") if _takes_more(path.as_posix())]
    command = [sys.executable, "-m", "pytest", "-q", *files]
    ran = subprocess.run(command, cwd=CLONE, env={**os.environ, MANY: "1"}, capture_output=True, text=True)
    lines = ran.stdout.strip().splitlines()
    told = {what: int(n) for n, what in _SUMMARY.findall(lines[-1] if lines else "")}
    print("\n".join(line for line in lines if line.startswith("FAILED")))
    failed = told.get("failed", 0) + told.get("error", 0) + (ran.returncode not in (0, 1))
    return [
        at_least(f"passed, of {len(files)} files with many cases", told.get("passed", 0), "tests", 1),
        at_most("failed", failed, "tests", 0),
    ]


def _takes_more(path: str) -> bool:
    return path.startswith("tests/") and "from tests.counts import" in (CLONE / path).read_text(encoding="utf-8")

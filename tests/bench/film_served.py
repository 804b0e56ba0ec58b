"""A two-hour film in the program itself: brought in, copied, watched; what the server's process grows by (Linux)."""

from __future__ import annotations

import json
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

from tagger.film.child import Limits, in_child
from tagger.season import Season
from tagger.work.jobs import JobList
from tests.bench.figure import Figure, at_most
from tests.bench.heavy import camera_like, looped
from tests.served import Served

NAME = "film-served"
ABOUT = "the server's memory while a two-hour film comes in, gets its light copy, is looked through and watched (Linux)"
N_READS = 40
READ_BYTES = 2 << 20


def run() -> list[Figure]:
    """Growth of the server's process by a short film, which loads what it needs, and by a two-hour film after it."""
    if sys.platform != "linux":
        return []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        drawn = {"seconds": 60, "size": (320, 180), "rate": 25, "bit_rate": 200_000, "gop": 250}
        minute = folder / "minute.mp4"
        in_child(camera_like, minute, film=minute, limits=Limits(silence_s=600), **drawn)
        long = looped(minute, folder / "two-hours.mp4", 120)
        home = folder / "herons"
        home.mkdir()
        (home / "season.toml").write_text('id = "s1"\nteam = "Saltmarsh Herons"\n', encoding="utf-8")
        season = Season.open(home, make=True)
        served = Served(home)
        try:
            _get(served.address)
            start_mb = _memory_mb(served.process.pid)
            _through(season, served, "g1", minute)
            warm_mb = _memory_mb(served.process.pid)
            begun = time.perf_counter()
            _through(season, served, "g2", long)
            took_s = time.perf_counter() - begun
            end_mb = _memory_mb(served.process.pid)
        finally:
            served.stop()
            season.close()
    return [
        Figure("the server with one page shown", start_mb, "MB"),
        Figure("a minute of film, all that works on it loaded: grown by", warm_mb - start_mb, "MB"),
        Figure("two hours of film: all work done and watched after", took_s, "s"),
        at_most("two hours of film: grown by", end_mb - warm_mb, "MB", 50),
    ]


def _through(season: Season, served: Served, game: str, film: Path) -> None:
    """Bring a film in by the server's own queue, wait for all its work, then ask for what the pages ask for."""
    season.games.add(game, "2026-03-14", "Quarry Hill", True)
    JobList(season.store).add("bring", 0, game=game, body={"paths": [str(film)], "in_order": True, "keep": False})
    end = time.monotonic() + 1800
    while JobList(season.store).all() or not season.shelf.films(game):
        if time.monotonic() > end or any(job.state == "failed" for job in JobList(season.store).all()):
            raise SystemExit(f"the work on {film.name} did not end: {JobList(season.store).all()}")
        time.sleep(0.5)
    (held,) = season.shelf.films(game)
    if not season.shelf.copies.has_copy(held.id, "viewing"):
        raise SystemExit(f"{film.name} got no light copy")
    page = f"{served.address}tag/{game}"
    for path in (page, f"{page}/start.json", f"{page}/films.json", f"{page}/folded.json"):
        _get(path)
    told = json.loads(_get(f"{served.address}film/{held.id}/frames"))
    _get(f"{served.address}film/{held.id}/strip.json")
    size = season.shelf.copies.showing(held.id).path.stat().st_size
    for n in range(N_READS):
        begin = size * n // N_READS
        address = f"{served.address}film/{held.id}?v={told['version']}"
        _get(address, {"Range": f"bytes={begin}-{min(size, begin + READ_BYTES) - 1}"})
        if n % 8 == 0:
            _get(f"{served.address}film/{held.id}/still/{held.duration_ms * n // N_READS}.jpg")


def _get(address: str, headers: dict[str, str] | None = None) -> bytes:
    with urllib.request.urlopen(urllib.request.Request(address, headers=headers or {}), timeout=120) as answer:
        body: bytes = answer.read()
    return body


def _memory_mb(pid: int) -> float:
    for line in Path(f"/proc/{pid}/status").read_text(encoding="ascii").splitlines():
        if line.startswith("VmRSS:"):
            return int(line.split()[1]) / 1024
    return 0.0

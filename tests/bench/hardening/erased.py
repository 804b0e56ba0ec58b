"""What is left of a player after `floorbook erase`, and what becomes of everybody else."""

from __future__ import annotations

import contextlib
import io
import json
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from dashboard.cli import main
from dashboard.demo import make_demo
from tagger.season import Season
from tagger.shelf.films import NewFilm
from tests import planted
from tests.bench.figure import Figure, at_least, at_most
from tests.dashboard.herons import FILMED_MARKS, OTHER_MARKS, tag, texts

NAME = "hardening.erased"
ABOUT = "name and address planted everywhere, erased, searched; cut off at each of its steps"
_CUT_OFF = """
import os, sys
from pathlib import Path
from dashboard.erasing.doing import alone, carry_out
from dashboard.erasing.note import Begun
from dashboard.erasing.player import plan_player
from tagger.season import Season
folder, last = Path(sys.argv[1]), int(sys.argv[2])
n = 0
def tell(step):
    global n
    n += 1
    if n == last:
        os._exit(9)
with alone(folder):
    season = Season.open(folder)
    settings, plan = season.texts.settings, plan_player(season, "14")
    season.close()
    carry_out(folder, settings, Begun("a player was erased", plan), files_too=True, tell=tell)
"""


def run() -> list[Figure]:
    """Erase him from the sample season, and from a small one that is cut off at each step.

    Returns
    -------
    list of Figure
        Places found, entries and rows changed, seasons lost.
    """
    with tempfile.TemporaryDirectory() as name:
        return [*_whole(Path(name)), *_cut_off(Path(name))]


def _whole(within: Path) -> list[Figure]:
    folder = within / "demo"
    make_demo(folder)
    planted.plant(folder)
    n_planted = len(planted.places(folder))
    before, rows = planted.entries(folder), _rows(folder)
    code = _erase(folder, "--player", "14", "--files", "--yes", "erase 14")
    after = _rows(folder)
    for row in after["notes"]:
        row.pop("text"), row.pop("players")
    wanted = planted.rows_without_him(rows)
    changed = sum(
        len(after[table]) != len(wanted[table])
        or sum(a != b for a, b in zip(after[table], wanted[table], strict=False))
        for table in wanted
    )
    return [
        at_least("places with name or address before", n_planted, "places", 25),
        at_most("places with name or address after", len(planted.places(folder)), "places", 0),
        at_most("exit code", code, "", 0),
        at_most("other entries changed", planted.others_changed(before, planted.entries(folder)), "entries", 0),
        at_most("rows of everybody else changed", changed, "rows", 0),
    ]


def _cut_off(within: Path) -> list[Figure]:
    small = texts(within / "small")
    season = Season.open(small, make=True)
    for game, marks in (("g1", FILMED_MARKS), ("g2", OTHER_MARKS)):
        season.games.add(game, "2026-03-14", "Quarry Hill", True)
        season.shelf.enter(game, [NewFilm(id=f"m-{game}", name="not filmed", duration_ms=60_000)])
        tag(season, game, f"m-{game}", marks)
    season.close()
    planted.plant(small)
    before = planted.entries(small)
    n = n_lost = n_left = n_changed = 0
    while True:
        folder = Path(shutil.copytree(small, within / f"cut-{n}"))
        n += 1
        ended = subprocess.run([sys.executable, "-c", _CUT_OFF, str(folder), str(n)], check=False).returncode
        if ended == 0:
            break
        n_lost += ended != 9 or not _is_whole(folder, before.keys())
        _erase(folder)
        left = [place for place in planted.places(folder) if not place.startswith("from the manager")]
        n_left += len(left)
        n_changed += planted.others_changed(before, planted.entries(folder))
        shutil.rmtree(folder)
    return [
        at_least("steps at which it was killed", n - 1, "steps", 25),
        at_most("seasons lost", n_lost, "seasons", 0),
        at_most("places left after it was finished", n_left, "places", 0),
        at_most("other entries changed then", n_changed, "entries", 0),
    ]


def _is_whole(folder: Path, ids: object) -> bool:
    """Whether it opens, with every entry, each the old one or the new one."""
    try:
        season = Season.open(folder)
        try:
            for game in season.games.all():
                for book in season.journal.books(game.id):
                    season.tagged.folded(game.id, book.name)
        finally:
            season.close()
        held = planted.entries(folder)
        return held.keys() == ids and all(json.loads(row[3])["id"] == id_ for id_, row in held.items())
    except Exception:
        return False


def _rows(folder: Path) -> dict[str, list[dict[str, object]]]:
    season = Season.open(folder)
    try:
        return planted.rows(season)
    finally:
        season.close()


def _erase(folder: Path, *more: str) -> int:
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        return main(["erase", str(folder), *more])

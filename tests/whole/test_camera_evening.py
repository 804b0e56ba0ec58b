"""One evening on a real camera recording: film in, keys, tables, a player's reel, each step by the program itself."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from numpy.typing import NDArray

from dashboard.cli import main
from dashboard.clips import USUAL
from dashboard.table_files import read_csv
from tagger.film.index import build_index
from tests.screen.house import press
from tests.served import Served

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = pytest.mark.browser

ROSTER = "number,name,shoots,position,consent,from,to\n14,Ada Quill,R,corner,yes,,\n22,Jo Marsh,L,crease,yes,,\n"
PLAYBOOK = '[[set]]\ncode = "heron"\nname = "Heron"\nkey = "1"\n[[set.look]]\ncode = "high"\nname = "high"\n'


@pytest.fixture
def folder(tmp_path: Path, camera_film: Path) -> Path:
    folder = tmp_path / "herons"
    assert main(["new", str(folder)]) == 0
    (folder / "roster.csv").write_text(ROSTER, encoding="utf-8")
    (folder / "playbook.toml").write_text(PLAYBOOK, encoding="utf-8")
    new_game = ["--new", "--date", "2026-03-14", "--opponent", "Quarry Hill", "--home"]
    assert main(["film", str(folder), "g1", str(camera_film), *new_game]) == 0
    return folder


@pytest.fixture
def evening(folder: Path) -> Iterator[Served]:
    made = Served(folder)
    yield made
    made.stop()


def test_film_keys_tables_and_reel_of_a_real_recording(
    evening: Served, folder: Path, camera_film: Path, new_page: Callable[..., Page], tmp_path: Path
) -> None:
    page = new_page()
    page.goto(f"{evening.address}tag/g1")
    page.wait_for_selector('body[data-ready="film"]')
    index = build_index(camera_film)
    times = [int(ms) for ms in index.all_ms()]
    frame = 0
    for keys, steps in (("B", 10), ("d", 15), ("1 a", 20), ("e u 2 2 Enter 1 4 Enter", 40), ("s Enter g 2 2 Enter", 0)):
        press(page, keys)
        press(page, " ".join("." * steps))
        frame += steps
        _wait_for_time(page, times[frame])
    page.get_by_text("all on disk").wait_for()
    page.close()
    evening.interrupt()

    out = tmp_path / "tables"
    assert main(["tables", str(folder), "--to", str(out)]) == 0
    tables = read_csv(out)
    assert [times.index(ms) for ms in tables["screens"]["at_ms"]] == [45]
    assert [times.index(ms) for ms in tables["shots"]["at_ms"]] == [85]
    run = tables["runs"].iloc[0]
    assert (run["set"], run["side"], run["ended"]) == ("heron", "left", "shot")
    assert (times.index(run["start_ms"]), times.index(run["end_ms"])) == (10, 85)
    shot = tables["shots"].iloc[0]
    assert (shot["shooter"], shot["feeder"], shot["result"]) == ("14", "22", "goal")

    reel = tmp_path / "14.mp4"
    assert main(["reels", str(folder), "g1", "--player", "14", "--to", str(reel)]) == 0
    first = max(0, times[10] - USUAL.lead_ms, times[85] - USUAL.most_ms)
    first = min(first, max(0, times[45] - USUAL.before_ms))
    start = index.nearest(first)
    cut, whole = _grey(reel), _grey(camera_film)
    last = start + len(cut) - 1
    assert abs(times[min(last, len(times) - 1)] - (times[85] + USUAL.after_ms)) <= 45
    for place in (0, len(cut) // 2, len(cut) - 1):
        assert _closest(whole, cut[place]) == start + place


def _wait_for_time(page: Page, at_ms: int) -> None:
    """Wait until the page says that the frame of this film time is on screen."""
    said = f"0:{at_ms // 1000:02d}.{at_ms % 1000 // 10:02d}"
    page.wait_for_function("said => document.querySelector('.when .big').innerText === said", arg=said)


def _grey(path: Path) -> list[NDArray[np.float32]]:
    import av
    import cv2

    with av.open(str(path)) as film:
        return [
            cv2.resize(frame.to_ndarray(format="gray"), (160, 90), interpolation=cv2.INTER_AREA).astype(np.float32)
            for frame in film.decode(video=0)
        ]


def _closest(whole: list[NDArray[np.float32]], picture: NDArray[np.float32]) -> int:
    return int(np.argmin([float(np.mean((one - picture) ** 2)) for one in whole]))

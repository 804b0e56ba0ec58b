"""What a look and a listen through a film found: kept as it was, in film time."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from tagger.film.cut import Clip, write_reel
from tagger.film.index import build_index
from tagger.film.probe import probe
from tagger.film.still import still
from tagger.screen.films import films_of
from tagger.season import Season
from tagger.shelf.strip import VERSION, Strip, keep_strip, kept_strip, make_strip
from tagger.work.bring import bring_film
from tagger.work.queue import Queue
from tests.film.maker import Recipe, draw_number, make, noise, read_number, read_numbers

HALL = Recipe("hall", n_frames=150, size=(320, 180), options={"crf": "12"})


@pytest.fixture(scope="module")
def hall(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Black from frame 50 to 75, standing from 90 to 115, another view from 130 on."""

    def change(number: int, picture: NDArray[Any]) -> None:
        if 50 <= number < 75:
            picture[:] = 0
        elif 90 <= number < 115:
            picture[:] = 120
            draw_number(picture, 90)
        elif number >= 130:
            picture[:] = 255 - picture

    return make(HALL, tmp_path_factory.mktemp("hall"), change=change)


@pytest.fixture(scope="module")
def strip(hall: Path) -> Strip:
    return make_strip(hall, build_index(hall), probe(hall))


def test_stretches_are_found_in_film_time(strip: Strip) -> None:
    assert strip.black == ((2000, 3000),)
    (standing,) = strip.standing
    assert abs(standing[0] - 3640) <= 80 and abs(standing[1] - 4600) <= 40
    assert 5200 in strip.cuts and strip.damage == ()
    assert len(strip.change) == 150 and len(strip.low) == len(strip.high) == pytest.approx(300, abs=3)


def test_it_comes_back_as_it_was_kept(herons: Season, strip: Strip, hall: Path) -> None:
    (film,) = bring_film(herons, "g1", [hall])
    assert kept_strip(herons.store, film.id) is None
    keep_strip(herons.store, film.id, strip)
    back = kept_strip(herons.store, film.id)
    assert back is not None
    for name in ("black", "standing", "cuts", "damage", "integrated"):
        assert getattr(back, name) == getattr(strip, name)
    assert np.allclose(back.change, strip.change, rtol=2e-3)
    assert np.all(back.low <= strip.low + 1e-6) and np.all(back.high >= strip.high - 1e-6), "the outline never shrinks"
    assert np.abs(back.high - strip.high).max() <= 1 / 127
    with herons.store.writing() as db:
        db.execute("UPDATE strips SET version = ?", (VERSION + 1,))
    assert kept_strip(herons.store, film.id) is None, "another version's is looked through anew"


def test_the_outline_spans_the_sound(strip: Strip) -> None:
    heard = noise(0, HALL.n_frames * 1920)
    starts = np.linspace(0, len(strip.low), 40, endpoint=False).astype(int)
    low, high = np.minimum.reduceat(strip.low, starts), np.maximum.reduceat(strip.high, starts)
    for column in range(2, 38):
        part = heard[column * len(heard) // 40 : (column + 1) * len(heard) // 40]
        assert high[column] == pytest.approx(part.max(), abs=0.2) and low[column] == pytest.approx(part.min(), abs=0.2)


def test_frames_that_cannot_be_decoded_are_told_with_the_film(herons: Season, hall: Path, tmp_path: Path) -> None:
    """A stretch of the picture's data is overwritten, as a bad block on a card does."""
    data = bytearray(hall.read_bytes())
    start = data.index(b"mdat")
    for at in range(start + (len(data) - start) // 2, start + (len(data) - start) // 2 + 6000):
        data[at] = 0
    torn = tmp_path / "torn.mp4"
    torn.write_bytes(data)
    (film,) = bring_film(herons, "g1", [torn])
    queue = Queue(herons)
    try:
        assert queue.run([film.id]) == []
    finally:
        queue.close()
    found = herons.shelf.film(film.id)
    assert found.state == "ready" and {one["kind"] for one in found.damage} == {"lost"}
    told = json.loads(json.dumps(films_of(herons, herons.games.all()[0])))[0]
    (first, *_) = told["damage"]
    assert first["line"].startswith("1 frame damaged from 0:0") or "frames damaged from 0:0" in first["line"]
    assert 0 < first["start_ms"] < first["end_ms"] <= told["duration_ms"] == found.duration_ms
    index = herons.shelf.indexes.of(film.id)
    assert [read_number(still(torn, index, frame)) for frame in (10, 125)] == [10, 125]
    clip = write_reel([Clip(torn, index, 5, 30)], tmp_path / "clip.mp4")
    assert read_numbers(clip.path) == list(range(5, 30)), "what is readable stays usable"

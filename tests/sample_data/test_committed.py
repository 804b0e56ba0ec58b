"""The two films that come with the program are what the generator makes from their seeds."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from sample_data.drawn.film import FilmOptions, plan_film
from sample_data.journals import HERE
from sample_data.truth import read_truth
from tagger.film.index import build_index
from tagger.film.still import still
from tests.counts import cases

FILMS = {
    "g1-quarry-hill-excerpt.mp4": FilmOptions(seed=302, crf=31),
    "g2-millrace-excerpt.mp4": FilmOptions(seed=661, pan=True, home=False, opponent="Millrace", period=3, crf=32),
}


@pytest.mark.parametrize("name", list(FILMS)[: cases(1, many=2)])
def test_a_film_and_its_truth_come_from_their_seed(name: str) -> None:
    """Places were rounded to centimetres; across processors the last digit of a place may differ, events may not."""
    path: Path = HERE / "film" / name
    truth, film = plan_film(FILMS[name])
    told = read_truth(path.with_suffix(".truth.json.gz"))
    for rows in ("possessions", "runs", "screens", "whistles", "penalties", "face_offs", "loose_balls", "grades"):
        assert getattr(told, rows) == getattr(truth, rows)
    assert told.film is not None and truth.film is not None
    for stint, again in zip(told.film["stints"], truth.film["stints"], strict=True):
        assert np.abs(np.array(stint["x_cm"]) - again["x_cm"]).max() <= 2
    index = build_index(path)
    assert index.n_frames == film.n_frames == 3750
    for frame in (400, 2260) if not FILMS[name].pan else (2260,):
        shown = still(path, index, frame).astype(float)
        off = shown - film.frame(frame)[..., ::-1]
        assert 10 * np.log10(255**2 / float((off**2).mean())) > 27

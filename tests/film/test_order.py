"""In which order frames are stored, as far as a film's beginning tells."""

from __future__ import annotations

from pathlib import Path

import pytest

from tagger.film.convert import make_playable
from tagger.film.order import Order, order_of
from tests.film.conftest import MakeFilm
from tests.film.maker import Recipe

OPEN = {"x264-params": "keyint_min=1:scenecut=0:open-gop=1"}


@pytest.mark.parametrize(
    ("recipe", "order"),
    [
        (Recipe("no b-frames", b_frames=0, sound=None), Order(0, False)),
        (Recipe("one b-frame", b_frames=1, sound=None), Order(1, False)),
        (Recipe("pyramid", suffix=".mkv", b_frames=3, sound=None), Order(2, False)),
        (Recipe("open", options=OPEN, b_frames=3, sound=None), Order(2, True)),
        (
            Recipe("long and open", options=OPEN, b_frames=3, gop=26, n_frames=300, size=(64, 48), sound=None),
            Order(2, True),
        ),
    ],
    ids=lambda each: each.name if isinstance(each, Recipe) else "",
)
def test_depth_and_open_groups_are_told(recipe: Recipe, order: Order, film: MakeFilm) -> None:
    found = order_of(film(recipe)[0])
    assert found.open_groups == order.open_groups
    assert order.depth <= found.depth <= 2


def test_open_groups_are_encoded_and_closed_ones_repacked(film: MakeFilm, tmp_path: Path) -> None:
    for recipe, how in (
        (Recipe("ts-open", suffix=".ts", options=OPEN), "encoded"),
        (Recipe("ts", suffix=".ts"), "repacked"),
    ):
        path, index = film(recipe)
        assert make_playable(path, tmp_path / "copy.mp4", index=index).how == how

"""Films made once a session and shared by the film tests."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tagger.film.index import FrameIndex, build_index
from tests.film.maker import Recipe, make

MakeFilm = Callable[[Recipe], tuple[Path, FrameIndex]]


@pytest.fixture(scope="session")
def film(tmp_path_factory: pytest.TempPathFactory) -> MakeFilm:
    """`film(recipe) -> (path, index)`: made at the first asking."""
    folder = tmp_path_factory.mktemp("films")
    made: dict[str, tuple[Recipe, Path, FrameIndex]] = {}

    def get(recipe: Recipe) -> tuple[Path, FrameIndex]:
        if recipe.name not in made:
            path = make(recipe, folder)
            made[recipe.name] = (recipe, path, build_index(path))
        known, path, index = made[recipe.name]
        assert known == recipe, f"two recipes are called {recipe.name}"
        return path, index

    return get

"""Films as they lie on a card, and a season with a game to bring them into."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tagger.season import Season
from tagger.work.queue import Queue
from tests.film.maker import Recipe, make

Card = Callable[[Recipe], Path]


@pytest.fixture(scope="session")
def card(tmp_path_factory: pytest.TempPathFactory) -> Card:
    """`card(recipe)`: the film as it lies on a card; made once."""
    folder = tmp_path_factory.mktemp("card")
    made: dict[str, Path] = {}

    def lies(recipe: Recipe) -> Path:
        if recipe.name not in made:
            made[recipe.name] = make(recipe, folder)
        return made[recipe.name]

    return lies


@pytest.fixture
def herons(tmp_path: Path) -> Iterator[Season]:
    """A season with one game, g1, and no film."""
    folder = tmp_path / "herons"
    folder.mkdir()
    (folder / "season.toml").write_text('id = "s1"\nteam = "Saltmarsh Herons"\n', encoding="utf-8")
    made = Season.open(folder, make=True)
    made.games.add("g1", "2026-03-14", "Quarry Hill", True)
    yield made
    made.close()


def left(season: Season) -> list[str]:
    """Files in the season's film folder."""
    folder = season.folder / "film"
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*")) if folder.exists() else []


@pytest.fixture
def queue(herons: Season) -> Iterator[Queue]:
    """The season's queue, not started."""
    made = Queue(herons)
    yield made
    made.close()

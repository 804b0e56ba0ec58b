"""Fixtures of the dashboard: a film with its frame numbers drawn in, a small season, the program serving it."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from dashboard.loading import Present
from tagger.season import Season
from tests.dashboard.herons import build
from tests.film.maker import Recipe, make
from tests.served import Served

FPS = 25


@pytest.fixture(scope="session")
def numbered_film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Forty seconds at 25 frames a second, each with its number in the picture."""
    return make(Recipe("game", n_frames=40 * FPS, gop=25), tmp_path_factory.mktemp("numbered"))


@pytest.fixture(scope="session")
def built(numbered_film: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small season, made once; not to be changed."""
    return build(tmp_path_factory.mktemp("seasons") / "herons", numbered_film)


@pytest.fixture
def folder(built: Path, tmp_path: Path) -> Path:
    """A copy of the small season of a test's own."""
    return Path(shutil.copytree(built, tmp_path / "herons"))


@pytest.fixture
def season(folder: Path) -> Iterator[Season]:
    """The small season, open."""
    made = Season.open(folder)
    yield made
    made.close()


@pytest.fixture
def present(season: Season) -> Present:
    """What pages stand on."""
    return Present(season)


@pytest.fixture(scope="session")
def served(built: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The program, serving the small season from a process of its own; not to be changed."""
    made = Served(Path(shutil.copytree(built, tmp_path_factory.mktemp("served") / "herons")))
    yield made
    made.stop()

"""Fixtures of the tagging screen: a film with its frame numbers drawn in, a season, its server."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.film.maker import Recipe, make
from tests.screen.house import House


@pytest.fixture(scope="session")
def practice_film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Twenty seconds at 25 frames a second, each with its number in the picture."""
    return make(Recipe("practice", n_frames=500, gop=25), tmp_path_factory.mktemp("film"))


@pytest.fixture(scope="session")
def house(practice_film: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """A served season."""
    made = House(tmp_path_factory.mktemp("season") / "herons", practice_film)
    made.start()
    yield made
    made.close()

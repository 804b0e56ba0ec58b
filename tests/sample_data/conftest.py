"""One excerpt, small in every way, shared by the tests that look at motion, picture and sound."""

from __future__ import annotations

import pytest

from sample_data.drawn.draw import Film
from sample_data.drawn.film import FilmOptions, plan_film
from sample_data.truth import Truth

SMALL = FilmOptions(seed=13, seconds=60, width_px=640, height_px=360, fps=10)


@pytest.fixture(scope="session")
def planned() -> tuple[Truth, Film]:
    return plan_film(SMALL)


@pytest.fixture(scope="session")
def truth(planned: tuple[Truth, Film]) -> Truth:
    return planned[0]


@pytest.fixture(scope="session")
def film(planned: tuple[Truth, Film]) -> Film:
    return planned[1]

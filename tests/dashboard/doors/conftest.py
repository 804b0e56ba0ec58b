"""A small season, served to a network."""

from __future__ import annotations

import pytest
from flask import Flask

from dashboard.doors.gate import Gate
from dashboard.server import create_app
from tagger.season import Season
from tests.dashboard.doors.device import NETWORK_NAME, Device


class Clock:
    """Seconds by hand."""

    now = 100.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def app(season: Season, clock: Clock) -> Flask:
    gate = Gate(clock)
    gate.addresses = [f"http://{NETWORK_NAME}:8765/"]
    return create_app(season, hosts=[NETWORK_NAME], gate=gate)


@pytest.fixture
def phone(app: Flask) -> Device:
    return Device(app)

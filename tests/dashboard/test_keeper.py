"""While a season is served a copy of it is kept by itself; what goes wrong is said once and stops nothing."""

from __future__ import annotations

import datetime
import zipfile
from pathlib import Path

import pytest

from dashboard.copies.keeper import Keeper, make_apart
from dashboard.loading import Present
from dashboard.pages.season import page
from dashboard.server import create_app
from tagger.screen.visitor import LAPTOP, LOOK, Visitor, welcome
from tagger.season import Season
from tests.dashboard.herons import UNFILMED, entry, unfilmed
from tests.dashboard.test_daily import settings


class Copier:
    """Makes no copy, notes when one was wanted, and fails as told."""

    def __init__(self) -> None:
        self.wanted: list[str] = []
        self.fault = ""

    def __call__(self, folder: Path, now: datetime.datetime) -> str:
        self.wanted.append(f"{now:%d %H:%M}")
        return self.fault


class Clock:
    def __init__(self) -> None:
        self.time = datetime.datetime(2026, 11, 1, 19)

    def __call__(self) -> datetime.datetime:
        return self.time

    def later(self, **delta: float) -> None:
        self.time += datetime.timedelta(**delta)


@pytest.fixture
def season(tmp_path: Path):
    made = Season.open(unfilmed(tmp_path / "herons"))
    yield made
    made.close()


def tag(season: Season) -> None:
    n = len(season.journal.bodies("g2", "coach")[0]) + 1
    assert season.journal.add("g2", "coach", [entry("g2", n, UNFILMED, 100, "settled", {})])[0].state == "stored"


def test_the_first_mark_of_a_day_and_the_closing_keep_a_copy(season):
    clock, copier = Clock(), Copier()
    keeper = Keeper(season, now=clock, make=copier)
    assert not keeper.copy_if_due() and copier.wanted == []
    tag(season)
    assert keeper.copy_if_due() and copier.wanted == ["01 19:00"]
    clock.later(hours=1)
    tag(season)
    assert not keeper.copy_if_due()
    clock.later(hours=5)  # after midnight, and nothing more was tagged
    assert not keeper.copy_if_due()
    tag(season)
    assert keeper.copy_if_due() and copier.wanted == ["01 19:00", "02 01:00"]
    keeper.close()
    assert len(copier.wanted) == 2, "nothing was tagged since"
    tag(season)
    keeper.close()
    assert len(copier.wanted) == 3


def test_a_season_that_is_only_looked_at_keeps_no_copy(season):
    copier = Copier()
    keeper = Keeper(season, make=copier, every_s=0.01)
    keeper.start()
    keeper.close()
    assert copier.wanted == []


def test_none_is_made_where_none_is_wanted(season):
    settings(season.folder, keep=0)
    copier = Copier()
    keeper = Keeper(season, make=copier)
    tag(season)
    keeper.copy_if_due()
    keeper.close()
    assert copier.wanted == []


def test_what_goes_wrong_is_said_once_tried_again_and_gone_when_it_works(season, capsys):
    clock, copier = Clock(), Copier()
    keeper = Keeper(season, now=clock, make=copier)
    present = Present(season)
    present.keeper = keeper
    app = create_app(season, present=present)

    def told(who: Visitor = LAPTOP) -> bool:
        with app.test_request_context("/"):
            welcome(who)
            return "the disk is full" in str(page(present, "", {}))

    copier.fault = "the disk is full"
    tag(season)
    assert keeper.copy_if_due() and told() and not told(Visitor(LOOK))
    clock.later(minutes=5)
    tag(season)
    assert not keeper.copy_if_due()
    clock.later(minutes=6)
    assert keeper.copy_if_due() and len(copier.wanted) == 2
    assert capsys.readouterr().err == "floorbook: no copy of the season was kept: the disk is full\n"
    copier.fault = ""
    clock.later(minutes=11)
    assert keeper.copy_if_due() and not told()
    assert not keeper.copy_if_due()


def test_a_copy_is_made_apart_while_the_season_is_written_to(season):
    now = datetime.datetime(2026, 11, 1, 19)
    tag(season)
    assert make_apart(season.folder, now) == ""
    [made] = (season.folder / "kept").iterdir()
    with zipfile.ZipFile(made) as copy:
        assert b"g2-11" in copy.read("season.db")
    tag(season)
    settings(season.folder, where="../away")
    assert "plug its disk in" in make_apart(season.folder, now)

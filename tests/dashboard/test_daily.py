"""Copies that a season keeps: one a day, so many, proven; what is not known to be one is never taken away."""

from __future__ import annotations

import datetime
import os
import zipfile
from pathlib import Path

import pytest

from dashboard.copies.daily import kept_copies, named_as_copies
from dashboard.copies.keeping import keep_copy
from dashboard.errors import DamagedSeason, NotKept
from tagger.season import Season
from tagger.texts.folder import read_texts
from tagger.texts.settings import Settings
from tests.dashboard.herons import unfilmed
from tests.dashboard.test_archive import changed, more_marks

FIRST = datetime.datetime(2026, 11, 1, 19, 30)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return unfilmed(tmp_path / "herons")


def settings(folder: Path, keep: int = 10, where: str = "") -> Settings:
    """Write what the season says of its copies, and read it as floorbook does."""
    text = (folder / "season.toml").read_text(encoding="utf-8")
    (folder / "season.toml").write_text(
        text[: text.index("[copies]")] + f'[copies]\nkeep = {keep}\nfolder = "{where}"\n', encoding="utf-8"
    )
    told = read_texts(folder)
    assert told.problems == ()
    return told.settings


def days(folder: Path, said: Settings, n: int, first: datetime.datetime = FIRST) -> None:
    for day in range(n):
        assert keep_copy(folder, said, first + datetime.timedelta(days=day)) is not None


def names(folder: Path) -> list[str]:
    with_id = [path.name for path in sorted(folder.iterdir(), key=lambda path: path.stem)]
    return [name.split(" ", 1)[1] for name in with_id]


def test_a_new_season_keeps_ten_in_its_own_folder(folder):
    said = read_texts(folder).settings
    assert (said.copies.keep, said.copies.folder) == (10, "")
    days(folder, said, 12)
    assert names(folder / "kept") == [f"2026-11-{day:02}.zip" for day in range(3, 13)]
    with zipfile.ZipFile(folder / "kept" / f"{said.id} 2026-11-12.zip") as made:
        assert {"season.db", "season.toml", "playbook.toml", "roster.csv"} <= set(made.namelist())
    season = Season.open(folder)
    assert len(kept_copies(season)) == 10
    season.close()
    if os.name != "nt":
        assert all(path.stat().st_mode & 0o077 == 0 for path in [folder / "kept", *(folder / "kept").iterdir()])


def test_a_day_has_one_copy_the_last(folder):
    said = settings(folder)
    days(folder, said, 1)
    more_marks(folder, 5)
    days(folder, said, 1)
    assert names(folder / "kept") == ["2026-11-01.zip"]
    with zipfile.ZipFile(folder / "kept" / f"{said.id} 2026-11-01.zip") as made:
        assert b"g2-15" in made.read("season.db")


def test_none_is_kept_where_none_is_wanted_and_film_is_in_none(folder):
    assert keep_copy(folder, settings(folder, keep=0), FIRST) is None
    assert not (folder / "kept").exists()
    (folder / "film").mkdir()
    (folder / "film" / "game.mp4").write_bytes(b"film")
    (folder / "big.mov").write_bytes(b"film")
    said = settings(folder)
    days(folder, said, 1)
    with zipfile.ZipFile(folder / "kept" / f"{said.id} 2026-11-01.zip") as made:
        assert not [name for name in made.namelist() if name.endswith((".mp4", ".mov"))]


def test_copies_go_where_the_season_says_and_a_folder_that_is_not_there_is_not_made(folder, tmp_path, monkeypatch):
    away = tmp_path / "stick"
    said = settings(folder, where=away.as_posix())
    with pytest.raises(NotKept, match="plug its disk in"):
        keep_copy(folder, said, FIRST)
    assert not away.exists() and not (folder / "kept").exists()
    away.mkdir()
    days(folder, said, 1)
    assert names(away) == ["2026-11-01.zip"]
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("USERPROFILE", str(tmp_path))
    days(folder, settings(folder, where="~/stick"), 2)
    assert names(away) == ["2026-11-01.zip", "2026-11-02.zip"]
    days(folder, settings(folder, where="../stick"), 3)
    assert len(names(away)) == 3


def test_only_what_is_known_to_be_a_copy_of_this_season_is_taken_away(folder, tmp_path):
    said = settings(folder, keep=2)
    days(folder, said, 1)
    kept = folder / "kept"
    own = kept / f"{said.id} 2026-11-01.zip"
    other = unfilmed(tmp_path / "other")
    days(other, settings(other), 1)
    [others] = (other / "kept").iterdir()
    strangers = {
        f"{said.id} 2026-10-01.zip": others.read_bytes(),  # named as ours, another season inside
        f"{said.id} 2026-10-02.zip": b"a letter",
        f"{said.id} 2026-10-03.zip.txt": b"notes",
        f"my {said.id} 2026-10-04.zip": own.read_bytes(),
        others.name: others.read_bytes(),
    }
    for name, content in strangers.items():
        (kept / name).write_bytes(content)
    if os.name != "nt":
        (kept / f"{said.id} 2026-10-05.zip").symlink_to(own)
    days(folder, said, 4, FIRST + datetime.timedelta(days=1))
    left = {path.name for path in kept.iterdir() if not path.is_symlink()}
    assert left == {*strangers, f"{said.id} 2026-11-04.zip", f"{said.id} 2026-11-05.zip"}
    assert {name: (kept / name).read_bytes() for name in strangers} == strangers
    assert os.name == "nt" or (kept / f"{said.id} 2026-10-05.zip").is_symlink()
    assert f"{said.id} 2026-10-02.zip" in [path.name for path in named_as_copies(kept, said.id)]


def test_a_damaged_season_keeps_no_copy_and_takes_none_away(folder):
    said = settings(folder, keep=2)
    days(folder, said, 2)
    held = {path: path.read_bytes() for path in (folder / "kept").iterdir()}
    changed(folder / "season.db", b'"shooter":"14"', b'"shooter":"74"')
    for later in (1, 5):  # the day's own place, and another day's
        with pytest.raises(DamagedSeason, match="changed since"):
            keep_copy(folder, said, FIRST + datetime.timedelta(days=later))
    assert {path: path.read_bytes() for path in (folder / "kept").iterdir()} == held


def test_a_copy_that_knows_more_than_the_season_stays_beside_the_new_one(folder):
    """As after an older copy was put back on the same day."""
    said = settings(folder)
    held = (folder / "season.db").read_bytes()
    more_marks(folder, 5)
    days(folder, said, 1)
    (folder / "season.db").write_bytes(held)
    days(folder, said, 1)
    assert names(folder / "kept") == ["2026-11-01.zip", "2026-11-01 193000.zip"]


def test_what_a_power_cut_left_of_a_copy_goes_and_other_half_files_stay(folder):
    said = settings(folder)
    days(folder, said, 1)
    kept = folder / "kept"
    for name in (f".{said.id} 2026-10-30.zip.0a1b2c.part", f".{said.id} 2026-10-30.zip.0a1b2c.db.part", ".mine.part"):
        (kept / name).write_bytes(b"half")
        os.utime(kept / name, (FIRST.timestamp() - 3 * 86400,) * 2)
    (kept / f".{said.id} 2026-11-02.zip.aaaaaa.part").write_bytes(b"being made")
    os.utime(kept / f".{said.id} 2026-11-02.zip.aaaaaa.part", (FIRST.timestamp(),) * 2)
    days(folder, said, 1)
    assert sorted(path.name for path in kept.glob(".*")) == sorted(
        [".mine.part", f".{said.id} 2026-11-02.zip.aaaaaa.part"]
    )


def test_a_number_or_folder_that_is_none_is_named_and_the_usual_one_used(folder):
    text = (folder / "season.toml").read_text(encoding="utf-8").replace("keep = 10", "keep = -1")
    (folder / "season.toml").write_text(text, encoding="utf-8")
    told = read_texts(folder)
    assert told.settings.copies.keep == 10
    assert "keep = -1 is not a whole number from 0 to 366" in str(told.problems[0])

"""Restoring broken off at every step, as by Ctrl-C or a power cut: which season is there afterwards, all of it."""

from __future__ import annotations

import datetime
import os
import shutil
from collections.abc import Callable
from pathlib import Path

from pytest import MonkeyPatch

from dashboard.copies.archive import write_backup
from dashboard.copies.restoring import restore
from tagger.season import Season
from tests.dashboard.herons import unfilmed
from tests.dashboard.test_archive import more_marks

NOW = datetime.datetime(2026, 11, 27, 14, 12)
OLD, NEW = 15, 10  # marks of the season that is there, and of the copy


def went_on(folder: Path) -> Path:
    """A season with film, of which copies lie beside it; it went on since, and got a player and a question."""
    unfilmed(folder)
    (folder / "film").mkdir()
    (folder / "film" / "game.mp4").write_bytes(b"film" * 1000)
    season = Season.open(folder)
    write_backup(season, folder.parent / "small.zip", film=False)
    write_backup(season, folder.parent / "whole.zip")
    season.close()
    more_marks(folder, OLD - NEW)
    with (folder / "roster.csv").open("a", encoding="utf-8") as roster:
        roster.write("77,Later Player,L,,yes,,\n")
    (folder / "question.toml").write_text('stated = "2026-11-20"\n', encoding="utf-8")
    return folder


def marks(folder: Path) -> int:
    season = Season.open(folder)
    try:
        n = len(season.journal.bodies("g2", "coach")[0])
        assert len(season.tagged.folded("g2").log) == n
        return n
    finally:
        season.close()


def has_later(folder: Path) -> bool:
    return "Later Player" in (folder / "roster.csv").read_text(encoding="utf-8")


def everything(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and not path.name.endswith((".lock", "-shm", "-wal"))
    }


def whole(folder: Path, old: dict[str, bytes]) -> str:
    """Which of the two seasons lies there, all of it: its marks, its roster, its question, its film."""
    n = marks(folder)
    assert (n, has_later(folder), (folder / "question.toml").exists()) in ((OLD, True, True), (NEW, False, False))
    assert (folder / "film" / "game.mp4").read_bytes() == b"film" * 1000
    assert not [path for path in folder.iterdir() if "restoring" in path.name]
    if n == OLD:
        assert [*folder.parent.glob("herons before *")] == []
        assert {name: content for name, content in everything(folder).items() if name != "season.db"} == {
            name: content for name, content in old.items() if name != "season.db"
        }
    else:
        [before] = folder.parent.glob("herons before *")
        assert marks(before) == OLD and has_later(before)
    return "old" if n == OLD else "new"


class Broken(BaseException):
    """As Ctrl-C, or the power going: nothing catches it."""


def broken_at(step: int, monkeypatch: MonkeyPatch, steps: list[str]) -> None:
    """Let the step-th change of a name, or report of progress, not happen, and whatever comes after it."""
    names = ((Path, "rename"), (Path, "replace"), (Path, "unlink"), (shutil, "rmtree"), (os, "fsync"))
    for where, name in names:
        sound = getattr(where, name)

        def call(*words: object, _sound: Callable[..., object] = sound, _name: str = name, **more: object) -> object:
            if "restoring" in str(words[0]) or "herons" in str(words[0]) or _name == "fsync":
                steps.append(_name)
                if len(steps) > step:
                    raise Broken
            return _sound(*words, **more)

        monkeypatch.setattr(where, name, call)


def broken_off(folder: Path, copy: Path, every: int = 1) -> list[str]:
    """Restore again and again, broken off one step later each time, until it is done.

    Parameters
    ----------
    folder : Path
        As `went_on` makes it.
    copy : Path
        The copy without film.
    every : int
        Only each of so many steps.

    Returns
    -------
    list of str
        For each time which season was whole afterwards: old or new; or what was lost.
    """
    keep = folder.parent / "as it was"
    shutil.copytree(folder, keep)
    old, found = everything(keep), list[str]()
    for step in range(0, 1000, every):
        for each in [folder, *folder.parent.glob("*herons*before*")]:
            shutil.rmtree(each)
        shutil.copytree(keep, folder)
        done = True
        with MonkeyPatch.context() as patch:
            broken_at(step, patch, [])
            try:
                restore(copy, folder, NOW)
            except Broken:
                done = False
        try:
            found.append(_afterwards(folder, old, done))
        except Exception as fault:  # what must never be is counted
            found.append(f"lost at step {step}: {type(fault).__name__}: {fault}")
        if done:
            break
    return found


def _afterwards(folder: Path, old: dict[str, bytes], done: bool) -> str:
    if not done:  # a power cut leaves hidden half things, and a copy of the old one that came to nothing
        for each in [*folder.glob(".restoring*"), *folder.parent.glob(".herons before*")]:
            shutil.rmtree(each)
        if marks(folder) == OLD:
            for each in folder.parent.glob("herons before *"):
                shutil.rmtree(each)
    return whole(folder, old)

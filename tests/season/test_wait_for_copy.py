"""Film that is still being copied: the queue asks again by itself, and other work goes on meanwhile."""

from __future__ import annotations

import os
import shutil
import sqlite3
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tagger.film.errors import FilmTorn, StillCopied
from tagger.season import Season
from tagger.work.bring import bring_film
from tagger.work.job import BRING, COMING, FAILED, PAUSED, RUNNING, Job
from tagger.work.jobs import JobList
from tagger.work.queue import Queue
from tagger.work.wait_for_copy import QUIET_S, CopyWatch, patiently
from tests.film.maker import Recipe
from tests.season.conftest import Card
from tests.season.films import PLAIN, WRAPPED, until

FRONT = Recipe("table first", n_frames=60, container_options={"movflags": "+faststart"})


@pytest.fixture
def soon(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Files need not stand still for long."""
    monkeypatch.setattr("tagger.work.wait_for_copy.QUIET_S", 0.3)
    yield


def half(card: Card, folder: Path) -> tuple[Path, bytes]:
    """A film of which half is there, and all of it."""
    data = card(FRONT).read_bytes()
    path = folder / "first half.mp4"
    path.write_bytes(data[: len(data) // 2])
    return path, data


def test_half_a_film_is_not_entered_as_a_damaged_one(herons: Season, card: Card, tmp_path: Path) -> None:
    path, data = half(card, tmp_path)
    of = f"of {round(len(data) / 1000)} kB so far"
    with pytest.raises(StillCopied, match=rf"^first half\.mp4: still being copied \(\d+ kB {of}\)"):
        bring_film(herons, "g1", [card(WRAPPED), path])
    assert herons.shelf.films("g1") == []
    path.write_bytes(data)
    (film,) = bring_film(herons, "g1", [path])
    assert (film.n_frames, film.damage) == (60, ())


def test_the_queue_waits_says_how_far_it_is_and_takes_it_when_it_is_whole(
    herons: Season, card: Card, queue: Queue, tmp_path: Path, soon: None
) -> None:
    path, data = half(card, tmp_path)
    jobs = JobList(herons.store)
    body = {"paths": [str(path)], "in_order": True, "keep": False}
    late = jobs.add(BRING, 0, game="g1", body=body)
    other = jobs.add(BRING, 0, game="g1", body={**body, "paths": [str(card(PLAIN))]})
    queue.start()
    until(lambda: not in_list(jobs, other.id))
    assert [film.name for film in herons.shelf.films("g1")] == [PLAIN.name + ".mp4"], (
        "what comes after it does not wait"
    )
    until(lambda: in_list(jobs, late.id) and jobs.job(late.id).state == COMING)
    before = jobs.job(late.id).why
    with path.open("ab") as file:
        file.write(data[len(data) // 2 : -10])
    until(lambda: jobs.job(late.id).why not in ("", before))
    with path.open("ab") as file:
        file.write(data[-10:])
    until(lambda: not in_list(jobs, late.id))
    film = herons.shelf.films("g1")[-1]
    assert (film.name, film.n_frames, film.damage) == ("first half.mp4", 60, ())


def test_what_never_gets_whole_ends_in_a_line_and_can_be_paused_before(
    herons: Season, card: Card, queue: Queue, tmp_path: Path, soon: None
) -> None:
    data = card(Recipe("table last", n_frames=60)).read_bytes()
    path = tmp_path / "torn.mp4"
    path.write_bytes(data[: data.rindex(b"moov") - 4])
    jobs = JobList(herons.store)
    job = jobs.add(BRING, 0, game="g1", body={"paths": [str(path)], "in_order": True, "keep": False})
    queue.start()
    until(lambda: jobs.job(job.id).state == COMING)
    assert jobs.job(job.id).why.startswith("torn.mp4: still being copied")
    jobs.pause(job.id)
    os.utime(path, (time.time() - 60, time.time() - 60))
    time.sleep(0.6)
    assert jobs.job(job.id).state == PAUSED
    jobs.resume(job.id)
    until(lambda: jobs.job(job.id).state == FAILED)
    assert "never finished" in jobs.job(job.id).why and herons.shelf.films("g1") == []


def test_a_file_that_is_waited_for_stops_no_long_work(herons: Season, card: Card, tmp_path: Path) -> None:
    jobs = JobList(herons.store)
    (film,) = bring_film(herons, "g1", [card(WRAPPED)])
    job = jobs.add(BRING, 0, game="g1", body={"paths": [str(half(card, tmp_path)[0])], "in_order": True, "keep": False})
    jobs.begin(job)
    jobs.wait_for_file(job, "first half.mp4: still being copied")
    long = jobs.next()
    assert long is not None and long.film == film.id
    jobs.begin(long)
    assert jobs.job(long.id).state == RUNNING and jobs.wants_to_go_on(long)
    jobs.file_is_still(job.id)
    assert jobs.next() == jobs.job(job.id)


def test_a_command_waits_and_tells(card: Card, tmp_path: Path) -> None:
    path, data = half(card, tmp_path)
    told: list[str] = []
    tries = rests = 0

    def bring() -> str:
        nonlocal tries
        tries += 1
        if path.stat().st_size < len(data):
            raise StillCopied("still being copied", path, "it is looked at again by itself")
        return "in"

    def rest(seconds: float) -> None:
        nonlocal rests
        rests += 1
        if rests == 2:
            path.write_bytes(data)
        time.sleep(0.05)

    watch = pytest.MonkeyPatch()
    watch.setattr("tagger.work.wait_for_copy.QUIET_S", 0.2)
    try:
        assert patiently(bring, [path], tell=lambda share, text: told.append(text), rest=rest) == "in"
    finally:
        watch.undo()
    assert tries == 2 and told[0].startswith("first half.mp4: still being copied") and told[0].endswith("Ctrl-C ends")
    with pytest.raises(FilmTorn):
        patiently(_torn, [path], tell=lambda share, text: None)


def _torn() -> None:
    raise FilmTorn("never finished", "a.mp4", "copy it again")


def test_files_are_ready_when_none_of_them_changed_for_a_while(tmp_path: Path) -> None:
    now = 0.0
    paths = [tmp_path / "a", tmp_path / "b"]
    watch = CopyWatch(paths, clock=lambda: now)
    assert not watch.ready
    now = QUIET_S
    assert watch.ready and not watch.changed(), "what is not there stands still too: the look says that it is missing"
    paths[1].write_bytes(b"x")
    assert watch.changed() and not watch.ready
    now = 2 * QUIET_S
    assert not watch.changed() and watch.ready
    shutil.copy(paths[1], paths[0])
    assert watch.changed() and not watch.ready


def in_list(jobs: JobList, id_: int) -> bool:
    return any(job.id == id_ for job in jobs.all())


def test_a_failure_is_said_as_soon_as_the_full_disk_lets_it_be_written(
    herons: Season, queue: Queue, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    jobs = JobList(herons.store)
    job = jobs.add(BRING, 0, game="g1", body={"paths": [str(tmp_path / "gone.mp4")], "in_order": True, "keep": False})
    written = queue.jobs.fail
    n_tries = 0

    def full(job: Job, why: str) -> None:
        nonlocal n_tries
        n_tries += 1
        if n_tries == 1:
            raise sqlite3.OperationalError("database or disk is full")
        written(job, why)

    monkeypatch.setattr(queue.jobs, "fail", full)
    queue.start()
    until(lambda: jobs.job(job.id).state == FAILED)
    assert n_tries == 2 and jobs.job(job.id).why.startswith("gone.mp4: there is no such file")


def test_a_sent_file_goes_with_the_work_that_was_given_up(herons: Season, queue: Queue) -> None:
    folder = herons.folder / "film"
    folder.mkdir()
    sent, other = folder / "sent-2026-03-20-1.mp4", folder / "own.mp4"
    for path in (sent, other):
        path.write_bytes(b"x")
    jobs = JobList(herons.store)
    for path in (sent, other):
        jobs.drop(jobs.add(BRING, 0, game="g1", body={"paths": [str(path)], "sent": "0" * 16}).id)
    queue.run([])
    assert not sent.exists() and other.exists(), "only what was sent goes"

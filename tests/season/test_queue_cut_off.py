"""Film work cut off by a kill, a full disk, a card pulled out: nothing is left half, nothing that was done is lost."""

from __future__ import annotations

import errno
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tagger.film import room
from tagger.season import Season
from tagger.shelf.finding import find_again
from tagger.work import doing
from tagger.work.bring import bring_film
from tagger.work.job import BRING
from tagger.work.jobs import JobList
from tagger.work.plan import STRIP, Step
from tagger.work.queue import Queue
from tests.film.maker import read_numbers
from tests.season.conftest import Card, left
from tests.season.films import GAME, LONG, OLD, PLAIN, WRAPPED, running, until

CLONE = Path(__file__).resolve().parents[2]


def test_a_killed_child_is_one_line_and_the_work_goes_on_where_it_was(herons: Season, card: Card, queue: Queue) -> None:
    (film,) = bring_film(herons, "g1", [card(GAME)])
    jobs = JobList(herons.store)
    queue.start()
    until(lambda: herons.shelf.film(film.id).state == "ready")
    pieces = herons.folder / "film" / f"{film.id}-viewing.mp4.work"
    done = {path.name for path in pieces.glob("piece-*.json")}
    import multiprocessing

    for child in multiprocessing.active_children():
        child.kill()
    until(lambda: jobs.of_film(film.id)[0].state == "failed")
    job = jobs.of_film(film.id)[0]
    assert job.why.startswith("slow.avi: reading it brought the reader down") and "\n" not in job.why
    assert {path.name for path in pieces.glob("piece-*.json")} >= done
    jobs.resume(job.id)
    until(lambda: jobs.all() == [])
    assert read_numbers(herons.shelf.copies.showing(film.id).path)[::500] == list(range(0, 1500, 500))


_SERVE = """
import sys, time
from pathlib import Path
from tagger.work.queue import Queue
from tagger.season import Season

if __name__ == "__main__":
    queue = Queue(Season.open(Path(sys.argv[1])))
    queue.start()
    print("open", flush=True)
    time.sleep(600)
"""


def test_work_is_gone_on_with_after_the_program_was_killed(herons: Season, card: Card, tmp_path: Path) -> None:
    (film,) = bring_film(herons, "g1", [card(GAME)])
    jobs = JobList(herons.store)
    program = tmp_path / "program.py"
    program.write_text(_SERVE, encoding="utf-8")
    environ = {**os.environ, "PYTHONPATH": str(CLONE)}
    served = subprocess.Popen([sys.executable, str(program), str(herons.folder)], stdout=subprocess.PIPE, env=environ)
    assert served.stdout is not None
    try:
        assert served.stdout.readline().strip() == b"open"
        until(lambda: herons.shelf.film(film.id).state == "ready" and running(jobs, "viewing"))
    finally:
        served.kill()
        served.wait()
        served.stdout.close()
    pieces = herons.folder / "film" / f"{film.id}-viewing.mp4.work"
    until(lambda: not list(pieces.glob("*.part")), 20)  # the orphaned child has noticed and left
    done = {path.name: path.stat().st_mtime_ns for path in pieces.glob("piece-*.mp4")}
    assert done and not herons.shelf.copies.copy_target(film.id, "viewing").exists()
    (herons.folder / "film" / f"{film.id}-playable.mp4.part").write_bytes(b"half")
    queue = Queue(herons)
    try:
        assert [job.state for job in jobs.of_film(film.id)] == ["waiting", "waiting"]
        assert not list((herons.folder / "film").glob("*.part"))
        assert queue.run([film.id]) == []
    finally:
        queue.close()
    assert herons.shelf.copies.showing(film.id).version == "viewing"
    assert read_numbers(herons.shelf.copies.showing(film.id).path)[::500] == list(range(0, 1500, 500))


def test_a_copy_that_was_whole_when_the_program_ended_is_not_made_again(
    herons: Season, card: Card, queue: Queue, monkeypatch: pytest.MonkeyPatch
) -> None:
    (film,) = bring_film(herons, "g1", [card(OLD)])
    assert queue.run([film.id]) == []
    with herons.store.writing() as db:
        db.execute("DELETE FROM copies")
    showing = herons.shelf.copies.showing(film.id)
    assert showing.whole and showing.index.all_ms().tolist() == herons.shelf.indexes.of(film.id).all_ms().tolist()
    JobList(herons.store).add_steps("g1", film.id, [Step("viewing", 2)])
    monkeypatch.setattr(doing, "_check_room", lambda target, job: pytest.fail("it is made again"))
    assert queue.run([film.id]) == []
    assert herons.shelf.copies.showing(film.id).version == "viewing"


@pytest.mark.parametrize("new", [False, True])
def test_film_that_came_in_just_before_the_program_ended_is_not_brought_twice(
    herons: Season, card: Card, queue: Queue, new: bool
) -> None:
    jobs = JobList(herons.store)
    told = {"id": "g2", "date": "2026-03-21", "opponent": "Millrace", "home": True}
    body = {"paths": [str(card(PLAIN))], "in_order": True, "keep": False, **({"new": told} if new else {})}
    job = jobs.add(BRING, 0, game="" if new else "g1", body=body)
    jobs.begin(job)
    doing.do_job(job, doing.Means(herons, lambda share, text: None, lambda: False))
    jobs.requeue()  # as after a kill before the job was taken out of the list
    queue.start()
    until(lambda: jobs.all() == [])
    assert [film.name for film in herons.shelf.films("g2" if new else "g1")] == ["first half.mp4"]
    again = jobs.add(BRING, 0, game="g2" if new else "g1", body={**body, "new": None})
    until(lambda: jobs.job(again.id).state == "failed")
    assert "already" in jobs.job(again.id).why, "asked for anew, it is said"


def test_too_little_room_is_said_and_the_job_can_be_tried_again(
    herons: Season, card: Card, queue: Queue, monkeypatch: pytest.MonkeyPatch
) -> None:
    (film,) = bring_film(herons, "g1", [card(LONG)], keep=True)

    class Usage:
        free = room.SPARE_BYTES + 1000

    with monkeypatch.context() as full:
        full.setattr(room.shutil, "disk_usage", lambda folder: Usage)
        failed = queue.run([film.id])
    assert [job.kind for job in failed] == ["viewing"], "copying looks in its own process, where there is room"
    assert "needs up to" in failed[0].why and "make room" in failed[0].why
    assert herons.shelf.film(film.id).state == "ready", "it plays as it lies meanwhile"
    JobList(herons.store).resume(failed[0].id)
    assert queue.run([film.id]) == []
    assert herons.shelf.copies.showing(film.id).version == "viewing"


def no_space(*args: object, **kwargs: object) -> None:
    """Stands for work that the disk becomes full in."""
    raise OSError(errno.ENOSPC, "No space left on device", "somewhere.mp4")


def test_a_disk_that_fills_up_meanwhile_is_one_line(
    herons: Season, card: Card, queue: Queue, monkeypatch: pytest.MonkeyPatch
) -> None:
    (film,) = bring_film(herons, "g1", [card(PLAIN)])
    monkeypatch.setitem(doing._HOW, STRIP, no_space)
    (failed,) = queue.run([film.id])
    assert failed.why == "somewhere.mp4: the disk is full; make room and try again, nothing was lost"


@pytest.mark.skipif(sys.platform == "win32", reason="no limit on the size of files there")
def test_a_write_that_fails_for_lack_of_room_leaves_no_half_file(herons: Season, card: Card, tmp_path: Path) -> None:
    """A limit on the size of files stands for the full disk: the system refuses the write in the same place."""
    film = bring_film(herons, "g1", [card(GAME)])[0]
    program = tmp_path / "program.py"
    program.write_text(_LIMITED, encoding="utf-8")
    environ = {**os.environ, "PYTHONPATH": str(CLONE)}
    done = subprocess.run(
        [sys.executable, str(program), str(herons.folder), film.id],
        capture_output=True,
        text=True,
        env=environ,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("slow.avi: the disk is full, or takes no file of this size; make room, or use a")
    assert not herons.shelf.copies.copy_target(film.id, "viewing").exists()
    assert not [name for name in left(herons) if name.endswith(".part")]


_LIMITED = """
import resource, signal, sys
from pathlib import Path
from tagger.work.queue import Queue
from tagger.season import Season

if __name__ == "__main__":
    season = Season.open(Path(sys.argv[1]))
    queue = Queue(season)
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (600_000, 600_000))
    failed = queue.run([sys.argv[2]])
    print(*[job.why for job in failed if job.kind == "viewing"], sep="\\n", flush=True)
    queue.close()
"""


def test_a_film_that_went_away_before_its_turn_is_said_and_tried_again_when_it_is_back(
    herons: Season, card: Card, queue: Queue, tmp_path: Path
) -> None:
    here = tmp_path / "card" / "old.avi"
    here.parent.mkdir()
    shutil.copyfile(card(OLD), here)
    (film,) = bring_film(herons, "g1", [here])
    here.rename(tmp_path / "elsewhere.avi")
    failed = queue.run([film.id])
    assert [job.kind for job in failed] == ["viewing", "strip"] and "put the card or disk in" in failed[0].why
    assert [one.film.id for one in find_again(herons, tmp_path).found] == [film.id]
    assert [job.state for job in JobList(herons.store).all()] == ["waiting", "waiting"]
    assert queue.run([film.id]) == [] and herons.shelf.film(film.id).state == "ready"


def test_a_fault_of_ours_stops_one_job_and_not_the_queue(
    herons: Season, card: Card, queue: Queue, monkeypatch: pytest.MonkeyPatch
) -> None:
    (film,) = bring_film(herons, "g1", [card(WRAPPED)])
    monkeypatch.setitem(doing._HOW, STRIP, lambda job, means: 1 / 0)
    (failed,) = queue.run([film.id])
    assert failed.kind == "strip" and failed.why.startswith("our own fault (ZeroDivisionError")
    assert herons.shelf.film(film.id).state == "ready"


def test_a_copy_that_was_deleted_is_asked_for_again(herons: Season, card: Card, queue: Queue) -> None:
    (film,) = bring_film(herons, "g1", [card(WRAPPED)])
    queue.run([film.id])
    herons.shelf.copies.copy_target(film.id, "playable").unlink()
    assert herons.shelf.film(film.id).state == "waiting"
    queue.start()
    until(lambda: herons.shelf.film(film.id).state == "ready")

"""The queue of film work: what it makes; a pause, a kill or a full disk leaves nothing half and loses nothing."""

from __future__ import annotations

import errno
import os
import shutil
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from tagger import works
from tagger.bring import bring_film
from tagger.copies import beginning_of
from tagger.cores import share_of, usable
from tagger.film import room
from tagger.film.probe import probe
from tagger.finding import find_again
from tagger.jobs import BRING, Job, JobBook
from tagger.plan import STRIP, Step
from tagger.queue import Queue, QueueTaken
from tagger.season import NoFilm, Season
from tagger.strip import kept_strip
from tests.film.maker import Recipe, read_numbers
from tests.season.conftest import Card, left

PLAIN = Recipe("first half", n_frames=60)
WRAPPED = Recipe("wrapped", suffix=".mkv", sound="ac3", n_frames=40)
OLD = Recipe("old", suffix=".avi", codec="mpeg4", sound="pcm_s16le", n_frames=40)
LONG = Recipe("long groups", n_frames=150, gop=150, size=(160, 90))
GAME = Recipe("slow", suffix=".avi", codec="mpeg4", sound=None, size=(320, 180), n_frames=1500, rate=Fraction(10))
FIELDS = Recipe("fields", suffix=".ts", interlaced=True, size=(352, 288), n_frames=40)
CLONE = Path(__file__).resolve().parents[2]


@pytest.fixture
def queue(herons: Season) -> Iterator[Queue]:
    made = Queue(herons)
    yield made
    made.close()


def until(what: Callable[[], object], within_s: float = 200) -> None:
    """Wait until something holds."""
    end = time.monotonic() + within_s
    while not what():
        assert time.monotonic() < end, "it never came to be"
        time.sleep(0.02)


def test_film_of_every_kind_is_made_playable_and_looked_through(herons: Season, card: Card, queue: Queue) -> None:
    wrapped, old, long = bring_film(herons, "g1", [card(WRAPPED), card(OLD), card(LONG)])
    told: list[tuple[str, float]] = []
    failed = queue.run([wrapped.id, old.id, long.id], tell=lambda job, share, text: told.append((job.kind, share)))
    assert failed == [] and JobBook(herons.store).all() == []
    assert {"viewing", "strip"} <= {kind for kind, _ in told} and told[-1][1] == 1.0
    assert [film.state for film in herons.films("g1")] == ["ready"] * 3
    for film, version in ((wrapped, "playable"), (old, "viewing"), (long, "viewing")):
        showing = herons.showing(film.id)
        assert (showing.version, showing.whole) == (version, True)
        assert probe(showing.path).as_it_lies
        assert read_numbers(showing.path) == list(range(film.n_frames))
        assert showing.index.all_ms().tolist() == herons.film_index(film.id).all_ms().tolist()
        strip = kept_strip(herons.store, film.id)
        assert strip is not None and strip.integrated < 0 and len(strip.change) == film.n_frames
    assert herons.showing(long.id, "original").path == card(LONG)
    assert left(herons) == sorted([f"{wrapped.id}-playable.mp4", f"{old.id}-viewing.mp4", f"{long.id}-viewing.mp4"])


def test_a_real_recording_goes_the_whole_way(herons: Season, camera_film: Path, queue: Queue) -> None:
    (film,) = bring_film(herons, "g1", [camera_film], keep=True)
    assert (film.state, film.n_frames, film.damage) == ("ready", 250, ())
    assert queue.run([film.id]) == []
    assert herons.original(film.id).parent == herons.folder / "film"
    strip = kept_strip(herons.store, film.id)
    assert strip is not None and strip.black == () and strip.damage == ()
    assert (strip.integrated, len(strip.loudness), strip.waveform(10)) == (-120.0, 0, ([], []))
    assert float(strip.change[1:].min()) > 0, "a street never stands still"


def test_clips_come_from_the_original_and_from_a_copy_only_when_that_is_away_saying_so(
    herons: Season, card: Card, queue: Queue, tmp_path: Path
) -> None:
    here = tmp_path / "card.mp4"
    shutil.copyfile(card(LONG), here)
    (film,) = bring_film(herons, "g1", [here])
    assert (herons.clip_source(film.id).path, herons.clip_source(film.id).said) == (here, "")
    queue.run([film.id])
    assert herons.clip_source(film.id).path == here
    here.unlink()
    source = herons.clip_source(film.id)
    assert source.path.name == f"{film.id}-viewing.mp4"
    assert source.said == "card.mp4: the original is away; cut from the viewing copy, a smaller picture"
    assert herons.film(film.id).state == "ready" and herons.film(film.id).original == "away"
    source.path.unlink()
    with pytest.raises(NoFilm, match="not at"):
        herons.clip_source(film.id)


def test_an_original_is_copied_verified_and_used_from_then_on(
    herons: Season, card: Card, queue: Queue, tmp_path: Path
) -> None:
    here = tmp_path / "card.MP4"
    shutil.copyfile(card(PLAIN), here)
    (film,) = bring_film(herons, "g1", [here], keep=True)
    assert herons.original(film.id) == here
    assert queue.run([film.id]) == []
    here.unlink()
    kept = herons.original(film.id)
    assert kept == herons.folder / "film" / f"{film.id}-original.mp4"
    assert kept.read_bytes() == card(PLAIN).read_bytes()
    assert herons.film(film.id).path == f"film/{film.id}-original.mp4", "inside, so that the folder can be moved"


def test_a_season_has_one_queue(herons: Season, queue: Queue) -> None:
    with pytest.raises(QueueTaken, match="another floorbook"):
        Queue(herons)
    queue.close()
    Queue(herons).close()


def test_a_film_can_be_played_to_where_its_copy_is_done(herons: Season, card: Card, queue: Queue) -> None:
    (film,) = bring_film(herons, "g1", [card(GAME)])
    assert film.state == "waiting"
    queue.start()
    until(lambda: herons.film(film.id).state == "ready")
    part = herons.showing(film.id)
    assert not part.whole and part.version.startswith("part-")
    assert 0 < part.index.n_frames < film.n_frames
    assert part.index.all_ms().tolist() == herons.film_index(film.id).all_ms().tolist()[: part.index.n_frames]
    until(lambda: herons.showing(film.id).whole)
    assert herons.showing(film.id).version == "viewing"
    assert herons.showing(film.id).index.n_frames == film.n_frames


def test_interlaced_film_shows_every_field_and_keeps_its_own_frames_for_marks(
    herons: Season, card: Card, queue: Queue
) -> None:
    (film,) = bring_film(herons, "g1", [card(FIELDS)])
    assert queue.run([film.id]) == []
    showing, index = herons.showing(film.id), herons.film_index(film.id)
    assert (index.n_frames, showing.index.n_frames) == (40, 80)
    times = showing.index.all_ms().tolist()
    assert times[::2] == index.all_ms().tolist() and times[1] - times[0] == 20
    worked_out = beginning_of(index, 40, 2)
    assert abs(worked_out.all_ms() - showing.index.all_ms()).max() <= 1, "as a part in the making is shown"
    assert beginning_of(index, 10, 2).duration_ms == 400 and beginning_of(index, 10, 1).n_frames == 10


def _running(book: JobBook, kind: str) -> bool:
    return any(job.state == "running" and job.kind == kind for job in book.all())


def test_a_paused_job_rests_until_it_is_resumed_and_keeps_what_is_done(
    herons: Season, card: Card, queue: Queue
) -> None:
    (film,) = bring_film(herons, "g1", [card(GAME)])
    book = JobBook(herons.store)
    queue.start()
    until(lambda: _running(book, "viewing") and herons.film(film.id).state == "ready")
    (job,) = [job for job in book.of_film(film.id) if job.kind == "viewing"]
    book.pause(job.id)
    pieces = herons.folder / "film" / f"{film.id}-viewing.mp4.work"
    until(lambda: not list(pieces.glob("*.part")))
    done = sorted(path.name for path in pieces.glob("piece-*.mp4"))
    assert done and book.job(job.id).state == "paused"
    until(lambda: not any(job.kind == "strip" for job in book.all()))
    assert book.job(job.id).state == "paused", "the queue goes on with other work, not with this"
    begun = {name: (pieces / name).stat().st_mtime_ns for name in done}
    book.resume(job.id)
    until(lambda: len(list(pieces.glob("piece-*.mp4"))) > len(done) or herons.showing(film.id).whole)
    assert {
        name: (pieces / name).stat().st_mtime_ns for name in done if (pieces / name).exists()
    }.items() <= begun.items()
    until(lambda: book.all() == [])
    assert herons.showing(film.id).index.n_frames == film.n_frames


def test_a_job_given_up_leaves_nothing(herons: Season, card: Card, queue: Queue) -> None:
    (film,) = bring_film(herons, "g1", [card(GAME)])
    book = JobBook(herons.store)
    queue.start()
    until(lambda: herons.film(film.id).state == "ready")
    for job in book.all():
        book.drop(job.id)
    assert book.all() == []
    until(lambda: left(herons) == [])
    assert herons.film(film.id).state == "waiting"


def test_urgent_work_goes_before_long_work_that_is_under_way(herons: Season, card: Card, queue: Queue) -> None:
    long = Recipe("long game", n_frames=1000, gop=1000, rate=Fraction(10), size=(320, 180), sound=None)
    (film,) = bring_film(herons, "g1", [card(long)])
    book = JobBook(herons.store)
    queue.start()
    until(lambda: _running(book, "viewing"))
    (wrapped,) = bring_film(herons, "g1", [card(WRAPPED)])
    until(lambda: herons.film(wrapped.id).state == "ready")
    assert any(job.kind == "viewing" and job.film == film.id for job in book.all()), "the long work is still to be done"


def test_a_killed_child_is_one_line_and_the_work_goes_on_where_it_was(herons: Season, card: Card, queue: Queue) -> None:
    (film,) = bring_film(herons, "g1", [card(GAME)])
    book = JobBook(herons.store)
    queue.start()
    until(lambda: herons.film(film.id).state == "ready")
    pieces = herons.folder / "film" / f"{film.id}-viewing.mp4.work"
    done = {path.name for path in pieces.glob("piece-*.json")}
    import multiprocessing

    for child in multiprocessing.active_children():
        child.kill()
    until(lambda: book.of_film(film.id)[0].state == "failed")
    job = book.of_film(film.id)[0]
    assert job.why.startswith("slow.avi: reading it brought the reader down") and "\n" not in job.why
    assert {path.name for path in pieces.glob("piece-*.json")} >= done
    book.resume(job.id)
    until(lambda: book.all() == [])
    assert read_numbers(herons.showing(film.id).path)[::500] == list(range(0, 1500, 500))


_SERVE = """
import sys, time
from pathlib import Path
from tagger.queue import Queue
from tagger.season import Season

if __name__ == "__main__":
    queue = Queue(Season.open(Path(sys.argv[1])))
    queue.start()
    print("open", flush=True)
    time.sleep(600)
"""


def test_work_is_gone_on_with_after_the_program_was_killed(herons: Season, card: Card, tmp_path: Path) -> None:
    (film,) = bring_film(herons, "g1", [card(GAME)])
    book = JobBook(herons.store)
    program = tmp_path / "program.py"
    program.write_text(_SERVE, encoding="utf-8")
    environ = {**os.environ, "PYTHONPATH": str(CLONE)}
    served = subprocess.Popen([sys.executable, str(program), str(herons.folder)], stdout=subprocess.PIPE, env=environ)
    assert served.stdout is not None
    try:
        assert served.stdout.readline().strip() == b"open"
        until(lambda: herons.film(film.id).state == "ready" and _running(book, "viewing"))
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
        assert [job.state for job in book.of_film(film.id)] == ["waiting", "waiting"]
        assert not list((herons.folder / "film").glob("*.part"))
        assert queue.run([film.id]) == []
    finally:
        queue.close()
    assert herons.showing(film.id).version == "viewing"
    assert read_numbers(herons.showing(film.id).path)[::500] == list(range(0, 1500, 500))


def test_a_copy_that_was_whole_when_the_program_ended_is_not_made_again(
    herons: Season, card: Card, queue: Queue, monkeypatch: pytest.MonkeyPatch
) -> None:
    (film,) = bring_film(herons, "g1", [card(OLD)])
    assert queue.run([film.id]) == []
    with herons.store.writing() as db:
        db.execute("DELETE FROM copies")
    showing = herons.showing(film.id)
    assert showing.whole and showing.index.all_ms().tolist() == herons.film_index(film.id).all_ms().tolist()
    JobBook(herons.store).add_steps("g1", film.id, [Step("viewing", 2)])
    monkeypatch.setattr(works, "_check_room", lambda target, job: pytest.fail("it is made again"))
    assert queue.run([film.id]) == []
    assert herons.showing(film.id).version == "viewing"


@pytest.mark.parametrize("new", [False, True])
def test_film_that_came_in_just_before_the_program_ended_is_not_brought_twice(
    herons: Season, card: Card, queue: Queue, new: bool
) -> None:
    book = JobBook(herons.store)
    told = {"id": "g2", "date": "2026-03-21", "opponent": "Millrace", "home": True}
    body = {"paths": [str(card(PLAIN))], "in_order": True, "keep": False, **({"new": told} if new else {})}
    job = book.add(BRING, 0, game="" if new else "g1", body=body)
    book.begin(job)
    works.do(job, works.Desk(herons, lambda share, text: None, lambda: False))
    book.requeue()  # as after a kill before the job was taken out of the book
    queue.start()
    until(lambda: book.all() == [])
    assert [film.name for film in herons.films("g2" if new else "g1")] == ["first half.mp4"]
    again = book.add(BRING, 0, game="g2" if new else "g1", body={**body, "new": None})
    until(lambda: book.job(again.id).state == "failed")
    assert "already" in book.job(again.id).why, "asked for anew, it is said"


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
    assert herons.film(film.id).state == "ready", "it plays as it lies meanwhile"
    JobBook(herons.store).resume(failed[0].id)
    assert queue.run([film.id]) == []
    assert herons.showing(film.id).version == "viewing"


def no_space(*args: object, **kwargs: object) -> None:
    """Stands for work that the disk becomes full in."""
    raise OSError(errno.ENOSPC, "No space left on device", "somewhere.mp4")


def test_a_disk_that_fills_up_meanwhile_is_one_line(
    herons: Season, card: Card, queue: Queue, monkeypatch: pytest.MonkeyPatch
) -> None:
    (film,) = bring_film(herons, "g1", [card(PLAIN)])
    monkeypatch.setitem(works._WORKS, STRIP, no_space)
    (failed,) = queue.run([film.id])
    assert failed.why == "somewhere.mp4: No space left on device; check the name, its rights and the room on the disk"


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
    assert done.stdout.startswith("slow.avi: the result is too large a file for this disk; use a disk that takes")
    assert not herons.shelf.copies.copy_target(film.id, "viewing").exists()
    assert not [name for name in left(herons) if name.endswith(".part")]


_LIMITED = """
import resource, signal, sys
from pathlib import Path
from tagger.queue import Queue
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
    assert [job.state for job in JobBook(herons.store).all()] == ["waiting", "waiting"]
    assert queue.run([film.id]) == [] and herons.film(film.id).state == "ready"


def test_a_fault_of_ours_stops_one_job_and_not_the_queue(
    herons: Season, card: Card, queue: Queue, monkeypatch: pytest.MonkeyPatch
) -> None:
    (film,) = bring_film(herons, "g1", [card(WRAPPED)])
    monkeypatch.setitem(works._WORKS, STRIP, lambda job, desk: 1 / 0)
    (failed,) = queue.run([film.id])
    assert failed.kind == "strip" and failed.why.startswith("our own fault (ZeroDivisionError")
    assert herons.film(film.id).state == "ready"


def test_a_copy_that_was_deleted_is_asked_for_again(herons: Season, card: Card, queue: Queue) -> None:
    (film,) = bring_film(herons, "g1", [card(WRAPPED)])
    queue.run([film.id])
    herons.shelf.copies.copy_target(film.id, "playable").unlink()
    assert herons.film(film.id).state == "waiting"
    queue.start()
    until(lambda: herons.film(film.id).state == "ready")


def test_a_pause_holds_over_a_restart(herons: Season, card: Card) -> None:
    (film,) = bring_film(herons, "g1", [card(OLD)])
    book = JobBook(herons.store)
    book.pause_all()
    queue = Queue(herons)
    assert queue.run([film.id]) == [] and [job.state for job in book.all()] == ["paused", "paused"]
    book.resume_all()
    queue.run([film.id])
    queue.close()
    assert book.all() == []


def cores_in_use(path: Path) -> int:
    """How many cores the process that this runs in may use."""
    return usable()


@pytest.mark.skipif(sys.platform not in ("linux", "win32"), reason="the system binds no process to cores")
def test_work_keeps_to_the_share_of_cores(herons: Season, tmp_path: Path) -> None:
    settings = herons.folder / "season.toml"
    settings.write_text('id = "s1"\nfilm_cores = 1\n', encoding="utf-8")
    assert herons.settings.film_cores == 1
    desk = works.Desk(herons, lambda share, told: None, lambda: False)
    bare = replace(desk)
    assert bare.n_cores == 1
    from tagger.cores import within
    from tagger.film.child import in_child

    assert in_child(within, 1, cores_in_use, tmp_path, film=tmp_path) == 1
    assert share_of(0) == max(1, usable() // 2) and share_of(10_000) == usable()


def test_progress_tells_the_time_left(herons: Season, card: Card, queue: Queue) -> None:
    (film,) = bring_film(herons, "g1", [card(GAME)])
    book = JobBook(herons.store)
    seen: list[Job] = []
    watching = threading.Event()

    def watch() -> None:
        own = Season.open(herons.folder)
        while not watching.is_set():
            seen.extend(job for job in JobBook(own.store).of_film(film.id) if job.kind == "viewing")
            time.sleep(0.1)
        own.close()

    thread = threading.Thread(target=watch)
    thread.start()
    queue.run([film.id])
    watching.set()
    thread.join()
    shares = [job.share for job in seen]
    assert shares == sorted(shares) and book.all() == []
    told = [job for job in seen if job.left_s is not None]
    if told:  # a fast machine is done before there is anything to tell
        assert all(job.left_s >= 0 and job.told.startswith("frame ") for job in told if job.left_s is not None)

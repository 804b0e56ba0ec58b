"""The queue of film work: what it makes, in which order, and how it rests."""

from __future__ import annotations

import shutil
import sys
import threading
import time
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from tagger.errors import NoFilm
from tagger.film.errors import FilmStopped
from tagger.film.probe import probe
from tagger.season import Season
from tagger.shelf.copies import beginning_of
from tagger.shelf.strip import kept_strip
from tagger.work import cores, doing
from tagger.work.bring import bring_film
from tagger.work.cores import share_of, threads_of, usable
from tagger.work.job import Job
from tagger.work.jobs import JobList
from tagger.work.queue import Queue, QueueTaken
from tests.film.maker import Recipe, read_numbers
from tests.season.conftest import Card, left
from tests.season.films import FIELDS, GAME, LONG, OLD, PLAIN, WRAPPED, running, until


def test_film_of_every_kind_is_made_playable_and_looked_through(herons: Season, card: Card, queue: Queue) -> None:
    wrapped, old, long = bring_film(herons, "g1", [card(WRAPPED), card(OLD), card(LONG)])
    told: list[tuple[str, float]] = []
    failed = queue.run([wrapped.id, old.id, long.id], tell=lambda job, share, text: told.append((job.kind, share)))
    assert failed == [] and JobList(herons.store).all() == []
    assert {"viewing", "strip"} <= {kind for kind, _ in told} and told[-1][1] == 1.0
    assert [film.state for film in herons.shelf.films("g1")] == ["ready"] * 3
    for film, version in ((wrapped, "playable"), (old, "viewing"), (long, "viewing")):
        showing = herons.shelf.copies.showing(film.id)
        assert (showing.version, showing.whole) == (version, True)
        assert probe(showing.path).as_it_lies
        assert read_numbers(showing.path) == list(range(film.n_frames))
        assert showing.index.all_ms().tolist() == herons.shelf.indexes.of(film.id).all_ms().tolist()
        strip = kept_strip(herons.store, film.id)
        assert strip is not None and strip.integrated < 0 and len(strip.change) == film.n_frames
    assert herons.shelf.copies.showing(long.id, "original").path == card(LONG)
    assert left(herons) == sorted([f"{wrapped.id}-playable.mp4", f"{old.id}-viewing.mp4", f"{long.id}-viewing.mp4"])


def test_a_real_recording_goes_the_whole_way(herons: Season, camera_film: Path, queue: Queue) -> None:
    (film,) = bring_film(herons, "g1", [camera_film], keep=True)
    assert (film.state, film.n_frames, film.damage) == ("ready", 250, ())
    assert queue.run([film.id]) == []
    assert herons.shelf.whereabouts.original(film.id).parent == herons.folder / "film"
    strip = kept_strip(herons.store, film.id)
    assert strip is not None and strip.black == () and strip.damage == ()
    assert (strip.integrated, len(strip.loudness), len(strip.low), len(strip.high)) == (-120.0, 0, 0, 0)
    assert float(strip.change[1:].min()) > 0, "a street never stands still"


def test_clips_come_from_the_original_and_from_a_copy_only_when_that_is_away_saying_so(
    herons: Season, card: Card, queue: Queue, tmp_path: Path
) -> None:
    here = tmp_path / "card.mp4"
    shutil.copyfile(card(LONG), here)
    (film,) = bring_film(herons, "g1", [here])
    assert (herons.shelf.copies.clip_source(film.id).path, herons.shelf.copies.clip_source(film.id).said) == (here, "")
    queue.run([film.id])
    assert herons.shelf.copies.clip_source(film.id).path == here
    here.unlink()
    source = herons.shelf.copies.clip_source(film.id)
    assert source.path.name == f"{film.id}-viewing.mp4"
    assert source.said == "card.mp4: the original is away; cut from the viewing copy, a smaller picture"
    assert herons.shelf.film(film.id).state == "ready" and herons.shelf.film(film.id).original == "away"
    source.path.unlink()
    with pytest.raises(NoFilm, match="not at"):
        herons.shelf.copies.clip_source(film.id)


def test_an_original_is_copied_verified_and_used_from_then_on(
    herons: Season, card: Card, queue: Queue, tmp_path: Path
) -> None:
    here = tmp_path / "card.MP4"
    shutil.copyfile(card(PLAIN), here)
    (film,) = bring_film(herons, "g1", [here], keep=True)
    assert herons.shelf.whereabouts.original(film.id) == here
    assert queue.run([film.id]) == []
    here.unlink()
    kept = herons.shelf.whereabouts.original(film.id)
    assert kept == herons.folder / "film" / f"{film.id}-original.mp4"
    assert kept.read_bytes() == card(PLAIN).read_bytes()
    assert herons.shelf.film(film.id).path == f"film/{film.id}-original.mp4", "inside, so that the folder can be moved"


def test_a_season_has_one_queue(herons: Season, queue: Queue) -> None:
    with pytest.raises(QueueTaken, match="another floorbook"):
        Queue(herons)
    queue.close()
    Queue(herons).close()


def test_a_film_can_be_played_to_where_its_copy_is_done(herons: Season, card: Card, queue: Queue) -> None:
    (film,) = bring_film(herons, "g1", [card(GAME)])
    assert film.state == "waiting"
    queue.start()
    until(lambda: herons.shelf.film(film.id).state == "ready")
    part = herons.shelf.copies.showing(film.id)
    assert not part.whole and part.version.startswith("part-")
    assert 0 < part.index.n_frames < film.n_frames
    assert part.index.all_ms().tolist() == herons.shelf.indexes.of(film.id).all_ms().tolist()[: part.index.n_frames]
    until(lambda: herons.shelf.copies.showing(film.id).whole)
    assert herons.shelf.copies.showing(film.id).version == "viewing"
    assert herons.shelf.copies.showing(film.id).index.n_frames == film.n_frames


def test_interlaced_film_shows_every_field_and_keeps_its_own_frames_for_marks(
    herons: Season, card: Card, queue: Queue
) -> None:
    (film,) = bring_film(herons, "g1", [card(FIELDS)])
    assert queue.run([film.id]) == []
    showing, index = herons.shelf.copies.showing(film.id), herons.shelf.indexes.of(film.id)
    assert (index.n_frames, showing.index.n_frames) == (40, 80)
    times = showing.index.all_ms().tolist()
    assert times[::2] == index.all_ms().tolist() and times[1] - times[0] == 20
    worked_out = beginning_of(index, 40, 2)
    assert abs(worked_out.all_ms() - showing.index.all_ms()).max() <= 1, "as a part in the making is shown"
    assert beginning_of(index, 10, 2).duration_ms == 400 and beginning_of(index, 10, 1).n_frames == 10


def test_a_paused_job_rests_until_it_is_resumed_and_keeps_what_is_done(
    herons: Season, card: Card, queue: Queue
) -> None:
    (film,) = bring_film(herons, "g1", [card(GAME)])
    jobs = JobList(herons.store)
    queue.start()
    until(lambda: running(jobs, "viewing") and herons.shelf.film(film.id).state == "ready")
    (job,) = [job for job in jobs.of_film(film.id) if job.kind == "viewing"]
    jobs.pause(job.id)
    pieces = herons.folder / "film" / f"{film.id}-viewing.mp4.work"
    until(lambda: not list(pieces.glob("*.part")))
    done = sorted(path.name for path in pieces.glob("piece-*.mp4"))
    assert done and jobs.job(job.id).state == "paused"
    until(lambda: not any(job.kind == "strip" for job in jobs.all()))
    assert jobs.job(job.id).state == "paused", "the queue goes on with other work, not with this"
    begun = {name: (pieces / name).stat().st_mtime_ns for name in done}
    jobs.resume(job.id)
    until(lambda: len(list(pieces.glob("piece-*.mp4"))) > len(done) or herons.shelf.copies.showing(film.id).whole)
    assert {
        name: (pieces / name).stat().st_mtime_ns for name in done if (pieces / name).exists()
    }.items() <= begun.items()
    until(lambda: jobs.all() == [])
    assert herons.shelf.copies.showing(film.id).index.n_frames == film.n_frames


def test_a_job_given_up_leaves_nothing(herons: Season, card: Card, queue: Queue) -> None:
    (film,) = bring_film(herons, "g1", [card(GAME)])
    jobs = JobList(herons.store)
    queue.start()
    until(lambda: herons.shelf.film(film.id).state == "ready")
    for job in jobs.all():
        jobs.drop(job.id)
    assert jobs.all() == []
    until(lambda: left(herons) == [])
    assert herons.shelf.film(film.id).state == "waiting"


def test_urgent_work_goes_before_long_work_that_is_under_way(herons: Season, card: Card, queue: Queue) -> None:
    long = Recipe("long game", n_frames=1000, gop=1000, rate=Fraction(10), size=(320, 180), sound=None)
    (film,) = bring_film(herons, "g1", [card(long)])
    jobs = JobList(herons.store)
    queue.start()
    until(lambda: running(jobs, "viewing"))
    (wrapped,) = bring_film(herons, "g1", [card(WRAPPED)])
    until(lambda: herons.shelf.film(wrapped.id).state == "ready")
    assert any(job.kind == "viewing" and job.film == film.id for job in jobs.all()), "the long work is still to be done"


def test_a_pause_holds_over_a_restart(herons: Season, card: Card) -> None:
    (film,) = bring_film(herons, "g1", [card(OLD)])
    jobs = JobList(herons.store)
    jobs.pause_all()
    queue = Queue(herons)
    assert queue.run([film.id]) == [] and [job.state for job in jobs.all()] == ["paused", "paused"]
    jobs.resume_all()
    queue.run([film.id])
    queue.close()
    assert jobs.all() == []


def cores_in_use(path: Path) -> int:
    """How many cores the process that this runs in may use."""
    return usable()


@pytest.mark.skipif(sys.platform not in ("linux", "win32"), reason="the system binds no process to cores")
def test_work_keeps_to_the_share_of_cores(herons: Season, tmp_path: Path) -> None:
    settings = herons.folder / "season.toml"
    settings.write_text('id = "s1"\nfilm_cores = 1\n', encoding="utf-8")
    assert herons.texts.settings.film_cores == 1
    means = doing.Means(herons, lambda share, told: None, lambda: False)
    bare = replace(means)
    assert bare.n_cores == 1
    from tagger.film.child import in_child
    from tagger.work.cores import within

    assert in_child(within, 1, cores_in_use, tmp_path, film=tmp_path) == 1
    assert means.n_threads == 1 and threads_of(3) == 3, "the system sees to it"
    assert share_of(0) == max(1, usable() // 2) and share_of(10_000) == usable()


def test_where_no_process_can_be_bound_two_libraries_share_the_cores(
    herons: Season, card: Card, queue: Queue, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cores.sys, "platform", "darwin")
    assert [threads_of(n) for n in (1, 2, 3, 8)] == [1, 1, 1, 4]
    monkeypatch.setattr(cores, "share_of", lambda film_cores: 8)
    monkeypatch.setattr(doing, "share_of", lambda film_cores: 8)
    asked: list[tuple[str, int]] = []

    def note(self: doing.Means, work: Any, *args: Any, film: Path, leaves: Any = (), **more: Any) -> None:
        settings = more.get("settings")
        asked.append((work.__name__, settings.n_threads if settings is not None else more["n_threads"]))
        raise FilmStopped("stopped", film, "go on")

    monkeypatch.setattr(doing.Means, "in_child", note)
    bring_film(herons, "g1", [card(WRAPPED), card(LONG)])
    for job in JobList(herons.store).all():
        with pytest.raises(FilmStopped):
            doing.do_job(job, doing.Means(herons, lambda share, told: None, lambda: False))
    assert set(asked) == {("make_playable", 4), ("make_viewing_copy", 4), ("make_strip", 4)}


def test_progress_tells_the_time_left(herons: Season, card: Card, queue: Queue) -> None:
    (film,) = bring_film(herons, "g1", [card(GAME)])
    jobs = JobList(herons.store)
    seen: list[Job] = []
    watching = threading.Event()

    def watch() -> None:
        own = Season.open(herons.folder)
        while not watching.is_set():
            seen.extend(job for job in JobList(own.store).of_film(film.id) if job.kind == "viewing")
            time.sleep(0.1)
        own.close()

    thread = threading.Thread(target=watch)
    thread.start()
    queue.run([film.id])
    watching.set()
    thread.join()
    shares = [job.share for job in seen]
    assert shares == sorted(shares) and jobs.all() == []
    told = [job for job in seen if job.left_s is not None]
    if told:  # a fast machine is done before there is anything to tell
        assert all(job.left_s >= 0 and job.told for job in told if job.left_s is not None)
        assert any(job.told.startswith("frame ") for job in told)

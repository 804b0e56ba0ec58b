"""The list of work on film: order, states, and what belongs to a film goes with it."""

from __future__ import annotations

import pytest

from tagger.errors import NoJob
from tagger.season import Season
from tagger.shelf.films import NewFilm
from tagger.work.job import BRING
from tagger.work.jobs import JobList
from tagger.work.plan import Step


@pytest.fixture
def jobs(herons: Season) -> JobList:
    herons.shelf.enter("g1", [NewFilm("fa", "a.mp4", 60_000)])
    herons.shelf.enter("g1", [NewFilm("fb", "b.mp4", 60_000)])
    return JobList(herons.store)


def kinds(jobs: JobList) -> list[str]:
    return [f"{job.film or '-'} {job.kind}" for job in jobs.all()]


def test_the_most_urgent_comes_first_and_among_equals_the_older(jobs: JobList) -> None:
    jobs.add_steps("g1", "fa", [Step("strip", 5), Step("viewing", 4, 1000)])
    jobs.add_steps("g1", "fb", [Step("playable", 1), Step("strip", 5)])
    jobs.add(BRING, 0, body={"paths": ["x.mp4"]})
    assert kinds(jobs) == ["- bring", "fb playable", "fa viewing", "fa strip", "fb strip"]
    assert jobs.next().kind == BRING  # type: ignore[union-attr]
    assert jobs.next(["fa"]).kind == "viewing"  # type: ignore[union-attr]
    assert jobs.next(["fx"]) is None


def test_the_same_work_is_not_asked_for_twice(jobs: JobList) -> None:
    for _ in range(2):
        jobs.add_steps("g1", "fa", [Step("strip", 5), Step("viewing", 4)])
    assert kinds(jobs) == ["fa viewing", "fa strip"]


def test_states_go_only_where_they_may(jobs: JobList) -> None:
    jobs.add_steps("g1", "fa", [Step("viewing", 4)])
    job = jobs.next()
    assert job is not None
    jobs.resume(job.id)
    assert jobs.job(job.id).state == "waiting"
    jobs.begin(job)
    jobs.report(job, 0.5, "frame 10 of 20", 12.0)
    held = jobs.job(job.id)
    assert (held.state, held.share, held.told, held.left_s) == ("running", 0.5, "frame 10 of 20", 12.0)
    assert jobs.next() is None and jobs.wants_to_go_on(job)
    jobs.pause(job.id)
    assert not jobs.wants_to_go_on(job)
    jobs.rest(job)
    assert (jobs.job(job.id).state, jobs.job(job.id).left_s) == ("paused", None), "what was paused stays so"
    jobs.begin(job)
    assert jobs.job(job.id).state == "paused"
    jobs.resume(job.id)
    jobs.begin(job)
    jobs.fail(job, "the disk is full; make room")
    assert (jobs.job(job.id).state, jobs.job(job.id).why) == ("failed", "the disk is full; make room")
    jobs.pause(job.id)
    assert jobs.job(job.id).state == "failed"
    jobs.resume(job.id)
    jobs.begin(job)
    assert jobs.job(job.id).why == ""
    jobs.requeue()
    assert jobs.job(job.id).state == "waiting"
    jobs.drop(job.id)
    assert jobs.all() == [] and [one.id for one in jobs.dropped()] == [job.id]
    jobs.fail(job, "too late")
    assert jobs.all() == []
    for ask in (jobs.job, jobs.pause, jobs.resume, jobs.drop):
        with pytest.raises(NoJob, match="not in the list any more"):
            ask(job.id)


def test_long_work_gives_way_to_what_a_film_needs_to_play_at_all(jobs: JobList) -> None:
    jobs.add_steps("g1", "fa", [Step("viewing", 4)])
    job = jobs.next()
    assert job is not None
    jobs.begin(job)
    jobs.add_steps("g1", "fb", [Step("keep", 3), Step("strip", 5)])
    assert jobs.wants_to_go_on(job)
    jobs.add_steps("g1", "fb", [Step("playable", 1)])
    assert not jobs.wants_to_go_on(job)
    jobs.pause_all()
    assert {one.state for one in jobs.all()} == {"paused"}
    jobs.resume_all()
    assert {one.state for one in jobs.all()} == {"waiting"}


def test_work_goes_with_its_film_and_its_game(jobs: JobList, herons: Season) -> None:
    jobs.add_steps("g1", "fa", [Step("viewing", 4)])
    jobs.add(BRING, 0, game="g1")
    with herons.store.writing() as db:
        db.execute("DELETE FROM films WHERE id = 'fa'")
    assert kinds(jobs) == ["- bring"]
    with herons.store.writing() as db:
        db.execute("DELETE FROM films")
        db.execute("DELETE FROM games WHERE id = 'g1'")
    assert jobs.all() == []


def test_a_report_is_not_worth_the_disk_but_everything_else_is(jobs: JobList, herons: Season) -> None:
    jobs.add_steps("g1", "fa", [Step("viewing", 4)])
    job = jobs.next()
    assert job is not None
    jobs.report(job, 0.1, "x", None)
    assert herons.store.connection().execute("PRAGMA synchronous").fetchone()[0] == 2, "FULL again"

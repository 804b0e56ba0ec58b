"""The book of work on film: order, states, and what belongs to a film goes with it."""

from __future__ import annotations

import pytest

from tagger.errors import NoJob
from tagger.season import Season
from tagger.shelf.films import NewFilm
from tagger.work.jobs import BRING, JobBook
from tagger.work.plan import Step


@pytest.fixture
def book(herons: Season) -> JobBook:
    herons.shelf.enter("g1", [NewFilm("fa", "a.mp4", 60_000)])
    herons.shelf.enter("g1", [NewFilm("fb", "b.mp4", 60_000)])
    return JobBook(herons.store)


def kinds(book: JobBook) -> list[str]:
    return [f"{job.film or '-'} {job.kind}" for job in book.all()]


def test_the_most_urgent_comes_first_and_among_equals_the_older(book: JobBook) -> None:
    book.add_steps("g1", "fa", [Step("strip", 5), Step("viewing", 4, 1000)])
    book.add_steps("g1", "fb", [Step("playable", 1), Step("strip", 5)])
    book.add(BRING, 0, body={"paths": ["x.mp4"]})
    assert kinds(book) == ["- bring", "fb playable", "fa viewing", "fa strip", "fb strip"]
    assert book.next().kind == BRING  # type: ignore[union-attr]
    assert book.next(["fa"]).kind == "viewing"  # type: ignore[union-attr]
    assert book.next(["fx"]) is None


def test_the_same_work_is_not_asked_for_twice(book: JobBook) -> None:
    for _ in range(2):
        book.add_steps("g1", "fa", [Step("strip", 5), Step("viewing", 4)])
    assert kinds(book) == ["fa viewing", "fa strip"]


def test_states_go_only_where_they_may(book: JobBook) -> None:
    book.add_steps("g1", "fa", [Step("viewing", 4)])
    job = book.next()
    assert job is not None
    book.resume(job.id)
    assert book.job(job.id).state == "waiting"
    book.begin(job)
    book.report(job, 0.5, "frame 10 of 20", 12.0)
    held = book.job(job.id)
    assert (held.state, held.share, held.told, held.left_s) == ("running", 0.5, "frame 10 of 20", 12.0)
    assert book.next() is None and book.wants_to_go_on(job)
    book.pause(job.id)
    assert not book.wants_to_go_on(job)
    book.rest(job)
    assert (book.job(job.id).state, book.job(job.id).left_s) == ("paused", None), "what was paused stays so"
    book.begin(job)
    assert book.job(job.id).state == "paused"
    book.resume(job.id)
    book.begin(job)
    book.fail(job, "the disk is full; make room")
    assert (book.job(job.id).state, book.job(job.id).why) == ("failed", "the disk is full; make room")
    book.pause(job.id)
    assert book.job(job.id).state == "failed"
    book.resume(job.id)
    book.begin(job)
    assert book.job(job.id).why == ""
    book.requeue()
    assert book.job(job.id).state == "waiting"
    book.drop(job.id)
    assert book.all() == [] and [one.id for one in book.dropped()] == [job.id]
    book.fail(job, "too late")
    assert book.all() == []
    for ask in (book.job, book.pause, book.resume, book.drop):
        with pytest.raises(NoJob, match="not in the book any more"):
            ask(job.id)


def test_long_work_gives_way_to_what_a_film_needs_to_play_at_all(book: JobBook) -> None:
    book.add_steps("g1", "fa", [Step("viewing", 4)])
    job = book.next()
    assert job is not None
    book.begin(job)
    book.add_steps("g1", "fb", [Step("keep", 3), Step("strip", 5)])
    assert book.wants_to_go_on(job)
    book.add_steps("g1", "fb", [Step("playable", 1)])
    assert not book.wants_to_go_on(job)
    book.pause_all()
    assert {one.state for one in book.all()} == {"paused"}
    book.resume_all()
    assert {one.state for one in book.all()} == {"waiting"}


def test_work_goes_with_its_film_and_its_game(book: JobBook, herons: Season) -> None:
    book.add_steps("g1", "fa", [Step("viewing", 4)])
    book.add(BRING, 0, game="g1")
    with herons.store.writing() as db:
        db.execute("DELETE FROM films WHERE id = 'fa'")
    assert kinds(book) == ["- bring"]
    with herons.store.writing() as db:
        db.execute("DELETE FROM films")
        db.execute("DELETE FROM games WHERE id = 'g1'")
    assert book.all() == []


def test_a_report_is_not_worth_the_disk_but_everything_else_is(book: JobBook, herons: Season) -> None:
    book.add_steps("g1", "fa", [Step("viewing", 4)])
    job = book.next()
    assert job is not None
    book.report(job, 0.1, "x", None)
    assert herons.store.connection().execute("PRAGMA synchronous").fetchone()[0] == 2, "FULL again"

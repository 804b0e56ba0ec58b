"""Pages are worked out once for each state of the season, and nothing older than that state is given but in a crowd."""

from __future__ import annotations

import json
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest

from dashboard.loading import Present
from dashboard.season_state import SeasonState, SeasonWatch
from dashboard.server import create_app
from dashboard.serving.rendered import OLDEST_S, Rendered
from tests.bench.crowd import click

TEXTS = object()


class Season:
    """Stands as it is told to, and counts what is worked out."""

    def __init__(self) -> None:
        self.now = SeasonState(1, (), TEXTS, ())
        self.clock = 0.0
        self.made: list[str] = []
        self.go_on = threading.Event()
        self.go_on.set()
        self.rendered = Rendered(lambda: self.now, lambda: self.clock, most_bytes=100)

    def ask(self, key: str) -> bytes:
        def make() -> bytes:
            self.made.append(key)
            told = f"{key} {self.now.seq}".encode()
            self.go_on.wait(5)
            return told

        told = self.rendered.answer(key, make)
        assert told is not None
        return told

    def work_on(self, key: str) -> ThreadPoolExecutor:
        """Begin to work an answer out that doesn't end before `go_on`."""
        self.go_on.clear()
        pool = ThreadPoolExecutor()
        n_before = len(self.made)
        pool.submit(self.ask, key)
        while len(self.made) == n_before:
            time.sleep(0.002)
        return pool


@pytest.fixture
def kept():
    return Season()


def test_forty_readers_of_one_state_cost_one_rendering(kept):
    pool = kept.work_on("/")
    told = [pool.submit(kept.ask, "/") for _ in range(40)]
    kept.go_on.set()
    assert {one.result() for one in told} == {b"/ 1"} and kept.made == ["/"]
    pool.shutdown()


def test_a_mark_makes_it_worked_out_anew(kept):
    assert kept.ask("/") == b"/ 1"
    kept.now = replace(kept.now, seq=2)
    assert kept.ask("/") == b"/ 2" and kept.ask("/") == b"/ 2" and len(kept.made) == 2


def test_while_another_is_worked_out_marks_may_be_missing_for_a_minute(kept):
    kept.ask("/")
    kept.now = replace(kept.now, seq=2)
    pool = kept.work_on("/sets")
    assert kept.ask("/") == b"/ 1"
    kept.clock = OLDEST_S + 1
    late = pool.submit(kept.ask, "/")
    kept.go_on.set()
    assert late.result() == b"/ 2"
    pool.shutdown()


def test_a_text_a_film_a_game_or_damage_that_changed_is_never_missing(kept):
    texts, films, games = {"texts": object()}, {"films": ("f1",)}, {"games": ("g1",)}
    for changed in (texts, films, games, {"damage": ("a line",)}, {"day": "2026-03-15"}):
        kept.now = replace(kept.now, seq=1)
        kept.ask("/")
        n_made = len(kept.made)
        kept.now = replace(kept.now, seq=2, **changed)
        pool = kept.work_on("/sets")
        late = pool.submit(kept.ask, "/")
        kept.go_on.set()
        assert late.result() == b"/ 2" and kept.made[n_made:] == ["/sets", "/"]
        pool.shutdown()


def test_in_a_crowd_the_oldest_comes_first(kept):
    for key in ("/old", "/young"):
        kept.clock += 1
        kept.ask(key)
    kept.now = replace(kept.now, seq=2)
    pool = kept.work_on("/sets")
    assert (kept.ask("/old"), kept.ask("/young")) == (b"/old 1", b"/young 1")
    kept.go_on.set()
    pool.shutdown()
    assert kept.ask("/young") == b"/young 1"  # asked for in vain, and the other waits longer
    assert kept.ask("/old") == b"/old 2"
    assert kept.ask("/young") == b"/young 2"


def test_what_is_kept_has_a_bound(kept):
    for place in range(50):
        kept.ask(f"/players/{place}")
    assert kept.rendered._n_bytes <= 100 and len(kept.rendered._held) < 10


def test_a_rendering_that_fails_holds_nobody_up(kept):
    def fail() -> bytes:
        raise ValueError

    with pytest.raises(ValueError):
        kept.rendered.answer("/", fail)
    assert kept.ask("/") == b"/ 1"


@pytest.fixture
def asked(season):
    app = create_app(season)
    client = app.test_client()

    def ask(path: str) -> str:
        answer = client.post(
            "/_dash-update-component",
            data=click(path),
            content_type="application/json",
            base_url="http://127.0.0.1",
        )
        assert answer.status_code == 200
        return answer.get_data(as_text=True)

    return ask


def add_mark(season, book: str = "coach") -> None:
    held = [json.loads(body) for body in season.journal.bodies("g1", book)[0]]
    mark = next(each for each in reversed(held) if each["does"] == "mark" and each["kind"] == "shot")
    n = max(each["n"] for each in held) + 1
    (told,) = season.journal.add("g1", book, [mark | {"id": f"again-{n}", "n": n}])
    assert told.state == "stored"


def test_the_same_page_is_the_same_text_and_a_mark_of_the_same_thread_changes_it(season, asked, monkeypatch):
    worked_out = []
    now = Present.now

    def counted(present):
        worked_out.append(1)
        return now(present)

    monkeypatch.setattr(Present, "now", counted)
    first = asked("/games/g1")
    n_before = len(worked_out)
    assert asked("/games/g1") == first and len(worked_out) == n_before
    add_mark(season)
    assert asked("/games/g1") != first and len(worked_out) > n_before


def test_a_page_is_of_one_moment_whatever_comes_meanwhile(season):
    present = Present(season)
    with present.steady():
        moment = present.now()
        add_mark(season)
        assert present.now() is moment and present.filmed().moment is moment
    assert present.now() is not moment


def test_a_roster_written_anew_changes_the_page(season, asked):
    first = asked("/players")
    path = season.folder / "season.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("Herons", "Egrets"), encoding="utf-8")
    assert asked("/players") != first and "Egrets" in asked("/players")


def test_the_watch_sees_what_any_thread_and_this_one_wrote(season):
    watch = SeasonWatch(season)
    before = watch.now()
    assert watch.now() is before
    add_mark(season)
    own = watch.now()
    with ThreadPoolExecutor(1) as other:
        other.submit(add_mark, season).result()
    assert before.seq < own.seq < watch.now().seq


def test_a_film_pulled_out_is_seen_within_a_second(season):
    clock = [0.0]
    watch = SeasonWatch(season, lambda: clock[0])
    before = watch.now()
    film = season.shelf.whereabouts.original(before.films[0].id)  # all seasons' of these tests
    away = film.rename(season.folder / "elsewhere.mp4")
    clock[0] = 1.5
    try:
        assert watch.now().films != before.films
    finally:
        away.rename(film)


def test_two_who_ask_for_a_fold_at_once_wait_for_one(season, monkeypatch):
    import tagger.tagged as of

    folds = []
    fold = of.fold

    def slow(*given):
        folds.append(1)
        time.sleep(0.1)
        return fold(*given)

    monkeypatch.setattr(of, "fold", slow)
    with ThreadPoolExecutor(4) as pool:
        made = list(pool.map(lambda _: season.tagged.folded("g1"), range(4)))
    assert len(folds) == 1 and all(one is made[0] for one in made)

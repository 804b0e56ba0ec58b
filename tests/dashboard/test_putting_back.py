"""A book is put back from the command line and the laptop's page; clocks only help to find the place."""

from __future__ import annotations

import datetime
import re
from pathlib import Path

import pytest

from dashboard import cli
from dashboard.loading import Present
from dashboard.putting_back import arrived, place_said, put_back
from dashboard.server import create_app
from tagger.marks.entries import PUT_BACK
from tagger.screen.visitor import LOOK, TAG, Visitor, welcome
from tagger.season import Season
from tests.dashboard.herons import OTHER_MARKS, UNFILMED, entry, unfilmed

EVENING = datetime.datetime(2020, 11, 27, 20).astimezone()
HERE = {"Host": "127.0.0.1:8765", "Origin": "http://127.0.0.1:8765"}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Ten marks without a time; then of anna's, ten from 20:00 on, a pause, and five from 21:00 on, of ben's."""
    made = unfilmed(tmp_path / "herons")
    season = Season.open(made)
    for place in range(1, 16):
        when = EVENING + datetime.timedelta(minutes=place if place <= 10 else 50 + place)
        raw = entry("g2", len(OTHER_MARKS) + place, UNFILMED, 1000 * place, "note", {"text": f"note {place}"})
        raw |= {"wall": when.astimezone(datetime.UTC).isoformat(), "by": "anna" if place <= 10 else "ben"}
        assert season.journal.add("g2", "coach", [raw])[0].state == "stored"
    season.close()
    return made


@pytest.fixture
def season(folder: Path):
    made = Season.open(folder)
    yield made
    made.close()


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]):
    def call(*words: object) -> tuple[int, str, str]:
        code = cli.main([str(word) for word in words])
        told = capsys.readouterr()
        return code, told.out, told.err

    return call


def marks(folder: Path) -> int:
    season = Season.open(folder)
    n = len(season.tagged.folded("g2").log)
    season.close()
    return n


def test_the_command_puts_a_book_back_and_forth_and_deletes_nothing(run, folder):
    assert marks(folder) == 25
    assert "2020-11-27 20:10:00, #20: 20 marks" in run("journal", folder, "g2", "--moments")[1]
    code, out, _ = run("journal", folder, "g2", "--as-of", "2020-11-27 20:30")
    assert code == 0 and "as of 2020-11-27 20:10:00, #20: 20 marks" in out and "5 later entries taken back" in out
    assert marks(folder) == 20
    again = re.search(r"--as-of “(#\d+)”", out)
    assert again is not None and again[1] == "#25"
    code, out, _ = run("journal", folder, "g2", "--as-of", "2020-11-27 20:10")
    assert code == 0 and "nothing was changed" in out, "the end of that minute"
    assert run("journal", folder, "g2", "--as-of", again[1])[0] == 0 and marks(folder) == 25
    season = Season.open(folder)
    entries = arrived(season, "g2", "coach")
    assert len(entries) == 35 and {one.by for one in entries[25:]} == {PUT_BACK}
    assert not {"not_own", "acts_on_nothing"} & {one.code for one in season.tagged.folded("g2").problems}
    season.close()
    assert run("check", folder)[0] == 0


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("yesterday", "is no moment"),
        ("2020-11-27", "is no moment"),
        ("2020-13-27 21:40", "is no moment"),
        ("#26", "has 25 entries, so no place #26"),
    ],
)
def test_what_is_no_moment_is_said_and_changes_nothing(run, folder, words, told):
    code, _, err = run("journal", folder, "g2", "--as-of", words)
    assert code == 1 and told in err and err.count("\n") == 1
    assert marks(folder) == 25


def test_where_clocks_disagree_the_place_is_asked_for(run, folder, season):
    late = entry("g2", 26, UNFILMED, 900, "note", {"text": "from a laptop that was away"})
    late |= {"wall": (EVENING + datetime.timedelta(minutes=30)).isoformat()}
    season.journal.add("g2", "coach", [late])
    code, _, err = run("journal", folder, "g2", "--as-of", "2020-11-27 20:45")
    assert code == 1 and "#20 or #26" in err
    assert place_said("#20", []) == place_said(" 20 ", []) == 20


def test_a_book_that_is_not_there_is_named(run, folder):
    code, _, err = run("journal", folder, "g2", "--as-of", "#1", "--book", "zoe")
    assert code == 1 and "no book “zoe”; it has “coach”" in err


def test_what_is_entered_meanwhile_came_later_too(season, monkeypatch):
    sound, more = season.journal.add, [entry("g2", 26, UNFILMED, 900, "note", {"text": "just now"})]

    def slow(game, book, raw):
        if more:
            sound(game, book, [more.pop()])
        return sound(game, book, raw)

    monkeypatch.setattr(season.journal, "add", slow)
    done = put_back(season, "g2", "coach", 20, EVENING)
    assert done.n_taken_back == 6 and len(season.tagged.folded("g2").log) == 20


def client_of(season: Season, who: Visitor | None = None):
    app = create_app(season, present=Present(season))
    if who is not None:
        app.before_request(lambda: welcome(who))
    return app.test_client()


def test_the_page_lists_the_moments_on_the_laptop_and_puts_back_there_alone(season):
    from dashboard.pages.game import page

    app = create_app(season, present=Present(season))
    for who, listed in ((Visitor("all"), True), (Visitor(TAG, "zoe"), False), (Visitor(LOOK), False)):
        with app.test_request_context("/games/g2"):
            welcome(who)
            assert ("#20: 20 marks" in str(page(Present(season), "g2", {}))) is listed
        answer = client_of(season, who).post("/games/g2/put-back?book=coach", data={"place": "20"}, headers=HERE)
        assert answer.status_code == (303 if listed else 403)
    assert len(season.tagged.folded("g2").log) == 20


@pytest.mark.parametrize(
    ("book", "data", "status"),
    [
        ("coach", {}, 400),
        ("coach", {"place": "999"}, 400),
        ("coach", {"place": "-1"}, 400),
        ("coach", {"place": "9" * 400}, 400),
        ("zoe", {"place": "1"}, 400),
    ],
)
def test_what_no_page_sends_is_refused_in_words(season, book, data, status):
    answer = client_of(season).post(f"/games/g2/put-back?book={book}", data=data, headers=HERE)
    assert answer.status_code == status and answer.get_json()["error"]
    assert len(season.tagged.folded("g2").log) == 25
    assert client_of(season).post("/games/no/put-back", data={"place": "1"}, headers=HERE).status_code == 404


def test_nobody_enters_marks_under_the_name_that_reaches_everybodys(season):
    undo = {"v": 1, "id": "x", "n": 30, "by": PUT_BACK, "wall": "", "does": "undo", "of": "g2-5"}
    sent = {"season": season.texts.settings.id, "book": "coach", "entries": [undo]}
    answer = client_of(season).post("/tag/g2/entries", json=sent, headers=HERE)
    assert answer.status_code == 403
    assert len(season.tagged.folded("g2").log) == 25

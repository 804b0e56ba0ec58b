"""Another camera's film: where it lies on the game's time line, what is tied to it, and what is refused."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from tagger.errors import BadGame
from tagger.season import Season
from tagger.shelf.cameras import camera_names, tie
from tagger.shelf.films import NewFilm
from tagger.store.database import VERSION, Store
from tagger.work.bring import bring_film
from tests.film.maker import Recipe
from tests.season.conftest import Card
from tests.season.test_season import mark

BEHIND = "behind the goal"
FROZEN = Path(__file__).with_name("season_v1.sql")


@pytest.fixture
def filmed(herons: Season) -> Season:
    for name, ms, gap in (("fa", 60_000, 0), ("fb", 50_000, 2_000)):
        herons.shelf.enter("g1", [NewFilm(name, f"{name}.mp4", ms, gap_ms=gap)])
    for name, ms, gap in (("ca", 30_000, 0), ("cb", 40_000, 1_000)):
        herons.shelf.enter("g1", [NewFilm(name, f"{name}.mp4", ms, gap_ms=gap, camera=BEHIND)])
    return herons


def offsets(season: Season) -> dict[str, int]:
    return {film.id: film.offset_ms for film in season.shelf.other_films("g1")}


def tied_by(season: Season, film: str, at_ms: int, of_film: str, of_ms: int) -> None:
    tie(season.store, season.shelf.film(film), at_ms, season.shelf.film(of_film), of_ms)


def test_untied_it_begins_with_the_game_and_the_games_own_time_line_is_as_it_was(filmed: Season) -> None:
    assert [(film.id, film.offset_ms) for film in filmed.shelf.films("g1")] == [("fa", 0), ("fb", 62_000)]
    assert offsets(filmed) == {"ca": 0, "cb": 31_000}
    assert camera_names(filmed.store, "g1") == [BEHIND]
    assert not any(film.tied for film in filmed.shelf.other_films("g1"))
    assert all(film.tied for film in filmed.shelf.films("g1"))


def test_one_common_moment_puts_all_of_a_cameras_films_in_their_place(filmed: Season) -> None:
    tied_by(filmed, "cb", 4_000, "fb", 10_000)
    assert offsets(filmed) == {"cb": 68_000, "ca": 37_000}
    tied_by(filmed, "ca", 20_000, "fa", 5_000)
    assert offsets(filmed) == {"ca": -15_000, "cb": 16_000}, "a camera may begin before the game's film"
    assert filmed.shelf.film("cb").offset_ms == 16_000
    assert filmed.shelf.film("cb").tied


def test_marks_made_on_it_stand_at_the_moment_and_move_with_the_tie(filmed: Season) -> None:
    tied_by(filmed, "ca", 0, "fa", 10_000)
    marks = [
        mark(1, "period_start", 1_000),
        mark(2, "possession", 2_000, team="ours"),
        mark(3, "shot", 5_000, film="ca", result="goal"),
    ]
    filmed.journal.add("g1", "anna", marks)
    shots = filmed.tagged.tables()["shots"]
    assert shots["at_ms"].tolist() == [15_000]
    tied_by(filmed, "ca", 0, "fa", 12_000)
    assert filmed.tagged.tables()["shots"]["at_ms"].tolist() == [17_000]
    assert not filmed.tagged.folded("g1").problems


@pytest.mark.parametrize(
    ("film", "at_ms", "of_film", "of_ms", "words"),
    [
        ("fa", 0, "fb", 0, "another camera"),
        ("ca", 0, "cb", 0, "another camera"),
        ("ca", 30_001, "fa", 0, "no moment"),
        ("ca", 0, "fa", -1, "no moment"),
    ],
)
def test_a_tie_that_cannot_be_is_refused(
    filmed: Season, film: str, at_ms: int, of_film: str, of_ms: int, words: str
) -> None:
    with pytest.raises(BadGame, match=words):
        tied_by(filmed, film, at_ms, of_film, of_ms)
    assert offsets(filmed) == {"ca": 0, "cb": 31_000}


def test_real_film_comes_in_as_another_camera_of_a_game_that_has_film(herons: Season, card: Card) -> None:
    own, other = card(Recipe("own", n_frames=30)), card(Recipe("other", n_frames=45, gop=7))
    with pytest.raises(BadGame, match="has no film yet"):
        bring_film(herons, "g1", [other], camera=BEHIND)
    bring_film(herons, "g1", [own])
    (film,) = bring_film(herons, "g1", [other], camera=f" {BEHIND} ")
    assert (film.camera, film.state, film.gap_from, film.n_frames) == (BEHIND, "ready", "", 45)
    assert [one.name for one in herons.shelf.films("g1")] == [own.name]
    assert film.id in [one.id for one in herons.shelf.all_films()], (
        "it is looked through and found again like any other"
    )
    with pytest.raises(BadGame, match="1 to 40 letters"):
        bring_film(herons, "g1", [card(Recipe("third", n_frames=20, gop=5))], camera="\n")


def test_a_season_of_version_1_is_lifted_and_keeps_everything(tmp_path: Path) -> None:
    with sqlite3.connect(tmp_path / "season.db") as db:
        db.executescript(FROZEN.read_text(encoding="utf-8"))
    db.close()
    store = Store(tmp_path / "season.db")
    held = store.connection()
    assert held.execute("PRAGMA user_version").fetchone()[0] == VERSION
    assert [tuple(row) for row in held.execute("SELECT id, name, camera FROM films")] == [("f1", "first.mp4", "")]
    assert held.execute("SELECT count(*) FROM journal").fetchone()[0] == 1
    store.close()
    again = Store(tmp_path / "season.db")
    assert again.connection().execute("SELECT count(*) FROM ties").fetchone()[0] == 0
    again.close()

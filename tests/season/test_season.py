"""A season folder: games, films on one time line, marks to tables, and what is said when something is missing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tagger.errors import BadGame, NoFilm, NoGame, NoSeason
from tagger.season import Season
from tagger.shelf.films import NewFilm
from tagger.store.lock import SeasonLock, SeasonLocked
from tagger.texts.folder import read_texts
from tagger.texts.stated import parse_stated


@pytest.fixture
def season(tmp_path: Path) -> Season:
    (tmp_path / "season.toml").write_text('id = "s1"\nteam = "Saltmarsh Herons"\n', encoding="utf-8")
    made = Season.open(tmp_path, make=True)
    made.games.add("g1", "2026-03-14", "Quarry Hill", True)
    made.games.add("g2", "2026-03-21", "Millrace", False)
    return made


def mark(n: int, kind: str, at_ms: int, film: str = "fa", **answers: Any) -> dict[str, Any]:
    return {
        "v": 1,
        "id": f"e{n}",
        "n": n,
        "by": "a",
        "does": "mark",
        "kind": kind,
        "film": film,
        "at_ms": at_ms,
        "answers": answers,
    }


def test_a_folder_without_a_season_is_told(tmp_path: Path) -> None:
    with pytest.raises(NoSeason, match="floorbook new"):
        Season.open(tmp_path)


def test_games_are_found_by_id_date_or_opponent(season: Season) -> None:
    assert season.games.find("g2").opponent == "Millrace"
    assert season.games.find("2026-03-14").id == "g1"
    assert season.games.find("quarry").id == "g1"
    with pytest.raises(NoGame, match=r"g1 \(Quarry Hill\), g2 \(Millrace\)"):
        season.games.find("Fernbank")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("g1", "2026-03-14", "X", True), "already"),
        (("g 3", "2026-03-14", "X", True), "letters"),
        (("g3", "14.3.", "X", True), "date"),
        (("g3", "2026-03-14", " ", True), "opponent"),
    ],
)
def test_a_game_that_cannot_be_is_refused_in_one_line(
    season: Season, arguments: tuple[str, str, str, bool], words: str
) -> None:
    with pytest.raises(BadGame, match=words):
        season.games.add(*arguments)


def test_films_of_a_game_lie_one_after_the_other_with_their_gaps(season: Season) -> None:
    season.shelf.enter("g1", [NewFilm("fa", "a.mp4", 60_000)])
    season.shelf.enter("g1", [NewFilm("fb", "b.mp4", 30_000, gap_ms=5_000)])
    assert [(film.id, film.offset_ms, film.state) for film in season.shelf.films("g1")] == [
        ("fa", 0, "none"),
        ("fb", 65_000, "none"),
    ]
    with pytest.raises(BadGame, match="g1 already"):
        season.shelf.enter("g2", [NewFilm("fa", "a.mp4", 60_000)])


def test_a_film_that_moved_or_changed_is_noticed_and_never_used(season: Season, tmp_path: Path) -> None:
    file = tmp_path / "card" / "a.mp4"
    file.parent.mkdir()
    file.write_bytes(b"12345")
    season.shelf.enter("g1", [NewFilm("fa", "a.mp4", 60_000, path=file, size_bytes=5)])
    assert season.shelf.film("fa").state == "ready" and season.shelf.copies.played("fa")[0] == file
    file.write_bytes(b"123456")
    assert season.shelf.film("fa").state == "changed"
    with pytest.raises(NoFilm, match="another file"):
        season.shelf.whereabouts.original("fa")
    file.unlink()
    assert season.shelf.film("fa").state == "away"
    with pytest.raises(NoFilm, match="card or disk"):
        season.shelf.copies.played("fa")[0]


def test_tables_follow_the_journal_and_the_playbook(season: Season, tmp_path: Path) -> None:
    season.shelf.enter("g1", [NewFilm("fa", "a.mp4", 600_000)])
    season.shelf.enter("g2", [NewFilm("fb", "b.mp4", 600_000)])
    season.journal.add("g1", "coach", [mark(1, "period_start", 0), mark(2, "possession", 1000, team="ours")])
    assert len(season.tagged.tables()["possessions"]) == 1
    season.journal.add(
        "g2", "coach", [mark(3, "period_start", 0, "fb"), mark(4, "possession", 1000, "fb", team="theirs")]
    )
    assert season.tagged.tables()["possessions"]["game"].tolist() == ["g1", "g2"]
    season.journal.add("g1", "coach", [mark(5, "shot", 2000, shooter="14", result="goal")])
    shots = season.tagged.tables()["shots"]
    assert shots["shooter"].tolist() == ["14"] and shots["marks"].tolist() == [("e5",)]
    (tmp_path / "roster.csv").write_text("number,name\n9,Nine\n", encoding="utf-8")
    assert [problem.code for problem in season.tagged.folded("g1").problems] == ["not_on_roster"]


def test_the_book_begun_first_counts_until_somebody_chooses(season: Season) -> None:
    season.shelf.enter("g1", [NewFilm("fa", "a.mp4", 600_000)])
    assert season.tagged.chosen_book("g1") == "coach"
    season.journal.add("g1", "ben", [mark(1, "period_start", 0)])
    season.journal.add("g1", "anna", [mark(2, "period_start", 0), mark(3, "possession", 1000, team="ours")])
    assert season.tagged.chosen_book("g1") == "ben" and len(season.tagged.tables()["possessions"]) == 0
    season.tagged.choose_book("g1", "anna")
    assert season.tagged.chosen_book("g1") == "anna" and len(season.tagged.tables()["possessions"]) == 1
    with pytest.raises(BadGame, match="no book “nobody”"):
        season.tagged.choose_book("g1", "nobody")


def test_a_season_is_served_once_at_a_time(tmp_path: Path) -> None:
    lock = SeasonLock(tmp_path)
    with pytest.raises(SeasonLocked, match="another floorbook"):
        SeasonLock(tmp_path)
    lock.release()
    SeasonLock(tmp_path).release()


@pytest.mark.parametrize("date", ["2026-02-30", "2026-3-1", "99999-01-01", "2026-00-10", "0000-01-01", "２026-03-14"])
def test_a_date_that_is_none_is_refused_wherever_it_is_entered(season: Season, tmp_path: Path, date: str) -> None:
    with pytest.raises(BadGame, match="is not a date"):
        season.games.add("g9", date, "Fernbank", True)
    assert parse_stated(f'text = "x"\nmeasure = "goal"\nstated = "{date}"\n[one]\nset = "keel"\n')[0] is None
    head, rest = "number,name,shoots,position,consent,from,to", "L,crease,yes"
    lines = [head, f"14,Ana,{rest},{date},", f"15,Ben,{rest},,2026-03-14"]
    (tmp_path / "roster.csv").write_text("\n".join(lines), encoding="utf-8")
    texts = read_texts(tmp_path)
    assert [player.number for player in texts.roster] == ["15"]
    assert any(date in str(problem) for problem in texts.problems)

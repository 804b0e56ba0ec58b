"""`floorbook erase`: nothing of him is left, and everybody else is as he was."""

from __future__ import annotations

import datetime
import hashlib
import json
import os
import shutil
import sqlite3
from contextlib import ExitStack, closing
from pathlib import Path

import pytest
from dash import html

from dashboard.cli import main
from dashboard.erasing.doing import alone, carry_out
from dashboard.erasing.note import Begun, is_begun
from dashboard.erasing.person import Person, folded
from dashboard.erasing.player import plan_player
from dashboard.erasing.roster import text_without
from dashboard.erasing.search import Search
from dashboard.loading import Present
from dashboard.pages.shell import content, place_of
from dashboard.retention import due
from tagger.season import Season
from tagger.shelf.films import NewFilm
from tagger.store.lock import SeasonLock
from tagger.work.bring import bring_film
from tests import planted
from tests.dashboard.herons import FILMED_MARKS, OTHER_MARKS, tag, texts

HE = Person(planted.NUMBER, (planted.NAME,), (planted.ADDRESS, planted.MAIL, planted.PHONE))
WHOLE = ("--player", "14", "--files", "--yes", "erase 14")


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small season with him in every place; not to be changed."""
    folder = texts(tmp_path_factory.mktemp("planted") / "herons")
    season = Season.open(folder, make=True)
    for game, marks in (("g1", FILMED_MARKS), ("g2", OTHER_MARKS)):
        season.games.add(game, "2026-03-14", "Quarry Hill", True)
        season.shelf.enter(game, [NewFilm(id=f"m-{game}", name="not filmed", duration_ms=60_000)])
        tag(season, game, f"m-{game}", marks)
    season.close()
    planted.plant(folder)
    return folder


@pytest.fixture
def folder(made: Path, tmp_path: Path) -> Path:
    """A copy of a test's own."""
    return Path(shutil.copytree(made, tmp_path / "herons"))


def erase(folder: Path, *more: str) -> int:
    return main(["erase", str(folder), *more])


def digests(folder: Path) -> dict[str, str]:
    """Every file of the season but its locks and the log that opening folds into the database."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.suffix != ".lock" and not path.name.startswith("season.db")
    }


def seen(folder: Path) -> dict[str, list[dict[str, object]]]:
    season = Season.open(folder)
    try:
        return planted.rows(season)
    finally:
        season.close()


def test_nothing_of_him_is_left_and_everybody_else_is_as_he_was(folder, capsys):
    assert len(planted.places(folder)) > 20
    rows, before = seen(folder), planted.entries(folder)
    assert erase(folder, *WHOLE) == 0
    assert planted.places(folder) == []
    assert planted.others_changed(before, planted.entries(folder)) == 0
    after = seen(folder)
    for row in after["notes"]:
        row.pop("text"), row.pop("players")
    assert after == planted.rows_without_him(rows)
    assert "in the log" in capsys.readouterr().out, "what a killed program wrote last is read too"
    assert not list(folder.glob("season.db-*"))
    assert not (folder / "report.html").exists() and not (folder / "tables" / "shots.csv").exists()
    assert (folder / "from the manager" / "plain.txt").is_file()
    assert "14" not in (folder / "erased.txt").read_text(encoding="utf-8").replace("2026", "")


@pytest.mark.skipif(os.name == "nt", reason="there an open file can't be taken away")
def test_what_held_him_is_overwritten_before_it_goes(folder):
    names = ("season.db", "season.db-wal", "roster.csv", "roster.csv~", "reels/lantern.mp4", "kept/mine.zip")
    with ExitStack() as stack:
        files = [stack.enter_context((folder / name).open("rb")) for name in names]
        assert all(file.read().strip(b"\0") for file in files)
        assert erase(folder, *WHOLE) == 0
        for name, file in zip(names, files, strict=True):
            file.seek(0)
            held = file.read()
            assert held and not held.strip(b"\0"), name


def test_copies_kept_elsewhere_and_what_a_restoring_left_beside_go_too(folder, tmp_path, capsys):
    elsewhere, beside = tmp_path / "disk", folder.with_name(f"{folder.name} before 2026-11-01 1200")
    other = folder.with_name(f"{folder.name} before long")
    shutil.move(folder / "herons-as-of.before", beside)
    shutil.copytree(beside, other)
    (other / "season.toml").write_text('id = "another"', encoding="utf-8")
    elsewhere.mkdir()
    with (folder / "season.toml").open("a", encoding="utf-8") as file:
        file.write(f"[copies]\nfolder = {json.dumps(str(elsewhere))}\n")
    (folder / "kept" / "mine.zip").rename(elsewhere / "saltmarsh-u17-2026 2026-11-01.zip")
    assert erase(folder, *WHOLE) == 0
    told = capsys.readouterr().out
    assert str(beside) in told and "2026-11-01.zip" in told
    assert not beside.exists() and other.exists()
    assert len(list(elsewhere.iterdir())) == 1 and planted.places(elsewhere) == []


def test_any_other_words_change_nothing(folder):
    before, entries = digests(folder), planted.entries(folder)
    for words in ("erase 15", "yes", "", "erase"):
        assert erase(folder, "--player", "14", "--yes", words) == 1
    assert erase(folder, "--player", "66", "--yes", "erase 66") == 1
    assert digests(folder) == before and planted.entries(folder) == entries


def test_files_of_other_programs_stay_unless_asked_for_and_are_told(folder, capsys):
    assert erase(folder, "--player", "14", "--yes", "erase 14") == 1
    told = capsys.readouterr().err
    assert "still found: from the manager/letter.docx" in told
    left = planted.places(folder)
    assert left and all(place.startswith("from the manager") for place in left)


@pytest.mark.parametrize("n", [1, 6, 8, 9, 16, 24])
def test_cut_short_at_any_step_the_season_is_whole_and_it_can_be_finished(folder, n, capsys):
    before = planted.entries(folder)
    with alone(folder):
        season = Season.open(folder)
        settings, plan = season.texts.settings, plan_player(season, "14")
        season.close()
        steps = iter(range(1, 1000))

        def tell(step: str) -> None:
            if next(steps) == n:
                raise KeyboardInterrupt(step)

        with pytest.raises(KeyboardInterrupt):
            carry_out(folder, settings, Begun("a player was erased", plan), files_too=True, tell=tell)
    assert seen(folder)["shots"]
    assert planted.entries(folder).keys() == before.keys()
    assert is_begun(folder)
    assert main(["check", str(folder), "--quick"]) == 1 and "an erasure was cut short" in capsys.readouterr().err
    assert erase(folder, "--player", "14", "--yes", "erase 14") == 1, "what was begun comes first"
    assert erase(folder) in (0, 1)
    assert [place for place in planted.places(folder) if not place.startswith("from the manager")] == []
    assert planted.others_changed(before, planted.entries(folder)) == 0


def test_a_season_that_is_served_or_worked_on_is_left_alone(folder, capsys):
    before = planted.entries(folder)
    for name in ("season.lock", "film.lock"):
        lock = SeasonLock(folder, name)
        assert erase(folder, *WHOLE) == 1
        lock.release()
    season = Season.open(folder)  # as a command does that holds no lock
    assert erase(folder, *WHOLE) == 1
    season.close()
    assert "another program holds it" in capsys.readouterr().err
    assert {id_: row[3] for id_, row in planted.entries(folder).items()} == {i: row[3] for i, row in before.items()}


def test_the_journal_still_only_grows_and_what_comes_again_is_refused(folder):
    season = Season.open(folder)
    sent = [entry for entry in season.journal.bodies("g1", "coach")[0] if '"shooter":"14"' in entry]
    season.close()
    assert erase(folder, *WHOLE) == 0
    with closing(sqlite3.connect(folder / "season.db")) as db:
        for sql in ("DELETE FROM journal", "UPDATE journal SET body = ''"):
            with pytest.raises(sqlite3.IntegrityError, match="only grows"):
                db.execute(sql)
    season = Season.open(folder)
    assert {one.state for one in season.journal.add("g1", "coach", [json.loads(body) for body in sent])} == {"refused"}
    season.close()


def test_a_game_goes_whole_and_the_others_stay(folder):
    rows = seen(folder)
    reel = folder / "reels" / "lantern.mp4"
    assert erase(folder, "--game", "g2", "--yes", "erase g2") == 0
    after = seen(folder)
    assert {row["game"] for held in after.values() for row in held} == {"g1"}
    assert after["shots"] == [row for row in rows["shots"] if row["game"] == "g1"]
    assert not reel.exists()
    with closing(sqlite3.connect(folder / "season.db")) as db:
        assert db.execute("SELECT count(*) FROM journal WHERE game = 'g2'").fetchone()[0] == 0
        assert db.execute("SELECT count(*) FROM films WHERE game = 'g2'").fetchone()[0] == 0


def test_the_film_of_a_game_goes_whole_and_its_tables_stay(built, numbered_film, tmp_path, capsys):
    folder = Path(shutil.copytree(built, tmp_path / "herons"))
    season = Season.open(folder)
    [film] = season.shelf.films("g1")
    copy = folder / "film" / f"{film.id}-viewing.mp4"
    copy.parent.mkdir(exist_ok=True)
    copy.write_bytes(b"film")
    (copy.with_suffix(".mp4.work")).mkdir()
    (copy.with_suffix(".mp4.work") / "0.mp4").write_bytes(b"film")
    season.shelf.copies.add_copy(film.id, "viewing", season.shelf.indexes.of(film.id), 1)
    rows = planted.rows(season)
    season.close()
    assert erase(folder, "--game", "g1", "--film-only", "--yes", "erase film of g1") == 0
    assert str(numbered_film) in capsys.readouterr().out and numbered_film.is_file(), (
        "what lies elsewhere is told, and stays"
    )
    assert list((folder / "film").iterdir()) == []
    season = Season.open(folder)
    assert planted.rows(season) == rows
    assert season.shelf.films("g1")[0].state == "none" and not season.shelf.copies.has_copy(film.id, "viewing")
    assert html.Div(content(Present(season), place_of("/games/g1", "")))
    assert bring_film(season, "g1", [numbered_film])[0].id == film.id, "its marks find it again"
    season.close()
    assert erase(folder, "--game", "g2", "--film-only", "--yes", "erase film of g2") == 1, "it has no film"


def test_a_name_is_known_however_it_is_written():
    for text in ("Elíaš Brandvold-Nørgaard", "elias brandvold norgaard", "BRANDVOLD_NØRGAARD.mp4", "Nørgaard, Elíaš"):
        assert HE.named_in(text), text
        assert "somebody" in HE.without_name(text)
    for text in ("Elias", "brandvolds", "14", "Norgaardsen"):
        assert not HE.named_in(text), text
    assert HE.without_him("Elias’s feed, #14; #140 and 14") == "somebody’s feed, somebody; #140 and 14"
    assert HE.in_doubt("14 was late") and not HE.in_doubt("14:30 left, 114")
    assert folded("  Đorđić ") == " dordic "


def test_a_name_that_another_player_bears_too_is_not_his_alone():
    brother = Person("14", ("Elias Brandvold",), (), ("Jonas Brandvold",), frozenset({"elias"}))
    assert not brother.named_in("Brandvold scored") and brother.in_doubt("Brandvold scored")
    assert brother.named_in("Elias Brandvold scored")


def test_only_his_lines_of_the_roster_go_and_every_other_byte_stays():
    before, after = '\ufeffnumber,name,address\r\n2,Milo,"a\r\nb"\r\n', "\r\n16,Noé,\r\n"
    text = f'{before}14,{planted.NAME},"12 Heron’s\r\nReach"\r\n{after}'
    assert text_without("roster.csv", text, HE) == before + after


def test_somebody_stands_in_his_place_in_the_lines_and_codes_stay():
    text = '[[line]]\ncode = "brandvold"\nname = "Brandvold five"\nplayers = ["14", \'14\', "140"] # 14\n'
    assert text_without("lines.toml", text, HE) == (
        '[[line]]\ncode = "brandvold"\nname = "somebody five"\nplayers = ["somebody", \'somebody\', "140"] # 14\n'
    )


def test_one_of_two_who_wore_the_number_is_told_by_name_and_by_dates(folder, capsys):
    with (folder / "roster.csv").open("a", encoding="utf-8") as file:
        file.write("14,Ivo Tamm,R,corner,yes,2026-05-01,,,,,\r\n")
    assert erase(folder, "--player", "14", "--yes", "erase 14") == 1
    assert "say which one with --name" in capsys.readouterr().err
    assert erase(folder, "--player", "14", "--name", "ivo tamm", "--yes", "erase 14") == 0
    assert any('"shooter":"14"' in row[3] for row in planted.entries(folder).values()), "in these games it was another"
    assert planted.NAME in (folder / "roster.csv").read_text(encoding="utf-8")


def test_the_search_finds_every_way_of_writing(tmp_path):
    planted._others(tmp_path)
    found = Search(HE).folder(tmp_path)
    names = {path.name for path in (tmp_path / "from the manager").iterdir()} - {"plain.txt"}
    assert {Path(place.split(":")[0].split(",")[0]).name for place in found} == names


def test_a_season_that_says_how_long_asks_and_never_erases(folder, capsys):
    text = (folder / "season.toml").read_text(encoding="utf-8").replace("[care]\n", "[care]\nkeep_days = 365\n")
    (folder / "season.toml").write_text(text, encoding="utf-8")
    with closing(sqlite3.connect(folder / "season.db")) as db, db:
        db.execute("UPDATE games SET date = '2024-03-14' WHERE id = 'g1'")
        db.execute("UPDATE films SET path = '/media/card/game.mp4'")
    season = Season.open(folder)
    today = datetime.date(2026, 11, 27)
    told = [str(one) for one in due(season, today)]
    assert told == [
        "film of game g1 (2024-03-14) is older than the 365 days that the season keeps it; shall it go? "
        f'floorbook erase "{folder}" --game g1 --film-only'
    ]
    assert "--game g1 --film-only" in str(content(Present(season), place_of("/", "")))
    assert len(due(season, datetime.date(2029, 1, 1))) == 2
    season.close()
    main(["check", str(folder), "--quick"])
    assert "shall it go?" in capsys.readouterr().out
    assert "g1" in {row[1] for row in planted.entries(folder).values()}

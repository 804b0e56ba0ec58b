"""The command line, called as a function: what each command does, says, and gives back."""

from __future__ import annotations

import json
import shutil
import threading
import zipfile

import pytest

from dashboard import cli, progress
from dashboard.table_files import read_csv
from tagger import tables
from tagger.marks import vocabulary
from tagger.season import Season
from tests.dashboard.herons import entry
from tests.film.maker import Recipe, make, read_numbers


@pytest.fixture
def run(capsys):
    """Runs a command; gives the exit code and what it said on stdout and stderr."""

    def call(*words):
        code = cli.main([str(word) for word in words])
        told = capsys.readouterr()
        return code, told.out, told.err

    return call


@pytest.fixture(scope="session")
def short_film(tmp_path_factory):
    return make(Recipe("short", n_frames=50, gop=25), tmp_path_factory.mktemp("short"))


def one_line(err):
    return err.startswith("floorbook: ") and err.count("\n") == 1 and "Traceback" not in err


def test_wrong_usage_is_two_and_help_is_nought(run):
    assert run("--help")[0] == 0 and run("film", "--help")[0] == 0
    assert run()[0] == 2 and run("fly")[0] == 2 and run("tables", "x")[0] == 2
    assert run("open", "x", "--port", "99999")[0] == 2


def test_a_folder_that_holds_no_season_is_one_and_one_line(run, tmp_path):
    for words in (["check", tmp_path], ["open", tmp_path / "no"], ["tables", tmp_path, "--to", tmp_path / "out"]):
        code, _, err = run(*words)
        assert code == 1 and one_line(err) and "no season folder" in err
    assert list(tmp_path.iterdir()) == []


def test_our_own_fault_is_three_with_a_traceback_only_when_asked(run, folder, monkeypatch):
    def broken(*_, **__):
        raise ZeroDivisionError("planted")

    monkeypatch.setattr("dashboard.health.examine", broken)
    code, _, err = run("check", folder)
    assert code == 3 and one_line(err) and "planted" in err and "--debug" in err
    for words in (["--debug", "check", folder], ["check", folder, "--debug"]):
        code, _, err = run(*words)
        assert code == 3 and "Traceback" in err


def test_interrupted_is_a_hundred_and_thirty(run, folder, monkeypatch):
    def stopped(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr("dashboard.health.examine", stopped)
    code, _, err = run("check", folder)
    assert code == 130 and "Traceback" not in err


def test_a_new_season_is_sound_and_is_not_made_over(run, tmp_path):
    folder = tmp_path / "Saltmarsh 26"
    code, out, _ = run("new", folder, "--team", "Saltmarsh Herons")
    assert code == 0 and "playbook.toml" in out
    texts = {"season.toml", "playbook.toml", "roster.csv", "lines.toml", "keys.toml"}
    assert {path.name for path in folder.iterdir()} == {*texts, "season.db"}
    season = Season.open(folder)
    assert season.texts.settings.team == "Saltmarsh Herons" and season.texts.settings.id.startswith("saltmarsh-26-")
    assert season.texts.problems == ()
    season.close()
    assert run("check", folder)[0] == 0
    before = (folder / "season.toml").read_bytes()
    code, _, err = run("new", folder)
    assert code == 1 and one_line(err) and (folder / "season.toml").read_bytes() == before


def test_a_team_s_name_that_would_break_the_settings_is_refused(run, tmp_path):
    assert run("new", tmp_path / "x", "--team", 'Her"ons')[0] == 1
    assert not (tmp_path / "x").exists()


def test_the_tables_come_out_as_they_are_folded(run, folder, season, tmp_path):
    code, out, _ = run("tables", folder, "--to", tmp_path / "out")
    assert code == 0 and "2 games" in out
    read = read_csv(tmp_path / "out")
    for name, table in season.tagged.tables().items():
        assert read[name].equals(table), name
    about = json.loads((tmp_path / "out" / "tables.json").read_text(encoding="utf-8"))
    assert (about["version"], about["vocabulary"]) == (tables.VERSION, vocabulary.VERSION)
    assert [game["game"] for game in about["games"]] == ["g1", "g2"]
    assert about["games"][0]["journal"] == season.journal.head("g1", "coach")
    code, _, err = run("tables", folder, "--to", tmp_path / "other", "--book", "nobody")
    assert code == 1 and one_line(err) and not (tmp_path / "other").exists()


def test_a_book_goes_out_and_comes_in_and_gives_the_same_tables(run, folder, season, tmp_path):
    file = tmp_path / "g1.jsonl"
    assert run("journal", folder, "quarry", "--to", file)[0] == 0
    before = season.tagged.folded("g1").rows
    code, out, _ = run("journal", folder, "g1", "--from", file)
    assert code == 0 and "0 new entries, 17 were there already" in out
    lines = file.read_text(encoding="utf-8").splitlines()
    copied = [lines[0], *(line.replace('"id":"g1-', '"id":"copy-') for line in lines[1:])]
    file.write_text("\n".join(copied) + "\n", encoding="utf-8")
    assert run("journal", folder, "g1", "--from", file, "--book", "anna")[0] == 0
    after = season.tagged.folded("g1", "anna").rows
    assert {name: len(rows) for name, rows in after.items()} == {name: len(rows) for name, rows in before.items()}


def test_a_file_lands_in_no_wrong_place(run, folder, season, tmp_path):
    file = tmp_path / "g1.jsonl"
    run("journal", folder, "g1", "--to", file)
    header, *lines = file.read_text(encoding="utf-8").splitlines()

    def with_header(**other):
        file.write_text("\n".join([json.dumps({**json.loads(header), **other}), *lines]) + "\n", encoding="utf-8")
        return run("journal", folder, "g1", "--from", file)

    for other, why in (
        ({"season": "another"}, "season “another”"),
        ({"game": "g2"}, "game g2, not of g1"),
        ({"films": ["fb1-0000"]}, "does not have"),
    ):
        code, _, err = with_header(**other)
        assert code == 1 and one_line(err) and why in err, other
    assert season.journal.books("g1")[0].n_entries == len(lines)


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("{", "line 3: not JSON"),
        ('{"v":1,"id":"x","n":0,"does":"mark"}', "line 3: "),
        (json.dumps(entry("g1", 2, "m-g2", 5, "shot", {})), "the id g1-2 is another entry"),
    ],
)
def test_one_bad_line_refuses_the_whole_file(run, folder, season, tmp_path, line, why):
    file = tmp_path / "g2.jsonl"
    run("journal", folder, "g2", "--to", file)
    header = file.read_text(encoding="utf-8").splitlines()[0]
    good = json.dumps(entry("fresh", 1, "m-g2", 5, "note", {"text": "good"}))
    file.write_text("\n".join([header, good, line]) + "\n", encoding="utf-8")
    code, _, err = run("journal", folder, "g2", "--from", file)
    assert code == 1 and one_line(err) and why in err
    assert season.journal.books("g2")[0].n_entries == 10


def test_a_reel_is_cut_with_a_word_of_care(run, folder, tmp_path):
    code, out, _ = run("reels", folder, "g1", "--player", "14", "--to", tmp_path / "14.mp4")
    assert code == 0 and "Film of players is personal" in out
    assert read_numbers(tmp_path / "14.mp4")[0] == 75
    code, _, err = run("reels", folder, "--player", "77", "--to", tmp_path / "77.mp4")
    assert code == 1 and one_line(err) and not (tmp_path / "77.mp4").exists()
    assert run("reels", folder, "--to", tmp_path / "x.mp4")[0] == 2


def test_film_that_is_none_changes_nothing_and_makes_no_game(run, folder, season, tmp_path):
    torn = tmp_path / "torn.mp4"
    torn.write_bytes(b"no film at all")
    words = ["film", folder, "g3", torn, "--new", "--date", "2026-04-01", "--opponent", "Tannery Row"]
    code, _, err = run(*words)
    assert code == 1 and one_line(err) and "torn.mp4" in err
    assert [game.id for game in season.games.all()] == ["g1", "g2"]
    assert run("film", folder, "g3", tmp_path / "gone.mp4")[0] == 1
    assert run("film", folder, "g3", torn, "--new")[0] == 2


def test_film_makes_a_game_and_is_not_taken_twice(run, folder, season, short_film):
    words = ["film", folder, "g3", short_film, "--new", "--date", "2026-04-01", "--opponent", "Tannery Row", "--away"]
    assert run(*words)[0] == 0
    game = season.games.game("g3")
    assert (game.opponent, game.home) == ("Tannery Row", False)
    assert [(film.n_frames, film.state) for film in season.shelf.films("g3")] == [(50, "ready")]
    code, _, err = run("film", folder, "g2", short_film)
    assert code == 1 and one_line(err) and len(season.shelf.films("g2")) == 1


def test_film_that_is_still_being_copied_is_waited_for_and_said(run, folder, season, short_film, tmp_path, monkeypatch):
    monkeypatch.setattr("tagger.work.wait_for_copy.QUIET_S", 0.5)
    monkeypatch.setitem(progress._EVERY_S, False, 0.2)
    data = short_film.read_bytes()
    late = tmp_path / "late.mp4"
    late.write_bytes(data[: len(data) // 2])
    rest = threading.Timer(2.5, lambda: late.write_bytes(data))
    rest.start()
    code, said, err = run("film", folder, "g2", late)
    rest.join()
    assert code == 0 and "late.mp4: 0:02, 50 frames" in said and "damaged" not in said
    assert "late.mp4: still being copied (" in err and "Ctrl-C ends" in err and "Traceback" not in err


def test_a_sound_season_passes_the_check(run, folder):
    code, out, err = run("check", folder)
    assert (code, err) == (0, "") and "nothing wrong" in out and "17 marks" in out


def test_everything_wrong_is_listed(run, folder, season, numbered_film, tmp_path):
    roster = folder / "roster.csv"
    roster.write_text(roster.read_text(encoding="utf-8") + "abc,Nobody,L,,yes,,\n", encoding="utf-8")
    own = tmp_path / "own.mp4"
    shutil.copyfile(numbered_film, own)
    film = season.shelf.films("g1")[0]
    with season.store.writing() as db:
        db.execute("UPDATE films SET path = ? WHERE id = ?", (str(own), film.id))
    own.unlink()
    code, _, err = run("check", folder)
    assert code == 1 and "roster.csv, line 22" in err and f"{film.name}: not at" in err
    assert err.count("wrong: ") == 2


def test_a_film_of_the_same_size_that_is_another_is_found_out(run, folder, season, numbered_film, tmp_path):
    own = tmp_path / "own.mp4"
    data = bytearray(numbered_film.read_bytes())
    data[len(data) // 4 : len(data) // 2] = bytes(len(data) // 2 - len(data) // 4)
    own.write_bytes(data)
    with season.store.writing() as db:
        db.execute("UPDATE films SET path = ?, mtime_ns = ? WHERE game = 'g1'", (str(own), own.stat().st_mtime_ns))
    assert run("check", folder)[0] == 1
    assert run("check", folder, "--quick")[0] == 0


def test_a_backup_is_a_whole_season_again(run, folder, season, tmp_path):
    file = tmp_path / "season.zip"
    assert run("backup", folder, "--to", file)[0] == 0
    with zipfile.ZipFile(file) as archive:
        assert archive.testzip() is None
        archive.extractall(tmp_path / "again")
    again = Season.open(tmp_path / "again")
    assert again.tagged.folded("g1").rows == season.tagged.folded("g1").rows
    assert again.texts.settings == season.texts.settings
    again.close()
    assert run("check", tmp_path / "again")[0] == 0
    assert [path.name for path in tmp_path.glob("*.part")] == []

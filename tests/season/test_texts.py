"""Text files of a season: each bad place is named with its line, and the rest still loads."""

from __future__ import annotations

import shutil
from dataclasses import replace
from importlib import resources
from pathlib import Path

import pytest

import tagger.texts.settings as settings_module
from dashboard.start import first_settings
from tagger.floor.rules import PenaltyRules, floor_rules
from tagger.texts.folder import Texts, read_texts
from tagger.texts.settings import USUAL_CODE, Settings


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    sample = resources.files("sample_data").joinpath("season")
    for name in ("season.toml", "playbook.toml", "roster.csv"):
        with resources.as_file(sample.joinpath(name)) as path:
            shutil.copy(path, tmp_path / name)
    return tmp_path


def told(texts: Texts) -> list[str]:
    return [str(problem) for problem in texts.problems]


def change(path: Path, old: str, new: str) -> int:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return text[: text.index(old)].count("\n") + 1


def test_the_sample_season_reads_without_a_word(folder: Path) -> None:
    texts = read_texts(folder)
    assert told(texts) == []
    assert len(texts.roster) == 20 and len(texts.playbook.sets) == 6
    assert {"00"} <= {player.number for player in texts.roster}


def test_a_setting_that_cannot_be_is_named_with_its_line_and_the_usual_value_is_used(folder: Path) -> None:
    line = change(folder / "season.toml", "port = 8765", "port = 80")
    texts = read_texts(folder)
    assert told(texts) == [
        f"season.toml, line {line}: port = 80 is not a whole number from 1024 to 65535; the usual value is used"
    ]
    assert texts.settings.port == 8765 and texts.settings.team == "Saltmarsh Herons"


def test_broken_toml_is_named_with_its_line(folder: Path) -> None:
    line = change(folder / "playbook.toml", 'name = "Lantern"', "name = Lantern")
    texts = read_texts(folder)
    assert told(texts)[0].startswith(f"playbook.toml, line {line}: not TOML there")
    assert len(texts.roster) == 20


def test_a_bad_roster_line_is_left_out_and_the_rest_loads(folder: Path) -> None:
    with (folder / "roster.csv").open("a", encoding="utf-8") as out:
        out.write(
            "00,Twice Over,L,crease,yes,,\n123,Too Long,L,crease,yes,,\n8,,L,crease,yes,,\n"
            "81,Odd Stick,X,crease,yes,,\n"
        )
        out.write("82,Odd Date,L,crease,yes,March,\n")
    texts = read_texts(folder)
    assert len(texts.roster) == 20
    assert [problem.line for problem in texts.problems] == [22, 23, 24, 25, 26]
    assert all("left out" in problem.text for problem in texts.problems)


def test_a_roster_saved_by_a_spreadsheet_with_semicolons_and_a_mark_at_its_head_reads(folder: Path) -> None:
    text = (folder / "roster.csv").read_text(encoding="utf-8").replace(",", ";")
    (folder / "roster.csv").write_text(text, encoding="utf-8-sig")
    texts = read_texts(folder)
    assert told(texts) == [] and len(texts.roster) == 20


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"Nummer,Name\n1,A\n", "roster.csv, line 1: no roster header"),
        ("number,name\n1,Zoë\n".encode("latin-1"), "roster.csv, line 2: not UTF-8"),
    ],
)
def test_a_foreign_roster_is_told_in_one_line(folder: Path, content: bytes, words: str) -> None:
    (folder / "roster.csv").write_bytes(content)
    texts = read_texts(folder)
    assert [line for line in told(texts) if line.startswith(words)]
    assert len(texts.playbook.sets) == 6


def test_missing_files_are_named_and_defaults_stand_in(tmp_path: Path) -> None:
    texts = read_texts(tmp_path)
    assert [problem.file for problem in texts.problems] == ["season.toml", "playbook.toml", "roster.csv"]
    assert texts.settings.small_n == 10 and texts.settings.film_cores == 0 and texts.roster == ()


def test_penalty_rules_and_reaction_offsets_are_the_seasons_own(folder: Path) -> None:
    with (folder / "season.toml").open("a", encoding="utf-8") as out:
        out.write("\n[penalties]\ngoals_end_minor = 0\nmajor_minutes = 4\n\n[reaction]\nshot = 300\nclock = 150\n")
    texts = read_texts(folder)
    assert told(texts) == []
    rules = texts.settings.penalties
    assert (rules.goals_end_minor, rules.major_ms, rules.minor_ms) == (0, 240_000, 120_000)
    assert dict(texts.settings.reaction_ms) == {"shot": 300, "clock": 150}


def test_a_penalty_rule_or_an_offset_that_cannot_be_is_named_with_its_line(folder: Path) -> None:
    with (folder / "season.toml").open("a", encoding="utf-8") as out:
        out.write("\n[penalties]\ngoal_ends_delayed = 1\n[reaction]\nclock = 9000\nshto = 300\n")
    n_lines = len((folder / "season.toml").read_text(encoding="utf-8").splitlines())
    texts = read_texts(folder)
    assert told(texts)[0] == (
        f"season.toml, line {n_lines - 3}: goal_ends_delayed = 1 is not true or false; the usual value is used"
    )
    assert told(texts)[1].startswith(f"season.toml, line {n_lines}: “shto” is no kind of mark; there are period_start")
    assert told(texts)[2] == (
        f"season.toml, line {n_lines - 1}: clock = 9000 is not a whole number from 0 to 3000; the usual value is used"
    )
    assert dict(texts.settings.reaction_ms) == {"clock": 0}


@pytest.mark.parametrize(("code", "n_periods"), [("canadian", 3), ("nll", 4)])
def test_a_season_that_says_nothing_of_periods_plays_those_of_its_rule_code(
    tmp_path: Path, code: str, n_periods: int
) -> None:
    (tmp_path / "season.toml").write_text(f'id = "x"\nrule_code = "{code}"\n', encoding="utf-8")
    settings = read_texts(tmp_path).settings
    assert (settings.n_periods, settings.period_minutes) == (n_periods, 15)
    (tmp_path / "season.toml").write_text(f'rule_code = "{code}"\n[periods]\nn = 2\nminutes = 25\n', encoding="utf-8")
    settings = read_texts(tmp_path).settings
    assert (settings.n_periods, settings.period_minutes) == (2, 25)


def test_a_rule_codes_penalties_are_its_own_to_the_second(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    short = replace(floor_rules("nll"), penalties=PenaltyRules(minor_ms=90_000, major_ms=210_000, most_down=3))
    monkeypatch.setattr(settings_module, "floor_rules", lambda code: short)
    (tmp_path / "season.toml").write_text('rule_code = "nll"\n[penalties]\nmajor_minutes = 4\n', encoding="utf-8")
    rules = read_texts(tmp_path).settings.penalties
    assert (rules.minor_ms, rules.major_ms, rules.most_down) == (90_000, 240_000, 3)


def test_without_settings_penalties_are_the_usual_rule_codes() -> None:
    assert Settings("x").penalties is floor_rules(USUAL_CODE).penalties


@pytest.mark.parametrize(
    ("section", "name", "names"),
    [
        ("penalties", "minor_minuts", "minor_minutes, major_minutes, goals_end_minor, goals_end_major"),
        ("periods", "minuets", "n, minutes, clock"),
    ],
)
def test_a_misspelt_word_of_penalties_or_periods_is_named(tmp_path: Path, section: str, name: str, names: str) -> None:
    (tmp_path / "season.toml").write_text(f'id = "x"\n[{section}]\n{name} = 3\n', encoding="utf-8")
    said = f"season.toml, line 3: “{name}” is no word of {section}; there are {names}"
    assert [line for line in told(read_texts(tmp_path)) if line.startswith(said)]


@pytest.mark.parametrize("code", ["canadian", "nll"])
def test_a_new_season_plays_by_the_rule_code_that_it_names(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: str
) -> None:
    other = PenaltyRules(minor_ms=90_000, goals_end_major=2, goal_ends_delayed=False)
    rules = replace(floor_rules(code), period_min=17, penalties=other)
    monkeypatch.setattr(settings_module, "floor_rules", lambda asked: rules if asked == code else floor_rules(asked))
    text = first_settings("herons").replace('rule_code = "canadian"', f'rule_code = "{code}"')
    (tmp_path / "season.toml").write_text(text, encoding="utf-8")
    texts = read_texts(tmp_path)
    assert [problem for problem in texts.problems if problem.file == "season.toml"] == []
    settings = texts.settings
    assert (settings.n_periods, settings.period_minutes, settings.penalties) == (rules.n_periods, 17, other)


def test_seasons_that_say_their_periods_and_penalties_play_as_before(tmp_path: Path, folder: Path) -> None:
    said = (
        '[periods]\nn = 3\nminutes = 15\nclock = "stop"\n[penalties]\nminor_minutes = 2\nmajor_minutes = 5\n'
        "goals_end_minor = 1\ngoals_end_major = 0\ngoal_ends_delayed = true\nmost_down = 2\n"
    )
    (tmp_path / "season.toml").write_text(f'id = "x"\nrule_code = "nll"\n{said}', encoding="utf-8")
    as_before = PenaltyRules(120_000, 300_000, 1, 0, True, 2)
    for settings in (read_texts(tmp_path).settings, read_texts(folder).settings):
        assert (settings.n_periods, settings.period_minutes, settings.stop_clock) == (3, 15, True)
        assert settings.penalties == as_before

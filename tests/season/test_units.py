"""The team's lines: read from their file, asked for by letter, and what is wrong with one named by its line."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tagger.marks.vocabulary import language
from tagger.season import Season
from tagger.texts.folder import read_texts
from tagger.texts.playbook import Playbook
from tagger.texts.units import Unit, read_units

GOOD = {"code": "reeds", "name": "Reeds", "key": "a", "players": ["8", "00"]}


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        ({"code": "Reeds!"}, "needs a code"),
        ({"code": "gulls"}, "has no name"),
        ({"code": "gulls", "name": "Gulls", "key": "1"}, "needs a letter"),
        ({"code": "gulls", "name": "Gulls", "key": "a"}, "both have the key a"),
        ({"code": "reeds", "name": "Again", "key": "b"}, "stands twice"),
        ({"code": "gulls", "name": "Gulls", "key": "b", "players": [8]}, "numbers in quotes"),
        ({"code": "gulls", "name": "Gulls", "key": "b", "players": ["8", "8"]}, "a player stands twice"),
        ({"code": "gulls", "name": "Gulls", "key": "b", "players": [str(n) for n in range(9)]}, "more than 8"),
        (7, "not a"),
    ],
)
def test_a_bad_line_is_left_out_with_a_reason_and_the_rest_loads(raw: Any, words: str) -> None:
    units, faults = read_units({"line": [GOOD, raw]}, frozenset())
    assert [unit.code for unit in units] == ["reeds"]
    assert len(faults) == 1 and words in faults[0][1] and "left out" in faults[0][1]


def test_a_player_who_is_not_on_the_roster_is_named_and_kept() -> None:
    units, faults = read_units({"line": [GOOD]}, frozenset({"00"}))
    assert units[0].players == ("8", "00")
    assert faults == [(0, "line “Reeds”: no 8 on the roster; correct it, or add the player")]


def test_lines_that_are_no_sections_are_said_so() -> None:
    assert read_units({"line": "reeds"}, frozenset())[1][0][1].startswith("lines are written as [[line]]")


TEXTS = {
    "season.toml": 'id = "s"\nteam = "Saltmarsh Herons"\n',
    "playbook.toml": "",
    "roster.csv": "number,name\n8,Anders\n",
    "lines.toml": '[[line]]\ncode = "reeds"\nname = "Reeds"\nkey = "a"\nplayers = ["8"]\n\n'
    '[[line]]\ncode = "gulls"\nname = "Gulls"\nkey = "e"\nplayers = ["9"]\n',
    "keys.toml": '[marks]\nshot = "W"\n\n[answers]\nshot.result.goal = "r"\nshot.result.gaol = "r"\n',
}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, text in TEXTS.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


def test_a_season_names_every_bad_line_and_key_with_file_and_line(folder: Path) -> None:
    season = Season.open(folder, make=True)
    try:
        words = season.texts.language()
        told = [str(problem) for problem in season.texts.problems]
        asked = words.question("line", "line") or {}
        assert [choice["code"] for choice in asked["choices"]] == ["reeds", "swap", "theirs"]
        assert asked["retired"] == [{"code": "gulls", "name": "Gulls", "key": "e"}]
        goal = next(one for one in (words.question("shot", "result") or {})["choices"] if one["code"] == "goal")
        assert goal["key"] == "r" and words.kinds["shot"]["keys"][0]["key"] == "s"
    finally:
        season.close()
    assert told == [
        "lines.toml, line 8: line “Gulls”: no 9 on the roster; correct it, or add the player",
        "keys.toml, line 2: shot: the key W moves the film. Its usual key s stands",
        f"keys.toml, line 6: {told[2].partition(': ')[2]}",
        "lines.toml, line 8: line “Gulls”: the key e marks screen; give the line another letter",
    ]
    assert told[2].partition(": ")[2].startswith("floorbook knows no “shot.result.gaol”; there is shot.result.goal")


def test_a_key_file_that_changes_is_read_anew(folder: Path) -> None:
    season = Season.open(folder, make=True)
    try:
        assert season.texts.language().kinds["shot"]["keys"][0]["key"] == "s"
        (folder / "keys.toml").write_text('[marks]\nshot = "I"\nscreen.again = "s"\n', encoding="utf-8")
        assert season.texts.language().kinds["shot"]["keys"][0]["key"] == "I"
        (folder / "keys.toml").unlink()
        assert season.texts.language().kinds["shot"]["keys"][0]["key"] == "s"
    finally:
        season.close()


def test_a_season_can_do_without_lines_and_keys(folder: Path) -> None:
    for name in ("lines.toml", "keys.toml"):
        (folder / name).unlink()
    texts = read_texts(folder)
    assert (texts.lines, texts.keys, texts.problems) == ((), (), ())


def test_broken_toml_is_named_with_its_line(folder: Path) -> None:
    (folder / "keys.toml").write_text("[marks]\nshot = E\n", encoding="utf-8")
    assert [str(one).partition(": not TOML")[0] for one in read_texts(folder).problems][-1] == "keys.toml, line 2"


def test_a_line_cannot_have_the_letter_of_a_swap_or_of_the_opponents() -> None:
    made = language(Playbook(), lines=[Unit("reeds", "Reeds", "u", ("8",), at_line=3), Unit("gulls", "Gulls", "a", ())])
    assert [(one.binding.line, one.text, one.of_keys) for one in made.refused] == [
        (3, "line “Reeds”: the key u says “ours, one man for another”; give the line another letter", False)
    ]
    assert [choice["key"] for choice in (made.question("line", "line") or {})["choices"]] == ["a", "u", "h"]

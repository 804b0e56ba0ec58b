"""What a terminal would obey in a name is shown."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import pytest

from dashboard import cli
from dashboard.terminal import Shown, shown
from tagger.season import Season

ESCAPES = "\x1b]0;taken\x07\x1b[2J\x9b31m\u202egnp.\x7f\r"


def test_what_a_terminal_obeys_is_shown_and_the_rest_is_as_it_was() -> None:
    assert shown(ESCAPES) == "␛]0;taken␇␛[2J‹9B›31m‹202E›gnp.␡␍"
    assert shown("Thériault 00, “Ä”\tx\n😀") == "Thériault 00, “Ä”\tx\n😀"


def test_progress_still_goes_back_to_the_beginning_of_its_line() -> None:
    below = io.StringIO()
    Shown(below).write("\rcutting: 10 % (a\rb)")
    assert below.getvalue() == "\rcutting: 10 % (a␍b)"


@pytest.mark.parametrize(
    "words", [["check"], ["film", "\x1b[2Jg", "x.mp4"], ["reels", "--player", "\x1b[31m", "--to", "out"]]
)
def test_no_command_sends_a_terminal_what_a_name_says(
    folder: Path, words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    settings = (folder / "season.toml").read_text(encoding="utf-8")
    named = settings.replace("Saltmarsh Herons", "Saltmarsh \\u001b[31m Herons")
    (folder / "season.toml").write_text(named + '\n"\\u001b[2J" = 1\n', encoding="utf-8")
    roster = folder / "roster.csv"
    roster.write_text(roster.read_text(encoding="utf-8") + "x\x1b[5m,Nobody\u202e,L,crease,yes,,\n", encoding="utf-8")
    season = Season.open(folder)
    season.games.add("g9", "2026-03-15", f"Mill{ESCAPES}race", True)
    with season.store.writing() as db:
        db.execute("UPDATE films SET name = name || ?", (ESCAPES,))
    season.close()
    before = sys.stdout
    cli.main([words[0], str(folder), *words[1:]])
    assert sys.stdout is before
    told = capsys.readouterr()
    both = told.out + told.err
    assert "␛" in both and not any(char in both for char in "\x1b\x9b\x07\x7f\r\u202e")

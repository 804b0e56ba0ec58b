"""Names as they are shown."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from tagger.film.errors import NotFilm
from tagger.film.file_names import MOST_LETTERS, is_text, spoken_name


def test_a_name_of_ten_thousand_letters_takes_no_more_than_a_line() -> None:
    for letter in ("n", "é", "\x1b", "\udcff"):
        shown = spoken_name(letter * 10_000 + " half 2.mp4")
        assert len(shown) <= MOST_LETTERS and shown.isprintable() and "\n" not in shown
        assert shown.endswith(" half 2.mp4"), "the end tells which of many it is"
    assert len(str(NotFilm("no film", "x" * 10_000, "choose another"))) < 200


def test_signals_to_a_terminal_and_bytes_that_are_no_text_are_shown_as_codes() -> None:
    assert spoken_name("a\x1b[2J\u202e.mp4") == "a\\x1b[2J\\u202e.mp4"
    shown = spoken_name(os.fsdecode(b"caf\xe9.mp4")) if sys.platform != "win32" else "caf\\xe9.mp4"
    assert shown == "caf\\xe9.mp4"
    assert spoken_name("café à Pâques.mp4") == "café à Pâques.mp4"


@pytest.mark.skipif(sys.platform == "win32", reason="Windows’ names are always text")
def test_a_path_with_other_bytes_anywhere_is_no_text() -> None:
    assert is_text(Path("/media/café/1.mp4"))
    assert not is_text(Path(os.fsdecode(b"/media/caf\xe9/1.mp4")))

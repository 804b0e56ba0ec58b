"""Two books of a game side by side, and the list of what to watch together, each line of it playing."""

from __future__ import annotations

import random

import pytest

from dashboard.clips import moment_row
from dashboard.loading import Present
from dashboard.server import create_app
from tagger.season import Season
from tests.dashboard.herons import FILMED_MARKS, entry
from tests.dashboard.test_pages import page, parts, playing, row_of, words


def second_book(season: Season) -> None:
    """Ben sees the game as the coach does, but for one shot that he calls saved, and one he does not see."""
    film = season.shelf.films("g1")[0].id
    marks = [mark for mark in FILMED_MARKS if mark[0] != 33000]
    raw = []
    for place, (at_ms, kind, answers) in enumerate(marks, 1):
        said = {**answers, "result": "saved"} if at_ms == 11000 else answers
        raw.append({**entry("ben", place, film, at_ms, kind, said), "by": "ben"})
    added = season.journal.add("g1", "ben", raw)
    assert {one.state for one in added} == {"stored"}


def said(component: object) -> str:
    return " ".join(words(component).split())


def test_one_book_says_how_a_second_begins(present: Present) -> None:
    assert "There is only coach’s book of this game." in words(page(present, "/games/g1/agreement"))


def test_disagreements_are_listed_in_order_and_play_their_moment(present: Present) -> None:
    second_book(present.season)
    made = page(present, "/games/g1/agreement")
    text = said(made)
    assert "coach’s book, which the numbers are counted from, beside ben’s." in text
    assert "Do two people see the same?" in words(page(present, "/games/g1"))
    assert said(row_of(made, "Shots")).startswith("Shots 4 3 3 1 0 86 in 100 29 % 0.0 s")  # 1 apart, of 3½ on average
    lines = [said(part) for part in parts(made) if getattr(part, "className", None) == "lines"]
    assert "film 0:11 shot, result: coach says “wide”, ben “saved”" in lines[0]
    assert "film 0:33 shot: only in coach’s book" in lines[0]
    assert "how it ended: coach says" in lines[0] and "_" not in lines[0], lines[0]
    [(_, table, ids)] = [each for each in playing(made) if each[0] == "film 0:33"]
    assert (table, ids) == ("moments", ["g1@33000"])


def test_a_moment_of_a_book_that_is_not_counted_plays(present: Present) -> None:
    client = create_app(present.season, present=present).test_client()
    answer = client.post("/clips", json={"table": "moments", "ids": ["g1@33000", "g1@x", "nix@5"]}).get_json()
    [clip] = answer["clips"]
    assert (answer["n"], answer["gone"]) == (1, 2) and clip["label"].endswith("To watch together")
    [piece] = clip["pieces"]
    assert (piece["start_s"], piece["end_s"]) == (27.0, 35.5)


def test_what_is_no_moment_is_none() -> None:
    assert moment_row("g1@68000") == {"game": "g1", "id": "g1@68000", "at_ms": 68000}
    assert [moment_row(id_) for id_ in ("g1", "@5", "g1@-3", "g1@12345678901", "g1@١")] == [None] * 5


EVENTS = {"Shots": ("shots", "at_ms"), "Runs": ("runs", "start_ms"), "Possessions": ("possessions", "start_ms")}


@pytest.mark.parametrize("seed", range(4))
def test_counts_are_those_of_the_two_books_and_pairs_as_many_as_there_can_be(present: Present, seed: int) -> None:
    season, rng = present.season, random.Random(seed)
    film = season.shelf.films("g1")[0].id
    kept = [mark for mark in FILMED_MARKS if mark[1] == "period_start" or rng.random() < 0.85]
    moved = sorted(
        ((max(0, at + rng.randint(-900, 900)), kind, said) for at, kind, said in kept), key=lambda one: one[0]
    )
    added = season.journal.add("g1", "ben", [entry("ben", n, film, *mark) for n, mark in enumerate(moved, 1)])
    assert {one.state for one in added} == {"stored"}
    made = page(present, "/games/g1/agreement")
    books = [season.tagged.tables(["g1"], book=name) for name in ("coach", "ben")]
    for title, (table, column) in EVENTS.items():
        ones, others = (sorted(int(at) for at in book[table][column]) for book in books)
        pairs, i, j = 0, 0, 0
        while i < len(ones) and j < len(others):  # on a line, whoever is first takes the first he can reach
            near = abs(ones[i] - others[j]) <= 2000
            pairs, i, j = (
                (pairs + 1, i + 1, j + 1) if near else (pairs, i + (ones[i] < others[j]), j + (ones[i] > others[j]))
            )
        counted = (len(ones), len(others), pairs, len(ones) - pairs, len(others) - pairs)
        assert said(row_of(made, title)).removeprefix(title).split()[:5] == [str(n) for n in counted], title

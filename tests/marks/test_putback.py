"""A book put back folds to what its first entries alone fold to, whatever came later and whoever entered it."""

from __future__ import annotations

import datetime
import random
from dataclasses import replace

import pytest

from tagger.marks.entries import PUT_BACK, Entry
from tagger.marks.fold import FilmSpan, GameFacts, fold
from tagger.marks.putback import moments, place_at, to_take_back
from tests.marks.hands import FILMS, RandomHands
from tests.marks.test_cases import language_at

FILM_SPANS = tuple(FilmSpan(id_, offset, 1_800_001) for id_, offset in FILMS.items())


def put_back(arrived: list[Entry], place: int, name: str) -> list[Entry]:
    """The book with what putting it back adds to it."""
    n = 1 + max((entry.n for entry in arrived), default=0)
    wanted = to_take_back(arrived, place)
    return arrived + [Entry(f"{name}-{at}", n, PUT_BACK, "undo", of=id_) for at, id_ in enumerate(wanted)]


def two_people(seed: int, n_keys: int) -> tuple[GameFacts, list[Entry]]:
    """A random game of anna's with ben's marks, answers and take-backs among hers; some arrive late."""
    language = language_at("whole", lines=True)
    facts = GameFacts("g1", "anna", language, FILM_SPANS)
    hands, chance = RandomHands(language, seed), random.Random(seed)
    for _ in range(n_keys):
        hands.press()
    arrived: list[Entry] = []
    for entry in hands.entries:
        arrived.append(entry)
        if chance.random() < 0.2:
            n, id_ = entry.n + chance.randrange(3), f"b{len(arrived)}"
            does = chance.choice(("mark", "mark", "remove", "undo"))
            of = chance.choice(arrived).id
            ben = Entry(id_, n, "ben", does, "" if does == "mark" else of)
            if does == "mark":
                ben = replace(ben, kind="note", film="f1", at_ms=chance.randrange(1_800_000), answers={"text": "x"})
            arrived.append(ben)
    return facts, arrived


@pytest.mark.parametrize("seed", range(8))
def test_a_book_put_back_folds_as_its_first_entries_do(seed: int) -> None:
    facts, arrived = two_people(seed, 220)
    chance = random.Random(-seed - 1)
    book = arrived
    for turn in range(4):  # and again, from what was put back already, to before or after it
        place = chance.randrange(len(book) + 1)
        wanted = fold(book[:place], facts)
        book = put_back(book, place, f"p{turn}")
        found = fold(book, facts)
        assert found.rows == wanted.rows
        assert [line.mark for line in found.log] == [line.mark for line in wanted.log]
        assert {problem.code for problem in found.problems} - {"acts_on_nothing"} <= {
            problem.code for problem in wanted.problems
        }
        assert to_take_back(book, place) == []


def test_for_one_person_everything_is_as_it_was_to_the_last_problem() -> None:
    language = language_at("main")
    facts = GameFacts("g1", "anna", language, FILM_SPANS)
    for seed in range(6):
        hands = RandomHands(language, seed)
        for _ in range(200):
            hands.press()
        for place in (0, len(hands.entries) // 3, len(hands.entries) - 1):
            book = put_back(hands.entries, place, "p")
            assert fold(book, facts) == fold(hands.entries[:place], facts)
            assert len(book) <= 2 * len(hands.entries)


def test_nothing_is_to_be_taken_back_where_nothing_came_later() -> None:
    _, arrived = two_people(3, 60)
    assert to_take_back(arrived, len(arrived)) == []
    assert to_take_back([], 0) == []


def test_a_mistake_that_is_taken_back_is_no_problem_any_more() -> None:
    facts = GameFacts("g1", "anna", language_at("main"), FILM_SPANS)
    lost = [Entry("a", 1, "anna", "remove", of="nowhere"), Entry("b", 2, "anna", "undo", of="nothing")]
    assert len(fold(lost, facts).problems) == 2
    assert fold(put_back(lost, 0, "p"), facts).problems == fold([], facts).problems


def clocked(*minutes: int | None) -> list[Entry]:
    begin = datetime.datetime(2026, 11, 27, 20, tzinfo=datetime.UTC)
    walls = ["" if at is None else (begin + datetime.timedelta(minutes=at)).isoformat() for at in minutes]
    return [
        Entry(f"e{at}", at, "anna", "mark", kind="note", film="f1", answers={"text": "x"}, wall=wall)
        for at, wall in enumerate(walls, 1)
    ]


def test_a_moment_is_a_place_where_the_clocks_agree_and_two_where_they_do_not() -> None:
    when = datetime.datetime(2026, 11, 27, 20, 10, tzinfo=datetime.UTC)
    assert place_at(clocked(0, 5, 10, 15), when) == (3, 3)
    assert place_at(clocked(0, 5, None, 15), when) == (3, 3)
    assert place_at(clocked(15, 20), when) == (0, 0) and place_at(clocked(0, 1), when) == (2, 2)
    assert place_at(clocked(0, 11, 5, 15, 9, 20), when) == (1, 5)


def test_the_moments_are_the_pauses_and_what_was_before_a_putting_back() -> None:
    book = clocked(0, 1, 30, 31, 5, 50)
    assert [(one.place, one.n_marks) for one in moments(book)] == [(5, 5), (2, 2)]
    again = put_back(book, 2, "p")
    assert [(one.place, one.n_marks) for one in moments(again)] == [(6, 6), (5, 5), (2, 2)]
    assert [one.place for one in moments(again, most=1)] == [6]
    assert moments([]) == []

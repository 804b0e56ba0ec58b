"""Unsure between two: kept, counted as neither, asked again, and known to whoever must leave a man out."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tagger.marked_players import MarkedPlayers
from tagger.marks.entries import Entry
from tagger.marks.fold import FilmSpan, GameFacts, fold
from tagger.marks.somebody import Who, without
from tagger.screen.unanswered import unanswered
from tests.marks.test_cases import language_at
from tests.marks.test_fold import OURS, START, book

LANGUAGE = language_at("main")
FACTS = GameFacts("g1", "anna", LANGUAGE, (FilmSpan("f1", 0, 3_600_000),), frozenset({"14", "22"}))
EITHER = {"set.or": "lantern/keel", "side": "left"}
SHOT = {"shooter": "unseen", "shooter.or": "14/41", "result": "saved", "recovered": "no", "feeder": "22"}
MARKS = book(START, (10, "possession", OURS), (12, "settled", {}), (15, "set", EITHER), (20, "shot", SHOT))


def test_a_run_unsure_between_two_sets_is_named_by_neither_and_says_between_which() -> None:
    run = fold(MARKS, FACTS).rows["runs"][-1]
    assert (run["set"], run["phase"], run["between"], run["side"]) == (None, "not_tagged", "lantern keel", "left")
    said = Entry("e9", 9, "anna", "answer", of="m4", answers={"set": "keel"})
    run = fold([*MARKS, said], FACTS).rows["runs"][-1]
    assert (run["set"], run["phase"], run["between"]) == ("keel", "set", None)


def test_a_number_unsure_between_two_is_nobodys_and_both_stand_beside_it() -> None:
    found = fold(MARKS, FACTS)
    assert [(row["shooter"], row["unsure"], row["feeder"]) for row in found.rows["shots"]] == [
        ("unseen", "14 41", "22")
    ]
    assert [one.text for one in found.problems] == ["No 41 on the roster; correct the number, or add the player"]
    assert found.log[-1].text == "14 or 41 shot: saved, lost; fed by 22"


def test_both_are_asked_for_in_the_second_look_until_one_is_said() -> None:
    def asked(entries: list[Entry]) -> list[tuple[str, str]]:
        found = unanswered(fold(entries, FACTS), LANGUAGE)
        return [(one["why"], one["question"]) for one in found if " or " in one["why"]]

    assert asked(MARKS) == [("Lantern or Keel: which set?", "set"), ("14 or 41: who shot?", "shooter")]
    said = Entry("e9", 9, "anna", "answer", of="m5", answers={"shooter": "14"})
    assert asked([*MARKS, said]) == [("Lantern or Keel: which set?", "set")]


def test_either_of_the_two_may_be_in_the_picture() -> None:
    marked = MarkedPlayers(fold(MARKS, FACTS).rows)
    assert marked.within(20_000, 20_001) == ["14", "22", "41"]


def test_whoever_is_taken_out_is_nobody_among_the_two_as_well() -> None:
    out = without(MARKS, FACTS, Who("14"))
    assert (out.n_answers, out.changed["m5"].answers["shooter.or"]) == (1, "somebody/41")
    row = fold([out.changed.get(one.id, one) for one in MARKS], FACTS).rows["shots"][0]
    assert (row["shooter"], row["unsure"]) == ("unseen", "somebody 41")


@pytest.mark.parametrize("value", ["14", "14/", "14/41/9", 14])
def test_what_are_not_two_is_listed_and_left_out(value: object) -> None:
    spoilt = replace(MARKS[-1], answers={**SHOT, "shooter.or": value})
    found = fold([*MARKS[:-1], spoilt], FACTS)
    assert found.rows["shots"][0].get("unsure") is None
    assert "is not two for “who shot?”; answer it anew" in found.problems[-1].text

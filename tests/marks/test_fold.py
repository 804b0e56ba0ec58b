"""The fold: marks to possessions, runs and events, whatever order they were entered in."""

from __future__ import annotations

import random
from collections.abc import Iterable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tagger import tables
from tagger.marks import context as contexts
from tagger.marks import strokes
from tagger.marks.entries import Entry
from tagger.marks.fold import FilmSpan, Folded, GameFacts, fold
from tagger.marks.resolve import last_to_undo, resolve
from tagger.marks.vocabulary import Language, language
from tagger.texts.playbook import Named, Playbook, SetPlay
from tests.counts import cases
from tests.marks.invariants import broken

PLAYBOOK = Playbook(
    (
        SetPlay("heron", "Heron", "1", looks=(Named("first", "high"), Named("second", "low"))),
        SetPlay("reed", "Reed", "2", sides=("left",), looks=(Named("only", "the one"),)),
    )
)
LANGUAGE = language(PLAYBOOK)
FACTS = GameFacts("g1", "anna", LANGUAGE, (FilmSpan("f1", 0, 3_600_000),), frozenset({"14", "22", "9"}))


def book(*marks: tuple[int, str, dict[str, Any]]) -> list[Entry]:
    return [
        Entry(f"m{place}", place, "anna", "mark", kind=kind, film="f1", at_ms=at_s * 1000, answers=answers)
        for place, (at_s, kind, answers) in enumerate(marks, 1)
    ]


def runs(folded: Folded) -> list[tuple[Any, ...]]:
    return [
        (row["phase"], row["set"], row["start_ms"] // 1000, row["end_ms"] and row["end_ms"] // 1000, row["ended"])
        for row in folded.rows["runs"]
    ]


START = (0, "period_start", {})
OURS = {"team": "ours"}
THEIRS = {"team": "theirs"}
HERON = {"set": "heron", "side": "left"}


def test_a_set_names_the_stretch_it_falls_in_backwards() -> None:
    found = fold(
        book(
            START,
            (10, "possession", OURS),
            (15, "settled", {}),
            (20, "screen", {"free": "user"}),
            (25, "set", HERON),
            (28, "shot", {"shooter": "14", "result": "goal"}),
        ),
        FACTS,
    )
    assert runs(found) == [("transition", None, 10, 15, "settled"), ("set", "heron", 15, 28, "shot")]
    assert found.rows["screens"][0]["run"] == found.rows["runs"][1]["id"] == found.rows["shots"][0]["run"]
    assert found.rows["possessions"][0]["ended"] == "goal"
    assert found.problems == ()


def test_a_set_that_flows_into_the_next_ends_at_its_mark() -> None:
    found = fold(
        book(
            START,
            (10, "possession", OURS),
            (14, "set", HERON),
            (22, "set", {"set": "reed", "side": "left"}),
            (30, "turnover", {"player": "9"}),
        ),
        FACTS,
    )
    assert runs(found) == [("set", "heron", 10, 22, "flowed"), ("set", "reed", 22, 30, "turnover")]


def test_a_pulled_out_set_started_again_is_a_second_run() -> None:
    found = fold(
        book(
            START,
            (10, "possession", OURS),
            (14, "set", HERON),
            (22, "pull_out", {}),
            (26, "set", HERON),
            (30, "shot", {"result": "wide", "recovered": "no"}),
        ),
        FACTS,
    )
    assert runs(found) == [("set", "heron", 10, 22, "pull_out"), ("set", "heron", 22, 30, "shot")]
    assert found.rows["possessions"][0]["ended"] == "missed_shot"


def test_a_recovered_shot_goes_on_as_a_second_chance_that_knows_its_parent() -> None:
    found = fold(
        book(
            START,
            (10, "possession", OURS),
            (14, "set", HERON),
            (20, "shot", {"result": "saved", "recovered": "yes"}),
            (22, "shot", {"result": "goal"}),
        ),
        FACTS,
    )
    first, second = found.rows["runs"]
    assert second["phase"] == "second_chance" and second["parent"] == first["id"]
    assert [row["run"] for row in found.rows["shots"]] == [first["id"], second["id"]]
    assert len(found.rows["possessions"]) == 1


def test_a_rebound_nobody_marked_makes_no_run_when_the_ball_changes_hands() -> None:
    found = fold(
        book(START, (10, "possession", OURS), (20, "shot", {"result": "saved"}), (24, "possession", THEIRS)), FACTS
    )
    assert runs(found)[0] == ("not_tagged", None, 10, 20, "shot")
    assert [row["ended"] for row in found.rows["possessions"]] == ["save", None]
    assert found.rows["possessions"][1]["gained"] == "save"
    assert found.problems == ()


def test_ours_after_ours_is_two_possessions_and_is_listed() -> None:
    found = fold(book(START, (10, "possession", OURS), (20, "possession", OURS)), FACTS)
    assert [row["ended"] for row in found.rows["possessions"]] == [None, None]
    assert [problem.code for problem in found.problems] == ["same_team"]


def test_an_end_nobody_marked_is_unknown_and_listed_at_its_possession() -> None:
    found = fold(book(START, (10, "possession", OURS), (20, "possession", THEIRS)), FACTS)
    assert [(problem.code, problem.of) for problem in found.problems] == [("no_end", "m2")]


def test_a_shot_outside_any_possession_is_kept_and_listed() -> None:
    found = fold(book(START, (10, "shot", {"shooter": "14", "result": "goal"})), FACTS)
    assert found.rows["shots"][0]["possession"] is None
    assert [problem.code for problem in found.problems] == ["outside_possession"]


def test_a_mark_added_later_lands_in_its_possession() -> None:
    entries = book(
        START,
        (10, "possession", OURS),
        (14, "set", HERON),
        (30, "turnover", {}),
        (32, "possession", THEIRS),
        (18, "screen", {"free": "nobody"}),
    )
    found = fold(entries, FACTS)
    assert found.rows["screens"][0]["possession"] == "m2"
    assert found.rows["screens"][0]["run"] == found.rows["runs"][0]["id"]


def test_marks_of_one_frame_stand_in_the_order_they_were_entered() -> None:
    found = fold(
        book(START, (10, "possession", OURS), (20, "turnover", {"player": "14"}), (20, "possession", THEIRS)), FACTS
    )
    assert found.rows["turnovers"][0]["team"] == "ours"
    assert found.rows["possessions"][1]["team"] == "theirs"


def test_the_look_belongs_to_the_set_that_just_ended() -> None:
    found = fold(
        book(
            START,
            (10, "possession", OURS),
            (14, "set", HERON),
            (20, "shot", {"result": "goal"}),
            (23, "look", {"look": "second", "open": "first"}),
            (30, "possession", THEIRS),
        ),
        FACTS,
    )
    assert (found.rows["runs"][0]["look"], found.rows["runs"][0]["look_open"]) == ("second", "first")


def test_strength_is_seen_from_the_team_with_the_ball() -> None:
    found = fold(
        book(
            START,
            (5, "strength", {"strength": "5v4"}),
            (10, "possession", OURS),
            (20, "turnover", {}),
            (20, "possession", THEIRS),
            (25, "shot", {"result": "goal"}),
        ),
        FACTS,
    )
    assert [row["strength"] for row in found.rows["possessions"]] == ["5v4", "4v5"]
    assert found.rows["shots"][0]["strength"] == "4v5"


def test_a_penalty_on_the_defence_is_a_flag_and_the_run_goes_on() -> None:
    found = fold(
        book(
            START,
            (10, "possession", OURS),
            (14, "set", HERON),
            (18, "penalty", {"team": "theirs"}),
            (25, "shot", {"result": "goal"}),
        ),
        FACTS,
    )
    assert len(found.rows["runs"]) == 1
    assert found.rows["runs"][0]["penalty_drawn"] is True


def test_what_was_not_looked_for_is_unknown_not_no() -> None:
    facts = GameFacts("g1", "anna", language(PLAYBOOK, level="basic"), FACTS.films)
    found = fold(book(START, (10, "possession", OURS), (25, "shot", {"result": "goal"})), facts)
    assert found.rows["runs"][0]["penalty_drawn"] is None
    assert "screen" not in found.rows["detail"][0]["looks_for"].split()


def test_a_place_that_no_key_answers_was_looked_for_only_where_somebody_answers_it() -> None:
    facts = GameFacts("g1", "anna", language(PLAYBOOK, level="whole"), FACTS.films)
    for shot, n in (({"result": "goal"}, 0), ({"result": "goal", "place": [20.5, -3]}, 1)):
        found = fold(
            book(START, (5, "detail", {"level": "whole"}), (10, "possession", OURS), (25, "shot", shot)), facts
        )
        for row in found.rows["detail"]:
            assert row["looks_for"].split().count("shot.place") == n
            assert {"shot.feeder", "shot.rebound"} <= set(row["looks_for"].split())
    asked = fold(book(START, (5, "detail", {"level": "question", "asked": "shot shot.place shot.result"})), facts)
    assert asked.rows["detail"][1]["looks_for"] == "shot shot.result"


def test_what_a_stated_question_leaves_out_was_not_looked_for_whatever_was_marked_of_it() -> None:
    asked = "set set.side screen screen.free shot shot.result nothing nothing.more shot.luck"
    found = fold(
        book(
            START,
            (5, "detail", {"level": "question", "asked": asked}),
            (10, "possession", OURS),
            (12, "screen", {"free": "user", "coverage": "switched"}),
            (30, "detail", {"level": "main", "asked": asked}),
        ),
        FACTS,
    )
    before, narrowed, whole = found.rows["detail"]
    assert (before["end_ms"], narrowed["end_ms"], narrowed["level"]) == (5000, 30_000, "question")
    assert narrowed["looks_for"] == "set set.side screen screen.free shot shot.result"
    assert "screen.coverage" not in narrowed["looks_for"].split() and found.rows["screens"][0]["coverage"] == "switched"
    assert whole["level"] == "main" and whole["looks_for"] == before["looks_for"]
    assert found.problems == ()


def test_a_player_who_is_not_on_the_roster_is_listed_but_counted() -> None:
    found = fold(book(START, (10, "possession", OURS), (20, "shot", {"shooter": "77", "result": "wide"})), FACTS)
    assert "not_on_roster" in [problem.code for problem in found.problems]
    assert found.rows["shots"][0]["shooter"] == "77"


def test_a_possession_number_two_films_on_one_time_line() -> None:
    facts = GameFacts("g1", "anna", LANGUAGE, (FilmSpan("f0", 0, 60_000), FilmSpan("f1", 60_000, 60_000)))
    found = fold(book(START, (10, "possession", OURS)), facts)
    assert found.rows["possessions"][0]["start_ms"] == 70_000


def test_a_mark_on_a_film_that_is_not_there_is_kept_and_listed() -> None:
    found = fold([Entry("m1", 1, "anna", "mark", kind="note", film="gone", at_ms=5)], FACTS)
    assert [line.mark.id for line in found.log] == ["m1"]
    assert [problem.code for problem in found.problems] == ["film_unknown"]


def test_naming_a_run_does_not_change_its_id() -> None:
    before = fold(book(START, (10, "possession", OURS), (30, "shot", {"result": "goal"})), FACTS)
    after = fold(book(START, (10, "possession", OURS), (30, "shot", {"result": "goal"}), (20, "set", HERON)), FACTS)
    assert [row["id"] for row in before.rows["runs"]] == [row["id"] for row in after.rows["runs"]]
    assert after.rows["runs"][0]["set"] == "heron"


# Properties ------------------------------------------------------------------------------------------------------

KEYS = (
    [key for key in LANGUAGE.keys if key != "t"]
    + list("abcghimnruvw")
    + ["Enter", "Escape", "Backspace", "Shift+Backspace", "1", "4", "2"]
)


def tag(words: Language, keys: Iterable[str], seed: int) -> list[Entry]:
    """Press keys as a page would: marks where the film is, answers to the mark in hand, undo of one's own last."""
    chance = random.Random(seed)
    entries: list[Entry] = []
    hand = None
    holder = ""
    at_ms = 0
    for key in keys:
        at_ms = max(0, at_ms + chance.choice([0, 0, 40, 1000, 4000, -3000]))
        for _ in range(3):
            marks = sorted(
                (m for m in resolve(entries)[0] if not m.removed and m.at_ms <= at_ms), key=lambda m: (m.at_ms, m.place)
            )
            ctx = contexts.over(words, [(m.kind, m.answers) for m in marks])
            pressed = strokes.press(words, ctx, hand, key)
            hand = pressed.hand
            for act in pressed.acts:
                n = len(entries) + 1
                common = {"id": f"e{n:04d}", "n": n, "by": "anna", "does": act["does"]}
                if act["does"] == "mark":
                    holder = common["id"]
                    entries.append(Entry(**common, kind=act["kind"], film="f1", at_ms=at_ms, answers=act["answers"]))
                elif act["does"] == "answer":
                    entries.append(Entry(**common, of=holder, answers={act["question"]: act["value"]}))
                elif act["does"] == "undo":
                    last = last_to_undo(entries, "anna")
                    if last is not None:
                        entries.append(Entry(**common, of=last.id))
            if not pressed.again:
                break
    return entries


keys_pressed = st.lists(st.sampled_from(KEYS), max_size=60)


@settings(max_examples=cases(50, many=150), deadline=None)
@given(keys_pressed, st.integers(0, 10_000))
def test_no_sequence_of_keys_raises_and_every_mark_stands_in_one_place(keys: list[str], seed: int) -> None:
    entries = tag(LANGUAGE, keys, seed)
    assert broken(LANGUAGE, entries, fold(entries, FACTS)) == []


@settings(max_examples=cases(25, many=60), deadline=None)
@given(keys_pressed, st.integers(0, 10_000), st.randoms(use_true_random=False))
def test_entries_in_any_file_order_give_the_same_tables(keys: list[str], seed: int, chance: random.Random) -> None:
    entries = tag(language(PLAYBOOK, level="whole"), keys, seed)
    shuffled = list(entries)
    chance.shuffle(shuffled)
    assert fold(shuffled + shuffled[:3], FACTS) == fold(entries, FACTS)


@settings(max_examples=cases(25, many=60), deadline=None)
@given(keys_pressed, st.integers(0, 10_000), st.integers(0, 1000))
def test_the_undo_of_an_undo_changes_nothing(keys: list[str], seed: int, which: int) -> None:
    entries = tag(LANGUAGE, keys, seed)
    if not entries:
        return
    target = entries[which % len(entries)]
    n = len(entries) + 1
    undone = Entry("u1", n, "anna", "undo", of=target.id)
    redone = Entry("u2", n + 1, "anna", "undo", of="u1")
    assert fold([*entries, undone, redone], FACTS).rows == fold(entries, FACTS).rows


@settings(max_examples=cases(20, many=40), deadline=None)
@given(keys_pressed, st.integers(0, 10_000))
def test_taking_everything_back_leaves_nothing(keys: list[str], seed: int) -> None:
    entries = tag(LANGUAGE, keys, seed)
    for n in range(len(entries) + 1, 10_000):
        last = last_to_undo(entries, "anna")
        if last is None:
            break
        entries.append(Entry(f"z{n:05d}", n, "anna", "undo", of=last.id))
    folded = fold(entries, FACTS)
    assert folded.log == () and folded.rows == fold([], FACTS).rows


@settings(max_examples=cases(25, many=60), deadline=None)
@given(keys_pressed, st.integers(0, 10_000), st.integers(1, 200_000))
def test_rows_keep_their_ids_when_a_note_is_added(keys: list[str], seed: int, at_ms: int) -> None:
    entries = tag(LANGUAGE, keys, seed)
    note = Entry(
        "note", len(entries) + 1, "anna", "mark", kind="note", film="f1", at_ms=at_ms, answers={"text": "see #14"}
    )
    before, after = fold(entries, FACTS), fold([*entries, note], FACTS)
    for name in before.rows:
        kept = {row["id"] for row in after.rows[name]}
        assert {row["id"] for row in before.rows[name]} <= kept


@pytest.mark.parametrize("value", [7, "somebody", [1, 2], 3.5])
def test_an_answer_of_the_wrong_sort_is_listed_and_never_raises(value: object) -> None:
    rows: dict[str, list[dict[str, Any]]] = {name: [] for name in tables.TABLES}
    for kind, held in LANGUAGE.kinds.items():
        for question in held["questions"]:
            found = fold(book(START, (5, "possession", OURS), (10, kind, {question["code"]: value})), FACTS)
            for name, held_rows in found.rows.items():
                rows[name] += held_rows
    tables.frames(rows)


def test_an_undo_of_somebody_elses_entry_is_listed_and_does_nothing() -> None:
    entries = [*book(START), Entry("u", 2, "ben", "undo", of="m1")]
    found = fold(entries, FACTS)
    assert len(found.rows["periods"]) == 1
    assert [problem.code for problem in found.problems] == ["not_own"]


def test_a_removed_mark_can_be_restored_by_undoing_the_removal() -> None:
    entries = [*book(START, (10, "possession", OURS)), Entry("r", 3, "anna", "remove", of="m2")]
    gone = fold(entries, FACTS)
    assert gone.rows["possessions"] == [] and [line.mark.removed for line in gone.log] == [False, True]
    back = fold([*entries, Entry("u", 4, "anna", "undo", of="r")], FACTS)
    assert len(back.rows["possessions"]) == 1


def test_a_set_in_place_of_another_takes_the_run_and_what_does_not_fit_it_is_listed() -> None:
    found = fold(
        book(
            START,
            (10, "possession", OURS),
            (15, "settled", {}),
            (20, "set", HERON),
            (21, "look", {"look": "second"}),
            (22, "screen", {"free": "user"}),
            (24, "set", {"set": "reed", "side": "left", "flows": "instead"}),
            (28, "shot", {"shooter": "14", "result": "goal"}),
        ),
        FACTS,
    )
    assert runs(found) == [("transition", None, 10, 15, "settled"), ("set", "reed", 15, 28, "shot")]
    assert [(one.code, one.text, one.of) for one in found.problems] == [
        ("not_of_set", "Reed has no look “second”; answer it anew, or remove it", "m5")
    ]
    assert found.rows["runs"][1]["look"] == "second", "nothing is taken away"


def test_a_failed_clear_never_settled_and_one_marked_before_keeps_its_rows() -> None:
    def phase(**more: str) -> str:
        lost = {"player": "14", "where": "own_end", **more}
        return str(runs(fold(book(START, (10, "possession", OURS), (14, "turnover", lost)), FACTS))[0][0])

    assert phase(never_settled="yes") == "transition"
    assert phase() == "not_tagged"
    settled = book(
        START,
        (10, "possession", OURS),
        (12, "settled", {}),
        (14, "turnover", {"where": "own_end", "never_settled": "yes"}),
    )
    assert runs(fold(settled, FACTS))[-1][0] == "not_tagged"


def test_roles_of_a_set_that_was_answered_anew_are_listed_and_make_no_row() -> None:
    roles = (Named("wick", "Wick"), Named("glass", "Glass"))
    made = language(Playbook((*PLAYBOOK.sets, SetPlay("lantern", "Lantern", "3", roles=roles))), level="whole")
    facts = GameFacts("g1", "anna", made, FACTS.films, FACTS.roster)
    answers = {"set": "reed", "side": "left", "role.wick": "14", "role.glass": "22"}
    found = fold(book(START, (10, "possession", OURS), (15, "set", answers)), facts)
    assert found.rows["roles"] == []
    assert [one.code for one in found.problems] == ["role_of_another_set"]

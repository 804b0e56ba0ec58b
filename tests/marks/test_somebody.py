"""A player of ours taken out of a book, and nobody else."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest

from tagger.floor.rules import PenaltyRules
from tagger.marks.entries import Entry
from tagger.marks.fold import FilmSpan, Folded, GameFacts, fold
from tagger.marks.somebody import TakenOut, Who, without
from tagger.marks.vocabulary import Language
from tagger.tables import SOMEBODY
from tagger.texts.units import Unit, read_units
from tests.marks.hands import FILMS, RandomHands
from tests.marks.test_cases import language_at

OUR_MEN = {
    "screens": ("setter", "user", "setter2"),
    "shots": ("shooter", "feeder", "feeder2"),
    "turnovers": ("player", "meant"),
    "loose_balls": ("player",),
    "penalties": ("player",),
    "goalies": ("player",),
    "lines": ("out", "in"),
}
OTHER_MEN = {"turnovers": ("by", "hit"), "penalties": ("fouled",)}
FACTS = GameFacts("g1", "anna", language_at("whole"), (FilmSpan("f", 0, 3_600_000),))


def book(*marks: tuple[int, str, dict[str, Any]]) -> list[Entry]:
    return [
        Entry(f"m{place}", place, "anna", "mark", kind=kind, film="f", at_ms=at_s * 1000, answers=answers)
        for place, (at_s, kind, answers) in enumerate(marks, 1)
    ]


def taken(entries: list[Entry], out: TakenOut) -> list[Entry]:
    return [out.changed.get(entry.id, entry) for entry in entries]


def erased(entries: list[Entry], facts: GameFacts = FACTS, who: Who | None = None) -> list[Entry]:
    return taken(entries, without(entries, facts, who or Who("14")))


def answers_of(entries: list[Entry]) -> list[dict[str, Any]]:
    return [dict(entry.answers) for entry in entries]


def test_an_opponent_who_wears_the_same_number_stays() -> None:
    entries = book(
        (0, "period_start", {}),
        (1, "faceoff", {"ours": "14", "theirs": "14"}),
        (2, "possession", {"team": "ours"}),
        (3, "shot", {"shooter": "14", "feeder": "9", "result": "saved", "recovered": "no"}),
        (9, "possession", {"team": "theirs"}),
        (12, "shot", {"shooter": "14", "result": "goal"}),
        (13, "penalty", {"team": "theirs", "player": "14"}),
        (14, "penalty", {"team": "ours", "player": "14"}),
        (15, "line", {"line": "theirs", "out": "14"}),
        (16, "line", {"line": "swap", "team": "ours", "out": "14", "in": "8"}),
        (17, "turnover", {"player": "14", "kind": "stripped", "by": "14"}),
        (18, "possession", {"team": "ours"}),
        (19, "turnover", {"player": "9", "kind": "bad_pass", "by": "14", "meant": "14"}),
        (20, "penalty", {"team": "theirs", "player": "14", "fouled": "14"}),
    )
    changed = answers_of(erased(entries))
    assert changed[1] == {"ours": SOMEBODY, "theirs": "14"}
    assert changed[3]["shooter"] == SOMEBODY
    assert changed[3]["feeder"] == "9"
    assert changed[5]["shooter"] == "14"
    assert changed[6]["player"] == "14"
    assert changed[7]["player"] == SOMEBODY
    assert changed[8]["out"] == "14"
    assert (changed[9]["out"], changed[9]["in"]) == (SOMEBODY, "8")
    assert (changed[10]["player"], changed[10]["by"]) == (SOMEBODY, SOMEBODY), "whose ball it is nobody said"
    assert (changed[12]["by"], changed[12]["meant"]) == ("14", SOMEBODY)
    assert (changed[13]["player"], changed[13]["fouled"]) == ("14", SOMEBODY)


def test_answers_that_no_longer_stand_go_too() -> None:
    entries = [
        *book((0, "period_start", {}), (2, "possession", {"team": "ours"}), (3, "shot", {"shooter": "14"})),
        Entry("e4", 4, "anna", "answer", of="m3", answers={"shooter": "22"}),
        Entry("e5", 5, "anna", "mark", kind="screen", film="f", at_ms=2500, answers={"setter": "14"}),
        Entry("e6", 6, "anna", "undo", of="e5"),
        Entry("e7", 7, "anna", "answer", of="nowhere", answers={"setter": "14"}),
        Entry("e8", 8, "anna", "mark", kind="turnover", film="f", at_ms=2600, answers={"player": "14"}),
        Entry("e9", 9, "anna", "remove", of="e8"),
    ]
    assert '"14"' not in "".join(entry.as_json() for entry in erased(entries))


def test_where_nobody_knows_whose_man_it_was_he_is_taken_as_ours_and_told() -> None:
    entries = book((0, "period_start", {}), (1, "loose_ball", {"player": "14"}))
    out = without(entries, FACTS, Who("14"))
    assert (out.n_answers, out.n_unsure) == (1, 1)


def test_his_grades_say_nothing_and_make_no_row() -> None:
    entries = [
        *book(
            (0, "period_start", {}),
            (2, "possession", {"team": "ours"}),
            (3, "set", {"set": "lantern", "side": "left"}),
            (4, "grade", {"player": "9", "checkpoint": "feet", "grade": "minus"}),
            (5, "grade", {"player": "14", "checkpoint": "feet", "grade": "minus"}),
            (6, "grade", {"player": "14", "checkpoint": "feet", "grade": "plus"}),
        ),
        Entry("e7", 7, "anna", "answer", of="m5", answers={"grade": "plus"}),
        Entry("e8", 8, "anna", "answer", of="m6", answers={"player": "9"}),
    ]
    out = without(entries, FACTS, Who("14"))
    after = taken(entries, out)
    assert out.n_grades == 1
    assert dict(after[4].answers) == {"player": SOMEBODY}
    assert dict(after[6].answers) == {"grade": None}
    assert [row["id"] for row in fold(after, FACTS).rows["grades"]] == ["m4", "m6"]
    assert dict(after[5].answers)["grade"] == "plus", "a grade put right to another player is that player's"


def test_a_role_of_his_is_somebodys() -> None:
    entries = book(
        (0, "period_start", {}),
        (2, "possession", {"team": "ours"}),
        (3, "set", {"set": "lantern", "role.feeder": "14"}),
    )
    assert fold(erased(entries), FACTS).rows["roles"][0]["player"] == SOMEBODY


def test_texts_and_taggers_are_cleared_as_told() -> None:
    entries = book((0, "note", {"text": "Elias late"}), (1, "note", {"text": "14 seconds"}))
    who = Who("14", lambda text: text.replace("Elias", SOMEBODY), {"anna": "somebody"})
    out = without(entries, FACTS, who)
    assert [(one.before, one.after) for one in out.texts] == [("Elias late", "somebody late")]
    assert [entry.by for entry in taken(entries, out)] == ["somebody", "somebody"]
    assert answers_of(taken(entries, out))[1] == {"text": "14 seconds"}


def test_what_does_not_name_him_is_not_touched() -> None:
    entries = book((0, "period_start", {}), (2, "possession", {"team": "ours"}), (3, "shot", {"shooter": "4"}))
    assert without(entries, FACTS, Who("14")).changed == {}


@pytest.mark.parametrize("seed", range(12))
def test_the_tables_of_everybody_else_stay_as_they_were(seed: int) -> None:
    lines, number = seed % 2 == 1, ("14", "22", "9", "1")[seed % 4]
    language = language_at("whole", lines=lines)
    films = tuple(FilmSpan(id_, offset, 1_800_001) for id_, offset in FILMS.items())
    reaction = (("shot", 400), ("screen", 900)) if seed % 3 else ()
    facts = GameFacts(
        "g1",
        "anna",
        language,
        films=films,
        roster=frozenset(),
        period_s=900,
        stop_clock=True,
        penalties=PenaltyRules(),
        reaction_ms=reaction,
    )
    hands = RandomHands(language, seed)
    for _ in range(500):
        hands.press()
    before, after = (
        fold(hands.entries, facts),
        fold(erased(hands.entries, facts, Who(number)), _of_lines(facts, number)),
    )
    assert after.rows == _with_somebody(before, number)
    assert [(one.mark.id, one.game_ms, one.run) for one in after.log] == [
        (one.mark.id, one.game_ms, one.run) for one in before.log
    ]


def _of_lines(facts: GameFacts, number: str) -> GameFacts:
    """The same season with him taken out of its lines."""
    data = dict(facts.language.data)
    data["lines"] = json.loads(json.dumps(data["lines"]).replace(f'"{number}"', f'"{SOMEBODY}"'))
    return replace(facts, language=Language(data))


def _with_somebody(folded: Folded, number: str) -> dict[str, list[dict[str, Any]]]:
    """The rows as they have to be afterwards, worked out from the rows, where the code works from the entries."""
    made: dict[str, list[dict[str, Any]]] = {}
    for name, rows in folded.rows.items():
        made[name] = []
        for row in rows:
            new = dict(row)
            if name == "grades" and row.get("player") == number:
                continue
            if name == "roles":
                new["player"] = SOMEBODY if row["player"] == number else row["player"]
            if name == "faceoffs" and row.get("ours") == number:
                new["ours"] = SOMEBODY
            for column in OUR_MEN.get(name, ()):
                if row.get(column) == number and row.get("team") != "theirs":
                    new[column] = SOMEBODY
            for column in OTHER_MEN.get(name, ()):
                if row.get(column) == number and row.get("team") != "ours":
                    new[column] = SOMEBODY
            if name == "lines" and row.get("team") != "theirs" and row.get("players"):
                new["players"] = " ".join(SOMEBODY if one == number else one for one in row["players"].split())
            made[name].append(new)
    return made


def test_a_line_may_have_somebody_in_it_more_than_once() -> None:
    told = {"code": "reeds", "name": "Reeds", "key": "a", "players": [SOMEBODY, "9", SOMEBODY]}
    units, faults = read_units({"line": [told]}, frozenset({"9"}))
    assert not faults
    assert units == [Unit("reeds", "Reeds", "a", (SOMEBODY, "9", SOMEBODY))]

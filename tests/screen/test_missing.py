"""What the second look asks of what is missing, and of what is most likely a slip."""

from __future__ import annotations

from typing import Any

from tagger.marks.fold import GameFacts, fold
from tagger.marks.vocabulary import language
from tagger.screen.unanswered import unanswered
from tagger.texts.playbook import Named, Playbook, SetPlay
from tests.marks.test_fold import FACTS, OURS, START, THEIRS, book

ROLES = tuple(Named(code, code.title()) for code in ("wick", "glass", "post", "moth", "shade"))
LANTERN = SetPlay("lantern", "Lantern", "1", roles=ROLES, checkpoints=(Named("feet", "feet still"),))
LANGUAGE = language(Playbook((LANTERN, SetPlay("reed", "Reed", "2", sides=("left",)))), level="whole")
FIVE = {f"role.{role.code}": number for role, number in zip(ROLES, ("8", "5", "27", "7", "10"), strict=True)}
SET = {"set": "lantern", "side": "left"}
FOLLOWS = "ball follows"
LOST = {"player": "8", "kind": "dropped", "where": "far_end"}


def asked(*marks: tuple[int, str, dict[str, Any]]) -> list[tuple[str, str, str]]:
    """Mark, words and question of all that is asked but looks, grades and the others’ ball between: left out here."""
    folded = fold(book(START, *marks), GameFacts("g1", "anna", LANGUAGE, FACTS.films))
    found = unanswered(folded, LANGUAGE)
    return [(one["of"], one["why"], one["question"]) for one in found if not one["kind"] and FOLLOWS not in one["why"]]


def test_roles_are_asked_for_only_where_the_book_names_some() -> None:
    first, second = (10, "possession", OURS), (40, "possession", OURS)
    rest = ((20, "turnover", LOST), second, (41, "set", SET), (44, "turnover", LOST))
    assert asked(first, (12, "set", {**SET, **FIVE}), *rest) == [
        ("m6", f"who was {role.name}?", f"role.{role.code}") for role in ROLES
    ]
    assert asked(first, (12, "set", SET), *rest) == []


def test_a_side_that_nobody_said_is_asked_for() -> None:
    run = ((12, "set", {"set": "lantern"}), (20, "turnover", LOST))
    assert asked((10, "possession", OURS), *run) == [("m3", "to which side?", "side")]
    theirs = ((12, "family", {"family": "cut"}), (20, "turnover", LOST))
    assert asked((10, "possession", THEIRS), *theirs) == [("m3", "on which side?", "side")]


def test_two_sets_in_one_stretch_are_asked_about_until_somebody_says_which() -> None:
    for said, n in (({}, 1), ({"flows": "new"}, 0), ({"flows": "instead"}, 0)):
        reed = {"set": "reed", "side": "left", **said}
        found = asked((10, "possession", OURS), (12, "set", SET), (15, "set", reed), (20, "turnover", LOST))
        assert [(of, question) for of, _, question in found] == [("m4", "flows")] * n


def test_a_man_who_is_none_of_the_five_is_doubted_unless_the_line_changed() -> None:
    run = ((10, "possession", OURS), (12, "set", {**SET, **FIVE}))
    shot = (20, "turnover", {**LOST, "player": "14"})
    assert asked(*run, shot) == [("m4", "number 14 is none of the five who ran it: right?", "")]
    assert asked(*run, (15, "line", {"line": "swap", "team": "ours", "out": "8", "in": "14"}), shot) == []


def test_one_man_who_is_two_in_one_mark_is_doubted_but_may_give_and_go() -> None:
    screen = {"setter": "8", "user": "8", "free": "nobody"}
    found = asked((10, "possession", OURS), (12, "screen", screen))
    assert [why for _, why, _ in found if "twice" in why] == ["8 is named twice here: who set it? who used it?"]
    for feeder, feeder2, n in (("22", "14", 0), ("14", "22", 1), ("22", "22", 1)):
        shot = {"shooter": "14", "result": "wide", "feeder": feeder, "feeder2": feeder2}
        found = asked((10, "possession", OURS), (12, "shot", shot))
        assert sum("twice" in why for _, why, _ in found) == n, shot


def test_a_double_of_a_man_without_the_ball_is_doubted() -> None:
    screen = {"free": "nobody", "setter": "8", "user": "5", "setter2": "7", "coverage": "doubled"}
    for kind, n in (("off_ball", 1), ("on_ball", 0), ("unseen", 0)):
        found = asked((10, "possession", OURS), (12, "screen", {**screen, "kind": kind}))
        assert [why for _, why, _ in found if "right?" in why] == ["doubled, though off the ball: right?"] * n
    switched = asked((10, "possession", OURS), (12, "screen", {**screen, "kind": "off_ball", "coverage": "switched"}))
    assert not [why for _, why, _ in switched if "right?" in why]


def test_a_ball_given_away_and_had_again_is_doubted_unless_play_stopped_between() -> None:
    first, lost, again = (10, "possession", OURS), (12, "turnover", LOST), (20, "possession", OURS)
    words = "our ball follows our own, which ended “ball lost”: right?"

    def doubted(*marks: tuple[int, str, dict[str, Any]]) -> list[str]:
        folded = fold(book(START, *marks), GameFacts("g1", "anna", LANGUAGE, FACTS.films))
        return [one["why"] for one in unanswered(folded, LANGUAGE) if FOLLOWS in one["why"]]

    assert doubted(first, lost, again) == [words]
    assert doubted(first, lost, (20, "loose_ball", {"team": "ours", "gives": "yes", "player": "8"})) == [words]
    for between in ((15, "whistle", {"to": "ours"}), (15, "faceoff", {"won": "ours"}), (15, "possession", THEIRS)):
        assert doubted(first, lost, between, again) == []
    goal = (12, "shot", {"shooter": "8", "result": "goal", "feeder": "none"})
    assert doubted(first, goal, again) == []
    assert doubted(first, lost, (15, "period_end", {}), (16, "period_start", {}), again) == []


def test_men_of_a_face_off_and_who_passed_to_the_feeder_are_asked_for_where_the_detail_asks() -> None:
    draw, shot = (10, "faceoff", {"won": "ours"}), {"shooter": "5", "result": "goal", "feeder": "8"}
    marks = (draw, (11, "possession", OURS), (12, "shot", shot))
    words = (
        "who took this face-off for us?",
        "who took this face-off for them?",
        "who passed to the feeder of this shot?",
    )
    of = (("m2", "ours"), ("m2", "theirs"), ("m4", "feeder2"))
    assert asked(*marks) == [(id_, why, code) for (id_, code), why in zip(of, words, strict=True)]
    assert asked((5, "detail", {"level": "main"}), *marks) == []
    told = (10, "faceoff", {"won": "ours", "ours": "8", "theirs": "unseen"})
    for answer in ({"feeder": "none"}, {"feeder2": "none"}, {"feeder": "unseen"}):
        assert asked(told, (11, "possession", OURS), (12, "shot", {**shot, **answer})) == [], answer


def test_a_double_has_a_second_body_also_where_the_few_of_a_book_name_none() -> None:
    screen = {"free": "user", "setter": "unseen", "setter.or": "8/7", "user": "5", "coverage": "switched"}
    double = {**screen, "kind": "double"}
    found = asked((10, "possession", OURS), (12, "screen", double))
    assert [(of, code) for of, _, code in found if code] == [("m3", "setter2"), ("m3", "setter")]
    resolved = {**double, "setter": "8"}
    del resolved["setter.or"]
    assert [code for _, _, code in asked((10, "possession", OURS), (12, "screen", resolved)) if code] == ["setter2"]
    many = ((10, "possession", OURS), *((12 + place, "screen", resolved) for place in range(5)))
    assert not [code for _, _, code in asked(*many) if code], "who never names one leaves it out on purpose"
    on_ball = (12, "screen", {**resolved, "kind": "on_ball"})
    assert [code for _, _, code in asked((10, "possession", OURS), on_ball) if code] == []


def test_a_number_that_is_there_once_and_often_the_other_way_round_is_doubted() -> None:
    games = [
        (10 * place, kind, answers)
        for place in range(1, 6)
        for kind, answers in (("possession", THEIRS), ("turnover", {**LOST, "player": "14" if place < 5 else "41"}))
    ]
    words = "number 41 is marked here only, 14 4 times: was it 14?"
    assert [(why, question) for _, why, question in asked(*games)] == [(words, "")]
    assert asked(*games[:8]) == []


def test_a_number_with_the_key_beside_is_doubted_where_much_is_marked() -> None:
    def book_of(n: int) -> list[tuple[int, str, dict[str, Any]]]:
        men = [("14", "22", "9", "31", "66", "88", "71", "55")[place % 8] for place in range(n)]
        return [
            (10 * place, kind, answers)
            for place, man in enumerate([*men, "15"], 1)
            for kind, answers in (("possession", THEIRS), ("turnover", {**LOST, "player": man}))
        ]

    words = "number 15 is marked here only, 14 13 times: was it 14?"
    assert [why for _, why, _ in asked(*book_of(100))] == [words]
    assert asked(*book_of(90)) == [], "too little is marked to wonder at a man who is marked once"


def test_a_grade_of_another_sets_checkpoint_is_listed() -> None:
    grade = {"player": "8", "checkpoint": "feet", "grade": "plus"}
    marks = (START, (10, "possession", OURS), (12, "set", {"set": "reed", "side": "left"}), (13, "grade", grade))
    found = fold(book(*marks), GameFacts("g1", "anna", LANGUAGE, FACTS.films)).problems
    assert [one.text for one in found] == ["Reed has no checkpoint “feet”; answer it anew, or remove it"]


def test_one_checkpoint_of_one_man_is_graded_once() -> None:
    grade = {"player": "8", "checkpoint": "feet", "grade": "plus"}
    run = ((10, "possession", OURS), (12, "set", SET), (13, "grade", grade))
    assert asked(*run, (20, "turnover", LOST)) == []
    twice = asked(*run, (14, "grade", {**grade, "grade": "minus"}), (20, "turnover", LOST))
    assert [why for _, why, _ in twice] == ["8 is graded twice here on one checkpoint: which one was meant?"]


def test_a_goalkeeper_who_never_went_back_in_is_asked_for_once_a_period_has_gone_by() -> None:
    pulled = (20, "goalie", {"team": "ours", "what": "out"})
    later = ((60, "period_end", {}), (61, "period_start", {}))
    assert [why for _, why, _ in asked(pulled, *later)] == ["our goalkeeper was pulled: where did he go back in?"]
    assert asked(pulled, (50, "goalie", {"team": "ours", "what": "in"}), *later) == []
    assert asked(pulled) == []


def test_a_last_possession_without_an_end_counts_where_the_film_has_gone_on() -> None:
    folded = fold(book(START, (10, "possession", OURS)), GameFacts("g1", "anna", LANGUAGE, FACTS.films))
    assert [(one["why"], one["later_ms"]) for one in unanswered(folded, LANGUAGE)] == [
        ("how did this last possession end?", 55_000)
    ]


def test_what_is_younger_than_the_first_tables_is_asked_only_where_the_book_answers_it_and_where_it_fits() -> None:
    lost = {"player": "8", "where": "far_end"}
    threw = (20, "turnover", {**lost, "kind": "bad_pass", "by": "7", "meant": "5"})
    stripped = ((25, "possession", OURS), (30, "turnover", {**lost, "kind": "stripped"}))
    dropped = ((35, "possession", OURS), (40, "turnover", {**lost, "kind": "other"}))
    words = "who of the others caused this lost ball?"
    assert asked((10, "possession", OURS), threw, *stripped, *dropped) == [("m5", words, "by")]
    untold = (20, "turnover", {**lost, "kind": "bad_pass"})
    assert asked((10, "possession", OURS), untold, *stripped, *dropped) == []


def test_all_that_full_detail_asks_anew_is_asked_for() -> None:
    screen = {"free": "user", "setter": "8", "user": "5", "kind": "double", "coverage": "switched"}
    saved = {"shooter": "5", "result": "saved", "recovered": "yes", "feeder": "none"}
    foul = {"team": "theirs", "player": "9", "kind": "minor", "delayed": "no"}
    threw = {"player": "8", "kind": "bad_pass", "where": "far_end"}
    found = asked(
        (10, "possession", OURS),
        *((12, "screen", {**screen, "setter2": "27"}), (13, "screen", screen)),
        *((15, "shot", {**saved, "rebound": "held"}), (17, "shot", saved)),
        *((18, "penalty", {**foul, "fouled": "5"}), (19, "penalty", foul)),
        *((20, "turnover", {**threw, "by": "7", "meant": "5"}), (25, "possession", OURS), (30, "turnover", threw)),
    )
    assert [(of, question) for of, _, question in found] == [
        *(("m4", "setter2"), ("m6", "rebound"), ("m8", "fouled"), ("m11", "by"), ("m11", "meant")),
    ]

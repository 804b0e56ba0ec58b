"""What two people of one book mark both is listed at the later mark, and nothing else is."""

from __future__ import annotations

from typing import Any

from tagger.marks.entries import Entry
from tagger.marks.fold import FilmSpan, Folded, GameFacts, fold
from tests.marks.test_cases import language_at

FILM = (FilmSpan("f", 0, 3_600_000),)


def folded(*marks: tuple[str, int, str, dict[str, Any]], copied: str = "") -> Folded:
    entries = [
        Entry(f"{by}{n}", n, by, "mark", kind=kind, film="f", at_ms=at_ms, answers=answers, copied_from=copied)
        if kind == "screen" and copied
        else Entry(f"{by}{n}", n, by, "mark", kind=kind, film="f", at_ms=at_ms, answers=answers)
        for n, (by, at_ms, kind, answers) in enumerate(marks, 1)
    ]
    return fold(entries, GameFacts("g", "us", language_at("main"), FILM))


BEGIN = (("anna", 0, "period_start", {}), ("anna", 1000, "possession", {"team": "ours"}))
LOST = {"player": "14", "kind": "bad_pass"}


def twice(found: Folded) -> list[str]:
    return [one.of for one in found.problems if one.code == "marked_twice"]


def test_a_change_of_ball_that_two_people_marked_is_listed() -> None:
    found = folded(
        *BEGIN,
        ("anna", 10_000, "turnover", LOST),
        ("anna", 10_500, "possession", {"team": "theirs"}),
        ("ben", 10_700, "turnover", LOST),
        ("ben", 11_000, "possession", {"team": "theirs"}),
    )
    assert twice(found) == ["ben5", "ben6"]
    assert "Anna marked a ball lost here too" in next(one.text for one in found.problems if one.of == "ben5")


def test_a_shot_that_two_people_marked_is_no_rebound_unseen() -> None:
    shot = {"shooter": "14", "result": "saved"}
    assert twice(folded(*BEGIN, ("anna", 10_000, "shot", shot), ("ben", 10_400, "shot", {"result": "saved"}))) == [
        "ben4"
    ]
    other = {"shooter": "22", "result": "saved"}
    assert twice(folded(*BEGIN, ("anna", 10_000, "shot", shot), ("ben", 10_400, "shot", other))) == []
    assert twice(folded(*BEGIN, ("anna", 10_000, "shot", shot), ("anna", 10_400, "shot", shot))) == []


def test_a_mark_that_both_took_over_is_listed() -> None:
    marks = (*BEGIN, ("anna", 5000, "screen", {"free": "user"}), ("ben", 5000, "screen", {"free": "user"}))
    assert twice(folded(*marks, copied="z1")) == ["ben4"]

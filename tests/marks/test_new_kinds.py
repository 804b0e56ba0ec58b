"""A kind that the vocabulary alone gives: what it leaves out touches nothing."""

from __future__ import annotations

from typing import Any

from tagger.marks.entries import Entry
from tagger.marks.fold import FilmSpan, GameFacts, fold
from tagger.marks.plain import plain_vocabulary
from tagger.marks.vocabulary import language
from tagger.texts.playbook import Playbook

PLAIN: dict[str, Any] = {
    "code": "huddle",
    "name": "huddle",
    "about": "They put their heads together.",
    "level": "basic",
    "keys": [{"key": "-", "name": "huddle"}],
    "needs": {"period": ["open"]},
    "effects": [],
    "questions": [],
    "say": [{"text": "A huddle"}],
}


def folded(*kinds: dict[str, Any], marks: list[tuple[int, str, dict[str, Any]]]) -> Any:
    vocabulary = plain_vocabulary()
    vocabulary["kinds"] += kinds
    words = language(Playbook(), vocabulary=vocabulary)
    entries = [
        Entry(f"m{place}", place, "anna", "mark", kind=kind, film="f1", at_ms=at_s * 1000, answers=answers)
        for place, (at_s, kind, answers) in enumerate(marks, 1)
    ]
    return fold(entries, GameFacts("g1", "anna", words, (FilmSpan("f1", 0, 3_600_000),)))


def test_a_plain_kind_firms_no_rebound_that_nobody_marked() -> None:
    marks: list[tuple[int, str, dict[str, Any]]] = [
        (0, "period_start", {}),
        (10, "possession", {"team": "ours"}),
        (20, "shot", {"result": "wide"}),
        (21, "huddle", {}),
        (24, "possession", {"team": "theirs"}),
    ]
    with_it = folded(PLAIN, marks=marks)
    without = folded(PLAIN, marks=[mark for mark in marks if mark[1] != "huddle"])
    assert [row["ended"] for row in with_it.rows["possessions"]] == ["missed_shot", None]
    assert [row["phase"] for row in with_it.rows["runs"]] == ["not_tagged", "not_tagged"]
    assert len(with_it.rows["runs"]) == len(without.rows["runs"]) and with_it.problems == without.problems
    [line] = [line for line in with_it.log if line.mark.kind == "huddle"]
    assert (line.possession, line.run, line.text) == ("m2", None, "A huddle")

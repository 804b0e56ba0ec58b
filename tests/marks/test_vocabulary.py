"""The vocabulary is checked when it loads: no key without a meaning, no key with two."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tagger.marks.vocabulary import VocabularyError, language, plain_vocabulary
from tagger.tables import TABLES
from tagger.texts.playbook import Named, Playbook, SetPlay, read_playbook

HERON = SetPlay("heron", "Heron", "1", looks=(Named("first", "high"),), roles=(Named("top", "Top"),))


def kind(data: dict[str, Any], code: str) -> dict[str, Any]:
    return next(one for one in data["kinds"] if one["code"] == code)


def test_the_packages_own_vocabulary_is_sound() -> None:
    made = language(Playbook((HERON,)))
    assert made.question("set", "role.top") is not None
    assert [key["key"] for key in made.kinds["set"]["keys"]] == ["1"]


def test_every_question_of_a_kind_with_a_table_has_its_column() -> None:
    from tagger.marks.rows import TABLE_OF

    for one in plain_vocabulary()["kinds"]:
        if one["code"] in TABLE_OF:
            columns = {column.name for column in TABLES[TABLE_OF[one["code"]]]}
            for question in one["questions"]:
                if question["type"] in ("place", "clock") or (one["code"], question["code"]) == ("line", "line"):
                    continue  # a place is two columns, the clock is `clock_s`, our line is `unit`
                assert question["code"] in columns, (one["code"], question["code"])


def two_marks_on_a_key(data: dict[str, Any]) -> None:
    kind(data, "shot")["keys"][0]["key"] = "e"


def a_mark_on_an_answers_key(data: dict[str, Any]) -> None:
    kind(data, "shot")["keys"][0]["key"] = "u"


def a_mark_on_a_film_key(data: dict[str, Any]) -> None:
    kind(data, "shot")["keys"][0]["key"] = "j"


def an_answer_on_a_film_key(data: dict[str, Any]) -> None:
    kind(data, "screen")["questions"][0]["choices"][0]["key"] = "z"


def two_answers_on_a_key(data: dict[str, Any]) -> None:
    choices = kind(data, "screen")["questions"][0]["choices"]
    choices[0]["key"] = choices[1]["key"]


def a_question_that_waits_for_nothing(data: dict[str, Any]) -> None:
    kind(data, "shot")["questions"][2]["when"] = {"weather": ["wet"]}


def a_kind_that_needs_the_unknown(data: dict[str, Any]) -> None:
    kind(data, "shot")["needs"] = {"weather": ["dry"]}


def a_question_below_its_kind(data: dict[str, Any]) -> None:
    kind(data, "screen")["questions"][0]["level"] = "basic"


def a_group_that_nothing_explains(data: dict[str, Any]) -> None:
    kind(data, "shot")["questions"][0]["together"] = "weather"


def a_newer_version(data: dict[str, Any]) -> None:
    data["version"] = 3


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (two_marks_on_a_key, "“screen” and “shot”"),
        (a_mark_on_an_answers_key, "the key u marks “shot” and answers"),
        (a_mark_on_a_film_key, "the key j moves the film"),
        (an_answer_on_a_film_key, "the key z moves the film"),
        (two_answers_on_a_key, "two answers on the key"),
        (a_question_that_waits_for_nothing, "waits for “weather”"),
        (a_kind_that_needs_the_unknown, "needs “weather”"),
        (a_question_below_its_kind, "level"),
        (a_group_that_nothing_explains, "together with “weather”"),
        (a_newer_version, "reads vocabulary version 2"),
    ],
)
def test_a_vocabulary_that_would_mislead_is_refused_by_name(
    spoil: Callable[[dict[str, Any]], None], words: str
) -> None:
    data = plain_vocabulary()
    spoil(data)
    with pytest.raises(VocabularyError, match=words):
        language(Playbook((HERON,)), vocabulary=data)


def test_two_kinds_share_a_key_only_where_they_cannot_both_follow() -> None:
    shared = {
        key: [one["code"] for one, _ in pairs]
        for key, pairs in language(Playbook((HERON,))).keys.items()
        if len(pairs) > 1
    }
    assert shared == {"B": ["period_start", "period_end"], "1": ["set", "family"]}


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        ({"code": "Heron!"}, "code"),
        ({"code": "freelance", "name": "x", "key": "3", "look": [{"code": "a"}]}, "own"),
        ({"code": "reed", "key": "3", "look": [{"code": "a"}]}, "no name"),
        ({"code": "reed", "name": "Reed", "key": "0", "look": [{"code": "a"}]}, "key from 1 to 9"),
        ({"code": "reed", "name": "Reed", "key": "1", "look": [{"code": "a"}]}, "both have the key 1"),
        ({"code": "heron", "name": "Again", "key": "3", "look": [{"code": "a"}]}, "stands twice"),
        ({"code": "reed", "name": "Reed", "key": "3"}, "no look"),
        ({"code": "reed", "name": "Reed", "key": "3", "look": [{"code": "a"}, {"code": "a"}]}, "taken"),
        ({"code": "reed", "name": "Reed", "key": "3", "look": [{"code": c} for c in "abcdef"]}, "keyboard holds 5"),
        ({"code": "reed", "name": "Reed", "key": "3", "sides": ["up"], "look": [{"code": "a"}]}, "sides"),
        ({"code": "reed", "name": "Reed", "key": "3", "strength": "many", "look": [{"code": "a"}]}, "strength"),
        (7, "not a"),
    ],
)
def test_a_bad_set_is_left_out_with_a_reason_and_the_rest_loads(raw: Any, words: str) -> None:
    good = {"code": "heron", "name": "Heron", "key": "1", "look": [{"code": "high", "name": "high"}]}
    playbook, faults = read_playbook({"set": [good, raw]})
    assert [play.code for play in playbook.sets] == ["heron"]
    assert len(faults) == 1 and words in faults[0][1]

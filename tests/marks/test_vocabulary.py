"""The vocabulary is checked when it loads: no key without a meaning, no key with two."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest

from tagger.marks import vocabulary
from tagger.marks.plain import VocabularyError, plain_vocabulary
from tagger.marks.spelling import KIND, QUESTION
from tagger.marks.vocabulary import language
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
    for one in plain_vocabulary()["kinds"]:
        if "table" in one:
            columns = {column.name for column in TABLES[one["table"]["name"]]}
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


def put(code: str, **more: Any) -> Callable[[dict[str, Any]], None]:
    """A kind that says something more, or something else."""
    return lambda data: kind(data, code).update(more)


def of_a_question(data: dict[str, Any]) -> None:
    kind(data, "shot")["questions"][0]["offerd"] = ["@freed"]


def of_a_choice(data: dict[str, Any]) -> None:
    kind(data, "shot")["questions"][1]["choices"][0]["nmae"] = "goal"


def of_a_key(data: dict[str, Any]) -> None:
    kind(data, "shot")["keys"][0]["need"] = {}


def of_an_effect(data: dict[str, Any]) -> None:
    kind(data, "shot")["effects"][0]["puts"] = {}


def of_the_vocabulary(data: dict[str, Any]) -> None:
    data["kind"] = []


def of_an_ending(data: dict[str, Any]) -> None:
    data["endings"][0]["shape"] = "star"


def of_a_table(data: dict[str, Any]) -> None:
    kind(data, "shot")["table"]["column"] = []


def of_a_columns_kind(data: dict[str, Any]) -> None:
    kind(data, "shot")["table"]["columns"][0] = "team words ours or theirs"


def of_a_columns_version(data: dict[str, Any]) -> None:
    kind(data, "shot")["table"]["columns_since"] = {"shoter": 2}


def a_column_too_few(data: dict[str, Any]) -> None:
    table = kind(data, "turnover")["table"]
    table["columns"] = [line for line in table["columns"] if not line.startswith("where ")]


def a_table_that_is_there(data: dict[str, Any]) -> None:
    kind(data, "shot")["table"]["name"] = "runs"


def a_table_out_of_its_folder(data: dict[str, Any]) -> None:
    kind(data, "shot")["table"]["name"] = "../shots"


def an_answer_that_is_none(data: dict[str, Any]) -> None:
    kind(data, "shot")["ends_possession"][0]["when"] = {"result": ["gaol"]}


def a_word_of_the_sentence(data: dict[str, Any]) -> None:
    kind(data, "shot")["say"][0]["text"] = "{shoter} shot"


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (put("shot", start_play=True), "kind “shot” says “start_play”, which means nothing"),
        (of_a_question, "question “shooter” of kind “shot” says “offerd”"),
        (of_a_choice, "choice “goal” of question “result” of kind “shot” says “nmae”"),
        (of_a_key, "key “s” of kind “shot” says “need”"),
        (of_an_effect, "effect “1” of kind “shot” says “puts”"),
        (of_the_vocabulary, "the vocabulary says “kind”"),
        (of_a_table, "table “shots” of kind “shot” says “column”"),
        (put("shot", starts_play="yes"), "“starts_play” of kind “shot” is true or false; “yes” is not"),
        (put("shot", part="shooter"), "“part” of kind “shot” is a list of texts"),
        (put("note", rank=True), "“rank” of kind “note” is a whole number"),
        (lambda data: kind(data, "shot").pop("name"), "kind “shot” does not say its “name”"),
        (put("shot", does="shoot"), "kind “shot” says “shoot” for its “does”; it is one of period_start"),
        (put("shot", run="touched"), "kind “shot” says “touched” for its “run”; it is one of beside, firms"),
        (put("shot", run="firms"), "kind “shot” does “shot”, so its run is “touches”"),
        (put("note", does="shot", run="touches"), "kind “note” does “shot”, and does not ask “result”"),
        (put("settled", table={"name": "settleds"}), "kind “settled” does “settled”, which is worked into other"),
        (put("pull_out", ended="pulled"), "kind “pull_out” says “pulled” for its “ended”; it is one of goal"),
        (put("broken", leaves="shambles"), "kind “broken” says “shambles” for its “leaves”; it is one of set"),
        (put("freelance", phase="freely"), "kind “freelance” says “freely” for its “phase”"),
        (put("note", phase="set"), "kind “note” says its “phase”, which means something only where run is “names”"),
        (put("note", run="ends"), "kind “note” does not say its “ended”"),
        (put("shot", ends_possession=[{"ended": "gaol"}]), "kind “shot” says “gaol” for its “ends_possession”"),
        (an_answer_that_is_none, "an ending of kind “shot” looks for “result” to be “gaol”; it can be goal"),
        (a_word_of_the_sentence, "the sentence of kind “shot” says “{shoter}”, which it does not ask"),
        (of_an_ending, "ending “goal” says “star” for its “shape”; it is one of dot"),
        (of_a_columns_kind, "the table of kind “shot”: “team words ours or theirs” is no column"),
        (of_a_columns_version, "kind “shot” says “shoter” for its “columns_since”"),
        (a_column_too_few, "the table of kind “turnover” has no column “where” for its question “where”"),
        (a_table_that_is_there, "the table of kind “shot”: “runs” stands twice"),
        (a_table_out_of_its_folder, "the table of kind “shot”: “../shots” is no name"),
        (put("shot", part=["shoter"]), "kind “shot” says “shoter” for its “part”"),
        (put("settled", part=["player"]), "kind “settled” says its “part”, and has no table"),
        (put("turnover", also=[{"kind": "scren", "answers": {}}]), "kind “turnover” says “scren” for its “also”"),
        (
            put("turnover", also=[{"kind": "screen", "answers": {"fre": "x"}}]),
            "kind “turnover” says “fre” for its “also”",
        ),
        (put("settled", plays="row"), "kind “settled” plays its row, and has no table"),
        (put("shot", cuts=["reslt"]), "kind “shot” says “reslt” for its “cuts”"),
        (put("shot", team="both"), "kind “shot” says “both” for its “team”"),
        (put("shot", log="end"), "kind “shot” says “end” for its “log”"),
        (put("shot", level="some"), "kind “shot” says “some” for its “level”"),
    ],
)
def test_what_is_misspelt_is_refused_by_name(spoil: Callable[[dict[str, Any]], None], words: str) -> None:
    data = plain_vocabulary()
    spoil(data)
    with pytest.raises(VocabularyError) as fault:
        language(Playbook((HERON,)), vocabulary=data)
    assert words in str(fault.value)


def test_every_property_of_a_kind_and_of_a_question_is_explained_where_the_vocabulary_is() -> None:
    lines = [line for line in (vocabulary.__doc__ or "").splitlines() if line.startswith("| `")]
    told = {name for line in lines for name in re.findall(r"`([a-z_0-9]+)`", line.split("|")[1])}
    assert set(KIND) | set(QUESTION) == told


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

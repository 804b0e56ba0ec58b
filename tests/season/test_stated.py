"""The question stated before tagging: kept whole in one file, and refused whole when a part of it cannot be asked."""

from __future__ import annotations

import datetime
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tagger.marks.plain import plain_vocabulary
from tagger.texts.earlier import EARLIER_FILE, EarlierQuestion, earlier_without, withdraw_stated, write_stated
from tagger.texts.folder import read_texts
from tagger.texts.stated import (
    MOST_TEXT,
    QUESTION_FILE,
    RUN_COLUMNS,
    RUN_MEASURES,
    SCREEN_COLUMNS,
    SCREEN_MEASURES,
    StatedError,
    StatedQuestion,
    parse_stated,
    stated_now,
    written,
)

DAY = datetime.date(2026, 11, 20)
KINDS = plain_vocabulary()["kinds"]
DOWN_SCREEN = StatedQuestion(
    "Does our down screen free the shooter going left?",
    "user_free",
    {"set": "keel", "set_side": "left"},
    {"set": "keel", "set_side": "right"},
    DAY,
)


def test_a_question_is_written_and_read_whole(tmp_path: Path) -> None:
    write_stated(tmp_path, DOWN_SCREEN)
    assert [path.name for path in tmp_path.iterdir()] == [QUESTION_FILE]
    assert parse_stated((tmp_path / QUESTION_FILE).read_text(encoding="utf-8")) == (DOWN_SCREEN, [])
    withdraw_stated(tmp_path)
    withdraw_stated(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == [EARLIER_FILE]


def _earlier(folder: Path) -> tuple[EarlierQuestion, ...]:
    return read_texts(folder).earlier_questions


def test_a_question_that_another_takes_the_place_of_or_is_taken_back_is_kept_with_its_times(tmp_path: Path) -> None:
    before = datetime.datetime.now(datetime.UTC).replace(microsecond=0)
    asked = stated_now("Keel?", "goal", {"set": "keel"}, None)
    write_stated(tmp_path, DOWN_SCREEN)
    write_stated(tmp_path, DOWN_SCREEN)  # the same again is no other question
    assert _earlier(tmp_path) == ()
    write_stated(tmp_path, asked)
    withdraw_stated(tmp_path)
    write_stated(tmp_path, DOWN_SCREEN)
    first, second = _earlier(tmp_path)
    assert (first.question, second.question) == (DOWN_SCREEN, asked) and before <= first.ended <= second.ended
    assert asked.at is not None and before <= asked.at and read_texts(tmp_path).stated_question == DOWN_SCREEN


def test_a_comparison_edited_by_hand_is_seen_to_be_one_and_can_be_stated_anew(tmp_path: Path) -> None:
    file = tmp_path / QUESTION_FILE

    def edit(old: str, new: str) -> StatedQuestion:
        text = file.read_text(encoding="utf-8")
        assert old in text
        file.write_text(text.replace(old, new), encoding="utf-8")
        read = read_texts(tmp_path).stated_question
        assert read is not None
        return read

    write_stated(tmp_path, DOWN_SCREEN)
    assert not edit("going left?", "to the left?").edited, "words may be mended"
    changed = edit("user_free", "freed")
    assert changed.edited and edit("2026-11-20", "2026-10-20").edited
    edit("2026-10-20", "2026-11-20")
    anew = StatedQuestion(changed.text, "freed", changed.one, changed.other, DAY + datetime.timedelta(days=1))
    write_stated(tmp_path, anew)
    assert read_texts(tmp_path).stated_question == anew, "it is stated now, and nothing is edited"
    assert [each.question for each in _earlier(tmp_path)] == [replace(anew, stated=DAY)]
    mark = next(line for line in file.read_text(encoding="utf-8").splitlines() if line.startswith("as_stated"))
    assert not edit(mark, "").edited, "a file from before has no such mark"


def test_what_somebody_wrote_that_cannot_be_asked_is_kept_as_it_was(tmp_path: Path) -> None:
    odd = 'text = "Was it?"\nmeasure = \x07 "luck" # ½\n'
    (tmp_path / QUESTION_FILE).write_text(odd, encoding="utf-8")
    write_stated(tmp_path, DOWN_SCREEN)
    (tmp_path / EARLIER_FILE).write_text((tmp_path / EARLIER_FILE).read_text() + "by hand", encoding="utf-8")
    withdraw_stated(tmp_path)
    assert "# by hand" in (tmp_path / EARLIER_FILE).read_text(encoding="utf-8")
    assert [each.question for each in _earlier(tmp_path)] == [DOWN_SCREEN]
    (tmp_path / EARLIER_FILE).unlink()
    (tmp_path / QUESTION_FILE).write_text(odd, encoding="utf-8")
    withdraw_stated(tmp_path)
    assert [(each.question, each.as_written) for each in _earlier(tmp_path)] == [(None, odd)]


def test_broken_off_between_both_files_a_question_is_told_once(tmp_path: Path) -> None:
    write_stated(tmp_path, DOWN_SCREEN)
    withdraw_stated(tmp_path)
    (tmp_path / QUESTION_FILE).write_text(written(DOWN_SCREEN), encoding="utf-8")  # as if it had not gone yet
    assert _earlier(tmp_path) == ()
    withdraw_stated(tmp_path)
    assert [each.question for each in _earlier(tmp_path)] == [DOWN_SCREEN]


def test_an_earlier_question_about_somebody_goes_and_that_there_was_one_stays(tmp_path: Path) -> None:
    write_stated(tmp_path, StatedQuestion("Does his free him?", "freed", {"setter": "14"}, stated=DAY))
    write_stated(tmp_path, DOWN_SCREEN)
    withdraw_stated(tmp_path)
    path = tmp_path / EARLIER_FILE
    text = path.read_text(encoding="utf-8")
    path.write_text(earlier_without(text, lambda each: each.get("one") == {"setter": "14"}), encoding="utf-8")
    assert [each.question for each in _earlier(tmp_path)] == [None, DOWN_SCREEN]
    assert "his" not in path.read_text(encoding="utf-8") and "1970" not in path.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("said", "at"),
    [
        ("2026-11-20", None),
        ('"2026-11-20"', None),
        ("2026-11-20T18:02:11Z", datetime.datetime(2026, 11, 20, 18, 2, 11, tzinfo=datetime.UTC)),
        ("2026-11-20T19:02:11.5+01:00", datetime.datetime(2026, 11, 20, 18, 2, 11, tzinfo=datetime.UTC)),
    ],
)
def test_a_day_alone_opens_as_before_and_a_moment_is_read_to_the_second(
    said: str, at: datetime.datetime | None
) -> None:
    plain = "\n".join(line for line in written(DOWN_SCREEN).splitlines() if not line.startswith("as_stated"))
    question, faults = parse_stated(plain.replace("2026-11-20", said))
    assert question is not None and faults == [] and question.at == at
    assert question.stated == (at.astimezone().date() if at else DAY)
    assert parse_stated(written(question)) == (question, [])


_WORDS = st.text(
    st.characters(exclude_categories=("C", "Z"), include_characters=' "\\#='), min_size=1, max_size=MOST_TEXT
)


@given(words=_WORDS.filter(str.strip), code=_WORDS, other=st.none() | _WORDS, day=st.dates())
def test_any_words_and_codes_come_back_as_they_were(
    words: str, code: str, other: str | None, day: datetime.date
) -> None:
    compared = None if other is None else {"look": other}
    question = StatedQuestion(words, "goal_any", {"set": code}, compared, day)
    assert parse_stated(written(question)) == (question, [])


SOUND = written(DOWN_SCREEN).splitlines()


@pytest.mark.parametrize(
    ("old", "new", "line", "told"),
    [
        ('measure = "user_free"', 'measure = "freedom"', 2, "no measure “freedom”; of runs: shot, on_goal"),
        ('measure = "user_free"', "", 0, "measure is missing; of runs: shot"),
        (
            'measure = "user_free"',
            'measure = "goal"',
            8,
            "[one] “set_side” is not asked of runs; it is any of set, side",
        ),
        ("stated = 2026-11-20", 'stated = "last week"', 3, "write stated = 2026-11-20"),
        ('text = "Does our down screen free the shooter going left?"', 'text = ""', 1, 'write text = "…"'),
        ('set = "keel"', "set = 3", 7, '[one] set is not a code; write set = "left" or the like'),
        (
            "[other]",
            "[others]",
            10,
            "“others” is not read; a question has text, measure, stated, as_stated, one, other",
        ),
        ("[one]", "[other_one]", 0, "[one] must say which screens are meant"),
        ('set = "keel"', "set = keel", 7, 'not TOML there: Invalid value; a value looks like measure = "goal"'),
    ],
)
def test_what_cannot_be_asked_is_named_by_line_with_what_would_be_right(
    old: str, new: str, line: int, told: str
) -> None:
    text = "\n".join(SOUND).replace(old, new, 1)
    question, faults = parse_stated(text)
    assert question is None
    assert any(at == line and told in words for at, words in faults), faults
    assert not any("\n" in words for _, words in faults)


def test_a_question_made_wrong_is_refused_before_it_is_written() -> None:
    with pytest.raises(StatedError, match="no measure “luck”"):
        StatedQuestion("?", "luck", {"set": "keel"})
    with pytest.raises(StatedError, match=r"\[one\] must say which runs are meant"):
        StatedQuestion("?", "goal", {})
    with pytest.raises(StatedError, match="“coverage” is not asked of runs"):
        StatedQuestion("?", "goal", {"set": "keel"}, {"coverage": "switched"})


def test_it_needs_what_its_answer_is_counted_from_and_no_more() -> None:
    needs = DOWN_SCREEN.needs(KINDS)
    assert {"screen", "screen.free", "set.side", "shot.result", "shot.recovered"} <= set(needs)
    assert not {"screen.setter", "screen.coverage", "shot.shooter", "shot.feeder", "look", "grade"} & set(needs)
    looks = StatedQuestion("?", "on_goal", {"set": "keel", "look": "far_pipe"}, stated=DAY).needs(KINDS)
    assert "look.look" in looks and "screen" not in looks
    assert {"shot.shooter", "shot.feeder2"} <= set(
        StatedQuestion("?", "credited", {"kind": "double"}, stated=DAY).needs(KINDS)
    )


@pytest.mark.parametrize("measure", [*RUN_MEASURES, *SCREEN_MEASURES])
def test_everything_needed_is_a_kind_or_a_question_of_the_vocabulary(measure: str) -> None:
    known = set()
    for kind in KINDS:
        known |= {kind["code"], *(f"{kind['code']}.{question['code']}" for question in kind["questions"])}
    columns = SCREEN_COLUMNS if measure in SCREEN_MEASURES else RUN_COLUMNS
    question = StatedQuestion("?", measure, dict.fromkeys(columns, "left"), stated=DAY)
    assert set(question.needs(KINDS)) <= known


def test_the_season_reads_it_and_lists_a_set_that_the_playbook_does_not_have(tmp_path: Path) -> None:
    looks = '[[set.look]]\ncode = "curl"\nname = "Swimmer curls"\n'
    playbook = '[[set]]\ncode = "keel"\nname = "Keel"\nkey = "1"\nsides = ["left"]\n'
    (tmp_path / "playbook.toml").write_text(playbook + looks, encoding="utf-8")
    write_stated(tmp_path, DOWN_SCREEN)
    texts = read_texts(tmp_path)
    assert texts.stated_question == DOWN_SCREEN
    assert [one for one in texts.problems if one.file == QUESTION_FILE] == []
    write_stated(tmp_path, StatedQuestion("?", "goal", {"set": "kele"}, stated=DAY))
    told = [str(one) for one in read_texts(tmp_path).problems if one.file == QUESTION_FILE]
    assert told == ["question.toml, line 7: [one] the playbook has no set “kele”; it has keel"]
    (tmp_path / QUESTION_FILE).write_text("measure = 3", encoding="utf-8")
    assert read_texts(tmp_path).stated_question is None

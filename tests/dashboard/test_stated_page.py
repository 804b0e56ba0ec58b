"""The question: stated in the page, written to the season's folder, answered first and apart from what was noticed."""

from __future__ import annotations

import datetime
import re
import tomllib
from dataclasses import replace

import pytest
from dash import html

from dashboard.loading import Present
from dashboard.pages.shell import content, place_of
from dashboard.pages.stated import MEASURES, analysed
from dashboard.server import create_app
from dashboard.stated_form import stated_of
from tagger.texts.stated import RUN_MEASURES, SCREEN_MEASURES, StatedError, part_of, written
from tests.dashboard.herons import entry
from tests.dashboard.test_pages import page, playing, words

FORM = {
    "does": "state",
    "text": "Does Lantern free  its user\r\ngoing left?",
    "measure": "user_free",
    "one_set": "lantern",
    "one_side": "left",
    "other_set": "lantern",
    "other_side": "right",
}
LEFT = {"set": "lantern", "side": "left"}


def said(present: Present, address: str) -> str:
    return " ".join(words(page(present, address)).split())


def test_every_measure_has_its_words() -> None:
    assert list(MEASURES) == [*RUN_MEASURES, *SCREEN_MEASURES]


def test_a_form_becomes_a_question_of_screens_or_of_runs() -> None:
    asked = stated_of(FORM)
    assert asked.text == "Does Lantern free its user going left?"
    assert asked.one == {"set": "lantern", "set_side": "left"} and asked.other == {
        "set": "lantern",
        "set_side": "right",
    }
    asked = stated_of({"text": "Left?", "measure": "shot", "one_side": "left", "one_look": "keel.roller"})
    assert asked.one == {"side": "left", "set": "keel", "look": "roller"} and asked.other is None


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({"one_set": "", "one_side": ""}, "say which are meant"),
        ({"one_look": "lantern.first"}, "look is known of runs"),
        ({"measure": "shot", "one_coverage": "switched"}, "coverage is known of screens"),
        ({"measure": "shot", "one_look": "keel.roller"}, "the look is one of another set"),
        ({"other_side": "left"}, "both sides of the comparison are the same"),
        ({"text": " "}, "the question’s words are missing"),
        ({"measure": "luck"}, "no measure “luck”"),
    ],
)
def test_what_cannot_be_asked_is_refused_by_name(changed: dict[str, str], told: str) -> None:
    with pytest.raises(StatedError, match=told):
        stated_of(FORM | changed)


def test_a_question_stated_in_the_page_is_answered_first_and_can_be_taken_back(present: Present) -> None:
    client = create_app(present.season, present=present).test_client()
    assert "No question is stated" in said(present, "/")
    assert client.post("/question", data=FORM).headers["Location"] == "/question"
    assert (present.season.folder / "question.toml").is_file()
    assert "Your question Does Lantern free its user going left? Too few to answer" in said(present, "/")
    answered = said(present, "/question")
    assert "Lantern, to the left 1 of 1 · too few to say" in answered
    assert "how often one frees who used it" in answered
    client.post("/question", data={"does": "withdraw"})
    assert not (present.season.folder / "question.toml").exists() and "No question is stated" in said(present, "/")


def test_a_refused_form_keeps_what_was_entered(present: Present) -> None:
    client = create_app(present.season, present=present).test_client()
    answer = client.post("/question", data=FORM | {"other_side": "left"})
    address = answer.headers["Location"].removesuffix("#state")
    made = page(present, address)
    assert "both sides of the comparison are the same" in words(made)
    assert "Does Lantern free" in words(made) and not (present.season.folder / "question.toml").exists()


def test_the_answer_plays_the_rows_of_both_sides(present: Present) -> None:
    create_app(present.season, present=present).test_client().post(
        "/question", data=FORM | {"measure": "shot", "text": "Left or right?"}
    )
    question = analysed(present.now())
    assert question is not None and question.part.strengths == ("even",) and question.part.team == "ours"
    front = html.Div(content(present, place_of("/", None)))
    [(_, table, ids)] = [each for each in playing(front) if each[0].startswith("Left or right?")]
    assert table == "runs" and len(ids) == 3


def _tag(present: Present, place: int, at_ms: int, wall: str) -> None:
    """One run of Lantern to the left more, on g1, tagged at a time of day."""
    film = present.season.shelf.films("g1")[0].id
    marks = ((0, "possession", {"team": "ours"}), (300, "settled", {}), (400, "set", LEFT))
    for n, (later_ms, kind, answers) in enumerate(marks):
        made = entry("g1", place + n, film, at_ms + later_ms, kind, answers) | {"wall": wall}
        present.season.journal.add("g1", "coach", [made])


def _stated(present: Present, stated: str) -> None:
    day, at = part_of(tomllib.loads(f"stated = {stated}")["stated"])
    assert day is not None
    question = replace(stated_of(FORM | {"measure": "shot", "text": "Left or right?"}), stated=day, at=at)
    (present.season.folder / "question.toml").write_text(written(question), encoding="utf-8")


def test_what_was_tagged_before_the_statement_is_said_to_be_explored_to_the_second(present: Present) -> None:
    _stated(present, "2026-03-14T19:00:00Z")
    page_said = said(present, "/question")
    assert "explored" not in page_said and "3 of 3 runs do not say whether they were tagged before it" in page_said
    _tag(present, 90, 23_500, "2026-03-14T18:59:59Z")
    page_said = said(present, "/question")
    assert "1 of 4 runs compared were tagged before that: to that part this is explored" in page_said
    assert re.search(r"Lantern, to the left 2 of 3 .*Lantern, to the left, not tagged before it 2 of 2 ", page_said), (
        page_said
    )
    assert "Without what was tagged before it was stated: Too few to answer" in page_said
    _tag(present, 95, 25_500, "2026-03-14T19:00:01Z")
    assert "1 of 5 runs compared were tagged before that" in said(present, "/question")


def test_where_only_the_day_is_known_that_days_marks_may_have_come_first(present: Present) -> None:
    noon = datetime.datetime(2026, 3, 14, 12).astimezone()  # the same day for the clock here
    _stated(present, "2026-03-14")
    _tag(present, 90, 23_500, noon.isoformat())
    page_said = said(present, "/question")
    assert "Stated on 14 March 2026, at what time is not known" in page_said
    assert "4 of 4 runs do not say whether they were tagged before it" in page_said and "explored" not in page_said
    _tag(present, 95, 25_500, (noon - datetime.timedelta(days=1)).isoformat())
    assert "1 of 5 runs compared were tagged before that: to that part this is explored" in said(present, "/question")


def test_a_comparison_edited_by_hand_counts_as_asked_nobody_knows_when(present: Present) -> None:
    _stated(present, "2026-03-14T19:00:00Z")
    _tag(present, 90, 23_500, "2026-03-14T19:00:01Z")
    file = present.season.folder / "question.toml"
    file.write_text(file.read_text(encoding="utf-8").replace('"shot"', '"turnover"'), encoding="utf-8")
    page_said = said(present, "/question")
    assert "question.toml edited by hand since: what it asks now was not asked then. State it anew here." in page_said
    assert "4 of 4 runs do not say whether they were tagged before it" in page_said


def test_restating_is_counted_and_what_was_stated_can_be_read(present: Present) -> None:
    client = create_app(present.season, present=present).test_client()
    client.post("/question", data=FORM)
    client.post("/question", data=FORM)
    assert "Stated before" not in said(present, "/question"), "the same again is not another question"
    client.post("/question", data=FORM | {"measure": "shot", "text": "Left or right?"})
    page_said = said(present, "/question")
    assert "Before it one question was stated: of so many, one may come out by chance." in page_said
    assert "Stated before Does Lantern free its user going left? frees who used it; from " in page_said
    client.post("/question", data={"does": "withdraw"})
    assert "No question is stated" in said(present, "/question") and "Left or right?" in said(present, "/question")


def test_words_that_ask_who_comes_free_are_not_answered_by_counting_shots() -> None:
    with pytest.raises(StatedError, match="the words ask who comes free"):
        stated_of(FORM | {"measure": "shot_after"})
    assert stated_of(FORM | {"measure": "shot_after", "text": "Is freelance better?"}).measure == "shot_after"

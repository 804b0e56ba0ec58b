"""The pages of goals, of the work and of opponents: what stands there, what plays, and what is said of too little."""

from __future__ import annotations

import itertools
import re
from pathlib import Path
from typing import Any

import pytest
from dash import dcc, html

from dashboard.loading import Present
from dashboard.pages.numbers import MEANT
from dashboard.pages.registry import PAGES
from dashboard.pages.shell import content, place_of
from dashboard.pages.which_set import chance_in_words
from tagger.season import Season
from tagger.shelf.films import NewFilm
from tests.counts import cases
from tests.dashboard.herons import tag, texts
from tests.dashboard.test_pages import page, parts, playing, row_of, words


def said(component: object) -> str:
    return " ".join(words(component).split())


def table_after(made: html.Div, heading: str) -> html.Table:
    """The first table after a heading."""
    every = parts(made)
    at = next(
        place for place, part in enumerate(every) if isinstance(part, html.H2 | html.H3) and words(part) == heading
    )
    return next(part for part in every[at:] if isinstance(part, html.Table))


@pytest.fixture
def many(season: Season) -> Present:
    """A game more: two sets of twelve runs, Keel better than Lantern; goals against with causes; places; grades."""
    marks: list[tuple[int, str, dict[str, Any]]] = [(0, "period_start", {"number": "1"})]
    for place in range(24):
        at = 1000 + place * 2000
        keel = place % 2 == 1
        good = keel if place < 20 else not keel
        shot = {"shooter": "14", "result": "wide", "recovered": "no", "place": [18.0, 0.5]}
        marks += [
            (at, "possession", {"team": "ours"}),
            (at + 100, "settled", {}),
            (at + 200, "set", {"set": "keel" if keel else "lantern", "side": "left"}),
            (at + 300, "grade", {"player": "22", "checkpoint": "safety", "grade": "plus" if good else "minus"}),
            (at + 500, "shot", shot) if good else (at + 500, "turnover", {"player": "14", "kind": "bad_pass"}),
            (at + 1000, "possession", {"team": "theirs"}),
            (at + 1200, "family", {"family": "cut"}),
            (at + 1500, "shot", {"shooter": "9", "result": "goal", "cause": "no_help" if place % 4 else "beaten"})
            if place < 12
            else (at + 1500, "turnover", {"player": "9", "kind": "dropped"}),
        ]
    season.games.add("g3", "2026-03-28", "Larkspur", True)
    season.shelf.enter("g3", [NewFilm(id="m-g3", name="Larkspur, not filmed", duration_ms=60_000)])
    tag(season, "g3", "m-g3", tuple(marks))
    return Present(season)


def test_sets_are_ranked_with_how_sure_that_is_and_never_barely(many: Present) -> None:
    table = table_after(page(many, "/sets"), "Which set is better?")
    lines = [said(row) for row in parts(table, html.Tr)]
    assert lines[1].startswith("Keel 11 of 13") and "in 100 plausibly" in lines[1]
    assert "of 2 anywhere from 1 to 2" in lines[1] and "92 in 100" in lines[1]


def test_two_sets_are_needed_before_one_is_better(present: Present) -> None:
    assert "Two sets with at least 10 runs each are needed" in words(page(present, "/sets"))


def test_the_fact_in_the_sentence_changes_what_is_ranked(many: Present) -> None:
    text = said(page(many, "/sets?fact=turnover"))
    assert "Runs with a lost ball, at even strength." in text
    table = table_after(page(many, "/sets?fact=turnover"), "Which set is better?")
    assert said(parts(table, html.Tr)[1]).startswith("Lantern 11 of 15")


def test_goals_against_are_told_by_cause(many: Present) -> None:
    made = page(many, "/goals")
    assert "13 goals against us; the cause was made out in 12." in said(made)
    assert said(row_of(made, "No help")).startswith("No help 9 9 of 12 plausibly 47–91 in 100")
    assert said(row_of(made, "Not answered")).startswith("Not answered 1")


def test_the_chart_counts_what_has_a_place_and_says_the_rest(many: Present) -> None:
    text = said(page(many, "/shots"))
    assert "Ours: the place is marked in 12 of 16 shots" in text
    assert "0 of 12 0–" in text, re.findall(r"\d+ of 12[^.]{0,30}", text)


def test_a_page_that_says_a_range_says_once_what_plausibly_means(many: Present) -> None:
    told = 0
    for address in (one.address for one in PAGES.values() if not one.each):
        *body, last = content(many, place_of(address, ""))
        is_said = "plausibl" in said(html.Div(body))
        assert said(html.Div([*body, last])).count(MEANT) == is_said and (said(last) == MEANT) == is_said, address
        told += is_said
    assert told >= 5


def test_shot_quality_refuses_politely(many: Present) -> None:
    text = said(page(many, "/shots"))
    assert "are too few for a model" in text and "are not said from so few shots" in text


def test_work_tells_checkpoints_men_lost_balls_and_games(many: Present) -> None:
    made = page(many, "/work")
    assert said(row_of(made, "22 Wiremu")).startswith("22 Wiremu Tahana 24 12 of 24 plausibly 31–69 in 100")
    assert "Runs with a shot: met" not in said(made), "the safety is not held against our own shots"
    back = said(table_after(made, "Was the safety back?"))
    assert back.startswith("Was the safety back? Ball to them They shot at once Scored ") and "Not back " in back
    lost = table_after(made, "What do they make of the ball they get from us?")
    ball = said(row_of(lost, "Ball lost"))
    assert ball.startswith("Ball lost 13 ") and "plausibly" in ball
    assert "No slope is drawn from" in said(made)


def test_a_lost_ball_plays_the_others_possession(present: Present) -> None:
    lost = table_after(page(present, "/work"), "What do they make of the ball they get from us?")
    shot = playing(row_of(lost, "Ball lost"))[-1]
    [id_] = shot[2]
    assert shot[1] == "possessions" and present.now().rows("possessions")[id_]["team"] == "theirs"


def test_an_opponents_sheet_is_told_by_the_same_tables(many: Present) -> None:
    made = page(many, "/opponents?opponent=Larkspur")
    assert said(made).startswith("Larkspur: 12 of 24 runs brought a shot. Met on 28 March")
    cut = row_of(table_after(made, "What do they run?"), "Cut")
    assert said(cut).startswith("Cut 24 12 of 24 plausibly 31–69 in 100 12 of 24")
    assert said(row_of(made, "Their 9")).startswith("Their 9 12 12 12")


def test_opponents_stand_a_line_each_and_lead_to_their_sheets(many: Present) -> None:
    made = page(many, "/opponents")
    lines = [row for row in parts(made, html.Tr) if parts(row, dcc.Link)]
    assert [parts(row, dcc.Link)[0].href for row in lines][:1] == ["/opponents?opponent=Quarry+Hill"]
    assert said(lines[-1]).startswith("Larkspur 28 March 24 runs 12 with a shot, 12 with a goal")
    assert not [row for row in parts(made, html.Tr) if said(row).startswith("Their ")], "one number is several men here"


@pytest.mark.parametrize(
    ("address", "told"),
    [
        ("/goals", "No shot is tagged yet"),
        ("/shots", "No shot is tagged yet"),
        ("/work", "Nothing is tagged yet"),
        ("/opponents", "No possession of theirs is tagged yet"),
    ],
)
def test_before_the_first_mark_each_page_says_what_to_tag(tmp_path: Path, address: str, told: str) -> None:
    season = Season.open(texts(tmp_path / "empty"), make=True)
    try:
        assert told in words(page(Present(season), address))
    finally:
        season.close()


NARROW = ("period=5", "opponent=Millrace", "games=g2", "strength=empty_net", "side=right")
EACH = [page.address.format(set="keel", player="14", game="g1") for page in PAGES.values()]


@pytest.mark.parametrize(("address", "narrow"), list(itertools.product(EACH, NARROW))[:: cases(3, many=1)])
def test_no_page_falls_over_a_narrow_sentence(many: Present, address: str, narrow: str) -> None:
    assert len(words(page(many, f"{address}?{narrow}"))) > 40


def test_chances_are_never_certain() -> None:
    assert [chance_in_words(p) for p in (0.0, 0.314, 1.0)] == ["under 1 in 100", "31 in 100", "over 99 in 100"]


def test_a_page_names_the_seasons_own_key_for_what_to_mark(tmp_path: Path) -> None:
    folder = texts(tmp_path / "own keys")
    (folder / "keys.toml").write_text('[marks]\nshot = "e"\nscreen.new = "s"\n', encoding="utf-8")
    season = Season.open(folder, make=True)
    try:
        assert "e marks one; its result" in words(page(Present(season), "/goals"))
        assert "s marks one while the film runs" in words(page(Present(season), "/screens"))
    finally:
        season.close()

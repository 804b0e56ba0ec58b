"""Three kinds that the vocabulary alone gives: each by its key, and in journal, tables, log, reel and story."""

from __future__ import annotations

import argparse
import csv
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from dash import html

from dashboard.choosing import Wanted, chosen
from dashboard.commands.tables import write_out
from dashboard.loading import Present
from dashboard.pages.shell import content, place_of
from dashboard.reels import cut_reel
from dashboard.story import happened, tell
from dashboard.table_files import read_csv
from tagger.marks.plain import plain_vocabulary
from tests.dashboard.herons import tag
from tests.film.maker import Recipe, make
from tests.screen.house import House, opened, press, said

UNSEEN = {"code": "unseen", "key": "v", "name": "can’t see", "say": "Someone"}
PLAIN = {
    "code": "huddle",
    "name": "huddle",
    "about": "They put their heads together.",
    "level": "basic",
    "stops_play": True,
    "keys": [{"key": "S", "name": "huddle"}],
    "needs": {"period": ["open"]},
    "effects": [],
    "questions": [],
    "say": [{"text": "A huddle"}],
}
WITH_TABLE = {
    "code": "deflection",
    "name": "deflection",
    "about": "A pass that a stick touches.",
    "level": "basic",
    "run": "touches",
    "past_centre": True,
    "team": "ball",
    "part": ["player"],
    "table": {
        "name": "deflections",
        "columns": ["team text ours or theirs", "player text number", "hard flag hit", "words text what was shouted"],
    },
    "keys": [{"key": "H", "name": "deflection"}],
    "needs": {"ball": ["ours", "theirs"]},
    "effects": [],
    "questions": [
        {"code": "player", "ask": "whose pass?", "type": "player", "level": "basic", "choices": [UNSEEN]},
        {
            "code": "hard",
            "ask": "hard?",
            "type": "choice",
            "level": "basic",
            "choices": [{"code": "yes", "key": "b", "name": "hard"}, {"code": "no", "key": "c", "name": "soft"}],
        },
        {"code": "words", "ask": "what was shouted?", "type": "text", "level": "whole"},
    ],
    "say": [{"text": "{player|Someone}’s pass was touched"}, {"text": ", {hard}"}],
}
ENDING = {
    "code": "reset",
    "name": "reset",
    "about": "The ball goes back to the middle. It ends the run.",
    "level": "basic",
    "log": "ends",
    "run": "ends",
    "ended": "reset",
    "leaves": "broken",
    "keys": [{"key": "U", "name": "reset"}],
    "needs": {"ball": ["ours", "theirs"]},
    "effects": [{"put": {"set": "", "side": ""}}],
    "questions": [],
    "say": [{"text": "Reset"}],
}


def with_three_more() -> dict[str, Any]:
    """The package's vocabulary with three kinds more, on keys that others give up."""
    data = plain_vocabulary()
    for kind in data["kinds"]:
        if kind["code"] in ("fresh_clock", "line", "loose_ball"):
            kind["keys"] = []
    data["endings"].append({"code": "reset", "name": "was reset", "noun": "a reset"})
    data["kinds"] += [PLAIN, WITH_TABLE, ENDING]
    return data


MARKS: tuple[tuple[int, str, dict[str, Any]], ...] = (
    (0, "period_start", {}),
    (0, "possession", {"team": "ours"}),
    (1000, "shot", {"shooter": "14", "result": "wide"}),
    (2000, "huddle", {}),
    (3000, "possession", {"team": "theirs"}),
    (5000, "possession", {"team": "ours"}),
    (6000, "deflection", {"player": "14", "hard": "yes", "words": "Hup"}),
    (8000, "reset", {}),
    (9000, "turnover", {"player": "14", "kind": "bad_pass"}),
)
SAID = [
    *("The period begins", "Ours", "14 shot: wide", "A huddle", "Theirs", "Ours"),
    *("14’s pass was touched, hard", "Reset", "14 threw it away"),
]


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Twenty seconds."""
    return make(Recipe("practice", n_frames=500, gop=25), tmp_path_factory.mktemp("film"))


@pytest.fixture
def house(film: Path, tmp_path: Path) -> Iterator[House]:
    """A season in which they can be marked."""
    made = House(tmp_path / "herons", film, vocabulary=with_three_more())
    made.game()
    yield made
    made.close()


@pytest.fixture
def marked(house: House) -> House:
    """The same with a game in which they are."""
    tag(house.season, "game-1", "game-1.1", MARKS)
    return house


@pytest.mark.browser
def test_the_page_takes_their_keys_and_the_log_says_them(page: Any, house: House) -> None:
    house.start()
    opened(page, house, "game-1")
    press(page, "B d s 1 4 w S f d H 1 4 b U x 1 4 b")
    assert said(page) == [f"{text}." for text in SAID]
    assert page.locator("#log .m.ends").all_inner_texts() == ["14 shot: wide.", "Reset.", "14 threw it away."]
    page.keyboard.press("?")
    sheet = page.locator("dialog[open]").inner_text()
    assert "They put their heads together." in sheet and "whose pass?" in sheet
    entries = house.wait_for("game-1", 15)
    assert [entry["kind"] for entry in entries if entry["does"] == "mark"] == [kind for _, kind, _ in MARKS]
    assert [line.text for line in house.season.tagged.folded("game-1").log] == SAID


def test_the_fold_gives_rows_and_what_is_left_out_touches_nothing(marked: House) -> None:
    folded = marked.season.tagged.folded("game-1")
    assert [row["ended"] for row in folded.rows["possessions"]] == ["missed_shot", None, "turnover"]
    assert [(row["phase"], row["ended"]) for row in folded.rows["runs"]] == [
        *(("not_tagged", "shot"), ("not_tagged", None), ("not_tagged", "reset"), ("broken", "turnover")),
    ]
    [row] = folded.rows["deflections"]
    assert (row["team"], row["player"], row["hard"], row["run"]) == ("ours", "14", True, folded.rows["runs"][2]["id"])
    assert folded.rows["possessions"][2]["crossed"] is True and row["marks"][0] in folded.rows["runs"][2]["marks"]
    assert not [line.text for line in folded.log if "unknown" in line.text]


def test_one_that_stops_play_lets_a_penalty_begin_that_was_delayed(house: House) -> None:
    marks = (
        (0, "period_start", {}),
        (0, "possession", {"team": "ours"}),
        (1000, "penalty", {"team": "theirs", "player": "9", "kind": "minor", "delayed": "yes"}),
        (2000, "shot", {"shooter": "14", "result": "wide", "recovered": "ours"}),
        (3000, "huddle", {}),
        (4000, "shot", {"shooter": "14", "result": "wide", "recovered": "ours"}),
    )
    tag(house.season, "game-1", "game-1.1", marks)
    shots = house.season.tagged.folded("game-1").rows["shots"]
    assert [row["strength"] for row in shots] == ["5v5", "5v4"]


def test_the_tables_are_written_with_the_one_of_its_own(marked: House, tmp_path: Path) -> None:
    target = tmp_path / "tables"
    given = argparse.Namespace(to=target, book=None, parquet=True, replace=False)
    assert write_out(marked.season, given) == 0
    with (target / "deflections.csv").open(encoding="utf-8", newline="") as text:
        [row] = csv.DictReader(text)
    assert (row["team"], row["player"], row["hard"], row["at_ms"], row["words"]) == (
        "ours",
        "14",
        "true",
        "6000",
        "Hup",
    )
    told = json.loads((target / "tables.json").read_text(encoding="utf-8"))["columns"]
    assert list(told)[-1] == "deflections" and told["deflections"]["hard"] == "flag"
    assert (target / "deflections.parquet").is_file()
    back = read_csv(target, marked.season.texts.language().tables)
    assert back["deflections"]["player"].tolist() == ["14"]


def test_who_has_a_part_in_it_has_it_on_his_reel_and_is_asked_for_consent(marked: House, tmp_path: Path) -> None:
    moment = Present(marked.season).now()
    [row] = moment.rows("deflections").values()
    clips = chosen(moment, Wanted(player="14"))
    assert any(("deflections", row["id"]) in clip.rows for clip in clips)
    assert "14" in moment.marked["game-1"].within(row["at_ms"], row["at_ms"] + 1)
    done = cut_reel(marked.season, Wanted(player="14"), tmp_path / "14.mp4", consent=False)
    assert done.reel is not None and done.reel.path.is_file()


def test_the_games_story_and_its_page_tell_them(marked: House) -> None:
    present = Present(marked.season)
    moment = present.now()
    first, _, last = tell(moment.folded["game-1"], moment.language)
    assert [one.text for run in first.runs for one in run] == ["14 shot: wide", "A huddle"]
    assert [(one.text, one.table) for one in last.runs[0]] == [
        ("14’s pass was touched, hard", "deflections"),
        ("Reset", ""),
    ]
    runs = list(moment.rows("runs").values())
    assert happened(moment, "runs", runs[2]) == "No set named: was reset"
    [row] = moment.rows("deflections").values()
    assert happened(moment, "deflections", row) == "14’s pass was touched, hard"
    shown = str(html.Div(content(present, place_of("/games/game-1", ""))))
    assert "14’s pass was touched, hard." in shown and "A huddle." in shown and "data-table='deflections'" in shown

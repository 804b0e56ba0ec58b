"""The sample season: made once, whole or not at all, and never made over."""

from __future__ import annotations

import json
import re
import shutil

import pytest
from dash.development.base_component import Component

from dashboard.demo import make_demo
from dashboard.errors import WrongFolder
from dashboard.loading import Present
from dashboard.pages.shell import content, place_of
from tagger.season import Season
from tests.dashboard.herons import CLONE
from tests.dashboard.recount.reading import Control, FilmedPresent, controls, words

NUMBER = re.compile(r"\d+( (of|in) \d+)?")
PAGES = ("/", "/games/g8", "/sets", "/shots")
"""Where a newcomer presses numbers: the week, its game, the sets, the shots."""


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo") / "floorbook demo"
    assert make_demo(folder)
    return folder


def test_the_sample_season_is_complete(demo):
    season = Season.open(demo)
    try:
        games = json.loads((CLONE / "sample_data" / "season" / "games.json").read_text(encoding="utf-8"))["games"]
        assert [game.id for game in season.games.all()] == [game["id"] for game in games]
        for game in games:
            films = season.shelf.films(game["id"])
            whole = {"g8": ["none", "ready"]}  # of the last game the third period is on film
            assert [film.state for film in films] == whole.get(game["id"], ["ready" if game["film"] else "none"])
            assert {film.gap_from for film in films[1:]} <= {"assumed"} and not films[0].gap_from, game["id"]
            folded = season.tagged.folded(game["id"])
            assert len(folded.rows["possessions"]) > 3, game["id"]
            assert not [problem for problem in folded.problems if problem.code == "film_unknown"]
        assert season.texts.problems == ()
    finally:
        season.close()


def counted(made: list[Component]) -> list[Control]:
    """What was counted: a number, or a sentence that says one of several; not the marks of single moments."""
    return [
        each
        for each in controls(made)
        if each.ids and (NUMBER.fullmatch(each.text) or (len(each.ids) > 1 and re.search(r"\d", each.text)))
    ]


def n_of(there: list[Control]) -> int:
    """How many numbers can be pressed there: “21 of 133” are two."""
    return sum(len(re.findall(r"\d+", each.text)) for each in there)


def silent(part: object) -> list[str]:
    """Numbers that stand without film and say so when they are pointed at."""
    if isinstance(part, list | tuple):
        return [found for each in part for found in silent(each)]
    if not isinstance(part, Component):
        return []
    if str(getattr(part, "title", "")).endswith((": no film of it", ": no film of them")):
        return [words(part)]
    return silent(getattr(part, "children", None))


def test_at_least_half_of_the_numbers_play_a_clip_and_the_others_say_why_not(demo):
    season = Season.open(demo)
    try:
        for address in PAGES:
            place = place_of(address, "")
            there = content(Present(season), place)
            plays, could = counted(there), counted(content(FilmedPresent(season), place))
            assert n_of(could) > 15 and 2 * n_of(plays) >= n_of(could), f"{address}: {n_of(plays)} of {n_of(could)}"
            mute = sum(bool(NUMBER.fullmatch(one.text)) for one in could) - sum(
                bool(NUMBER.fullmatch(one.text)) for one in plays
            )
            assert len(silent(there)) >= mute, address
        week = content(Present(season), place_of("/", ""))
        assert [each.under for each in counted(week)[:2]] == [(words(week[0]),)] * 2, "the last game's score plays"
    finally:
        season.close()


def test_it_can_be_carried_elsewhere(demo, tmp_path):
    moved = tmp_path / "moved"
    shutil.copytree(demo, moved)
    season = Season.open(moved)
    assert [film.state for film in season.shelf.films("g1")] == ["ready"]
    assert moved in season.shelf.copies.played(season.shelf.films("g1")[0].id)[0].parents
    season.close()


def test_a_season_that_was_changed_stays_as_it_is(demo, tmp_path):
    folder = tmp_path / "mine"
    shutil.copytree(demo, folder)
    roster = folder / "roster.csv"
    roster.write_text("number,name\n1,Mine\n", encoding="utf-8")
    assert make_demo(folder) is False
    assert roster.read_text(encoding="utf-8") == "number,name\n1,Mine\n"


def test_a_folder_with_other_things_in_it_is_left_alone(tmp_path):
    (tmp_path / "letter.txt").write_text("dear", encoding="utf-8")
    with pytest.raises(WrongFolder, match="not empty"):
        make_demo(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["letter.txt"]


def test_an_empty_folder_is_filled(tmp_path, sample):
    folder = tmp_path / "empty"
    folder.mkdir()
    assert make_demo(folder, source=sample)
    assert (folder / "season.db").exists()


def test_nothing_is_left_of_one_that_was_cut_short(tmp_path, sample):
    def stop(done, text):
        if done > 0:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        make_demo(tmp_path / "demo", source=sample, progress=stop)
    assert not (tmp_path / "demo").exists() and list(tmp_path.glob("demo*")) == []


@pytest.fixture
def sample(tmp_path):
    """A sample without film or marks: made in no time."""
    source = tmp_path / "source"
    shutil.copytree(CLONE / "sample_data" / "season", source / "season")
    return source

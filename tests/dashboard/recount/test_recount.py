"""Every count on every page, recounted from the event tables by code of its own, under the page's own words.

A number's words are looked up among the rules; a number without a rule fails by name, so whoever writes a new one says
here too what it counts.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator, Mapping
from fnmatch import fnmatchcase

import pytest

from dashboard.demo import make_demo
from dashboard.pages.registry import PAGES
from dashboard.pages.shell import content, place_of
from tagger.season import Season
from tests.dashboard.herons import CLONE
from tests.dashboard.recount import (
    of_clock,
    of_contests,
    of_events,
    of_findings,
    of_game,
    of_goalkeepers,
    of_left_open,
    of_man_up,
    of_opponents,
    of_people,
    of_possessions,
    of_runs,
    of_screens,
    of_shots,
)
from tests.dashboard.recount.book import Book
from tests.dashboard.recount.odd_season import odd
from tests.dashboard.recount.of_prose import wrong_sentences
from tests.dashboard.recount.reading import Control, FilmedPresent, controls, prose, words
from tests.dashboard.recount.recounted import Page, Rule, wrong

RULES: Mapping[str, Rule] = {
    **of_findings.RULES,
    **of_left_open.RULES,
    **of_runs.RULES,
    **of_game.RULES,
    **of_possessions.RULES,
    **of_screens.RULES,
    **of_people.RULES,
    **of_opponents.RULES,
    **of_events.RULES,
    **of_man_up.RULES,
    **of_contests.RULES,
    **of_clock.RULES,
    **of_goalkeepers.RULES,
    **of_shots.RULES,
}
"""The first whose pattern fits."""
KNOWN: dict[str, Rule | None] = {}


def rule_of(label: str) -> Rule | None:
    """What a label counts."""
    if label not in KNOWN:
        KNOWN[label] = next((rule for pattern, rule in RULES.items() if fnmatchcase(label, pattern)), None)
    return KNOWN[label]


def label_of(page: str, control: Control) -> str:
    """Where a number stands, by the words around it."""
    last = control.column or control.row or control.what
    return " / ".join([page or "front", *control.under[1:], last])


def faults(present: FilmedPresent, book: Book, address: str) -> list[str]:
    """What is wrong on a page, a line each."""
    path, _, search = address.partition("?")
    place = place_of(path, search)
    page = Page(book, place.page, place.of, place.chosen)
    made = content(present, place)
    said = [f"{address}: {fault}" for fault in wrong_sentences(page, prose(made))]
    for control in controls(made):
        rule = rule_of(label_of(place.page, control))
        if rule is None:
            said.append(f"{address}: no rule says what is counted: {label_of(place.page, control)}")
            continue
        try:
            fault = wrong(rule(page, control), control)
        except (LookupError, ValueError) as unknown:
            fault = f"not recounted: {unknown!r}"
        if fault:
            said.append(f"{address}: {control}: {fault}")
    return said


@pytest.fixture(scope="module")
def sample(tmp_path_factory: pytest.TempPathFactory) -> Iterator[FilmedPresent]:
    """The sample season, of which only the marks are needed."""
    folder = tmp_path_factory.mktemp("recount")
    for name in ("season", "journals"):
        shutil.copytree(CLONE / "sample_data" / name, folder / "source" / name)
    make_demo(folder / "herons", source=folder / "source")
    season = Season.open(folder / "herons")
    yield FilmedPresent(season)
    season.close()


@pytest.fixture(scope="module")
def book(sample: FilmedPresent) -> Book:
    return Book(sample.season)


@pytest.fixture(scope="module")
def odd_one(tmp_path_factory: pytest.TempPathFactory) -> Iterator[FilmedPresent]:
    """The season of everything that is easily counted wrong."""
    season = odd(tmp_path_factory.mktemp("odd") / "herons")
    yield FilmedPresent(season)
    season.close()


@pytest.fixture(scope="module")
def odd_book(odd_one: FilmedPresent) -> Book:
    return Book(odd_one.season)


ADDRESSES = (
    "/",
    "/question",
    "/games",
    "/games/g1",
    "/games/g5",
    "/sets",
    "/sets?strength=up&fact=goal",
    "/sets?team=theirs&phase=all",
    "/sets?fact=turnover&games=last&period=2",
    "/sets/lantern",
    "/sets/keel?fact=goal_any&side=left",
    "/sets/samphire",
    "/screens",
    "/screens?team=theirs&side=left",
    "/goals",
    "/goals?strength=down",
    "/shots",
    "/shots?strength=up&games=last",
    "/shot-clock",
    "/shot-clock?team=theirs&strength=up",
    "/goalkeeper",
    "/goalkeeper?strength=up&games=last",
    "/face-offs",
    "/face-offs?games=g3",
    "/man-up",
    "/man-up?opponent=Millrace",
    "/man-down",
    "/man-down?games=last",
    "/work",
    "/work?side=right&fact=shot_10s",
    "/opponents",
    "/opponents?opponent=Tannery+Row",
    "/players",
    "/players?strength=up&games=last&role=setter",
    "/players?role=lost&period=2",
    "/players?team=theirs&games=g5&role=feeder",
    "/players/14",
    "/players/30",
    "/playbook",
)


@pytest.mark.parametrize("address", ADDRESSES)
def test_every_count_is_what_its_words_say(sample: FilmedPresent, book: Book, address: str) -> None:
    found = faults(sample, book, address)
    assert not found, f"{len(found)} faults:\n" + "\n".join(found[:12])


ODD = (
    "/",
    "/question",
    "/games/g1",
    "/sets",
    "/sets?strength=up",
    "/sets/ferry",
    "/sets/samphire",
    "/screens",
    "/goals",
    "/shots",
    "/face-offs",
    "/goalkeeper",
    "/man-up",
    "/man-down",
    "/shot-clock",
    "/work",
    "/work?strength=up",
    "/opponents?opponent=Millrace",
    "/players",
    "/players?strength=up&role=user",
    "/players?role=loose",
    "/players/14",
    "/players/30",
    "/players/9",
    "/players/35",
    "/playbook",
)


@pytest.mark.parametrize("address", ODD)
def test_odd_things_are_counted_as_said(odd_one: FilmedPresent, odd_book: Book, address: str) -> None:
    found = faults(odd_one, odd_book, address)
    assert not found, f"{len(found)} faults:\n" + "\n".join(found[:12])


def test_every_page_is_recounted() -> None:
    assert {place_of(*address.partition("?")[::2]).page for address in ADDRESSES} >= set(PAGES) - {"agreement"}


def test_a_checkpoint_is_called_as_its_own_set_calls_it(odd_one: FilmedPresent) -> None:
    said = words(content(odd_one, place_of("/work", "")))
    assert "Post is back as safety Lantern" in said and "Bell is back as safety Ferry" in said
    assert "Bell is back as safety (Ferry)" in said and "Buoy" not in said


def test_who_is_marked_but_not_in_the_table_is_not_said_to_be_named_by_no_mark(odd_one: FilmedPresent) -> None:
    said = words(content(odd_one, place_of("/players", "")))
    other, _, nowhere = said.partition("Named by no mark of these games: ")
    assert "30 Benedikt" in other.partition("but for nothing that stands here: ")[2] and "30 Benedikt" not in nowhere
    assert "11 Finn" in nowhere


def test_pages_that_count_a_set_at_other_strengths_say_so(sample: FilmedPresent, book: Book) -> None:
    def n(*strengths: str) -> int:
        runs = [run for run in book.rows["runs"] if run["set"] == "samphire" and run["team"] == "ours"]
        return sum(not strengths or book.strength(run) in strengths for run in runs)

    def said(address: str) -> str:
        return words(content(sample, place_of(*address.partition("?")[::2])))

    assert f"and {n('up')} runs on the power play {n('even')}" in said("/sets")
    even = f"{n('even')} run{'' if n('even') == 1 else 's'} at even strength."
    assert f"Of {n('up')} runs" in said("/sets/samphire") and even in said("/sets/samphire")
    assert f"{n()} runs in all games, at every strength." in said("/playbook")
    assert "all his games count, at every strength" in said("/players/00")

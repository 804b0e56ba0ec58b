"""Marks picked at random, in a real browser: each asks for the very rows that its words mean, as they are recounted."""

from __future__ import annotations

import json
import random

import pytest

from dashboard.loading import Present
from dashboard.pages.shell import content, place_of
from tagger.season import Season
from tests.dashboard.recount.book import Book
from tests.dashboard.recount.reading import controls
from tests.dashboard.recount.recounted import Page, wrong
from tests.dashboard.recount.test_recount import label_of, rule_of
from tests.dashboard.test_browser import opened

pytestmark = pytest.mark.browser
N_PICKED = 12
PATHS = (
    "sets?fact=goal",
    "sets?team=theirs",
    "sets/lantern",
    "screens",
    "players?role=user",
    "players/14",
    "work",
    "opponents?opponent=Quarry+Hill",
)
SAID = "one => [one.dataset.what, one.dataset.table, one.dataset.ids]"


def test_marks_picked_at_random_play_the_rows_that_their_words_mean(page, served, folder):
    season = Season.open(folder)
    present, book = Present(season), Book(season)
    picking = random.Random(15)
    for path in PATHS:
        place = place_of(*f"/{path}".partition("?")[::2])
        known = {(one.what, one.table, " ".join(one.ids)): one for one in controls(content(present, place))}
        opened(page, served, path)
        page.evaluate("for (const fold of document.querySelectorAll('main details')) fold.open = true")
        marks = page.locator("main .plays[data-ids]").all()
        for mark in picking.sample(marks, min(N_PICKED, len(marks))):
            what, table, ids = mark.evaluate(SAID)
            with page.expect_request("**/clips") as sent:
                mark.dispatch_event("click")
            asked = json.loads(sent.value.post_data)
            assert (asked["table"], asked["ids"]) == (table, ids.split(" ")), what
            control = known[what, table, ids]
            rule = rule_of(label_of(place.page, control))
            assert rule is not None, control
            assert not wrong(rule(Page(book, place.page, place.of, place.chosen), control), control), control
    season.close()

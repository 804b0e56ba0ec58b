"""A shape means one thing: on the tagging screen's strip, on a game's page, and in both legends."""

from __future__ import annotations

import re
from importlib import resources

from tagger.marks.plain import plain_vocabulary

SHAPES = {one["code"]: one["shape"] for one in plain_vocabulary()["endings"] if "shape" in one}
NAMED = {one["code"]: one["name"] for one in plain_vocabulary()["shapes"]}


def test_every_shape_of_a_games_page_is_one_of_the_vocabularys_and_is_drawn() -> None:
    styles = resources.files("dashboard").joinpath("assets/pages.css").read_text(encoding="utf-8")
    drawn = set(re.findall(r"^\.end\.(\w+) \{", styles, re.MULTILINE))
    assert set(SHAPES.values()) == set(NAMED) == drawn
    assert (NAMED[SHAPES["goal"]], NAMED[SHAPES["save"]], NAMED[SHAPES["missed_shot"]]) == ("goal", "saved", "missed")
    assert SHAPES["turnover"] == SHAPES["violation"] and NAMED[SHAPES["turnover"]] == "ball lost or a violation"
    assert NAMED[SHAPES["whistle"]] == "whistle"

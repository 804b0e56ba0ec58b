"""What stands out is said alike on all pages: in a season in which something does, and in one in which nothing does."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from analysis.findings import EVEN_OURS
from dashboard.moment import Moment
from dashboard.pages import opponents, screens, sets, work
from dashboard.pages.found import findings_of, of_checkpoints, of_runs, said_of, speaking
from dashboard.pages.season import practice
from dashboard.pages.stated import _noticed
from tests.bench.honesty.quiet import SETS, Scenario, quiet
from tests.bench.honesty.sentences import moment_of, said_of_planted, says
from tests.bench.honesty.still import Kind
from tests.dashboard.recount.reading import words

NOTHING = "Nothing here can be told apart yet; {n} comparisons were looked at."
STILL = Scenario(Kind("still", 0.11, n_games=6))
LOUD = Scenario(Kind("loud", 0.05, per_game=14, n_games=6), better=0.9)


def _rows(tables: dict[str, Any]) -> dict[str, list[dict[str, Any]]]:
    return {
        name: frame.astype(object).where(frame.notna(), None).to_dict("records")
        for name, frame in tables.items()
        if name in ("runs", "screens", "possessions", "shots", "grades")
    }


def _moment(how: Scenario, tables: dict[str, Any]) -> Moment:
    folded: Any = {"g01": SimpleNamespace(rows=_rows(tables), log=(), problems=())}
    return replace(moment_of(1, how), tables=tables, folded=folded)


@pytest.fixture(scope="module")
def still() -> Moment:
    return _moment(STILL, quiet(3, STILL))


@pytest.fixture(scope="module")
def loud() -> Moment:
    """The first set is better, nobody comes free where they go under, and grades go with what came."""
    tables = quiet(3, LOUD)
    under = (tables["screens"]["coverage"] == "under").to_numpy(dtype=bool)
    tables["screens"].loc[under, "free"] = "nobody"
    grades, number = tables["grades"], tables["grades"]["run"].str[1:]
    shot = ("s" + number).isin(tables["shots"]["id"])
    against = ("k" + number).isin(tables["shots"]["id"])
    good = np.where(grades["checkpoint"] == "safety", ~against, shot)
    grades["grade"] = np.where(good, "plus", "minus")
    grades["grade"] = grades["grade"].astype("string")
    return _moment(LOUD, tables)


def _filmed(moment: Moment) -> Any:
    return SimpleNamespace(moment=moment, count=lambda *_: 0, ids=lambda *_: frozenset())


def _said(moment: Moment) -> dict[str, str]:
    """Each page, as it is read."""
    filmed = _filmed(moment)
    present: Any = SimpleNamespace(now=lambda: moment, filmed=lambda: filmed)
    found = findings_of(moment, EVEN_OURS)
    return {
        "front": words(practice(moment, filmed)),
        "question": words(_noticed(moment, filmed)),
        "set": words(said_of(moment, filmed, found, of_runs(SETS[0]))),
        "sets": words(sets.page(present, "", {})),
        "screens": words(screens.page(present, "", {})),
        "work": words(work.page(present, "", {})),
        "opponents": words(opponents.page(present, "", {})),
        "an opponent": words(opponents.page(present, "", {"opponent": moment.games[0].opponent})),
    }


def test_a_still_season_has_the_same_words_for_nothing_on_every_page(still: Moment) -> None:
    n = findings_of(still, EVEN_OURS).looked_at
    said = _said(still)
    for page in ("front", "question", "set", "sets", "screens", "work"):
        assert NOTHING.format(n=n) in said[page], page
    assert "Nothing here can be told apart yet;" in said["an opponent"]
    for page, text in said.items():
        assert "stands out" not in text and "stood out" not in text and "chances are" not in text, page


def test_what_stands_out_is_said_by_every_page_that_is_about_it(loud: Moment) -> None:
    n = findings_of(loud, EVEN_OURS).looked_at
    said = _said(loud)
    assert "Keep anchor: " in said["front"] and "of the other sets; drawn together, plausibly" in said["front"]
    assert "Find an answer for when they went under: 0 of " in said["front"] and "partly one judgement" in said["front"]
    assert "Line-ups are taken as alike." in said["screens"] and "line-ups are taken as alike." in said["sets"]
    for page in ("sets", "set"):
        assert "Runs of Anchor brought a shot more often than those of the other sets: " in said[page], page
    assert (
        "Somebody came free less often against “went under” than against the other coverages: 0 of " in said["screens"]
    )
    assert "told at one glance: partly one judgement" in said["screens"]
    assert "“wall” missed brought a shot less often than with it met: 0 of " in said["work"]
    assert "brought a shot at once more often with the safety not back than with him back" in said["work"]
    assert "Runs of Anchor with a shot" in said["question"] and "stands out" in said["question"]
    for page in ("front", "question", "set", "sets", "screens", "work"):
        assert f"{n} comparisons were looked at together, within games; what is said stood out" in said[page], page


def test_pages_speak_of_the_same_family_whatever_phases_and_sets_they_show(loud: Moment) -> None:
    narrowed = replace(EVEN_OURS, phases=("set",), sets=(SETS[1],))
    assert findings_of(loud, narrowed) is findings_of(loud, EVEN_OURS)
    assert speaking(findings_of(loud, narrowed), of_checkpoints(SETS))


def test_the_bench_asks_every_page_and_finds_what_is_planted() -> None:
    few = replace(STILL, kind=replace(STILL.kind, n_games=3), asked=True, frees=True, covered=True, kept=True)
    found = says(1, few)
    assert len(found) == 8 and not any(found.values())
    assert said_of_planted(1, LOUD)

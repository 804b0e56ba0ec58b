"""A set's page and the screens' page: looks, ways, screens, each with the rows it was counted from."""

from __future__ import annotations

import pytest
from dash import html

from analysis.outcome import FACTS
from analysis.trend import FEWEST_GAMES
from dashboard.loading import Present
from dashboard.pages.dots import LEAST_GAMES, slope_words
from dashboard.pages.filters import FACT_WORDS
from dashboard.pages.screens import gap_words
from tagger.season import Season
from tagger.shelf.films import NewFilm
from tests.dashboard.herons import tag, texts
from tests.dashboard.test_pages import page, parts, playing, row_of, words


def said(component: object) -> str:
    return " ".join(words(component).split())


@pytest.fixture
def many(season: Season) -> Present:
    """Twelve runs of Lantern more, six to a side, with looks, screens and grades; the rows g1-… have film."""
    film = season.shelf.films("g1")[0].id
    marks = []
    for place in range(12):
        at = 200 + place * 300
        freed = place % 3 != 0
        marks += [
            (at, "possession", {"team": "ours"}),
            (at + 20, "settled", {}),
            (at + 40, "set", {"set": "lantern", "side": "left" if place % 2 else "right"}),
            (
                at + 60,
                "screen",
                {"setter": "22", "user": "14", "free": "user" if freed else "nobody", "coverage": "under"},
            ),
            (at + 80, "grade", {"player": "22", "checkpoint": "safety", "grade": "plus" if freed else "minus"}),
            (at + 120, "shot", {"shooter": "14", "result": "goal" if place == 1 else "wide", "recovered": "no"})
            if freed
            else (at + 120, "pull_out", {}),
            (at + 140, "look", {"look": "first" if freed else "none", "open": "none"}),
        ]
    season.games.add("g3", "2026-03-28", "Larkspur", True)
    season.shelf.enter("g3", [NewFilm(id="m-g3", name="Larkspur, not filmed", duration_ms=60_000)])
    tag(season, "g3", "m-g3", ((0, "period_start", {"number": "1"}), *marks, (5000, "period_end", {})))
    assert film
    return Present(season)


def test_facts_and_games_are_the_analysis_s() -> None:
    assert set(FACT_WORDS) <= set(FACTS) and LEAST_GAMES == FEWEST_GAMES


def test_a_set_s_page_tells_its_looks_ways_and_screens(many: Present) -> None:
    made = page(many, "/sets/lantern")
    text = said(made)
    assert text.startswith(
        "Lantern: 10 of 15 runs brought a shot. Two-man game, corner and crease. 2 of 15 runs have film."
    )
    ways = row_of(made, "who used it")
    assert said(ways).endswith("8") and "a shot" in said(ways)
    assert "4 runs were pulled out to start over" in text
    assert "No slope is drawn from 3 games; it takes 12." in text
    went = row_of(made, "Went under")
    assert said(went).startswith("Went under 12 8 of 12 plausibly 39–86 in 100")


def test_a_rate_and_its_interval_are_the_same_on_the_page_of_all_sets(many: Present) -> None:
    for game, shots in (("g4", 9), ("g5", 1)):
        marks: list[tuple[int, str, dict[str, str]]] = [(0, "period_start", {"number": "1"})]
        for place in range(24):
            at, play = 200 + place * 200, "ferry" if place % 2 else "lantern"
            brought = place // 2 < shots
            marks += [(at, "possession", {"team": "ours"}), (at + 20, "settled", {})]
            marks += [(at + 40, "set", {"set": play, "side": "left"})]
            marks += [(at + 90, "shot", {"shooter": "14", "result": "wide"}) if brought else (at + 90, "pull_out", {})]
        many.season.games.add(game, f"2026-04-0{game[1]}", "Larkspur", True)
        many.season.shelf.enter(game, [NewFilm(id=f"m-{game}", name="not filmed", duration_ms=60_000)])
        tag(many.season, game, f"m-{game}", (*marks, (5000, "period_end", {})))
    among = " ".join(words(row_of(page(many, "/sets"), "Lantern")).split())
    alone = " ".join(words(row_of(page(many, "/sets/lantern"), "… brought a shot")).split())
    assert "plausibly" in among and alone.removeprefix("… brought a shot ") in among


def test_ways_add_up_to_the_runs_of_the_set(many: Present) -> None:
    tables = [each for each in parts(page(many, "/sets/lantern"), html.Table) if each.className == "flow"]
    rows = [row for table in tables for row in parts(table, html.Tr) if len(parts(row, html.Td)) > 1]
    assert sum(int(words(parts(row, html.Td)[3])) for row in rows) == 15


def test_a_number_of_a_set_plays_its_runs(present: Present) -> None:
    made = page(present, "/sets/lantern")
    [shot] = [ids for text, table, ids in playing(row_of(made, "… brought a shot")) if table == "runs"]
    assert shot and all(present.now().rows("runs")[id_]["set"] == "lantern" for id_ in shot)


def test_screens_are_told_by_coverage_men_and_pairs(many: Present) -> None:
    made = page(many, "/screens")
    text = said(made)
    assert "Followed by a shot 9 of 9 · too few to say 0 of 4 · too few to say too few to say" in text
    assert said(row_of(made, "22 Wiremu")).startswith("22 Wiremu Tahana 13 9 of 13 plausibly 35–90 in 100")
    assert said(row_of(made, "22 for 14")).startswith("22 for 14 13")
    assert "Not answered in these screens: kind of screen, where it was set, what the setter did next." in text


def test_the_filter_narrows_the_screens(many: Present) -> None:
    assert said(row_of(page(many, "/screens?opponent=Larkspur"), "22 for 14")).startswith("22 for 14 12")
    assert "No screen of this kind is tagged" in words(page(many, "/screens?period=2"))
    assert "No run of it is tagged" in words(page(many, "/sets/lantern?opponent=Larkspur&period=2"))


def test_before_the_first_screen_the_page_says_how_to_mark_one(tmp_path: object) -> None:
    season = Season.open(texts(tmp_path / "empty"), make=True)  # type: ignore[operator]
    try:
        assert "No screen is tagged yet" in words(page(Present(season), "/screens"))
        assert "No run of it is tagged" in words(page(Present(season), "/sets/lantern"))
    finally:
        season.close()


def test_a_slope_is_said_only_where_there_is_one() -> None:
    row = {"games": 14, "slope": 0.1, "first": 0.3, "last": 0.52, "moves": True, "comparisons": 51}
    assert slope_words(row) == (
        "It rises from 30 to 52 in 100 over 14 games. 51 comparisons were looked at: noticed, not proven."
    )
    assert "cannot be told from standing still" in slope_words(row | {"moves": False})


def test_a_difference_of_too_few_is_not_said() -> None:
    row = {"lift": 0.12, "lift_lo": -0.03, "lift_hi": 0.26, "lift_few": False}
    assert gap_words(row, "lift") == "+12 in 100; plausibly −3 to +26"
    assert gap_words(row | {"lift_few": True}, "lift") == "too few to say"

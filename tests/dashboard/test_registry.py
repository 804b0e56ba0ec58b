"""A page of numbers is its module and one line: navigation, addresses and the reports read that line."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from dash import dcc, html

from dashboard.loading import Present
from dashboard.pages.registry import BOTH, DEFENCE, GAME, PAGES, SEASON, SIDE, WAYS, Page, way_to, within
from dashboard.pages.shell import Place, above, content, place_of
from dashboard.report import report
from tagger.season import Season
from tests.dashboard.test_pages import parts, words


def saying(what: str) -> Callable[..., list[Any]]:
    """A page that says what it was asked for."""
    return lambda present, of, chosen: [html.H1(f"{what} of {of or 'all'}, {chosen.get('games', 'every game')}")]


def test_a_page_stands_everywhere_by_its_line_alone(monkeypatch: pytest.MonkeyPatch, season: Season) -> None:
    monkeypatch.setitem(
        PAGES,
        "weather",
        Page("weather", saying("Weather"), "/weather", DEFENCE, "Weather", BOTH, says=("In ", "{games}")),
    )
    present = Present(season)
    links = parts(html.Div(above(present.now(), place_of("/weather", ""))), dcc.Link)
    on = [(one.children, one.href) for one in links if one.className == "on"]
    assert on[:2] == [("Defence", "/goals"), ("Weather", "/weather")]
    assert words(content(present, place_of("/weather", "?games=g2"))) == "Weather of all, g2"
    _nothing_else_printed(monkeypatch, "weather")
    assert "Weather of all, every game</h1>" in report(season).text
    assert "Weather of all, g2</h1>" in report(season, season.games.game("g2")).text


@pytest.mark.parametrize(("each", "ofs"), [("game", ("g1", "g2")), ("set", ("lantern", "keel"))])
def test_a_page_of_each_is_printed_once_for_each(
    monkeypatch: pytest.MonkeyPatch, season: Season, each: str, ofs: tuple[str, ...]
) -> None:
    monkeypatch.setitem(PAGES, "tide", Page("tide", saying("Tide"), f"/tide/{{{each}}}/high", DEFENCE, "", (SEASON,)))
    assert place_of("/tide/a%20b/high", "") == Place("tide", "a b", {})
    assert place_of("/tide/a", "").page == place_of("/tide/a/low", "").page == "nowhere"
    _nothing_else_printed(monkeypatch, "tide")
    assert [text for text in ofs if f"Tide of {text}," in report(season).text] == list(ofs)
    assert "Tide of" not in report(season, season.games.game("g2")).text


def _nothing_else_printed(monkeypatch: pytest.MonkeyPatch, code: str) -> None:
    """Whole reports have tests of their own, and take seconds."""
    for other, page in PAGES.items():
        if other != code:
            monkeypatch.setitem(PAGES, other, replace(page, printed=()))


def test_every_page_is_found_by_its_address_and_called_by_its_code() -> None:
    for code, page in PAGES.items():
        of = "14" if page.each else ""
        assert (code, of) == (page.code, place_of(page.address.format(**{page.each: of}), "").of)
        assert place_of(page.address.format(**{page.each: of}), "").page == code
        assert set(page.printed) <= {SEASON, GAME} and (not page.each or not page.name), code


def test_the_way_to_a_page_is_the_nearest_above_its_address() -> None:
    found = {code: way_to(code) for code in ("", "games", "agreement", "question", "set", "player", "work", "nowhere")}
    games = dict.fromkeys(("games", "agreement"), "all_games")
    own = {code: code for code in ("", "question", "work", "nowhere")}
    assert found == own | games | {"set": "sets", "player": "players"}


def test_every_page_is_on_one_way_and_every_way_leads_somewhere() -> None:
    assert {page.way for page in PAGES.values()} == {*WAYS, *SIDE}
    assert all(within(way) for way in (*WAYS, *SIDE))

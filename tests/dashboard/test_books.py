"""Whose marks the numbers are from: said where there is more than one book, and chosen on the game's page."""

from __future__ import annotations

from dash import html

from dashboard.loading import Present
from dashboard.pages.shell import content, place_of
from dashboard.server import create_app
from tagger.season import Season
from tests.dashboard.herons import entry
from tests.dashboard.test_pages import words


def game_page(season: Season) -> str:
    return " ".join(words(html.Div(content(Present(season), place_of("/games/g1", None)))).split())


def second_book(season: Season) -> None:
    film = season.shelf.films("g1")[0].id
    season.journal.add("g1", "ben", [entry("second", n, film, n * 100, "note", {"text": "see"}) for n in range(1, 60)])


def test_one_book_needs_no_word(season: Season) -> None:
    assert "book" not in game_page(season)


def test_a_second_book_is_named_and_changes_no_number_until_it_is_chosen(season: Season) -> None:
    before = season.tagged.tables()["shots"]
    own = season.tagged.chosen_book("g1")
    second_book(season)
    assert season.tagged.tables()["shots"].equals(before)
    assert f"Counted from {own}’s book. count from ben’s book" in game_page(season)
    answer = create_app(season).test_client().post("/games/g1/book", data={"book": "ben"})
    assert (answer.status_code, answer.headers["Location"]) == (303, "/games/g1")
    assert season.tagged.chosen_book("g1") == "ben"
    assert "Counted from ben’s book." in game_page(season)


def test_a_book_nobody_has_is_refused_in_one_line(season: Season) -> None:
    answer = create_app(season).test_client().post("/games/g1/book", data={"book": "nobody"})
    assert answer.status_code == 404
    assert "no book “nobody”" in answer.get_json()["error"]["text"]
    assert season.tagged.chosen_book("g1") != "nobody"

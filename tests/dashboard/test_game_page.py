"""A game's page: its score in a sentence and its figure, however little of the game is marked."""

from __future__ import annotations

import pytest
from dash import html

from dashboard.loading import Present
from dashboard.pages.clock_axis import axis_of
from dashboard.pages.drawing import Drawn
from dashboard.pages.game_figure import letters_of
from dashboard.pages.score import course, score_of
from tagger.shelf.films import NewFilm
from tests.dashboard.herons import tag
from tests.dashboard.test_pages import page, parts, playing, words

PERIOD = (("possession", {"team": "ours"}), ("shot", {"shooter": "14", "result": "goal"}))


def heading(present: Present, game: str) -> str:
    return " ".join(words(parts(page(present, f"/games/{game}"), html.H1)[0]).split())


def drawings(present: Present, game: str) -> list[Drawn]:
    found = parts(page(present, f"/games/{game}"), Drawn)
    return [one for one in found if "period" in str(getattr(one, "className", "")).split()]


def game_of(present: Present, id_: str, *marks: tuple[int, str, dict[str, str]]) -> None:
    present.season.games.add(id_, "2026-05-01", "Tannery Row", True)
    present.season.shelf.enter(id_, [NewFilm(id=f"m-{id_}", name="not filmed", duration_ms=900_000)])
    tag(present.season, id_, f"m-{id_}", marks)


def test_the_score_is_said_with_its_course_once_every_period_is_tagged(present: Present) -> None:
    marks: list[tuple[int, str, dict[str, str]]] = []
    for place, scorers in enumerate(("ours ours theirs", "ours ours", "theirs")):
        at = place * 100_000
        marks.append((at, "period_start", {"number": str(place + 1)}))
        for goal, team in enumerate(scorers.split()):
            marks.append((at + goal * 20_000 + 1000, "possession", {"team": team}))
            marks.append((at + goal * 20_000 + 9000, "shot", {"shooter": "14", "result": "goal"}))
        marks.append((at + 90_000, "period_end", {}))
    game_of(present, "g3", *marks)
    assert heading(present, "g3") == (
        "Saltmarsh Herons 4 , Tannery Row 2 : three up after two periods, two up at the end."
    )
    assert [len(parts(one, Drawn)) > 10 for one in drawings(present, "g3")] == [True] * 3
    overtime = [(320_000, "period_start", {"number": "4"}), (321_000, "possession", {"team": "ours"})]
    overtime += [(330_000, "shot", {"shooter": "7", "result": "goal"}), (331_000, "period_end", {})]
    game_of(present, "g4", *marks, *overtime)
    assert course(score_of(present.now(), "g4")) == "two up after three periods, three up after overtime"
    assert drawings(present, "g4")[-1].to_plotly_json()["props"]["data-period"] == "Overtime"


def test_a_game_that_is_half_tagged_says_so_and_claims_no_result(present: Present) -> None:
    game_of(
        present,
        "g3",
        (0, "period_start", {"number": "1"}),
        *((at, *each) for at, each in zip((1000, 9000), PERIOD, strict=True)),
    )
    assert heading(present, "g3") == (
        "Tagged so far, one of three periods, not to its end: Saltmarsh Herons 1 , Tannery Row 0 ."
    )


def test_a_game_without_clock_stands_along_its_film_and_says_so(present: Present) -> None:
    said = words(page(present, "/games/g1"))
    assert "Along the film, since the clock was not read: 1st period." in said
    assert drawings(present, "g1")[0].to_plotly_json()["props"]["data-clock"] == "0"


def test_what_has_no_film_is_drawn_as_an_outline_and_plays_nothing(present: Present) -> None:
    [drawing] = drawings(present, "g2")
    held = [one for one in parts(drawing, Drawn) if "held" in str(getattr(one, "className", "")).split()]
    assert held and all("unfilmed" in one.className and one.role == "button" for one in held)
    assert playing(drawing) == [] and "so nothing plays" in words(page(present, "/games/g2"))
    assert any(table == "possessions" for _, table, _ in playing(drawings(present, "g1")[0]))


def test_a_game_with_marks_outside_any_period_and_one_without_any_have_their_pages(present: Present) -> None:
    game_of(present, "g3", *((at, *each) for at, each in zip((1000, 9000), PERIOD, strict=True)))
    assert heading(present, "g3").startswith("Tagged so far, no period marked: ")
    assert len(drawings(present, "g3")) == 1
    present.season.games.add("g4", "2026-05-08", "<b>A Club of the Upper Valley</b>", True)
    assert "Nothing is tagged yet" in words(page(present, "/games/g4"))


def test_between_two_readings_the_clock_runs_evenly_and_after_the_last_as_the_film_does() -> None:
    axis = axis_of([(60_000, 120), (0, 180), (90_000, 60)], 180, 0, 150_000)
    shares = [axis.share(at_ms) * 1.8 for at_ms in (0, 30_000, 60_000, 75_000, 120_000, 400_000)]
    assert axis.by_clock and shares == pytest.approx([0, 30, 60, 90, 150, 180])


def test_a_clock_that_was_set_back_is_not_gone_back_with() -> None:
    axis = axis_of([(0, 900), (10_000, 890), (20_000, 895), (30_000, 870)], 900, 0, 40_000)
    shares = [axis.share(at) for at in range(0, 40_000, 1000)]
    assert shares == sorted(shares) and axis.said(axis.share(10_000)) == "14:50"


def test_each_set_has_a_letter_of_its_own_and_the_playbooks_come_first() -> None:
    assert letters_of({"Two-man game", "Tidepool", "Lantern"}, ["Tidepool", "Lantern"]) == {
        "Lantern": "L",
        "Tidepool": "T",
        "Two-man game": "W",
    }
    assert len(set(letters_of({"A", "AA", "AAA"}, []).values())) == 3

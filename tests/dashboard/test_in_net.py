"""Saves belong to the goalkeeper in net, where somebody said who that was."""

from __future__ import annotations

from dashboard.in_net import in_net
from dashboard.loading import Present
from tests.dashboard.herons import entry
from tests.dashboard.test_pages import page, playing, words


def said(present: Present) -> str:
    return " ".join(words(page(present, "/players/30")).split())


def keeper(present: Present, place: int, at_ms: int, **answers: str) -> None:
    film = present.season.shelf.films("g1")[0].id
    [added] = present.season.journal.add("g1", "coach", [entry("g1", 200 + place, film, at_ms, "goalie", answers)])
    assert added.state == "stored"


def test_without_a_mark_the_page_says_what_to_mark(present: Present) -> None:
    text = said(present)
    assert "no mark says that he was. Of 2 shots on our goal nobody said." in text


def test_saves_and_goals_go_to_the_man_in_net(present: Present) -> None:
    keeper(present, 1, 500, team="ours", what="in", player="30")
    text = said(present)
    assert "In net Shots on goal he saved 1 of 2 · too few to say 1 goal against." in text
    assert ("1 of 2", "shots", ["g1-16"]) in playing(page(present, "/players/30"))


def test_an_empty_net_and_another_man_change_who_faced_it(present: Present) -> None:
    keeper(present, 1, 500, team="ours", what="in", player="30")
    keeper(present, 2, 20_000, team="ours", what="out")
    found = in_net(present.now())
    assert found.saves == {} and found.goals == {"30": ("g1-10",)} and found.nobody == ()
    keeper(present, 3, 30_000, team="ours", what="in", player="35")
    assert in_net(present.now()).saves == {"35": ("g1-16",)}


def test_a_change_on_the_frame_of_a_goal_leaves_it_to_who_was_there_before(present: Present) -> None:
    keeper(present, 1, 500, team="ours", what="in", player="30")
    keeper(present, 2, 18_000, team="ours", what="out")
    keeper(present, 3, 18_000, team="ours", what="in", player="35")
    found = in_net(present.now())
    assert found.goals == {"30": ("g1-10",)} and found.saves == {"35": ("g1-16",)}


def test_who_was_marked_on_the_frame_of_the_first_shot_was_there(present: Present) -> None:
    keeper(present, 1, 18_000, team="ours", what="in", player="30")
    assert in_net(present.now()).goals == {"30": ("g1-10",)}

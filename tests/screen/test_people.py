"""Who is at a game, as the server tells it to the pages."""

from __future__ import annotations

import json
from typing import Any

import pytest
from flask import Flask

from tagger.screen.blueprint import create_screen
from tagger.screen.people import HERE_S, People
from tests.screen.house import House


class Clock:
    """A clock that is set by hand."""

    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def people(clock: Clock) -> People:
    return People(clock)


def test_each_hears_of_the_other_and_not_of_himself(people: People) -> None:
    assert people.others("g1", "both", "anna", "ours") == []
    assert people.others("g1", "both", "ben", "theirs") == [
        {"by": "anna", "book": "both", "takes": "ours", "here": True}
    ]
    assert [one["by"] for one in people.others("g1", "both", "anna", "ours")] == ["ben"]
    assert people.others("g2", "both", "carl", "both") == []


def test_an_agreement_outlasts_a_closed_page_but_not_the_evening(people: People, clock: Clock) -> None:
    people.others("g1", "both", "anna", "ours")
    clock.now += HERE_S + 1
    [anna] = people.others("g1", "both", "ben", "theirs")
    assert (anna["takes"], anna["here"]) == ("ours", False)
    clock.now += 4 * 3600
    assert people.others("g1", "both", "ben", "theirs") == []


def test_who_changes_his_mind_stands_once(people: People) -> None:
    people.others("g1", "both", "anna", "ours")
    people.others("g1", "both", "anna", "both")
    assert [one["takes"] for one in people.others("g1", "both", "ben", "both")] == ["both"]


def test_no_crowd_of_made_up_names_is_remembered(people: People) -> None:
    for place in range(500):
        people.others("g1", "both", f"name {place}", "both")
    assert len(people.others("g1", "both", "ben", "both")) == 64


def test_pages_tell_who_asks_and_nonsense_is_refused(house: House) -> None:
    app = Flask("screen")
    app.register_blueprint(create_screen(house.season))
    client, game = app.test_client(), house.game()

    def ask(query: str) -> tuple[int, Any]:
        answer = client.get(f"/tag/{game}/entries?book=both&{query}")
        return answer.status_code, json.loads(answer.data)

    assert ask("by=anna&takes=ours") == (200, {"seq": 0, "entries": [], "people": []})
    assert ask("by=ben&takes=theirs")[1]["people"][0]["by"] == "anna"
    assert ask("")[1]["people"] == []  # who does not say his name is told of nobody
    status, told = ask("by=ben&takes=everything")
    assert status == 400 and "both, ours, theirs" in told["error"]["text"]
    assert client.get(f"/tag/{game}?takes=everything").status_code == 400

"""What each who came in may ask: every route, every role, nothing beyond the table."""

from __future__ import annotations

import json

from flask import Flask

from dashboard.doors.rights import IN, OPEN, RIGHTS, holds, right_of
from tagger.screen.visitor import ALL, LOOK, SEND, TAG
from tagger.season import Season
from tests.dashboard.doors.device import Device, beyond_the_table, laptop, requests_of

CHANGES_THE_SEASON = (
    "POST /games/<game>/book",
    "POST /games/<game>/book.jsonl",
    "POST /games/<game>/put-back",
    "POST /question",
    "POST /tag/<game>/tie",
    "POST /films/send/<id_>/clear",
    "POST /films/bring",
    "POST /films/find",
    "POST /doors/<key>/withdraw",
    "GET /doors",
    "GET /films/places.json",
)


def test_the_table_names_every_route_of_the_application_and_no_other(app: Flask) -> None:
    there = {
        f"{method} {rule}"
        for method, rule, _ in requests_of(list(app.url_map.iter_rules()), "g1", "f")
        if method not in ("HEAD", "OPTIONS")
    }
    assert there - set(RIGHTS) == set(), "give these their right in dashboard/doors/rights.py"
    assert set(RIGHTS) - there == set(), "these routes are no more"


def test_what_the_table_does_not_name_is_the_laptops() -> None:
    assert right_of("GET", "/new/thing") == right_of("PUT", "/films") == right_of("OPTIONS", "/films") == ALL
    for may in ("", SEND, LOOK, TAG):
        assert not holds(may, ALL) and not holds(may, "a right that nobody knows")
    assert not holds("a key that nobody knows", LOOK) and not holds("", IN) and holds("", OPEN)


def test_nobody_gets_beyond_the_table(app: Flask, season: Season) -> None:
    n, wrong = beyond_the_table(app, "g1", season.shelf.films("g1")[0].id)
    assert n > 250 and wrong == []


def test_the_table_says_what_was_agreed() -> None:
    assert all(RIGHTS[one] == ALL for one in CHANGES_THE_SEASON)
    a_senders = {one for one, right in RIGHTS.items() if right == SEND}
    assert all("/films/send/" in one for one in a_senders)
    shared = {one for one, right in RIGHTS.items() if right in (OPEN, IN)}
    assert shared == {
        "GET /enter",
        "POST /enter",
        "POST /enter/name",
        "GET /enter/static/<path:filename>",
        "GET /screen/<path:filename>",
        "GET /assets/<path:filename>",
        "GET /films/static/<path:filename>",
        "GET /_favicon.ico",
        "GET /films",
    }
    assert {one for one, right in RIGHTS.items() if right == LOOK and one.startswith("POST")} == {
        "POST /clips",
        "POST /_dash-update-component",
    }
    assert [one for one, right in RIGHTS.items() if right == TAG and one.startswith("POST")] == [
        "POST /tag/<game>/entries"
    ]


def test_a_sender_is_told_nothing_of_the_season(app: Flask, season: Season) -> None:
    sender = Device(app).come_in(SEND)
    told = [
        sender.page(path).text
        for path in ("/films", "/films/send/state.json", "/", "/sets", "/games/g1", "/films/send/job/1.json")
    ]
    told += [sender.post("/films/send/begin", json={"game": "g1", "name": "a.mp4"}).text]
    secret = ["Quarry Hill", "Millrace", season.shelf.films("g1")[0].name, str(season.folder), "Lantern"]
    secret += [player.name for player in season.texts.now().roster]
    for text in told:
        assert not [word for word in secret if word and word in text], text


def test_the_pages_offer_what_may_be_done_and_no_more(app: Flask, season: Season) -> None:
    season.journal.add("g1", "second", [{"v": 1, "id": "s-1", "n": 1, "by": "b", "does": "undo", "of": "x"}])
    looker, tagger, here = Device(app, "192.0.2.9").come_in(LOOK), Device(app, "192.0.2.10").come_in(TAG), laptop(app)

    def shown(device: Device, path: str) -> str:
        body = {
            "output": "..page.children...header.children..",
            "outputs": [{"id": "page", "property": "children"}, {"id": "header", "property": "children"}],
            "inputs": [
                {"id": "url", "property": "pathname", "value": path},
                {"id": "url", "property": "search", "value": ""},
            ],
            "changedPropIds": ["url.pathname"],
        }
        answer = device.post("/_dash-update-component", json=body)
        assert answer.status_code == 200, answer.text
        return json.dumps(answer.json)

    paths = ("/games/g1", "/question", "/sets", "/")
    pages = {(device, path): shown(device, path) for device in (looker, tagger, here) for path in paths}
    for path, words, who in (
        ("/games/g1", "Tag this game", (tagger, here)),
        ("/games/g1", "count from", (here,)),
        ("/question", "State it", (here,)),
        ("/sets", 'href=\\"/films\\"', (here,)),
        ("/sets", "Who may come in", (here,)),
        ("/", "State one", (here,)),
    ):
        seen = [device for device in (looker, tagger, here) if words in pages[device, path]]
        assert seen == list(who), (path, words)
    page = tagger.get("/tag/g1").text
    assert 'id="import"' not in page and 'name="by"' not in page and "You tag as <b>Ann</b>" in page
    assert 'id="import"' in here.get("/tag/g1").text

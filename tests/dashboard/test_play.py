"""What a number plays: the spans of the rows that it was counted from, by the times at which they were marked."""

import pytest
from flask import Flask

from dashboard.play import create_play, players_list, playlist


def spans(answer):
    return [(piece["start_s"], piece["end_s"]) for clip in answer["clips"] for piece in clip["pieces"]]


def run_ids(present, **wanted):
    rows = present.now().rows("runs").items()
    return [id_ for id_, row in rows if all(row.get(name) == value for name, value in wanted.items())]


def test_the_runs_of_a_set_play_where_there_is_film(present):
    answer = playlist(present, "runs", run_ids(present, set="lantern"))
    assert answer["n"] == 3 and answer["gone"] == 0 and answer["away"] == []
    # marked: settled 4.000 to shot 9.000; settled 24.000 to turnover 27.000: at least 6 s before the end, 2.5 s after
    assert spans(answer) == [(3.0, 11.5), (21.0, 29.5)]
    assert [clip["label"] for clip in answer["clips"]] == [
        "Quarry Hill, 1st, film 0:04. Lantern, left: 14 shot: saved, recovered; fed by 22",
        "Quarry Hill, 1st, film 0:24. Lantern, right: ball lost",
    ]


def test_a_shot_plays_from_six_seconds_before_it(present):
    answer = playlist(present, "shots", ["g1-6", "g2-5"])
    assert (answer["n"], spans(answer)) == (2, [(3.0, 12.5)])
    assert answer["clips"][0]["pieces"][0]["film"] == f"/film/{present.films('g1')[0].id}?v=original"


def test_a_clip_says_in_one_line_how_it_ended_against_whom_when_and_what_it_was(present):
    saved, lost = playlist(present, "runs", run_ids(present, set="lantern"))["clips"]
    assert [saved[name] for name in ("shape", "ended", "opponent", "clock", "what", "game", "at_ms")] == [
        *(
            "ring",
            "saved",
            "Quarry Hill",
            "film 0:04",
            "Lantern, left: 14 shot: saved, recovered; fed by 22",
            "g1",
            4000,
        )
    ]
    assert (lost["shape"], lost["ended"]) == ("cross", "ball lost")
    shots = playlist(present, "shots", ["g1-6", "g1-7", "g1-10"])["clips"]
    assert [clip["shape"] for clip in shots] == ["ring", "triangle", "dot"]


def test_more_or_less_of_a_clip_is_shown_and_never_less_than_its_moment(client):
    def asked(before_s, after_s):
        sent = {"table": "shots", "ids": ["g1-6"], "before_s": before_s, "after_s": after_s}
        return spans(client.post("/clips", json=sent).get_json())

    assert asked(2, 3) == [(1.0, 15.5)]
    assert asked(-4, -2) == [(7.0, 10.5)]
    assert asked(-60, -60) == [(9.0, 10.0)]
    assert asked(60, 60) == [(0.0, 40.0)]  # no longer than its film


def test_ids_that_are_gone_are_counted_and_doubled_ones_once(present):
    answer = playlist(present, "shots", ["g1-6", "g1-6", "nothing"])
    assert (answer["n"], answer["gone"]) == (1, 1)


def test_film_that_is_away_is_named(present, numbered_film, monkeypatch):
    from dataclasses import replace

    away = [replace(film, state="away") for film in present.films("g1")]
    monkeypatch.setattr(present, "films", lambda game: away)
    answer = playlist(present, "shots", ["g1-6"])
    assert answer["clips"] == [] and answer["away"] == [numbered_film.name]


def test_a_player_plays_every_clip_of_his_and_none_twice(present):
    answer = players_list(present, "14")
    # his screen, his shot and the run of both are one clip; the turnover's run is the other; two more without film
    assert spans(answer) == [(3.0, 11.5), (21.0, 29.5)]
    assert answer["n"] == 3


def test_opponents_with_a_players_number_are_not_him(present):
    assert players_list(present, "9")["n"] == 0


TOLD = {"tag": True, "season": "saltmarsh-u17-2026"}


@pytest.fixture
def client(present):
    app = Flask("play")
    app.register_blueprint(create_play(present))
    return app.test_client()


def test_the_page_gets_the_same_by_post(client, present):
    answer = client.post("/clips", json={"table": "shots", "ids": ["g1-6"]})
    assert answer.status_code == 200 and answer.get_json() == {**playlist(present, "shots", ["g1-6"]), **TOLD}
    assert answer.headers["Cache-Control"] == "no-store"
    assert client.post("/clips", json={"player": "14"}).get_json() == {**players_list(present, "14"), **TOLD}


def test_rows_chosen_one_by_one_play_in_their_own_order(client):
    asked = [["turnovers", "g1-14"], ["shots", "g1-6"], ["shots", "g2-5"], ["shots", "gone"]]
    answer = client.post("/clips", json={"rows": asked}).get_json()
    assert [(clip["table"], clip["id"]) for clip in answer["clips"]] == [("turnovers", "g1-14"), ("shots", "g1-6")]
    assert (answer["n"], answer["gone"], answer["away"], answer["film"]) == (3, 1, [], True)


@pytest.mark.parametrize(
    ("how", "status", "code"),
    [
        ({"data": "{}", "content_type": "text/plain"}, 415, "no_json"),
        ({"data": "{", "content_type": "application/json"}, 400, "no_json"),
        ({"json": []}, 400, "no_json"),
        ({"json": {"table": "secrets", "ids": []}}, 400, "no_table"),
        ({"json": {"table": "shots", "ids": "g1-6"}}, 400, "no_ids"),
        ({"json": {"table": "shots", "ids": [1]}}, 400, "no_ids"),
        ({"json": {"table": "shots", "ids": [], "before_s": "2"}}, 400, "no_seconds"),
        ({"json": {"table": "shots", "ids": [], "after_s": 61}}, 400, "no_seconds"),
        ({"json": {"player": "14", "before_s": True}}, 400, "no_seconds"),
        ({"json": {"rows": [["shots", "g1-6", "x"]]}}, 400, "no_rows"),
        ({"json": {"rows": [["shots", "g1-6"]] * 501}}, 400, "no_rows"),
        ({"json": {"rows": [["secrets", "g1-6"]]}}, 400, "no_table"),
        ({"json": {"table": "shots", "ids": ["x"] * 20_001}}, 400, "no_ids"),
    ],
)
def test_what_makes_no_sense_is_refused_with_a_reason(client, how, status, code):
    answer = client.post("/clips", **how)
    assert answer.status_code == status
    assert answer.get_json()["error"]["code"] == code and answer.get_json()["error"]["text"]

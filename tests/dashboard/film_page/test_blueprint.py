"""The page where film is brought in: no path comes from the browser, and only this machine may use it."""

from __future__ import annotations

import os
import re
import shutil
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from dashboard.film_page.glance import spoken
from dashboard.film_page.listing import ClosedFolder, Listing, UnknownToken
from tagger.film.probe import probe
from tagger.season import Season
from tagger.work.bring import bring_film
from tagger.work.jobs import JobList
from tagger.work.queue import Queue

if TYPE_CHECKING:
    from flask.testing import FlaskClient
from tests.dashboard.film_page.conftest import folder_named, token_of, wait_for


def test_folders_show_film_and_folders_and_count_the_rest(client: FlaskClient) -> None:
    folder = folder_named(client, "Videos", "<b>card")
    assert [one["name"] for one in folder["films"]] == ["a second.mp4", "b first.mp4", "broken.mp4", "old.avi"]
    assert [one["name"] for one in folder["folders"]] == ["warm-up"]
    assert (folder["n_other"], folder["n_more"]) == (1, 0)
    assert [one["name"] for one in folder["above"]] == ["Home", "Videos"]
    assert folder["films"][2]["size"] == "2 kB"


def test_nothing_but_tokens_opens_anything(client: FlaskClient, films: Path, season: Season) -> None:
    for tried in ("..", "%2e%2e%2f%2e%2e", str(films).replace("/", "%2F"), "x" * 500):
        got = client.get(f"/films/folder/{tried}.json")
        assert got.status_code == 404 and "token" not in got.text.replace("no_token", "")
    sent: list[object] = [str(films / "b first.mp4"), "../b first.mp4", 3, None, {"a": 1}]
    for token in sent:
        got = client.post(
            "/films/bring", json={"files": [token], "new": {"date": "2026-03-14", "opponent": "Millrace"}}
        )
        assert (got.status_code, got.json["error"]["code"]) == (404, "no_token")
    got = client.post("/films/find", json={"folder": str(films)})
    assert (got.status_code, got.json["error"]["code"]) == (404, "no_token")
    assert JobList(season.store).all() == [] and season.games.all() == []


def test_tokens_say_nothing_and_are_given_anew_by_every_run(home: Path) -> None:
    one, other = Listing(home), Listing(home)
    token = one.token(home / "Videos")
    assert token == one.token(home / "Videos") != other.token(home / "Videos")
    assert re.fullmatch(r"[\w-]{16}", token)
    with pytest.raises(UnknownToken):
        other.path(token)
    gone = one.token(home / "gone")
    with pytest.raises(ClosedFolder, match="gone: cannot be opened"):
        one.view(gone)


@pytest.mark.parametrize(
    ("path", "how"),
    [
        ("/films", {"environ_base": {"REMOTE_ADDR": "192.0.2.7"}}),
        ("/films", {"environ_base": {"REMOTE_ADDR": "192.0.2.7"}, "headers": {"Accept": "text/html"}}),
        ("/films/places.json", {"environ_base": {"REMOTE_ADDR": "192.0.2.7"}}),
        ("/films", {"headers": {"Host": "laptop.local:8765"}}),
        ("/films/state.json", {"headers": {"Origin": "http://elsewhere.example"}}),
    ],
)
def test_only_this_machine_may_use_it(client: FlaskClient, path: str, how: dict[str, Any]) -> None:
    got = client.get(path, **how)
    assert got.status_code == 403
    if how.get("headers", {}).get("Accept") == "text/html":
        assert got.mimetype == "text/html"
        assert "open this page there" in got.text and "token" not in got.text.replace("tokens.css", "")
    else:
        assert got.json["error"]["code"] in ("elsewhere", "foreign_origin")


@pytest.mark.parametrize(
    "path", ["/films/bring", "/films/find", "/films/jobs/pause", "/films/jobs/1/drop", "/films/x/light"]
)
def test_another_sites_page_can_ask_for_nothing(client: FlaskClient, path: str) -> None:
    form = client.post(path, data="{}", content_type="text/plain")
    assert (form.status_code, form.json["error"]["code"]) == (415, "no_json")
    site = client.post(path, json={}, headers={"Sec-Fetch-Site": "cross-site"})
    assert site.status_code == 403


@pytest.mark.parametrize(
    ("body", "code"),
    [
        ({"files": []}, "no_files"),
        ({"files": "x"}, "no_files"),
        ({"files": [0], "game": "nowhere"}, "no_game"),
        ({"files": [0]}, "no_game"),
        ({"files": [0], "new": {"date": "14.3.", "opponent": "Millrace"}}, "bad_game"),
        ({"files": [0], "new": {"date": "2026-03-14", "opponent": " "}}, "no_opponent"),
    ],
)
def test_what_cannot_be_brought_is_said_at_once(
    client: FlaskClient, season: Season, body: dict[str, Any], code: str
) -> None:
    folder = folder_named(client, "Videos", "<b>card")
    if body["files"] == [0]:
        body = {**body, "files": [token_of(folder, "b first.mp4")]}
    got = client.post("/films/bring", json=body)
    assert (got.status_code // 100, got.json["error"]["code"]) == (4, code)
    assert JobList(season.store).all() == []


def test_a_glance_says_what_a_file_is_and_what_it_takes(client: FlaskClient) -> None:
    folder = folder_named(client, "Videos", "<b>card")
    plain = client.get(f"/films/glance/{token_of(folder, 'b first.mp4')}.json").json
    assert plain["plays"] and plain["need"] == 0
    assert plain["what"].startswith("320 × 180, 0:02, H.264, ")
    old = client.get(f"/films/glance/{token_of(folder, 'old.avi')}.json").json
    assert (
        not old["plays"] and old["need"] > 0 and "tagging can begin when the first ten seconds are done" in old["how"]
    )
    broken = client.get(f"/films/glance/{token_of(folder, 'broken.mp4')}.json").json
    assert broken["why"].startswith("broken.mp4: ") and "copy it from the camera again" in broken["why"]


def test_heavy_film_is_told_to_get_a_light_copy(films: Path) -> None:
    facts = probe(films / "b first.mp4")
    from dataclasses import replace

    seen = spoken(replace(facts, width=3840, height=2160, size_bytes=8_000_000_000, duration_ms=3_600_000))
    assert seen.plays and "light copy" in seen.how and 5e9 < seen.need_bytes < 6e9
    assert seen.what == "3840 × 2160, 1:00:00, H.264, 8.0 GB"


def test_film_comes_in_by_the_queue_and_a_failure_is_one_line(client: FlaskClient, season: Season) -> None:
    folder = folder_named(client, "Videos", "<b>card")
    two = [token_of(folder, name) for name in ("a second.mp4", "b first.mp4")]
    new = {"date": "2026-03-14", "opponent": "Quarry Hill", "home": False}
    queue = Queue(season)
    try:
        queue.start()
        assert client.post("/films/bring", json={"files": two, "sort": True, "new": new}).status_code == 200
        wait_for(lambda: season.games.all() and season.shelf.films(season.games.all()[0].id))
        game = season.games.all()[0]
        assert (game.id, game.home) == ("2026-03-14-quarry-hill", False)
        assert [(film.name, film.gap_ms) for film in season.shelf.films(game.id)] == [
            ("b first.mp4", 0),
            ("a second.mp4", 28_000),
        ]
        bad = {"files": [token_of(folder, "broken.mp4")], "new": {"date": "2026-03-21", "opponent": "Millrace"}}
        job = client.post("/films/bring", json=bad).json["job"]
        wait_for(lambda: JobList(season.store).job(job).state == "failed")
    finally:
        queue.close()
    assert len(season.games.all()) == 1, "no game is made for a film that is none"
    told = next(one for one in client.get("/films/state.json").json["jobs"] if one["id"] == job)
    assert (told["what"], told["game"], told["state"]) == ("broken.mp4", "Millrace", "failed")
    assert told["why"].startswith("broken.mp4: ")
    state = client.post(f"/films/jobs/{job}/drop", json={}).json
    assert all(one["id"] != job for one in state["jobs"])
    assert client.post(f"/films/jobs/{job}/resume", json={}).status_code == 404
    (told_game,) = state["games"]
    assert [film["gap"] for film in told_game["films"]] == ["", "0:28 not filmed before it, by the files’ dates"]


def test_another_cameras_film_lies_beside_the_games_own(client: FlaskClient, season: Season) -> None:
    folder = folder_named(client, "Videos", "<b>card")
    season.games.add("g1", "2026-03-14", "Quarry Hill", True)
    queue = Queue(season)
    ask = {"game": "g1", "files": [token_of(folder, "b first.mp4")]}
    other = {"game": "g1", "files": [token_of(folder, "a second.mp4")], "camera": " behind the goal"}
    try:
        queue.start()
        early = client.post("/films/bring", json=other).json["job"]
        wait_for(lambda: JobList(season.store).job(early).state == "failed")
        assert "has no film yet" in JobList(season.store).job(early).why
        client.post("/films/bring", json=ask)
        wait_for(lambda: season.shelf.films("g1"))
        client.post(f"/films/jobs/{early}/resume", json={})
        wait_for(lambda: season.shelf.other_films("g1"))
    finally:
        queue.close()
    assert [film.name for film in season.shelf.films("g1")] == ["b first.mp4"]
    told = [(film["name"], film["camera"]) for film in client.get("/films/state.json").json["games"][0]["films"]]
    untied = (
        "another camera, behind the goal; not tied yet: that is done on the tagging page, at a moment that both show"
    )
    assert told == [("b first.mp4", ""), ("a second.mp4", untied)]
    assert client.post("/films/bring", json={**other, "camera": "x" * 60}).json["error"]["code"] == "bad_game"


def test_film_that_is_away_is_found_in_a_folder(client: FlaskClient, season: Season, home: Path) -> None:
    season.games.add("g1", "2026-03-14", "Quarry Hill", True)
    lies = home / "Videos" / "<b>card" / "b first.mp4"
    bring_film(season, "g1", [lies])
    lies.rename(home / "Documents" / "renamed.mp4")
    state = client.get("/films/state.json").json
    assert state["away"] == 1 and "not where it was" in state["games"][0]["films"][0]["says"]
    folder = folder_named(client, "Documents")
    found = client.post("/films/find", json={"folder": folder["here"]["token"]}).json
    assert [one["name"] for one in found["found"]] == ["b first.mp4"] and found["away"] == []
    assert client.get("/films/state.json").json["away"] == 0


def test_a_player_never_gets_bytes_of_two_files(client: FlaskClient, season: Season, films: Path) -> None:
    season.games.add("g1", "2026-03-14", "Quarry Hill", True)
    film, old = bring_film(season, "g1", [films / "b first.mp4", films / "old.avi"])
    part = {"Range": "bytes=0-99"}
    told = client.get("/tag/g1/films.json").json["films"]
    assert [(one["version"], one["until_ms"], one["state"]) for one in told] == [
        ("original", 2000, "ready"),
        ("", 0, "waiting"),
    ]
    assert told[0]["coming"] is None and told[1]["coming"]["kind"] == "viewing"
    assert client.get(f"/film/{film.id}?v=original", headers=part).data == (films / "b first.mp4").read_bytes()[:100]
    gone = client.get(f"/film/{film.id}?v=part-25", headers=part)
    assert (gone.status_code, gone.json["error"]["code"]) == (410, "other_version")
    assert client.get(f"/film/{old.id}", headers=part).status_code == 404
    queue = Queue(season)
    try:
        assert queue.run([old.id]) == []
    finally:
        queue.close()
    copy = season.shelf.copies.copy_target(old.id, "viewing").read_bytes()
    assert client.get(f"/film/{old.id}?v=viewing", headers=part).data == copy[:100]
    assert client.get(f"/film/{old.id}/frames").json["version"] == "viewing"
    strip = client.get(f"/film/{old.id}/strip.json").json
    assert strip["ready"] and strip["black"] == []
    assert not client.get(f"/film/{film.id}/strip.json").json["ready"]


def test_every_answer_to_a_wrong_question_has_one_shape(client: FlaskClient) -> None:
    for path in ("/films/folder/x.json", "/films/glance/x.json"):
        assert set(client.get(path).json["error"]) == {"code", "text"}
    for path in ("/films/jobs/99/pause", "/films/jobs/1/burn", "/films/jobs/burn", "/films/nothing/light"):
        got = client.post(path, json={})
        assert got.status_code == 404 and set(got.json["error"]) == {"code", "text"}


def test_a_film_that_is_still_being_copied_is_said_so_and_taken_when_it_is_whole(
    client: FlaskClient, season: Season, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tagger.work.wait_for_copy.QUIET_S", 0.3)
    path = home / "Videos" / "<b>card" / "late.mp4"
    data = (path.parent / "b first.mp4").read_bytes()
    path.write_bytes(data[: len(data) * 2 // 3])
    token = token_of(folder_named(client, "Videos", "<b>card"), "late.mp4")
    seen = client.get(f"/films/glance/{token}.json").json
    assert seen and "why" not in seen and seen["what"].startswith("late.mp4: still being copied ("), "it may be chosen"
    client.post("/films/bring", json={"files": [token], "new": {"date": "2026-03-14", "opponent": "Millrace"}})
    queue = Queue(season)
    try:
        queue.start()
        wait_for(lambda: [one for one in client.get("/films/state.json").json["jobs"] if one["state"] == "coming"])
        (job,) = client.get("/films/state.json").json["jobs"]
        assert job["why"].startswith("late.mp4: still being copied (") and job["why"].endswith("again by itself")
        path.write_bytes(data)
        wait_for(season.games.all)
        wait_for(lambda: season.shelf.films("2026-03-14-millrace"))
    finally:
        queue.close()
    (film,) = season.shelf.films("2026-03-14-millrace")
    assert (film.name, film.n_frames, film.damage) == ("late.mp4", 50, ())


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere names are always text")
def test_odd_things_in_a_folder_are_listed_or_left_out_and_refused_in_a_line(
    client: FlaskClient, season: Season, home: Path
) -> None:
    card = home / "Videos" / "<b>card"
    os.mkfifo(card / "pipe.mp4")
    (card / "zero.mp4").symlink_to("/dev/zero")
    shutil.copy(card / "b first.mp4", os.fsencode(card) + b"/caf\xe9.mp4")
    folder = folder_named(client, "Videos", "<b>card")
    names = [one["name"] for one in folder["films"]]
    assert "caf\\xe9.mp4" in names and not {"pipe.mp4", "zero.mp4"} & set(names)
    token = token_of(folder, "caf\\xe9.mp4")
    seen = client.get(f"/films/glance/{token}.json").json
    assert seen["why"].startswith("caf\\xe9.mp4: its name is not plain text (UTF-8); rename")
    got = client.post("/films/bring", json={"files": [token], "new": {"date": "2026-03-14", "opponent": "Millrace"}})
    assert (got.status_code, got.json["error"]["code"]) == (400, "bad_name")
    assert JobList(season.store).all() == []

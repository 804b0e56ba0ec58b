"""What one sender may send, and which game his film is put to, of which he is told nothing."""

from __future__ import annotations

import zlib
from pathlib import Path
from typing import Any

import pytest

import dashboard.film_page.sending as sending
from dashboard.doors.gate import Gate
from dashboard.doors.guests import Guest
from dashboard.film_page.sorting import game_of_sent
from dashboard.server import create_app
from tagger.screen.visitor import LOOK, SEND, TAG
from tagger.season import Season
from tagger.work.jobs import JobList
from tests.dashboard.film_page.test_sending import NEW, PIECE, Phone, gated_app, phrase_of

GB = 1_000_000_000


def told(phone: Phone, size: int, n: int, **more: Any) -> tuple[int, str]:
    """Begin a film of a size, unlike any other."""
    body = {"size": size, "first": n, "last": n, "name": f"{n}.mp4", **NEW, **more}
    answer = phone.post("/films/send/begin", body)
    return answer.status_code, answer.json.get("error", {}).get("text", answer.json.get("id"))


@pytest.fixture
def roomy(monkeypatch: pytest.MonkeyPatch) -> None:
    """A disk with room for anything, on which nothing large is written."""
    monkeypatch.setattr(sending, "free_bytes", lambda folder: 500 * GB)
    monkeypatch.setattr("tagger.film.room.check_room", lambda target, need_bytes: None)


@pytest.mark.usefixtures("roomy")
def test_one_sender_sends_so_much_and_another_is_not_held_up_by_it(season: Season) -> None:
    app = create_app(season, hosts=("192.0.2.7",), gate=Gate())  # in pieces of the full size
    phone, other = Phone(app.test_client()).enter(), Phone(app.test_client(), "192.0.2.10").enter()
    assert told(phone, 30 * GB, 1)[0] == 200
    assert phone.get("/films/send/state.json").json["free"] == "10.0 GB"
    status, why = told(phone, 11 * GB, 2)
    assert status == 413 and why == (
        "you may send 40 GB, and 30.0 GB of it are used; this film has 11.0 GB. Ask the coach"
    )
    assert told(phone, 30 * GB, 1)[0] == 200, "the same film again counts once"
    assert told(other, 11 * GB, 2)[0] == 200
    again = Phone(app.test_client()).enter()  # another browser at the same address, or the same without its cookie
    assert told(again, 11 * GB, 3)[0] == 413
    [begun] = [one["id"] for one in phone.get("/films/send/state.json").json["coming"]]
    assert phone.client.post(f"/films/send/{begun}/clear", json={}).status_code == 200, "at the laptop"
    assert told(phone, 11 * GB, 4)[0] == 200, "what was cleared counts no more"


@pytest.mark.usefixtures("roomy")
def test_so_many_films_may_be_begun_and_not_whole(season: Season, home: Path) -> None:
    phone = Phone(gated_app(season, home).test_client()).enter()
    for n in range(12):
        status, id_ = told(phone, 1000, n)
        assert status == 200
        phone.post(f"/films/send/{id_}/rest")
    status, why = told(phone, 1000, 99)
    assert status == 409 and why.startswith("12 films of yours are begun and not whole")


def test_five_gb_stay_free_on_the_laptop(season: Season, home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sending, "free_bytes", lambda folder: 6 * GB)
    phone = Phone(gated_app(season, home).test_client()).enter()
    assert told(phone, GB // 2, 1)[0] == 200
    status, why = told(phone, GB, 2)
    assert status == 507 and "no room" in why
    assert phone.get("/films/send/state.json").json["free"] == "1.0 GB"


def test_what_another_sends_is_nothing_to_a_sender(season: Season, home: Path, films: Path) -> None:
    app = gated_app(season, home)
    ann, ben = Phone(app.test_client()).enter(), Phone(app.test_client(), "192.0.2.10").enter()
    data = (films / "b first.mp4").read_bytes()
    id_ = ann.begin(data).json["id"]
    assert ben.get("/films/send/state.json").json["coming"] == []
    for answer in (ben.piece(id_, data, 0), ben.post(f"/films/send/{id_}/finish"), ben.post(f"/films/send/{id_}/rest")):
        assert (answer.status_code, answer.json["error"]["code"]) == (404, "no_arrival")
    for at in range(0, len(data), PIECE):
        ann.piece(id_, data, at)
    job = ann.post(f"/films/send/{id_}/finish").json["job"]
    assert ann.get(f"/films/send/job/{job}.json").json["state"] != "done"
    assert ben.get(f"/films/send/job/{job}.json").json == {"state": "done"}
    assert JobList(season.store).job(job).body["new"]["opponent"] == "Quarry Hill"


def test_who_came_in_to_look_or_to_tag_sends_nothing(season: Season, home: Path) -> None:
    app = gated_app(season, home)
    for key in (LOOK, TAG):
        phone = Phone(app.test_client())
        phone.client.post("/enter", data={"phrase": phrase_of(app, key)}, **phone.how)
        phone.client.post("/enter/name", data={"name": "Ann"}, **phone.how)
        assert told(phone, 1000, 1)[0] == 403
    assert not (season.folder / "film").exists()


def test_a_sender_names_no_game_of_the_season_by_its_id(season: Season, home: Path) -> None:
    season.games.add("g1", "2026-03-14", "Quarry Hill", True)
    phone = Phone(gated_app(season, home).test_client()).enter()
    body = {"size": 10, "first": zlib.crc32(b""), "last": 0, "name": "a.mp4", "game": "g1"}
    answer = phone.post("/films/send/begin", body)
    assert (answer.status_code, answer.json["error"]["code"]) == (400, "no_game")


def sender() -> Guest:
    return Guest(SEND, "192.0.2.9", "one", 0, 0)


def wish(opponent: str = "Quarry Hill", camera: str = "") -> dict[str, Any]:
    return {"new": {"date": "2026-03-14", "opponent": opponent, "home": True}, "camera": camera}


def test_film_of_a_game_without_film_is_that_games_and_of_one_with_film_another_cameras(
    season: Season, films: Path
) -> None:
    from tagger.work.bring import bring_film

    assert game_of_sent(season, sender(), wish())[1]["new"]["id"] == "2026-03-14-quarry-hill"
    season.games.add("g1", "2026-03-14", "Quarry Hill", True)
    assert game_of_sent(season, sender(), wish("quarry  hill", "behind the goal")) == ("g1", {"camera": ""})
    bring_film(season, "g1", [films / "b first.mp4"])
    assert game_of_sent(season, sender(), wish()) == ("g1", {"camera": "sent film"})
    assert game_of_sent(season, sender(), wish(camera="behind the goal")) == ("g1", {"camera": "behind the goal"})
    his = sender()
    his.games["g1"] = ""
    assert game_of_sent(season, his, wish()) == ("g1", {"camera": ""}), "his second file goes where his first went"
    his.games["g1"] = "sent film"
    assert game_of_sent(season, his, wish()) == ("g1", {"camera": "sent film"})
    assert game_of_sent(season, sender(), wish("Millrace"))[1]["new"]["opponent"] == "Millrace"

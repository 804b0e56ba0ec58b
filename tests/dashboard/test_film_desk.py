"""The page where film is brought in: no path comes from the browser, only this machine may use it, and a person can."""

from __future__ import annotations

import json
import re
import shutil
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from flask import Flask, send_from_directory

from dashboard.film_desk.blueprint import create_film_desk
from dashboard.film_desk.glance import spoken
from dashboard.film_desk.listing import ClosedFolder, Listing, UnknownToken
from tagger.bring import bring_film
from tagger.film.probe import probe
from tagger.jobs import JobBook
from tagger.queue import Queue
from tagger.screen.blueprint import create_screen
from tagger.season import Season
from tests.film.maker import Recipe, make

if TYPE_CHECKING:
    from flask.testing import FlaskClient
    from playwright.sync_api import Page

ASSETS = Path(__file__).resolve().parents[2] / "dashboard" / "assets"
SOURCE = "document.getElementById('video').currentSrc"
DATES = ({"creation_time": "2026-03-14T18:00:00Z"}, {"creation_time": "2026-03-14T18:00:30Z"})


@pytest.fixture(scope="session")
def films(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What lies on a coach's card: a game in two files, an old camera's file, a broken one, and other things."""
    folder = tmp_path_factory.mktemp("card") / "DCIM"
    (folder / "warm-up").mkdir(parents=True)
    make(Recipe("b first", n_frames=50, metadata=DATES[0]), folder)
    make(Recipe("a second", n_frames=25, first_number=50, metadata=DATES[1]), folder)
    make(Recipe("old", suffix=".avi", codec="mpeg4", sound="pcm_s16le", n_frames=50), folder)
    (folder / "broken.mp4").write_bytes((folder / "b first.mp4").read_bytes()[:2000])
    (folder / "notes.txt").write_text("x", encoding="utf-8")
    (folder / ".hidden.mp4").write_bytes(b"x")
    return folder


@pytest.fixture
def home(tmp_path: Path, films: Path) -> Path:
    folder = tmp_path / "coach"
    (folder / "Documents").mkdir(parents=True)
    shutil.copytree(films, folder / "Videos" / "<b>card")
    return folder


@pytest.fixture
def season(tmp_path: Path) -> Iterator[Season]:
    folder = tmp_path / "herons"
    folder.mkdir()
    text = 'id = "s1"\nteam = "Saltmarsh Herons"\nage_group = "U17"\n'
    (folder / "season.toml").write_text(text, encoding="utf-8")
    made = Season.open(folder)
    yield made
    made.close()


@pytest.fixture
def app(season: Season, home: Path) -> Flask:
    made = Flask("desk", static_folder=None)
    made.register_blueprint(create_screen(season))
    made.register_blueprint(create_film_desk(season, listing=Listing(home)))
    made.add_url_rule("/assets/<path:name>", "assets", lambda name: send_from_directory(ASSETS, name))
    return made


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    return app.test_client()


def folder_named(client: FlaskClient, *names: str) -> Any:
    """Open folders by their names, as a person does; the first is a place."""
    places = client.get("/films/places.json").json["places"]
    token = next(one["token"] for one in places if one["name"] == names[0])
    for name in names[1:]:
        found = client.get(f"/films/folder/{token}.json").json
        token = next(one["token"] for one in found["folders"] if one["name"] == name)
    return client.get(f"/films/folder/{token}.json").json


def token_of(folder: Any, name: str) -> str:
    return next(one["token"] for one in folder["films"] if one["name"] == name)


def wait_for(what: Callable[[], Any], within_s: float = 120) -> Any:
    end = time.monotonic() + within_s
    while not (found := what()):
        assert time.monotonic() < end, "it never came to be"
        time.sleep(0.05)
    return found


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
    assert JobBook(season.store).all() == [] and season.games() == []


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
        ("/films/places.json", {"environ_base": {"REMOTE_ADDR": "192.0.2.7"}}),
        ("/films", {"headers": {"Host": "laptop.local:8765"}}),
        ("/films/state.json", {"headers": {"Origin": "http://elsewhere.example"}}),
    ],
)
def test_only_this_machine_may_use_it(client: FlaskClient, path: str, how: dict[str, Any]) -> None:
    got = client.get(path, **how)
    assert got.status_code == 403
    if path == "/films":
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
    assert JobBook(season.store).all() == []


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
        wait_for(lambda: season.games() and season.films(season.games()[0].id))
        game = season.games()[0]
        assert (game.id, game.home) == ("2026-03-14-quarry-hill", False)
        assert [(film.name, film.gap_ms) for film in season.films(game.id)] == [
            ("b first.mp4", 0),
            ("a second.mp4", 28_000),
        ]
        bad = {"files": [token_of(folder, "broken.mp4")], "new": {"date": "2026-03-21", "opponent": "Millrace"}}
        job = client.post("/films/bring", json=bad).json["job"]
        wait_for(lambda: JobBook(season.store).job(job).state == "failed")
    finally:
        queue.close()
    assert len(season.games()) == 1, "no game is made for a film that is none"
    told = next(one for one in client.get("/films/state.json").json["jobs"] if one["id"] == job)
    assert (told["what"], told["game"], told["state"]) == ("broken.mp4", "Millrace", "failed")
    assert told["why"].startswith("broken.mp4: ")
    state = client.post(f"/films/jobs/{job}/drop", json={}).json
    assert all(one["id"] != job for one in state["jobs"])
    assert client.post(f"/films/jobs/{job}/resume", json={}).status_code == 404
    (told_game,) = state["games"]
    assert [film["gap"] for film in told_game["films"]] == ["", "0:28 not filmed before it, by the files’ dates"]


def test_film_that_is_away_is_found_in_a_folder(client: FlaskClient, season: Season, home: Path) -> None:
    season.add_game("g1", "2026-03-14", "Quarry Hill", True)
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
    season.add_game("g1", "2026-03-14", "Quarry Hill", True)
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


@pytest.fixture
def served(app: Flask) -> Iterator[str]:
    from waitress import create_server

    server = create_server(app, host="127.0.0.1", port=0, threads=8)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.effective_port}"
    server.close()
    thread.join(5)


@pytest.mark.browser
def test_a_coach_brings_film_in_and_watches_the_work(page: Page, served: str, season: Season) -> None:
    page.set_default_timeout(60_000)
    queue = Queue(season)
    try:
        page.goto(f"{served}/films")
        page.wait_for_selector('body[data-ready="yes"]')
        assert "films of young people" in page.inner_text(".lede")
        page.get_by_role("button", name="Videos").click()
        page.get_by_role("button", name="<b>card").click()
        assert page.get_by_role("button", name="Bring it in").is_disabled()
        for name in ("old.avi", "broken.mp4"):
            page.get_by_role("checkbox", name=name).check()
        page.wait_for_selector("#files .bad")
        wait_for(lambda: "MPEG-4" in page.inner_text("#files"))
        page.fill("#opponent", "Millrace")
        page.fill("#date", "2026-03-21")
        assert page.get_by_role("button", name="Bring it in").is_disabled(), "one of them is no film"
        page.get_by_role("button", name="broken.mp4: leave out").click()
        assert not page.get_by_role("checkbox", name="broken.mp4").is_checked()
        assert "Copies take up to" in page.inner_text("#room") and "free" in page.inner_text("#room")
        page.get_by_role("button", name="Bring it in").click()
        page.wait_for_selector("#jobs li")
        assert "old.avi, Millrace" in page.inner_text("#jobs")
        page.get_by_role("button", name="Pause", exact=False).first.click()
        page.wait_for_selector("#jobs li.resting")
        queue.start()
        time.sleep(1.5)
        assert season.games() == [], "what is paused rests"
        page.get_by_role("button", name="Go on", exact=False).first.click()
        wait_for(lambda: "plays" in page.inner_text("#games"))
        page.wait_for_selector("#work", state="hidden")
        (game,) = season.games()
        assert [film.state for film in season.films(game.id)] == ["ready"]
        assert page.get_by_role("link", name="tag it").get_attribute("href") == f"/tag/{game.id}"
        assert page.locator("#game").input_value() == "", "the next film makes the next game"
    finally:
        queue.close()


@pytest.mark.browser
def test_names_of_files_are_text(page: Page, served: str) -> None:
    page.goto(f"{served}/films")
    page.wait_for_selector('body[data-ready="yes"]')
    page.get_by_role("button", name="Videos").click()
    page.wait_for_selector("#listing button:has-text('card')")
    assert page.inner_text("#listing button .name") == "<b>card"
    assert page.locator("#listing b").count() == 0


@pytest.mark.browser
def test_the_tagging_page_changes_over_to_the_light_copy_on_the_same_frame(
    page: Page, served: str, season: Season, tmp_path: Path
) -> None:
    page.set_default_timeout(60_000)
    season.add_game("g1", "2026-03-14", "Quarry Hill", True)
    path = make(Recipe("long groups", n_frames=300, gop=300, size=(640, 360)), tmp_path)
    (film,) = bring_film(season, "g1", [path])
    page.goto(f"{served}/tag/g1?at=4000")
    page.wait_for_selector('body[data-ready="film"]')
    assert page.evaluate(SOURCE).endswith(f"/film/{film.id}?v=original")
    assert number_on_screen(page) == 100
    queue = Queue(season)
    try:
        assert queue.run([film.id]) == []
    finally:
        queue.close()
    wait_for(lambda: page.evaluate(SOURCE).endswith("?v=viewing"))
    wait_for(lambda: number_on_screen(page) == 100, 20)
    page.wait_for_selector(".frozen", state="detached")
    page.keyboard.press(".")
    wait_for(lambda: number_on_screen(page) == 101, 20)


CHANGES = """async ([version, rate, fails]) => {
  const { ChangeOver } = await import("/screen/changeover.js");
  const film = (version) => ({ id: "f", state: "ready", version });
  const first = film(version);
  const gone = [];
  const deck = {
    reel: { film: first, aim: null }, films: [first], frames: new Map([["f", 1]]), rate, again: null, loop: null,
    goal: null, gameMs: 500, video: {},
    goTo: async (ms) => {
      gone.push(ms);
      deck.reel.film = deck.films[0];
      if (fails-- > 0) { deck.gameMs = 0; throw new Error("gone"); }
    },
  };
  let frozen = 0;
  const change = new ChangeOver(deck, () => (frozen++, () => frozen--));
  const rest = () => new Promise((resolve) => setTimeout(resolve, 30));
  const steps = [];
  const step = async (does) => { does(); await rest(); steps.push([...gone]); };
  await step(() => change.take([film("viewing")]));
  await step(() => { deck.rate = 0; change.look(); });
  await step(() => change.take([film("viewing")]));
  await step(() => change.take([film("viewing")]));
  return { steps, frozen, frames: deck.frames.size, plays: deck.reel.film.version };
}"""


@pytest.mark.browser
@pytest.mark.parametrize(
    ("version", "rate", "fails", "steps"),
    [
        ("original", 0, 0, [[500], [500], [500], [500]]),
        ("original", 1, 0, [[], [500], [500], [500]]),
        ("part-50", 1, 0, [[500], [500], [500], [500]]),
        ("viewing", 0, 0, [[], [], [], []]),
        ("original", 0, 1, [[500], [500, 500], [500, 500], [500, 500]]),
    ],
    ids=["held", "playing", "playing a part", "nothing new", "tried again"],
)
def test_film_changes_over_when_it_may(
    page: Page, served: str, version: str, rate: int, fails: int, steps: list[list[int]]
) -> None:
    page.goto(f"{served}/screen/tokens.css")
    found = page.evaluate(CHANGES, [version, rate, fails])
    assert found["steps"] == steps
    assert found["frozen"] == 0 and found["plays"] == "viewing"
    assert found["frames"] == (1 if version == "viewing" else 0)


@pytest.mark.browser
def test_the_tagging_page_begins_with_the_part_that_is_done(
    page: Page, served: str, season: Season, tmp_path: Path
) -> None:
    page.set_default_timeout(90_000)
    season.add_game("g1", "2026-03-14", "Quarry Hill", True)
    from fractions import Fraction

    slow = Recipe("slow", suffix=".avi", codec="mpeg4", sound=None, n_frames=900, rate=Fraction(10))
    (film,) = bring_film(season, "g1", [make(slow, tmp_path)])
    page.goto(f"{served}/tag/g1")
    page.wait_for_selector("#blank:not([hidden])")
    assert page.inner_text("#blank").startswith("slow.avi is being made playable")
    queue = Queue(season)
    try:
        queue.start()
        wait_for(lambda: "?v=" in page.evaluate(SOURCE))
        wait_for(lambda: page.evaluate(SOURCE).endswith("?v=viewing"))
        wait_for(lambda: number_on_screen(page) == 0, 20)
        assert page.locator("#blank").is_hidden()
    finally:
        queue.close()
    assert (
        json.loads(page.request.get(f"{served}/tag/g1/films.json").text())["films"][0]["until_ms"] == film.duration_ms
    )


def number_on_screen(page: Page) -> int:
    """The number drawn into the picture that the tagging page's video shows; -1 while there is none."""
    from tests.screen.house import frame_on_screen

    if not page.evaluate("document.getElementById('video').videoWidth"):
        return -1
    try:
        return frame_on_screen(page)
    except ValueError:
        return -1

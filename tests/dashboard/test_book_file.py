"""A book as a file, out and in, from the page; and a second person's device, let in by the pass-phrase."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from dashboard.bookfile import take_in
from dashboard.loading import Present
from dashboard.server import create_app
from tagger.marks.entries import read_entry
from tagger.season import Season
from tagger.work.bring import bring_film
from tests.dashboard.herons import entry, texts
from tests.served import Served

LINES = {"Content-Type": "application/x-ndjson"}
ADDRESS = "/games/g1/book.jsonl"


class Visitor:
    """Asks the program of a season, under the address that browsers use."""

    def __init__(self, season: Season) -> None:
        self._client = create_app(season, present=Present(season)).test_client()

    def get(self, path: str) -> Any:
        return self._client.get(path, base_url="http://127.0.0.1:8765")

    def post(self, path: str, **more: Any) -> Any:
        return self._client.post(path, base_url="http://127.0.0.1:8765", **more)


@pytest.fixture
def client(season: Season) -> Visitor:
    return Visitor(season)


@pytest.fixture
def elsewhere(numbered_film: Path, tmp_path: Path) -> Iterator[Season]:
    """The same season on another laptop, with the same film and no marks yet."""
    made = Season.open(texts(tmp_path / "elsewhere"), make=True)
    made.games.add("g1", "2026-03-14", "Quarry Hill", True)
    bring_film(made, "g1", [numbered_film])
    yield made
    made.close()


def test_a_book_carried_to_another_laptop_gives_the_same_tables(
    client: Visitor, season: Season, elsewhere: Season
) -> None:
    season.journal.add("g1", "coach", [{**entry("more", 18, "", 0, "", {}), "does": "remove", "of": "g1-6"}])
    answer = client.get(f"{ADDRESS}?book=coach")
    assert answer.status_code == 200 and "attachment" in answer.headers["Content-Disposition"]
    other = Visitor(elsewhere)
    taken = other.post(ADDRESS, data=answer.data, headers=LINES)
    assert taken.get_json() == {"book": "coach", "n_new": len(answer.data.splitlines()) - 1, "n_known": 0}
    assert elsewhere.tagged.folded("g1", "coach").rows == season.tagged.folded("g1", "coach").rows
    again = other.post(ADDRESS, data=answer.data, headers=LINES)
    assert again.get_json()["n_new"] == 0
    assert elsewhere.tagged.folded("g1", "coach").rows == season.tagged.folded("g1", "coach").rows
    assert other.get(f"{ADDRESS}?book=coach").data == answer.data  # and carried back it is the same file


def test_the_page_s_file_is_the_command_line_s(client: Visitor, season: Season, tmp_path: Path) -> None:
    file = tmp_path / "book.jsonl"
    file.write_bytes(client.get(ADDRESS).data)
    assert take_in(season, "g1", None, file).n_new == 0


@pytest.mark.parametrize(
    ("change", "why"),
    [
        (lambda text: text[:-30], r"my\.jsonl, line 18: not JSON; the file may be cut off there. Nothing was taken in"),
        (lambda text: text.replace('"film":', '"flim":', 1), r"my\.jsonl, line 2: "),
        (lambda text: text.replace('"game":"g1"', '"game":"g2"', 1), "marks of game g2, not of g1"),
        (lambda text: text.split("\n", 1)[1], r"my\.jsonl, line 1: no journal header"),
        (lambda text: "PK\x03\x04", r"my\.jsonl, line 1: not JSON"),
        (lambda text: "", "empty"),
    ],
    ids=["torn", "spoilt", "of another game", "without its head", "something else", "empty"],
)
def test_a_torn_or_foreign_file_is_refused_whole(client: Visitor, season: Season, change: Any, why: str) -> None:
    before = season.journal.head("g1", "coach")
    text = client.get(ADDRESS).get_data(as_text=True).replace('"id":"g1-', '"id":"new-')
    answer = client.post(f"{ADDRESS}?name=my.jsonl", data=change(text).encode(), headers=LINES)
    told = answer.get_json()["error"]["text"]
    assert answer.status_code == 400 and re.search(why, told) and "\n" not in told
    assert season.journal.head("g1", "coach") == before


def test_bytes_that_are_no_text_and_forms_of_other_sites_are_refused(client: Visitor) -> None:
    assert client.post(ADDRESS, data=b"\xff\xfe\x00", headers=LINES).status_code == 400
    assert client.post(ADDRESS, data={"file": "x"}).status_code == 415
    assert client.get("/games/none/book.jsonl").status_code == 404
    assert client.get(f"{ADDRESS}?book=nobody").status_code == 404


@pytest.mark.browser
def test_a_book_is_saved_and_taken_in_on_the_tagging_page(new_page: Any, folder: Path, tmp_path: Path) -> None:
    served = Served(folder)
    try:
        page = new_page()
        page.goto(f"{served.address}tag/g1")
        page.wait_for_selector('body[data-ready="film"]')
        page.click("header nav button")
        with page.expect_download() as download:
            page.click("#export")
        file = tmp_path / "saved.jsonl"
        download.value.save_as(file)
        head, *lines = file.read_text(encoding="utf-8").splitlines()
        assert (json.loads(head)["game"], len(lines)) == ("g1", 17)
        page.set_input_files("#import", file)
        page.wait_for_function("() => document.getElementById('imported').innerText.includes('17 were there already')")
        fresh = json.dumps(entry("fresh", 18, json.loads(lines[0])["film"], 20000, "note", {"text": "good"}))
        file.write_text("\n".join([head, *lines, fresh]) + "\n", encoding="utf-8")
        page.set_input_files("#import", file)
        page.wait_for_function("() => document.querySelector('#log').innerText.includes('good')")  # in sight at once
        file.write_text(f"{head}\n{fresh[:-5]}", encoding="utf-8")
        page.set_input_files("#import", file)
        page.wait_for_function("() => document.getElementById('imported').innerText.includes('line 2: not JSON')")
    finally:
        served.stop()


@contextmanager
def shared(folder: Path, *more: str) -> Iterator[tuple[Served, str, str]]:
    """The season served beyond this machine: the server, its port, the phrase of those who tag."""
    served = Served(folder, "--host", "0.0.0.0", *more)
    try:
        yield served, served.address.rstrip("/").rsplit(":", 1)[1], served.phrases()["tag"]
    finally:
        served.stop()


ELSEWHERE = {"extra_http_headers": {"Via": "1.1 elsewhere"}}  # what was passed on is not the laptop's own


def let_in(page: Any, address: str, phrase: str, name: str) -> None:
    """Open a page behind the door as a person does."""
    page.goto(address)
    page.wait_for_selector("#phrase:focus")
    page.keyboard.type(phrase)
    page.keyboard.press("Enter")
    page.wait_for_selector("#name:focus")
    page.keyboard.type(name)
    page.keyboard.press("Enter")
    page.wait_for_selector('body[data-ready="film"]')


@pytest.mark.browser
def test_a_second_device_comes_in_by_the_phrase_and_loses_nothing_when_the_server_is_killed(
    new_page: Any, folder: Path
) -> None:
    ben = new_page(1180, 820, has_touch=True, **ELSEWHERE)
    with shared(folder) as (served, port, phrase):
        address = f"http://127.0.0.1:{port}/tag/g1?book=ben&by=ben"
        let_in(ben, address, phrase, "ben")
        anna = new_page(**ELSEWHERE)
        let_in(anna, f"http://127.0.0.1:{port}/tag/g1?book=anna&by=anna", phrase, "anna")
        for key in "Bd":
            ben.keyboard.press(key if key.islower() else f"Shift+{key}")
        ben.wait_for_function("() => document.getElementById('disk').innerText.endsWith('all on disk')")
        anna.wait_for_function("() => document.getElementById('shared').innerText.startsWith('ben tags in ben’s book')")
        served.process.kill()
        served.process.wait()
        ben.keyboard.press("f")
        ben.wait_for_function("() => document.getElementById('disk').innerText.includes('the server is away')")
    with shared(folder, "--port", port) as (_, _, fresh):  # started anew, it has a new phrase
        assert fresh != phrase
        ben.wait_for_function("() => document.getElementById('disk').innerText.includes('pass-phrase')")
        let_in(ben, address, fresh, "ben")
        ben.wait_for_function("() => document.getElementById('disk').innerText.endsWith('3 marks, all on disk')")
    held = Season.open(folder)
    try:
        assert [one.kind for one in held.journal.entries("g1", "ben")[0]] == [
            "period_start",
            "possession",
            "possession",
        ]
    finally:
        held.close()


@pytest.mark.parametrize("named", ["Anna (old)", " anna", "a/b", "", "x" * 61])
def test_a_book_that_no_page_could_open_is_not_made(client: Visitor, season: Season, named: str) -> None:
    books = [one.name for one in season.journal.books("g1")]
    lines = client.get(f"{ADDRESS}?book=coach").text.splitlines()
    lines = [json.dumps({**json.loads(lines[0]), "book": named}), json.dumps(entry("own", 1, "f", 0, "note", {}))]
    answer = client.post(ADDRESS, data="\n".join(lines).encode(), headers=LINES)
    assert answer.status_code != 200 and "nothing was taken in" in answer.get_json()["error"]["text"]
    assert [one.name for one in season.journal.books("g1")] == books


def test_half_a_character_is_refused_with_its_line(client: Visitor, season: Season) -> None:
    head = client.get(f"{ADDRESS}?book=coach").text.splitlines()[0]
    body = json.dumps({**entry("own", 1, "f", 0, "note", {}), "answers": {"text": "cut \ud83d"}})
    answer = client.post(ADDRESS, data=f"{head}\n{body}\n".encode(), headers=LINES)
    assert answer.status_code != 500 and "line 2" in answer.get_json()["error"]["text"]
    (added,) = season.journal.add("g1", "coach", [json.loads(body)])
    assert added.state == "refused", "and what stands behind it is taken"


LAST = 2**53 - 1


def ended(season: Season) -> str:
    """A book that holds the last number there is, as it could come to be before; its file as it was written then."""
    far = read_entry(entry("m-g1", LAST, "", 9000, "note", {"text": "x"}) | {"id": "far", "film": "f"})
    before = season.journal.bodies("g1", "coach")[0]
    with season.store.writing() as db:
        db.execute(
            "INSERT INTO journal (game, book, id, n, body) VALUES ('g1', 'coach', 'far', ?, ?)", (LAST, far.as_json())
        )
    return "\n".join([*before, far.as_json()]) + "\n"


def test_a_book_that_was_ended_is_the_same_after_out_in_and_out_again(
    client: Visitor, season: Season, elsewhere: Season
) -> None:
    old = ended(season)
    saved = client.get(f"{ADDRESS}?book=coach").data
    assert str(LAST).encode() not in saved
    assert client.post(ADDRESS, data=saved, headers=LINES).json == {"book": "coach", "n_new": 0, "n_known": 18}
    other = Visitor(elsewhere)
    assert other.post(ADDRESS, data=saved, headers=LINES).json["n_new"] == 18
    assert elsewhere.journal.head("g1", "coach") == season.journal.head("g1", "coach")
    assert other.get(f"{ADDRESS}?book=coach").data == saved
    header = saved.decode().splitlines(keepends=True)[0]
    for each in (client, other):  # a file saved before such numbers were refused
        assert each.post(ADDRESS, data=(header + old).encode(), headers=LINES).json["n_known"] == 18


def test_a_file_with_a_number_too_far_ahead_is_refused_whole(client: Visitor, season: Season) -> None:
    header = client.get(f"{ADDRESS}?book=coach").text.splitlines(keepends=True)[0]
    lines = [json.dumps({**entry("m-g1", n, "f", 0, "note", {}), "id": f"far{n}"}) for n in (18, 50_000)]
    answer = client.post(ADDRESS, data=(header + "\n".join(lines)).encode(), headers=LINES)
    assert answer.status_code == 400 and answer.json["error"]["text"].endswith("nothing was taken in")
    assert season.journal.books("g1")[0].n_entries == 17

"""A damaged season: read past on the pages, in tables and report; and saved into a new folder."""

from __future__ import annotations

import hashlib
import json
import shutil
import sqlite3
import subprocess
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from dashboard import cli
from dashboard.loading import Present
from dashboard.server import create_app
from tagger.season import Season
from tests.served import Served


def state(folder):
    found = sorted(path for path in folder.rglob("*") if path.is_file())
    return {path.name: (path.stat().st_mtime_ns, hashlib.sha256(path.read_bytes()).hexdigest()) for path in found}


def spoil(folder: Path, of: str) -> None:
    """Make zeros of the beginning of a table's root page."""
    db = sqlite3.connect(f"{(folder / 'season.db').as_uri()}?immutable=1", uri=True)
    page = db.execute("SELECT coalesce(max(rootpage), 1) FROM sqlite_master WHERE name = ?", (of,)).fetchone()[0]
    db.close()
    content = bytearray((folder / "season.db").read_bytes())
    content[(page - 1) * 4096 : (page - 1) * 4096 + 16] = bytes(16)
    (folder / "season.db").write_bytes(content)


def spoil_entry(folder: Path, id_: str) -> None:
    content = (folder / "season.db").read_bytes()
    assert content.count(f'"id":"{id_}"'.encode()) == 1
    (folder / "season.db").write_bytes(content.replace(f'"id":"{id_}"'.encode(), f'"id";"{id_}"'.encode()))


@pytest.mark.parametrize("of", ["sqlite_master", "sqlite_autoindex_journal_1", "games", "films"])
def test_a_season_with_a_damaged_page_is_rescued_with_every_entry(folder, tmp_path, of, capsys):
    whole = Season.open(folder, read_only=True)
    entries = {game.id: whole.journal.entries(game.id, "coach")[0] for game in whole.games.all()}
    tables = whole.tagged.tables()
    whole.close()
    spoil(folder, of)
    before = state(folder)
    new = tmp_path / "new"
    assert cli.main(["check", str(folder), "--quick"]) == 1
    assert cli.main(["rescue", str(folder), "--to", str(new)]) == 0
    told = capsys.readouterr()
    assert f"{sum(map(len, entries.values()))} entries, 2 games, 2 films" in told.out
    assert state(folder) == before
    season = Season.open(new)
    assert season.damage == ()
    assert {game.id: season.journal.entries(game.id, "coach")[0] for game in season.games.all()} == entries
    if of not in ("games", "films"):
        assert all(season.tagged.tables()[name].equals(tables[name]) for name in tables)
        assert season.shelf.films("g1")[0].state == "ready"
    season.close()
    assert (new / "roster.csv").read_bytes() == (folder / "roster.csv").read_bytes()
    capsys.readouterr()
    assert cli.main(["rescue", str(folder), "--to", str(new)]) == 1
    assert "not empty" in capsys.readouterr().err


def test_film_that_the_season_keeps_goes_along_or_is_played_where_it_lies(folder, season, numbered_film, tmp_path):
    own = folder / "film" / "own.mp4"
    own.parent.mkdir(exist_ok=True)
    shutil.copyfile(numbered_film, own)
    with season.store.writing() as db:
        db.execute("UPDATE films SET path = 'film/own.mp4', mtime_ns = ? WHERE game = 'g1'", (own.stat().st_mtime_ns,))
    season.close()
    spoil(folder, "sqlite_master")
    assert cli.main(["rescue", str(folder), "--to", str(tmp_path / "with")]) == 0
    assert cli.main(["rescue", str(folder), "--to", str(tmp_path / "without"), "--without-film"]) == 0
    for name, path in (("with", tmp_path / "with" / "film" / "own.mp4"), ("without", own)):
        new = Season.open(tmp_path / name, read_only=True)
        film = new.shelf.films("g1")[0]
        assert film.state == "ready" and new.shelf.whereabouts.original(film.id).samefile(path)
        new.close()


def test_without_settings_or_database_what_is_left_is_saved(folder, tmp_path, capsys):
    (folder / "season.toml").unlink()
    assert cli.main(["rescue", str(folder), "--to", str(tmp_path / "a")]) == 0
    assert "season.toml: it was not there" in capsys.readouterr().err
    assert cli.main(["check", str(tmp_path / "a"), "--quick"]) == 0
    (folder / "season.db").write_bytes(b"a letter" * 1000)
    assert cli.main(["rescue", str(folder), "--to", str(tmp_path / "b")]) == 1
    (folder / "season.db").unlink()
    assert cli.main(["rescue", str(folder), "--to", str(tmp_path / "b")]) == 1
    assert not (tmp_path / "b").exists() and not list(tmp_path.glob(".*"))


def test_a_damaged_entry_is_named_on_every_page_in_tables_and_report(folder, tmp_path, capsys):
    spoil_entry(folder, "g1-3")
    season = Season.open(folder)
    client = create_app(season).test_client()
    sent = {
        "output": "..page.children...header.children..",
        "outputs": [{"id": "page", "property": "children"}, {"id": "header", "property": "children"}],
        "inputs": [
            {"id": "url", "property": "pathname", "value": "/sets"},
            {"id": "url", "property": "search", "value": ""},
        ],
        "changedPropIds": ["url.pathname"],
    }
    answer = client.post("/_dash-update-component", json=sent, headers={"Host": "127.0.0.1"})
    text = answer.get_data(as_text=True)
    assert answer.status_code == 200 and "entry 3 can" in text and "Part of this season" in text, text[:300]
    page = client.get("/tag/g1", headers={"Host": "127.0.0.1"}).get_data(as_text=True)
    assert "entry 3 can" in page
    start = client.get("/tag/g1/start.json?book=coach", headers={"Host": "127.0.0.1"}).get_json()
    assert "g1-3" not in {entry["id"] for entry in start["entries"]} and len(start["entries"]) == 16
    assert len(Present(season).now().folded["g1"].log) == 16
    season.close()
    assert cli.main(["tables", str(folder), "--to", str(tmp_path / "t")]) == 1
    assert "entry 3 can" in capsys.readouterr().err
    assert "entry 3 can" in json.loads((tmp_path / "t" / "tables.json").read_text(encoding="utf-8"))["damage"][0]
    assert cli.main(["report", str(folder), "--to", str(tmp_path / "r.html")]) == 1
    body = (tmp_path / "r.html").read_text(encoding="utf-8").partition("<body")[2]
    assert body.index("entry 3 can") < body.index("<section")


@pytest.fixture
def read_only(folder: Path, tmp_path: Path) -> Iterator[Path]:
    """The folder mounted so that nobody, not even root, can write to it."""
    place = tmp_path / "read-only"
    place.mkdir()
    done = subprocess.run(["mount", "--bind", str(folder), str(place)], check=False, capture_output=True)
    if done.returncode or subprocess.run(["mount", "-o", "remount,bind,ro", str(place)], check=False).returncode:
        pytest.skip("nothing can be mounted here")
    yield place
    subprocess.run(["umount", "-l", str(place)], check=True)


def test_a_read_only_folder_is_looked_at_served_and_backed_up(read_only, tmp_path, capsys):
    assert cli.main(["check", str(read_only), "--quick"]) == 0, capsys.readouterr()
    for command in (["report", "--to", "r.html"], ["tables", "--to", "t"], ["backup", "--to", "s.zip"]):
        words = [command[0], str(read_only), "--to", str(tmp_path / command[2])]
        assert cli.main(words) == 0, capsys.readouterr()
    assert cli.main(["film", str(read_only), "g1", str(tmp_path / "x.mp4")]) == 1
    assert "can't be written" in capsys.readouterr().err
    served = Served(read_only)
    try:
        start = json.load(urllib.request.urlopen(f"{served.address}tag/g1/start.json?book=coach"))
        assert "can’t be written" in start["read_only"] and len(start["entries"]) == 17
        sent = json.dumps({"season": start["season"], "book": "coach", "entries": []}).encode()
        asked = urllib.request.Request(
            f"{served.address}tag/g1/entries", sent, {"Content-Type": "application/json"}, method="POST"
        )
        with pytest.raises(urllib.error.HTTPError) as refused:
            urllib.request.urlopen(asked)
        assert refused.value.code == 503 and "can’t be written" in json.load(refused.value)["error"]["text"]
        code, said = served.interrupt()
        assert code == 130 and "can’t be written" in said and "Traceback" not in said
    finally:
        served.stop()

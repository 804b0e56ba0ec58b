"""A season with one player's name and his family's address in every place thought of, and what is left of them.

The counting here is its own and simple: it knows nothing of what the program looks for.
"""

from __future__ import annotations

import gzip
import html
import io
import json
import os
import re
import shutil
import sqlite3
import subprocess
import sys
import tomllib
import unicodedata
import urllib.parse
import zipfile
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

from tagger.season import Season

NUMBER = "14"
NAME = "Elíaš Brandvold-Nørgaard"
ADDRESS = "12 Heron’s Reach, Saltmarsh QX4 7ZZ"
MAIL = "marit.bn@example.org"
PHONE = "+44 1632 960123"
_COMBINING = re.compile("[\u0300-\u036f]")
TOKENS = ("brandvold", "norgaard", "heron's reach", "marit.bn", "632 960123")
"""What may be found nowhere, small and without accents."""
OUR_MEN = {
    "screens": ("setter", "user", "setter2"),
    "shots": ("shooter", "feeder", "feeder2"),
    "turnovers": ("player", "meant"),
    "loose_balls": ("player",),
    "penalties": ("player",),
    "goalies": ("player",),
    "lines": ("out", "in"),
}
NOTES = (
    f"{NAME} was late twice",
    "BRANDVOLD–NØRGAARD: talk to him",
    "elias and Milo, well done",
    "again #14, see #9",
    unicodedata.normalize("NFD", NAME) + " free on the left",
    "brandvold norgaard's shot",
    "14 seconds left on the clock",
)


def plant(folder: Path) -> None:
    """Put him into a season that has games, marks and lines, everywhere.

    Parameters
    ----------
    folder : Path
        The season's; not open.
    """
    _texts(folder)
    season = Season.open(folder)
    try:
        _database(season)
    finally:
        season.close()
    _files(folder)
    _in_the_log(folder)


def _texts(folder: Path) -> None:
    lines = (folder / "roster.csv").read_text(encoding="utf-8").splitlines()
    made = [f"{lines[0]},guardian,address,mail,phone"]
    for line in lines[1:]:
        if line.startswith(f"{NUMBER},"):
            cells = line.split(",")
            more = f'Marit Brandvold-Nørgaard,"{ADDRESS}",{MAIL},{PHONE}'
            made.append(",".join([NUMBER, NAME, *cells[2:], more]))
        else:
            made.append(f"{line},,,,")
    (folder / "roster.csv").write_text("\r\n".join(made) + "\r\n", encoding="utf-8", newline="")
    for name in ("season.toml", "playbook.toml", "lines.toml"):
        with (folder / name).open("a", encoding="utf-8") as file:
            file.write(f"\n# {NAME} asked for this; his mother is at {ADDRESS}\n")
    (folder / "earlier_questions.toml").write_text(
        f'[[question]]\nended = 2026-11-20T18:00:00Z\ntext = "Is {NAME} open?"\nmeasure = "user_free"\n'
        'stated = 2026-11-19\n\n[question.one]\nuser = "14"\n\n'
        f'[[question]]\nended = 2026-11-20T18:05:00Z\ntext = "Keel, says {NAME}?"\nmeasure = "goal"\n'
        'stated = 2026-11-19\n\n[question.one]\nset = "keel"\n',
        encoding="utf-8",
    )
    (folder / "question.toml").write_text(
        f'text = "Does {NAME} free the shooter?"\nmeasure = "user_free"\nstated = 2026-11-20\n\n[one]\nsetter = "14"\n',
        encoding="utf-8",
    )


def _database(season: Season) -> None:
    game = season.games.all()[0].id
    book = season.journal.books(game)[0].name
    film = season.shelf.films(game)[0].id
    n = season.journal.books(game)[0].last_n
    raw = [_mark(f"note-{place}", n + place, film, "note", {"text": text}) for place, text in enumerate(NOTES, 1)]
    n += len(NOTES)
    raw += [
        _act("note-new", n + 1, "answer", "note-1", answers={"text": "said otherwise"}),
        _act("note-gone", n + 2, "remove", "note-2"),
        _mark("grade-1", n + 3, film, "grade", {"player": NUMBER, "checkpoint": "feet", "grade": "minus"}),
        _mark("his-own", n + 4, film, "note", {"text": "my own"}, by=NAME),
    ]
    assert {one.state for one in season.journal.add(game, book, raw)} == {"stored"}
    own = [_mark("own-1", 1, film, "note", {"text": "x"}, by=NAME)]
    assert season.journal.add(game, "Brandvold-Nørgaard", own)[0].state == "stored"
    with season.store.writing() as db:
        db.execute("UPDATE games SET about = ? WHERE id = ?", (f"{NAME} captain", game))
        db.execute("UPDATE films SET name = ? WHERE id = ?", (f"{NAME} behind the net.mp4", film))
        body = json.dumps({"paths": [f"/media/card/{NAME}.mp4"]})
        db.execute(
            "INSERT INTO jobs (kind, urgency, game, body, state) VALUES ('bring', 9, ?, ?, 'failed')", (game, body)
        )
        db.execute("INSERT INTO about VALUES ('word', ?)", (f"thanks to {NAME}",))
        for place in range(400):
            db.execute(
                "INSERT INTO games (id, date, opponent, home, about) VALUES (?, '2026-01-01', 'x', 1, ?)",
                (f"freed-{place}", f"{NAME} {ADDRESS} " * 20),
            )
    with season.store.writing() as db:
        db.execute("DELETE FROM games WHERE id LIKE 'freed-%'")


def _files(folder: Path) -> None:
    reels, film = folder / "reels", folder / "film"
    for each in (reels, film, folder / "kept", folder / "tables"):
        each.mkdir(exist_ok=True)
    (reels / f"14 {NAME}.mp4").write_bytes(b"\0\0\0\x18ftyp" + bytes(5000))
    (reels / "lantern.mp4").write_bytes(b"\0\0\0\x18ftyp" + bytes(900) + f"title={NAME}".encode() + bytes(900))
    told = json.dumps({"vocabulary": 2, "season": _id_of(folder)})
    (folder / "tables" / "tables.json").write_text(told, encoding="utf-8")
    (folder / "tables" / "shots.csv").write_text("game,shooter\ng1,14\n", encoding="utf-8")
    (folder / "tables" / "notes.csv").write_text(f"14,{NAME}\n", encoding="utf-8")
    head = json.dumps({"file": "floorbook journal", "v": 1, "season": _id_of(folder), "game": "g1", "book": "coach"})
    (folder / "g1.jsonl").write_text(f'{head}\n{{"by":"{NAME}"}}\n', encoding="utf-8")
    page = '<!doctype html><meta name="generator" content="floorbook report"><p>14: 3 goals'
    (folder / "report.html").write_text(page, encoding="utf-8")
    (folder / "roster.csv~").write_text(f"14,{NAME},{ADDRESS}\n", encoding="utf-8")
    (folder / ".roster.csv.swp").write_bytes(b"b0VIM" + f"{NAME} {MAIL}".encode("utf-16-le"))
    (folder / ".roster.csv.0af3b1.part").write_text(f"14,{NAME}\n", encoding="utf-8")
    arriving = film / "arriving" / "0123456789abcdef"
    arriving.mkdir(parents=True)
    (arriving / "about.json").write_text(json.dumps({"v": 1, "label": f"{NAME}.mp4", "wish": {}}), encoding="utf-8")
    (film / f"{NAME} warming up.mp4").write_bytes(b"\0\0\0\x18ftyp" + bytes(300))
    copy = folder / "herons-as-of.before"
    copy.mkdir()
    for name in ("season.toml", "roster.csv", "season.db"):
        shutil.copyfile(folder / name, copy / name)
    with zipfile.ZipFile(folder / "kept" / "mine.zip", "w", zipfile.ZIP_DEFLATED) as archive:
        for name in ("season.toml", "roster.csv", "season.db"):
            archive.write(folder / name, name)
    whole = (folder / "kept" / "mine.zip").read_bytes()
    (folder / "kept" / "torn.zip").write_bytes(whole[: len(whole) // 2])
    _others(folder)


def _id_of(folder: Path) -> str:
    return str(tomllib.loads((folder / "season.toml").read_text(encoding="utf-8"))["id"])


def _others(folder: Path) -> None:
    """Files of other programs, each writing him down in its own way."""
    other = folder / "from the manager"
    other.mkdir()
    (other / "list.txt").write_bytes(f"\ufeff{NAME}, {ADDRESS}".encode("utf-16"))
    (other / "latin.txt").write_bytes(f"{NAME.replace('š', 's')} {PHONE}".encode("latin-1"))
    (other / "page.html").write_text(f"<p>El&iacute;a&#353; Brandvold-N&oslash;rgaard, {ADDRESS}</p>", encoding="utf-8")
    (other / "link.url").write_text(f"http://example.org/{urllib.parse.quote(NAME)}", encoding="utf-8")
    (other / "data.json").write_text(json.dumps({"who": NAME}), encoding="utf-8")
    (other / "page.txt.gz").write_bytes(gzip.compress(NAME.encode()))
    with zipfile.ZipFile(other / "letter.docx", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("word/document.xml", f"<w:t>{NAME}</w:t>")
    (other / "photo.png").write_bytes(b"\x89PNG" + os.urandom(4000) + f"Author\0{NAME}".encode() + os.urandom(4000))
    (other / f"{NAME}.txt").write_text("nothing", encoding="utf-8")
    (other / "plain.txt").write_text("The herons train on Tuesdays.", encoding="utf-8")


def _in_the_log(folder: Path) -> None:
    """A program that was killed: what it wrote last lies in the write-ahead log alone."""
    words = f"""
import json, os, sys
from tagger.season import Season
season = Season.open({str(folder)!r})
game = season.games.all()[0].id
book = season.journal.books(game)[0]
film = season.shelf.films(game)[0].id
raw = {_mark("in-the-log", 999, "FILM", "note", {"text": f"{NAME} in the log"})!r}
raw["film"], raw["n"] = film, book.last_n + 1
assert season.journal.add(game, book.name, [raw])[0].state == "stored"
os._exit(0)
"""
    subprocess.run([sys.executable, "-c", words], check=True, cwd=Path(__file__).parents[1])
    assert (folder / "season.db-wal").stat().st_size > 0


def _mark(id_: str, n: int, film: str, kind: str, answers: dict[str, Any], by: str = "coach") -> dict[str, Any]:
    head = {"v": 1, "id": id_, "n": n, "by": by, "wall": "", "does": "mark", "kind": kind}
    return {**head, "film": film, "at_ms": 9500, "answers": answers}


def _act(id_: str, n: int, does: str, of: str, **more: Any) -> dict[str, Any]:
    return {"v": 1, "id": id_, "n": n, "by": "coach", "wall": "", "does": does, "of": of, **more}


# What is left --------------------------------------------------------------------------------------------------------


def places(folder: Path) -> list[str]:
    """Where his name or the address is found.

    Parameters
    ----------
    folder : Path
        Any.

    Returns
    -------
    list of str
        Each file once, with what was found in it.
    """
    found = []
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        said = _tokens_in(name.encode("utf-8", "surrogateescape"))
        if path.is_file():
            for data in _unpacked(path.read_bytes()):
                said |= _tokens_in(data)
        if said:
            found.append(f"{name}: {', '.join(sorted(said))}")
    return found


def _unpacked(data: bytes, depth: int = 0) -> Iterator[bytes]:
    yield data
    if depth > 3:
        return
    if data[:2] == b"\x1f\x8b":
        yield from _unpacked(gzip.decompress(data), depth + 1)
    if data[:2] == b"PK":
        try:
            with zipfile.ZipFile(io.BytesIO(data)) as archive:
                for name in archive.namelist():
                    yield name.encode()
                    yield from _unpacked(archive.read(name), depth + 1)
        except zipfile.BadZipFile:
            pass
    if data[:15] == b"SQLite format 3":
        with closing(sqlite3.connect(":memory:")) as db:
            db.deserialize(data[:18] + b"\1\1" + data[20:])
            yield "\n".join(db.iterdump()).encode("utf-8", "replace")


def _tokens_in(data: bytes) -> set[str]:
    small = data.lower()
    forms = {token: (token, token.replace("o", "ø").replace("'", "’")) for token in TOKENS}
    found = {
        token
        for token, ways in forms.items()
        if any(way.encode(how, "ignore") in small for way in ways for how in ("utf-16-le", "utf-16-be", "latin-1"))
    }
    text = data.decode("utf-8", "ignore")
    more = [text, urllib.parse.unquote(text) if "%" in text else "", html.unescape(text) if "&" in text else ""]
    if "\\u" in text:
        more.append(re.sub(r"\\u([0-9a-fA-F]{4})", lambda m: chr(int(m[1], 16)), text))
    plain = [_plain(each) for each in more if each]
    return found | {token for token in TOKENS if any(token in each for each in plain)}


def _plain(text: str) -> str:
    small = text.replace("ø", "o").replace("Ø", "o").replace("’", "'")
    return small.casefold() if small.isascii() else _COMBINING.sub("", unicodedata.normalize("NFKD", small)).casefold()


def entries(folder: Path) -> dict[str, tuple[Any, ...]]:
    """Every entry of a season's journal as it lies in the database.

    Parameters
    ----------
    folder : Path
        The season's.

    Returns
    -------
    dict of str to tuple
        Id → place in the journal, game, n, body.
    """
    with closing(sqlite3.connect(folder / "season.db")) as db:
        return {row[0]: row[1:] for row in db.execute("SELECT id, seq, game, n, body FROM journal")}


def others_changed(before: dict[str, tuple[Any, ...]], after: dict[str, tuple[Any, ...]]) -> int:
    """How many entries that have nothing of him are not what they were, or not there.

    Parameters
    ----------
    before, after : dict
        As `entries` gives them.

    Returns
    -------
    int
        0, as a rule.
    """
    n = 0
    for id_, (seq, game, place, body) in before.items():
        now = after.get(id_)
        his = f'"{NUMBER}"' in body or bool(_tokens_in(body.encode())) or "elias" in _plain(body) or "#14" in body
        n += now is None or now[:3] != (seq, game, place) or (now[3] != body and not his)
    return n + len(after.keys() - before.keys())


def rows(season: Season) -> dict[str, list[dict[str, Any]]]:
    """The rows of all games' chosen books.

    Parameters
    ----------
    season : Season
        Open.

    Returns
    -------
    dict of str to list of dict
        Table → rows.
    """
    made: dict[str, list[dict[str, Any]]] = {}
    for game in season.games.all():
        for table, held in season.tagged.folded(game.id).rows.items():
            made.setdefault(table, []).extend(dict(row) for row in held)
    return made


def rows_without_him(before: dict[str, list[dict[str, Any]]]) -> dict[str, list[dict[str, Any]]]:
    """The rows as they have to be when he is erased.

    Parameters
    ----------
    before : dict
        As `rows` gives them.

    Returns
    -------
    dict
        The same rows, "somebody" where he was; notes without their texts.
    """
    made: dict[str, list[dict[str, Any]]] = {}
    for table, held in before.items():
        made[table] = []
        for old in held:
            row = dict(old)
            if table == "grades" and row.get("player") in (NUMBER, "somebody"):
                continue
            columns = (*OUR_MEN.get(table, ()), *(("player",) if table == "roles" else ()))
            for column in columns:
                if row.get(column) == NUMBER and row.get("team") != "theirs":
                    row[column] = "somebody"
            if table == "faceoffs" and row.get("ours") == NUMBER:
                row["ours"] = "somebody"
            if table == "lines" and row.get("team") != "theirs" and row.get("players"):
                row["players"] = " ".join("somebody" if one == NUMBER else one for one in row["players"].split())
            if table == "notes":
                row.pop("text", None)
                row.pop("players", None)
            made[table].append(row)
    return made

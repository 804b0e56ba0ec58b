"""Whether anybody without consent goes out, and any name: every door of the sample season asked with random rosters.

What went out is counted again by code of its own: the columns with players' numbers are written down here by hand, the
roster is read as a CSV file, and names are searched for as plain text in what another device was sent.
"""

from __future__ import annotations

import csv
import json
import random
import re
import tempfile
from collections import Counter
from collections.abc import Iterator, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any
from unittest import mock

from flask.testing import FlaskClient

from dashboard import reels
from dashboard.demo import make_demo
from dashboard.errors import NothingToCut
from dashboard.loading import Present
from dashboard.pages.registry import PAGES
from dashboard.report import report
from dashboard.server import create_app
from tagger.screen.visitor import LOOK, TAG, Visitor, welcome
from tagger.season import Season
from tests.bench.crowd import click
from tests.bench.figure import Figure, at_least, at_most

NAME = "hardening.consent"
ABOUT = "100 random rosters at every door: clips of who has no consent, names in what another device or a file gets"
ROUNDS, ROUNDS_OF_PAGES = 100, 2
SHARES = (0.02, 0.05, 0.2)
BASE = "http://127.0.0.1:8765/"
NUMBERS = (
    *("shots.shooter", "shots.feeder", "shots.feeder2", "screens.setter", "screens.user", "turnovers.player"),
    *("roles.player", "faceoffs.ours", "loose_balls.player", "penalties.player", "goalies.player", "grades.player"),
    *("lines.players", "lines.out", "lines.in", "notes.players"),
)
CARE = re.compile(r"^\[care\].*?(?=^\[|\Z)", re.MULTILINE | re.DOTALL)


def run() -> list[Figure]:
    """Measure it.

    Returns
    -------
    list of Figure
        Goals of the issue this came from: nobody, no name.
    """
    with tempfile.TemporaryDirectory() as folder:
        season = Path(folder) / "season"
        make_demo(season)
        return figures(count(season, ROUNDS, ROUNDS_OF_PAGES, seed=12))


def figures(told: Counter[str]) -> list[Figure]:
    """What was counted, against its goals.

    Parameters
    ----------
    told : Counter
        As from `count`.

    Returns
    -------
    list of Figure
        The last four say that there was something to leave out, or nothing would have been shown.
    """
    return [
        at_most("clips of who has no consent, in reels", told["wrong in reels"], "clips", 0),
        at_most("clips of who has no consent, on other devices", told["wrong on devices"], "clips", 0),
        at_most("words said of such a clip where it may go", told["said"], "clips", 0),
        at_most("names in answers to other devices", told["names on devices"], "names", 0),
        at_most("names in reports and tables", told["names in files"], "names", 0),
        at_least("clips that went into reels", told["in reels"], "clips", 1),
        at_least("clips that were played on other devices", told["on devices"], "clips", 1),
        at_least("clips that stayed on the laptop", told["kept back"], "clips", 1),
        at_least("answers searched for names", told["answers"], "answers", 1),
    ]


def count(folder: Path, n_rounds: int, n_of_pages: int, seed: int, shares: tuple[float, ...] = SHARES) -> Counter[str]:
    """Ask every door with random rosters.

    Parameters
    ----------
    folder : Path
        A season, whose roster and settings are written over.
    n_rounds, n_of_pages : int
        How many rosters; with how many of them all pages, report and tables are searched for names too.
    seed : int
        Of what is drawn.
    shares : tuple of float
        How many of a roster have no consent; one is drawn for each roster.

    Returns
    -------
    Counter
        What went wrong and what went out.
    """
    rng = random.Random(seed)
    lines = list(csv.DictReader((folder / "roster.csv").read_text(encoding="utf-8").splitlines()))
    settings = CARE.sub("", (folder / "season.toml").read_text(encoding="utf-8"))
    told: Counter[str] = Counter()
    for place in range(n_rounds):
        share = rng.choice(shares)
        roster = [draw(line, share, rng) for line in lines if rng.random() > share / 5]
        said = rng.choice(("clip", "clip", "name")), rng.random() < 0.3
        write(folder, roster, settings, *said)
        season = Season.open(folder)
        try:
            if place == 0:
                write_notes(season, lines)
            ask(season, roster, *said, told, pages=place < n_of_pages)
        finally:
            season.close()
    return told


def draw(line: Mapping[str, str], share: float, rng: random.Random) -> dict[str, str]:
    """A line of the roster with another consent, and sometimes with dates."""
    dates = rng.choice((("2026-02-15", ""), ("", "2026-02-15"))) if rng.random() < share / 2 else ("", "")
    yes = rng.choice(("no", "")) if rng.random() < share else "yes"
    return {**line, "consent": yes, "from": dates[0], "to": dates[1]}


def write(folder: Path, roster: list[dict[str, str]], settings: str, without: str, names: bool) -> None:
    """Put a roster and a word of care into a season."""
    with (folder / "roster.csv").open("w", encoding="utf-8", newline="") as out:
        writer = csv.DictWriter(out, roster[0].keys())
        writer.writeheader()
        writer.writerows(roster)
    care = f'\n[care]\nwithout_consent = "{without}"\nnames_outside = {str(names).lower()}\n'
    (folder / "season.toml").write_text(settings + care, encoding="utf-8")


def write_notes(season: Season, lines: list[dict[str, str]]) -> None:
    """A note of each player, in the first book of a game with film."""
    game = next(one.id for one in season.games.all() if season.shelf.films(one.id))
    book, film = season.tagged.chosen_book(game), season.shelf.films(game)[0].id
    n = max(entry.n for entry in season.journal.entries(game, book)[0])
    notes = [
        {"v": 1, "id": f"note-{place}", "n": n + place, "by": "coach", "wall": "", "does": "mark", "kind": "note"}
        | {"film": film, "at_ms": 500 * place, "answers": {"text": f"look at {line['name'].split()[-1].upper()}, good"}}
        for place, line in enumerate(lines, 1)
    ]
    season.journal.add(game, book, notes)


def ask(
    season: Season,
    roster: list[dict[str, str]],
    without: str,
    names: bool,
    told: Counter[str],
    *,
    pages: bool,
) -> None:
    """One roster at every door."""
    lacking = Lacking(season, roster)
    for clips, unsaid in reel_clips(season, roster):
        for clip in clips:
            told["in reels"] += 1
            if lacking.within(clip.game, clip.start_ms, clip.end_ms):
                told["wrong in reels"] += without == "clip"
                told["said"] += without == "name" and clip not in unsaid
    app = create_app(season)
    may = [LOOK]
    app.before_request(lambda: welcome(Visitor(may[0], "anna")))
    client = app.test_client()
    films = {film.id: film for game in season.games.all() for film in season.shelf.films(game.id)}
    for asked in clips_asked(season, roster):
        may[0] = TAG if may[0] == LOOK else LOOK
        answer = client.post("/clips", json=asked, base_url=BASE).get_json()
        told["kept back"] += answer["kept_back"]
        for clip in answer["clips"]:
            told["on devices"] += 1
            for piece in clip["pieces"]:
                film = films[re.split(r"[/?]", piece["film"])[2]]
                start, end = (film.offset_ms + round(1000 * piece[side]) for side in ("start_s", "end_s"))
                if lacking.within(film.game, start, end):
                    told["wrong on devices"] += without == "clip"
                    told["said"] += without == "name" and not clip["label"].endswith(".")
    if not pages:
        return
    kept = [line["name"] for line in roster if not (names and line["consent"] == "yes")]
    for text in answers(season, client, may):
        told["answers"] += 1
        told["names on devices"] += len(found(kept, text))
    for text in (report(season).text, *tables(season)):
        told["names in files"] += len(found(kept, text))


def reel_clips(season: Season, roster: list[dict[str, str]]) -> Iterator[tuple[list[Any], list[Any]]]:
    """The clips of every reel that would be cut, and those of which nothing is said; nothing is cut."""
    cut: list[tuple[list[Any], list[Any]]] = []

    def keep(season: Season, moment: Any, clips: Any, unsaid: Any = ()) -> tuple[list[Any], int]:
        cut.append((list(clips), list(unsaid)))
        return [], 0

    wanted = [reels.Wanted(player=line["number"]) for line in roster]
    wanted += [reels.Wanted(play=play.code) for play in season.texts.playbook.sets]
    present = Present(season)
    with mock.patch.object(reels, "film_clips", keep), mock.patch("dashboard.loading.Present", lambda season: present):
        for one in wanted:
            with suppress(NothingToCut):
                reels.cut_reel(season, one, season.folder / "never.mp4")
        with suppress(NothingToCut):
            reels.cut_all(season, season.folder / "never")
    yield from cut


def clips_asked(season: Season, roster: list[dict[str, str]]) -> list[dict[str, Any]]:
    """What a page can ask to be played: all rows of each table, and each player's clips."""
    moment = Present(season).now()
    tables = [table for table in moment.tables if table not in ("roles", "detail")]
    rows = [{"table": table, "ids": list(moment.rows(table))} for table in tables]
    moments = [f"{game.id}@{at_ms}" for game in moment.games for at_ms in range(0, 120_000, 7_000)]
    return [*rows, {"table": "moments", "ids": moments}, *({"player": line["number"]} for line in roster)]


def answers(season: Season, client: FlaskClient, may: list[str]) -> Iterator[str]:
    """Whatever a phone can be told: every page as a looker sees it, every tagging page as a tagger does."""
    games = [game.id for game in season.games.all()]
    may[0] = LOOK
    sets = [play.code for play in season.texts.playbook.sets]
    each = {"": [""], "set": sets, "player": [one.number for one in season.texts.roster], "game": games}
    for path in (page.address.format(**{page.each: of}) for page in PAGES.values() for of in each[page.each]):
        yield client.get(path, base_url=BASE).get_data(as_text=True)
        asked = client.post("/_dash-update-component", data=click(path), content_type="application/json", base_url=BASE)
        yield json.dumps(asked.get_json(), ensure_ascii=False)
    may[0] = TAG
    for game in games:
        yield client.get(f"/games/{game}/book.jsonl", base_url=BASE).get_data(as_text=True)
        for book in season.journal.books(game):
            for name in ("", "/start.json", "/entries", "/films.json", "/books.json", "/folded.json"):
                answer = client.get(f"/tag/{game}{name}", query_string={"book": book.name}, base_url=BASE)
                text = answer.get_data(as_text=True)
                yield json.dumps(answer.get_json(), ensure_ascii=False) if answer.is_json else text


def tables(season: Season) -> list[str]:
    """The event tables as the command writes them."""
    from dashboard.cli import main

    out = season.folder.with_name("tables")
    main(["tables", str(season.folder), "--to", str(out)])
    return [path.read_text(encoding="utf-8") for path in sorted(out.iterdir())]


def found(names: list[str], text: str) -> list[str]:
    """Names, and their words of four letters and more, that stand in a text."""
    low = text.casefold()
    words = {word for name in names for word in (name, *re.findall(r"\w{4,}", name))}
    return [word for word in words if re.search(rf"(?<!\w){re.escape(word.casefold())}(?!\w)", low)]


class Lacking:
    """When somebody without consent is marked, counted as plainly as can be.

    Parameters
    ----------
    season : Season
        The open season.
    roster : list of dict
        Lines of roster.csv.
    """

    def __init__(self, season: Season, roster: list[dict[str, str]]) -> None:
        lines = {line["number"]: line for line in roster}
        self.held: dict[str, list[tuple[int, int]]] = {}
        for game in season.games.all():
            rows = season.tagged.folded(game.id).rows
            runs = {row["id"]: row for row in rows["runs"]}
            spans = self.held[game.id] = []
            for each in NUMBERS:
                table, column = each.split(".")
                for row in rows[table]:
                    for number in re.findall(r"\b\d\d?\b", str(row.get(column) or "")):
                        if row.get("team") == "theirs" or _says_yes(lines.get(number), game.date):
                            continue
                        if "at_ms" in row:
                            spans.append((row["at_ms"], row["at_ms"]))
                        if row.get("run") in runs:
                            run = runs[row["run"]]
                            spans.append((run["start_ms"], (run.get("end_ms") or 10**9) - 1))
                        if each in ("lines.players", "goalies.player") and row.get("what") != "out":
                            spans.append((row["at_ms"], _last(rows, table, row)))

    def within(self, game: str, start_ms: int, end_ms: int) -> bool:
        """Whether a stretch shows somebody of them."""
        return any(first < end_ms and start_ms <= last for first, last in self.held[game])


def _says_yes(line: Mapping[str, str] | None, day: str) -> bool:
    if line is None or line["consent"] != "yes":
        return False
    return (line["from"] or day) <= day <= (line["to"] or day)


def _last(rows: Mapping[str, list[dict[str, Any]]], table: str, row: Mapping[str, Any]) -> int:
    """The last ms at which a line or a goalkeeper still stands there."""
    later = [each["at_ms"] for each in rows[table] if each.get("team") != "theirs" and each["at_ms"] > row["at_ms"]]
    if table == "lines":
        later += [one["end_ms"] for one in rows["periods"] if one["period"] == row["period"] and one.get("end_ms")]
    return max(min(later, default=10**9) - 1, row["at_ms"])

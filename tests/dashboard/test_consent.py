"""Consent at every door: reels, clips to other devices, report and tables, each asked with somebody who has none."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from dashboard.choosing import Wanted
from dashboard.cli import main
from dashboard.errors import NothingToCut
from dashboard.loading import Present
from dashboard.pages.registry import PAGES
from dashboard.pages.shell import content, place_of
from dashboard.play import players_list, playlist
from dashboard.reels import cut_all, cut_reel
from dashboard.report import report
from dashboard.server import create_app
from tagger.care import DEVICE, SCREEN
from tagger.screen.visitor import ALL, LOOK, TAG, Visitor, welcome
from tagger.season import Season
from tests.bench.hardening.consent import count, figures
from tests.dashboard.herons import entry
from tests.dashboard.test_pages import words
from tests.film.maker import read_numbers

CARE = '[care]\nwithout_consent = "clip"\nnames_outside = false\n'
BASE = "http://127.0.0.1:8765/"
NOTE = "zoe open, Brandvold did not look"


@pytest.fixture
def season(folder: Path) -> Any:
    """The small season; 22, who set a screen and fed in the first run of g1, has no consent. A note names two."""
    roster = folder / "roster.csv"
    text = roster.read_text(encoding="utf-8")
    assert "Wiremu Tahana,R,crease,yes" in text
    roster.write_text(text.replace("Wiremu Tahana,R,crease,yes", "Wiremu Tahana,R,crease,no"), encoding="utf-8")
    made = Season.open(folder)
    film = made.shelf.films("g1")[0].id
    made.journal.add("g1", "coach", [entry("g1", 90, film, 26_000, "note", {"text": NOTE})])
    yield made
    made.close()


def let(season: Season, care: str) -> None:
    """Change what the season says of care."""
    path = season.folder / "season.toml"
    text = path.read_text(encoding="utf-8")
    assert CARE in text
    path.write_text(text.replace(CARE, f"[care]\n{care}\n"), encoding="utf-8")


def asked_by(season: Season, may: str) -> FlaskClient:
    """The application as somebody on the network, or the laptop, meets it."""
    app = create_app(season)
    app.before_request(lambda: welcome(Visitor(may, "anna" if may == TAG else "")))
    return app.test_client()


def test_a_reel_of_a_player_leaves_out_the_clips_of_who_has_no_consent_and_says_so_first(season, tmp_path):
    told: list[str] = []
    done = cut_reel(season, Wanted(player="14"), tmp_path / "14.mp4", tell=told.append)
    assert told == [
        "14 Elias Brandvold: in 1 of 3 clips somebody without consent is marked (22 Wiremu Tahana in 1); "
        "they are left out (season.toml, [care])"
    ]
    assert read_numbers(tmp_path / "14.mp4") == [*range(525, 738)]  # 21.000 to 29.500 s; the first run is not there
    assert "1 clip, 1 of 2 without film, 1 left out" in done.told


def test_a_set_s_reel_asks_too(season, tmp_path, capsys):
    assert main(["reels", str(season.folder), "g1", "--set", "lantern", "--to", str(tmp_path / "lantern.mp4")]) == 0
    said = capsys.readouterr().out
    assert said.startswith("our runs in Lantern: in 1 of 2 clips somebody without consent is marked (22 Wiremu Tahana")
    assert read_numbers(tmp_path / "lantern.mp4") == [*range(525, 738)]


def test_all_reels_ask_too_and_who_has_no_consent_gets_none(season, tmp_path):
    told: list[str] = []
    done = cut_all(season, tmp_path / "all", game="g1", tell=told.append)
    assert [path.name for path in (tmp_path / "all").iterdir()] == ["14.mp4"], "7 and 22 are only in the first run"
    assert [line.split(":")[0] for line in told] == ["7 Zoë Ravenscroft", "14 Elias Brandvold"]
    assert any("22 Wiremu Tahana: no consent on the roster, no reel" in one.told for one in done)


def test_the_flag_leaves_nobody_out_and_says_what_it_did(season, tmp_path):
    told: list[str] = []
    target = tmp_path / "14.mp4"
    cut_reel(season, Wanted(player="14"), target, consent=False, tell=told.append)
    assert read_numbers(target) == [*range(75, 288), *range(525, 738)]
    assert "22 Wiremu Tahana in 1" in told[0] and "because --without-consent says that you have it" in told[0]


def test_the_clip_may_go_with_nothing_said_of_it(season, tmp_path):
    let(season, 'without_consent = "name"')
    done = cut_reel(season, Wanted(player="14"), tmp_path / "14.mp4")
    assert done.reel is not None
    labels = [part.label for part in done.reel.parts]
    assert labels[0].endswith("film 0:04.") and "Lantern" in labels[1], labels


def test_nothing_is_cut_when_somebody_is_in_every_clip(season, tmp_path):
    with pytest.raises(NothingToCut, match="7 Zoë Ravenscroft: somebody without consent is marked in every clip"):
        cut_reel(season, Wanted(player="7"), tmp_path / "7.mp4")
    assert not list(tmp_path.glob("*.mp4"))


def test_another_device_plays_no_clip_of_who_has_no_consent_and_is_told_how_many(season):
    runs = [
        id_ for id_, row in Present(season).now().rows("runs").items() if row["game"] == "g1" and row["team"] == "ours"
    ]
    here = playlist(Present(season, SCREEN), "runs", runs)
    there = playlist(Present(season, DEVICE), "runs", runs)
    assert (here["n"], here["kept_back"]) == (len(runs), 0)
    assert there["kept_back"] == len(runs) - there["n"] == 3, "the set, what leads up to it, and the second chance"
    assert [clip["id"] for clip in there["clips"]] == [clip["id"] for clip in here["clips"]][3:]
    assert players_list(Present(season, DEVICE), "14")["kept_back"] == 1


def test_who_asks_is_what_the_request_says(season):
    ids = list(Present(season).now().rows("runs"))
    for may, kept in ((ALL, False), (LOOK, True), (TAG, True)):
        answer = asked_by(season, may).post("/clips", json={"table": "runs", "ids": ids}).get_json()
        assert (answer["kept_back"] > 0) is kept, may


ADDRESSES = sorted(
    {page.address.format(game="g1", set="lantern", player=number) for page in PAGES.values() for number in (14, 22, 11)}
)


def test_no_name_stands_on_any_page_of_another_device(season):
    here, there = Present(season, SCREEN), Present(season, DEVICE)
    named = set()
    for page in ADDRESSES:
        place = place_of(page, "")
        own, sent = (
            words(content(here, place)),
            json.dumps([str(part.to_plotly_json()) for part in content(there, place)]),
        )
        for player in season.texts.roster:
            assert player.name not in sent, (page, player.name)
        assert "Brandvold" not in sent and "Zoë" not in sent, page
        if any(player.name in own for player in season.texts.roster):
            named.add(page)
    assert named >= {"/players", "/players/14", "/players/22", "/players/11", "/question"}
    assert NOTE in words(content(here, place_of("/games/g1", "")))
    assert "7 open, 14 did not look" in words(content(there, place_of("/games/g1", "")))


def test_the_two_never_mix_however_often_each_is_asked(season):
    present = Present(season)
    app = create_app(season, present=present)
    for may, name in ((ALL, True), (LOOK, False), (ALL, True), (TAG, False)):
        with app.test_request_context("/"):
            welcome(Visitor(may))
            assert ("Elias" in present.now().called("14")) is name
            assert present.filmed().moment is present.now()
    assert "Elias" in present.now().called("14"), "what no request asks for is for the laptop"


def test_a_season_may_let_names_out_but_not_of_who_has_no_consent(season):
    let(season, "names_outside = true")
    text = words(content(Present(season, DEVICE), place_of("/players", "")))
    assert "Elias Brandvold" in text and "Wiremu" not in text


def test_a_tagging_page_elsewhere_is_told_numbers(season):
    with (season.folder / "roster.csv").open("a", encoding="utf-8") as roster:
        roster.write("14,Somebody Else,R,top,yes,,\n")
    here, there = asked_by(season, ALL), asked_by(season, TAG)
    for address in (
        *("/tag/g1/start.json", "/tag/g1/entries", "/tag/g1/folded.json", "/tag/g1"),
        "/games/g1/book.jsonl",
    ):
        own, sent = (who.get(address, base_url=BASE).get_data(as_text=True) for who in (here, there))
        assert "Brandvold" not in sent and "zoe" not in sent, address
        assert address.endswith(("folded.json", "g1")) or "Brandvold" in own, address
    start = there.get("/tag/g1/start.json", base_url=BASE).get_json()
    assert {"number": "14", "name": ""} in start["roster"]
    assert start["entries"][-1]["answers"]["text"] == "7 open, 14 did not look"
    assert "number 14 is 14’s already" in " ".join(start["text_problems"])


def test_a_page_never_offers_to_cut_without_consent_and_elsewhere_offers_no_command(season):
    for number in ("14", "22"):
        own = words(content(Present(season, SCREEN), place_of(f"/players/{number}", "")))
        sent = words(content(Present(season, DEVICE), place_of(f"/players/{number}", "")))
        assert "--without-consent" not in own + sent
        assert ("floorbook reels" in own) is (number == "14")
        assert "floorbook" not in sent and str(season.folder) not in sent
    assert "It leaves out 1 clip in which somebody without consent is marked." in words(
        content(Present(season, SCREEN), place_of("/players/14", ""))
    )


def test_a_player_s_page_elsewhere_lists_what_plays_there_alone(season):
    here, there = (words(content(Present(season, to), place_of("/players/14", ""))) for to in (SCREEN, DEVICE))
    assert "14 shot: saved" in here and "14 shot: saved" not in there
    assert "14 threw it away" in here and "14 threw it away" in there
    assert "A clip stays on the laptop: somebody marked there has no consent." in there
    alone = words(content(Present(season, DEVICE), place_of("/players/22", "")))
    assert "2 clips stay on the laptop" in alone or "A clip stays on the laptop" in alone
    assert "None of his" not in alone


def test_a_report_names_nobody_and_the_laptop_is_told_so(season):
    written = report(season)
    assert not any(player.name in written.text for player in season.texts.roster)
    assert "No consent on the roster, so by number only: 11, 22, 27." in written.text
    assert "No consent on the roster: 11 Finn Abernathy, 22 Wiremu Tahana" in written.unnamed
    assert "1 note names a player; his number stands there." in written.unnamed
    let(season, "names_outside = true")
    text = report(season).text
    assert "Elias Brandvold" in text and "Finn Abernathy" not in text and "Tahana" not in text


def test_tables_name_nobody(season, tmp_path, capsys):
    assert main(["tables", str(season.folder), "--to", str(tmp_path / "tables")]) == 0
    told = "".join(path.read_text(encoding="utf-8") for path in (tmp_path / "tables").iterdir())
    assert "Brandvold" not in told and "7 open, 14 did not look" in told
    assert "1 note names a player; his number stands there." in capsys.readouterr().out


def test_who_looks_gets_no_still_of_who_has_no_consent_and_no_film_where_the_season_keeps_it(season):
    film = season.shelf.films("g1")[0].id
    marked, free = f"/film/{film}/still/9000.jpg", f"/film/{film}/still/33000.jpg"
    look, tag = asked_by(season, LOOK), asked_by(season, TAG)
    for who, address, status in ((look, marked, 403), (look, free, 200), (tag, marked, 200)):
        assert who.get(address, base_url=BASE).status_code == status, address
    assert look.get(f"/film/{film}", base_url=BASE, headers={"Range": "bytes=0-9"}).status_code == 206
    let(season, "film_for_lookers = false")
    ids = list(Present(season).now().rows("runs"))
    for who, film_goes in ((look, False), (tag, True)):
        status = who.get(f"/film/{film}", base_url=BASE, headers={"Range": "bytes=0-9"}).status_code
        answer = who.post("/clips", json={"table": "runs", "ids": ids}, base_url=BASE).get_json()
        assert (status == 206, answer["film"], bool(answer["clips"])) == (film_goes,) * 3


@pytest.mark.skipif(os.name != "posix", reason="who may read a file is told otherwise there")
def test_whatever_a_command_writes_can_be_read_by_its_owner_alone(season, tmp_path):
    folder, out = str(season.folder), tmp_path / "out"
    season.close()
    before = os.umask(0o022)
    try:
        out.mkdir()
        for command in (
            ["new", str(out / "fresh")],
            ["tables", folder, "--to", str(out / "tables")],
            ["report", folder, "--to", str(out / "report.html")],
            ["journal", folder, "g1", "--to", str(out / "book.jsonl")],
            ["backup", folder, "--to", str(out / "season.zip")],
            ["reels", folder, "g1", "--player", "14", "--to", str(out / "14.mp4")],
            ["reels", folder, "g1", "--all", "--to", str(out / "reels")],
        ):
            assert main(command) == 0, command
    finally:
        os.umask(before)
    open_ones = [path.name for path in out.rglob("*") if path.stat().st_mode & 0o077]
    made_by_sqlite = {"season.db"}  # in a folder of its owner's
    assert set(open_ones) <= made_by_sqlite, open_ones
    assert len(list(out.rglob("*"))) > 20


def test_random_rosters_at_every_door_let_nobody_out_and_no_name(folder):
    told = count(folder, 2, 1, seed=3, shares=(0.4,))
    missed = [one.name for one in figures(told) if one.ok is False]
    assert not missed, told

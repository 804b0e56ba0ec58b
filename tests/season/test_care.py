"""Who may be seen and named in what goes out: one function, asked with every kind of part that a table knows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pytest

from tagger.care import DEVICE, FILE, LEAVE_OUT_NAME, SCREEN, Care, going_out, has_consent
from tagger.marked_players import COLUMNS, MarkedPlayers
from tagger.marks.plain import plain_vocabulary
from tagger.naming import Names, called, shown_roster
from tagger.tables import TABLES
from tagger.texts.roster import Player

YES = Player("14", "Elias Brandvold", consent=True)
NO = Player("11", "Finn Abernathy")
RUN = {"id": "r1", "game": "g", "possession": "p1", "team": "ours", "start_ms": 10_000, "end_ms": 20_000}


@dataclass(frozen=True)
class Shown:
    game: str
    start_ms: int
    end_ms: int


def marked(table: str, **row: Any) -> MarkedPlayers:
    return MarkedPlayers({"runs": [RUN], table: [{"id": "x", "game": "g", **row}]})


OF_OTHERS = (("turnovers", "by"), ("turnovers", "hit"), ("penalties", "fouled"))
"""Whose man is of the others than the row's own team."""


def left(held: MarkedPlayers, clip: Shown) -> bool:
    return bool(going_out([clip], {"g": held}, {"g": "2026-03-14"}, (YES, NO), Care(), FILE).left_out)


def test_every_column_that_is_documented_as_a_players_number_is_asked() -> None:
    told = {
        (table, column.name)
        for table, columns in TABLES.items()
        for column in columns
        if column.kind == "text" and "number" in column.about
    }
    asked = {(table, name) for table, names in COLUMNS.items() for name in names}
    assert told - asked == {("faceoffs", "theirs")}, "a column of theirs, or one that nobody asks for consent"
    assert set(COLUMNS) >= {"shots", "screens", "roles", "lines", "notes", "goalies", "faceoffs", "grades"}


def test_every_question_that_takes_a_player_lands_in_a_column_that_is_asked() -> None:
    for kind in plain_vocabulary()["kinds"]:
        for question in kind.get("questions", ()):
            if question["type"] == "player" and (kind["code"], question["code"]) != ("faceoff", "theirs"):
                assert question["code"] in COLUMNS[kind["table"]["name"]], (kind["code"], question["code"])


@pytest.mark.parametrize(("table", "column"), [(table, name) for table, names in COLUMNS.items() for name in names])
def test_whoever_has_a_part_of_any_kind_is_found_at_its_moment_and_in_its_run(table: str, column: str) -> None:
    side = "theirs" if (table, column) in OF_OTHERS else "ours"
    held = marked(table, team=side, at_ms=30_000, **{column: "2 11" if column == "players" else "11"})
    assert left(held, Shown("g", 29_000, 30_001)) and not left(held, Shown("g", 29_000, 30_000))
    if any(each.name == "run" for each in TABLES[table]):
        held = marked(table, run="r1", **{column: "11"})
        assert left(held, Shown("g", 19_999, 25_000)) and left(held, Shown("g", 0, 10_001))
        assert not left(held, Shown("g", 20_000, 25_000))


def test_opponents_are_not_ours_but_where_nobody_knows_the_team_it_may_be() -> None:
    clip = Shown("g", 0, 60_000)
    assert not left(marked("shots", team="theirs", at_ms=1000, shooter="11"), clip)
    assert not left(marked("faceoffs", at_ms=1000, theirs="11"), clip)
    for table, column in OF_OTHERS:  # of the others than the row's own team
        assert left(marked(table, team="theirs", at_ms=1000, **{column: "11"}), clip), column
        assert not left(marked(table, team="ours", at_ms=1000, **{column: "11"}), clip), column
    assert left(marked("loose_balls", at_ms=1000, player="11"), clip)


def test_a_line_and_a_goalkeeper_stay_until_the_next_such_mark() -> None:
    rows = {
        "periods": [{"id": "1", "period": 1, "start_ms": 0, "end_ms": 90_000}],
        "lines": [
            {"id": "a", "team": "ours", "period": 1, "at_ms": 10_000, "players": "5 11"},
            {"id": "t", "team": "theirs", "period": 1, "at_ms": 20_000},
            {"id": "b", "team": "ours", "period": 1, "at_ms": 40_000, "players": "5 7"},
            {"id": "c", "team": "ours", "period": 1, "at_ms": 80_000, "players": "11"},
        ],
        "goalies": [
            {"id": "i", "team": "ours", "at_ms": 0, "what": "in", "player": "30"},
            {"id": "o", "team": "ours", "at_ms": 95_000, "what": "out", "player": "30"},
        ],
    }
    held = MarkedPlayers(rows)
    assert held.spans("11") == [(10_000, 40_000), (80_000, 90_000)]
    assert held.spans("30") == [(0, 95_001)]
    assert held.within(40_000, 80_000) == ["30", "5", "7"]


def test_who_was_erased_is_nobody_in_particular_and_has_no_consent() -> None:
    assert left(marked("shots", team="ours", at_ms=1000, shooter="somebody"), Shown("g", 0, 2000))
    assert not left(marked("shots", team="ours", at_ms=1000, shooter="unseen", feeder="none"), Shown("g", 0, 2000))


def test_a_stranger_and_a_line_of_the_roster_that_does_not_hold_that_day_have_no_consent() -> None:
    later = Player("31", "Isaac Loxley", consent=True, since="2026-02-01", until="2026-03-01")
    assert [
        has_consent([later], "31", day) for day in ("2026-01-31", "2026-02-01", "2026-03-01", "2026-03-02", "")
    ] == [*(False, True, True, False, True)]
    assert not has_consent([later], "32", "2026-02-01")
    assert left(marked("shots", at_ms=1000, shooter="99"), Shown("g", 0, 2000))


def test_on_the_laptop_everything_plays_and_all_the_same_it_is_counted() -> None:
    held, clips = marked("shots", at_ms=1000, shooter="11"), [Shown("g", 0, 2000), Shown("g", 2000, 3000)]
    for to, said in ((SCREEN, False), (FILE, True)):
        made = going_out(clips, {"g": held}, {"g": "2026-03-14"}, [YES, NO], Care(), to, said_to_be_there=said)
        assert (list(made.clips), made.n_marked, dict(made.because)) == (clips, 1, {"11": 1})


def test_the_season_may_let_the_clip_go_without_a_word_of_what_happens() -> None:
    clip = Shown("g", 0, 2000)
    held, care = marked("shots", at_ms=1000, shooter="11"), Care(without_consent=LEAVE_OUT_NAME)
    made = going_out([clip], {"g": held}, {"g": "2026-03-14"}, [YES, NO], care, DEVICE)
    assert made.clips == (clip,) and made.unsaid == {clip} and made.n_marked == 1


def test_a_clip_of_a_game_nobody_knows_stays() -> None:
    assert going_out([Shown("h", 0, 1)], {}, {}, [YES], Care(), FILE).left_out
    assert going_out([Shown("h", 0, 1)], {}, {}, [YES], Care(), SCREEN).clips


def test_names_go_out_only_where_the_season_says_so_and_consent_is_there() -> None:
    def shown(care: Care, to: str) -> list[str]:
        return [called(player) for player in shown_roster([YES, NO], care, to)]

    assert shown(Care(), SCREEN) == ["14 Elias Brandvold", "11 Finn Abernathy"]
    assert shown(Care(), DEVICE) == shown(Care(), FILE) == ["14", "11"]
    assert shown(Care(names_outside=True), FILE) == ["14 Elias Brandvold", "11"]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("zoe lost it, Brandvold’s pick", "7 lost it, 14’s pick"),
        ("ELIAS BRANDVOLD, twice", "14, twice"),
        ("Brandvold, Elias", "14"),
        ("Fotheringay-Szymanski to DORDIC", "27 to 13"),
        ("Szymański rolled", "27 rolled"),
        ("jo set it for Jo", "jo set it for 3"),
        ("Zoe\u0308 free", "7 free"),
        ("Teoric play by Finnegan", "Teoric play by Finnegan"),
        ("Sam open", "5 or 8 open"),
        ("Sam Bell open", "8 open"),
    ],
)
def test_names_in_free_text_are_found_however_they_are_typed(text: str, told: str) -> None:
    roster = [
        *(YES, NO, Player("7", "Zoë Ravenscroft"), Player("13", "Luka Đorđić"), Player("3", "Jo Marsh")),
        *(Player("27", "Maximilian Fotheringay-Szymański"), Player("6", "Teo Marchetti")),
        *(Player("5", "Sam Ash"), Player("8", "Sam Bell")),
    ]
    assert Names(roster).without(text) == told


def test_no_name_is_looked_for_where_none_is_kept() -> None:
    assert Names([]).empty and Names([]).without("Elias") == "Elias"
    assert Names([YES]).out_of({"Elias": ["by Elias", 3, None]}) == {"Elias": ["by 14", 3, None]}

"""A tagger acts under the name he came in with, and takes back only what stands under it."""

from __future__ import annotations

from typing import Any

from flask import Flask

from tagger.screen.visitor import TAG
from tagger.season import Season
from tests.dashboard.doors.device import Device, laptop


def an(id_: str, by: str, does: str = "mark", n: int = 100, **more: Any) -> dict[str, Any]:
    mark = {"kind": "note", "film": "m-g2", "at_ms": 1000, "answers": {"text": "good"}} if does == "mark" else {}
    return {"v": 1, "id": id_, "n": n, "by": by, "wall": "", "does": does, **mark, **more}


def sent(device: Device, season: Season, *entries: dict[str, Any], book: str = "coach") -> list[tuple[str, str]]:
    body = {"season": season.texts.settings.id, "book": book, "entries": list(entries)}
    answer = device.post("/tag/g2/entries", json=body)
    assert answer.status_code == 200, answer.text
    return [(one["state"], one["why"]) for one in answer.json["added"]]


def test_entries_under_another_name_are_refused_one_by_one(app: Flask, season: Season) -> None:
    ann = Device(app).come_in(TAG, "Ann")
    own, forged, nobodys = sent(ann, season, an("a1", "Ann"), an("a2", "coach"), an("a3", ""))
    assert own == ("stored", "")
    assert forged == ("refused", "it says that coach entered it; you came in as Ann")
    assert nobodys[0] == "refused" and "nobody" in nobodys[1]
    assert [state for state, _ in sent(laptop(app), season, an("c1", "coach"), an("c2", "anybody"))] == ["stored"] * 2


def test_only_what_one_entered_is_undone(app: Flask, season: Season) -> None:
    ann, ben = Device(app, "192.0.2.9").come_in(TAG, "Ann"), Device(app, "192.0.2.10").come_in(TAG, "Ben")
    sent(ben, season, an("b1", "Ben"))
    said = sent(
        ann,
        season,
        an("a1", "Ann"),
        an("u1", "Ann", "undo", 101, of="a1"),
        an("u2", "Ann", "undo", 101, of="b1"),
        an("u3", "Ann", "undo", 101, of="g2-5"),
        an("u4", "Ben", "undo", 101, of="b1"),
        book="coach",
    )
    assert [state for state, _ in said] == ["stored", "stored", "refused", "refused", "refused"]
    assert said[2][1] == "Ben entered that; you came in as Ann and take back only your own"
    assert said[3][1].startswith("coach entered that")
    assert {"u2", "u3", "u4"}.isdisjoint(one.id for one in season.journal.entries("g2", "coach")[0])


def test_two_who_share_a_book_still_answer_and_remove_each_others_marks(app: Flask, season: Season) -> None:
    ann = Device(app).come_in(TAG, "Ann")
    said = sent(ann, season, an("r1", "Ann", "remove", 101, of="g2-5"))
    assert said == [("stored", "")]


def test_who_is_here_is_told_under_the_name_he_came_in_with(app: Flask, season: Season) -> None:
    ann, here = Device(app).come_in(TAG, "Ann"), laptop(app)
    ann.get("/tag/g1/entries?book=coach&by=coach")
    told = here.get("/tag/g1/entries?book=coach&by=coach").json["people"]
    assert [one["by"] for one in told] == ["Ann"]


def test_an_entry_sent_again_by_its_author_is_a_harmless_retry(app: Flask, season: Season) -> None:
    ann = Device(app).come_in(TAG, "Ann")
    assert sent(ann, season, an("a1", "Ann")) == [("stored", "")]
    assert sent(ann, season, an("a1", "Ann")) == [("again", "")]

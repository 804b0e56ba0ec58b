"""Film that was moved, renamed or replaced: noticed, found again in a whole folder, and never taken for another."""

from __future__ import annotations

import os
import shutil
import sqlite3
from pathlib import Path

import pytest

from tagger.errors import NoFilm
from tagger.season import Season
from tagger.shelf.finding import find_again, missing
from tagger.work.bring import bring_film
from tagger.work.queue import Queue
from tests.film.maker import Recipe
from tests.season.conftest import Card
from tests.season.films import until

FIRST = Recipe("first half", n_frames=60)
WRITES = (sqlite3.SQLITE_INSERT, sqlite3.SQLITE_UPDATE, sqlite3.SQLITE_DELETE)
SECOND = Recipe("second half", n_frames=40, first_number=60)


def on_card(card: Card, folder: Path) -> list[Path]:
    """Two films on a card."""
    folder.mkdir(parents=True)
    return [Path(shutil.copyfile(card(recipe), folder / f"{n}.mp4")) for n, recipe in enumerate((FIRST, SECOND))]


def test_films_are_found_in_a_folder_whatever_they_are_called_now(herons: Season, card: Card, tmp_path: Path) -> None:
    first, second = on_card(card, tmp_path / "card")
    films = bring_film(herons, "g1", [first, second])
    new = tmp_path / "disk" / "2026" / "march"
    new.mkdir(parents=True)
    first.rename(new / "Quarry Hill.mp4")
    second.rename(new.parent / "b.bin")
    (new / "0.mp4").write_bytes(bytes((new / "Quarry Hill.mp4").stat().st_size))  # as large, but not it
    (new / "notes.txt").write_text("x", encoding="utf-8")
    assert [film.id for film in missing(herons)] == [film.id for film in films]
    search = find_again(herons, tmp_path / "disk")
    assert [(one.film.id, one.path.name) for one in search.found] == [
        (films[1].id, "b.bin"),
        (films[0].id, "Quarry Hill.mp4"),
    ]
    assert search.away == () and missing(herons) == []
    assert [film.state for film in herons.shelf.films("g1")] == ["ready", "ready"]
    assert herons.shelf.whereabouts.original(films[0].id) == new / "Quarry Hill.mp4"


def test_what_is_not_there_stays_away(herons: Season, card: Card, tmp_path: Path) -> None:
    first, second = on_card(card, tmp_path / "card")
    films = bring_film(herons, "g1", [first, second])
    first.unlink()
    (tmp_path / "empty").mkdir()
    search = find_again(herons, tmp_path / "empty")
    assert (search.found, [film.id for film in search.away], search.n_files) == ((), [films[0].id], 0)
    with pytest.raises(NoFilm, match="no such folder"):
        find_again(herons, tmp_path / "nowhere")


def test_another_film_of_the_same_size_is_noticed_and_never_used(herons: Season, card: Card, tmp_path: Path) -> None:
    (first, _) = on_card(card, tmp_path / "card")
    (film,) = bring_film(herons, "g1", [first])
    data = bytearray(first.read_bytes())
    for at in range(len(data) // 3, len(data) // 3 * 2):
        data[at] ^= 0x55
    first.write_bytes(data)
    later_ns = first.stat().st_mtime_ns + 5_000_000_000
    os.utime(first, ns=(later_ns, later_ns))
    assert herons.shelf.film(film.id).state == "changed"
    for ask in (herons.shelf.whereabouts.original, herons.shelf.copies.played, herons.shelf.copies.clip_source):
        with pytest.raises(NoFilm, match="another file lies at .* now; put the tagged one back, or find it again"):
            ask(film.id)
    assert find_again(herons, first.parent).found == ()


def test_the_same_film_under_a_new_date_is_still_it_and_the_queue_writes_the_date_down(
    herons: Season, card: Card, tmp_path: Path
) -> None:
    (first, _) = on_card(card, tmp_path / "card")
    (film,) = bring_film(herons, "g1", [first])
    os.utime(first, ns=(10**18, 10**18))
    assert herons.shelf.film(film.id).state == "ready"
    queue = Queue(herons)
    try:
        queue.start()
        until(
            lambda: herons.shelf.whereabouts.row(film.id).mtime_ns == 10**18
        )  # so that it is not read again and again
    finally:
        queue.close()


def test_asking_for_films_never_writes(herons: Season, card: Card, tmp_path: Path) -> None:
    first, second = on_card(card, tmp_path / "card")
    (own,) = bring_film(herons, "g1", [first])
    (away,) = bring_film(herons, "g1", [second])
    os.utime(first, ns=(10**18, 10**18))
    second.unlink()
    written: list[str] = []

    def note(action: int, what: str | None, *_: str | None) -> int:
        written.extend([str(what)] if action in WRITES else [])
        return sqlite3.SQLITE_OK

    herons.store.connection().set_authorizer(note)
    shelf = herons.shelf
    assert [film.state for film in shelf.films("g1")] == [film.state for film in shelf.all_films()]
    assert (shelf.film(own.id).state, shelf.film(away.id).state, shelf.other_films("g1")) == ("ready", "away", [])
    lies = shelf.whereabouts.original(own.id)
    assert lies == shelf.copies.showing(own.id).path == shelf.copies.clip_source(own.id).path
    assert missing(herons) == [shelf.film(away.id)]
    assert herons.tagged.tables(["g1"])["runs"].empty
    assert written == []
    shelf.whereabouts.keep_dates()
    assert written == ["films"], "the counter counts"


def test_a_folder_moved_with_its_season_is_still_there(herons: Season, card: Card, tmp_path: Path) -> None:
    inside = herons.folder / "film"
    first, _ = on_card(card, inside)
    (film,) = bring_film(herons, "g1", [first])
    herons.close()
    moved = tmp_path / "moved"
    herons.folder.rename(moved)
    season = Season.open(moved)
    assert season.shelf.whereabouts.original(film.id) == moved / "film" / "0.mp4"
    season.close()


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="whoever runs this may read every folder")
def test_folders_that_may_not_be_read_are_passed_over(herons: Season, card: Card, tmp_path: Path) -> None:
    first, second = on_card(card, tmp_path / "card")
    films = bring_film(herons, "g1", [first, second])
    locked = tmp_path / "card" / "locked"
    locked.mkdir()
    first.rename(tmp_path / "card" / "a.mp4")
    locked.chmod(0)
    try:
        assert [one.film.id for one in find_again(herons, tmp_path / "card").found] == [films[0].id]
    finally:
        locked.chmod(0o700)


def test_links_are_not_followed_in_circles(herons: Season, card: Card, tmp_path: Path) -> None:
    first, _ = on_card(card, tmp_path / "card")
    bring_film(herons, "g1", [first])
    first.rename(tmp_path / "card" / "deep.mp4")
    try:
        (tmp_path / "card" / "again").symlink_to(tmp_path / "card", target_is_directory=True)
    except OSError:
        pytest.skip("no links here")
    assert len(find_again(herons, tmp_path / "card").found) == 1

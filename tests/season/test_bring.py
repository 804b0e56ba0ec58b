"""Film brought into a game: real files of several kinds, and files that are none; nothing changes when it fails."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tagger.errors import BadGame, NoFilm, NoGame
from tagger.film import room
from tagger.film.errors import BadName, DiskFull, FilmError, FilmForbidden, FilmMissing, FilmStopped, FilmTorn, NotFilm
from tagger.film.index import build_index
from tagger.season import Season
from tagger.shelf.films import NewFilm, gap_line
from tagger.shelf.finding import find_again
from tagger.work.bring import bring_film, bring_new_game
from tagger.work.jobs import JobList
from tests.film.maker import Recipe
from tests.season.conftest import Card, left

PLAIN = Recipe("first half", n_frames=60)
SECOND = Recipe("second half", n_frames=40, first_number=60)
WRAPPED = Recipe("wrapped", suffix=".mkv", sound="ac3", n_frames=40)
OLD = Recipe("old", suffix=".avi", codec="mpeg4", sound="pcm_s16le", n_frames=40)
LONG = Recipe("long groups of frames", n_frames=120, gop=120, size=(160, 90))


def jobs(season: Season) -> list[str]:
    """Kinds of the jobs that wait, in the order of work."""
    return [job.kind for job in JobList(season.store).all()]


def test_a_film_is_played_where_it_lies_and_known_by_its_frames(herons: Season, card: Card) -> None:
    path = card(PLAIN)
    (film,) = bring_film(herons, "g1", [path])
    assert (film.name, film.n_frames, film.duration_ms, film.offset_ms) == ("first half.mp4", 60, 2400, 0)
    assert film.state == "ready" and film.damage == ()
    assert herons.shelf.copies.played(film.id)[0] == path and herons.shelf.whereabouts.original(film.id) == path
    assert herons.shelf.indexes.of(film.id).all_ms().tolist() == build_index(path).all_ms().tolist()
    assert left(herons) == [] and jobs(herons) == ["strip"]


def test_what_has_to_be_made_of_a_film_waits_the_most_urgent_first(herons: Season, card: Card) -> None:
    long, wrapped, old = bring_film(herons, "g1", [card(LONG), card(WRAPPED), card(OLD)], keep=True)
    assert (long.state, wrapped.state, old.state) == ("ready", "waiting", "waiting")
    found = [(job.kind, job.film) for job in JobList(herons.store).all()]
    assert found[:2] == [("playable", wrapped.id), ("viewing", old.id)]
    assert [kind for kind, _ in found[2:]] == ["keep"] * 3 + ["viewing"] + ["strip"] * 3
    with pytest.raises(NoFilm, match=r"wrapped\.mkv: being made playable"):
        herons.shelf.copies.played(wrapped.id)[0]
    needs = {job.kind: job.need_bytes for job in JobList(herons.store).of_film(wrapped.id)}
    assert needs["keep"] == card(WRAPPED).stat().st_size < needs["playable"]


def test_several_files_are_one_game_in_the_order_given(herons: Season, card: Card) -> None:
    films = bring_film(herons, "g1", [card(SECOND), card(PLAIN)])
    assert [(film.name, film.offset_ms) for film in films] == [("second half.mp4", 0), ("first half.mp4", 1600)]
    assert herons.shelf.films("g1") == films
    assert [gap_line(film) for film in films] == [
        "",
        "nothing tells how long was not filmed before it; taken as nothing",
    ]
    (later,) = bring_film(herons, "g1", [card(WRAPPED)])
    assert gap_line(later).startswith("nothing tells")


def test_order_and_gaps_are_found_by_the_films_own_dates(herons: Season, card: Card) -> None:
    early = Recipe("b", n_frames=50, metadata={"creation_time": "2026-03-14T18:00:00Z"})
    late = Recipe("a", n_frames=30, first_number=50, metadata={"creation_time": "2026-03-14T18:10:00Z"})
    films = bring_film(herons, "g1", [card(late), card(early)], in_order=False)
    assert [(film.name, film.gap_ms, film.offset_ms) for film in films] == [
        ("b.mp4", 0, 0),
        ("a.mp4", 598_000, 600_000),
    ]


LONG_AGO = 1_774_000_000.0  # of a file written just now, as here, nobody can say that its copying has ended


def _torn(path: Path, card: Card) -> None:
    data = card(PLAIN).read_bytes()
    at = data.index(b"moov") - 4
    path.write_bytes(data[:at] if at > len(data) // 2 else data[: len(data) // 3])
    os.utime(path, (LONG_AGO, LONG_AGO))


def _empty(path: Path, card: Card) -> None:
    path.write_bytes(b"")
    os.utime(path, (LONG_AGO, LONG_AGO))


def _text(path: Path, card: Card) -> None:
    path.write_text("Game four, see the other card\n" * 30, encoding="utf-8")


def _missing(path: Path, card: Card) -> None:
    pass


def _folder(path: Path, card: Card) -> None:
    path.mkdir()


@pytest.mark.parametrize(
    ("write", "kind", "says"),
    [
        (_torn, FilmTorn, "never finished"),
        (_empty, NotFilm, "empty"),
        (_text, NotFilm, "text"),
        (_missing, FilmMissing, "no such file"),
        (_folder, NotFilm, "folder"),
    ],
)
def test_what_is_no_film_is_one_clear_line_and_nothing_changes(
    herons: Season, card: Card, tmp_path: Path, write: Callable[[Path, Card], None], kind: type[FilmError], says: str
) -> None:
    bad = tmp_path / "bad.mp4"
    write(bad, card)
    with pytest.raises(kind, match=says) as caught:
        bring_film(herons, "g1", [card(WRAPPED), bad], keep=True)
    assert str(caught.value).startswith("bad.mp4: ") and "\n" not in str(caught.value)
    assert herons.shelf.films("g1") == [] and left(herons) == [] and jobs(herons) == []
    with pytest.raises(kind):
        bring_new_game(herons, "g2", "2026-03-21", "Millrace", False, [bad])
    assert [game.id for game in herons.games.all()] == ["g1"]


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="whoever runs this may read every file")
def test_a_film_that_may_not_be_read_is_said(herons: Season, card: Card, tmp_path: Path) -> None:
    path = tmp_path / "locked.mp4"
    shutil.copyfile(card(PLAIN), path)
    path.chmod(0)
    with pytest.raises(FilmForbidden, match=r"locked\.mp4: may not be opened"):
        bring_film(herons, "g1", [path])
    assert herons.shelf.films("g1") == []


def test_a_film_that_needs_a_copy_is_refused_when_there_is_no_room_for_it(
    herons: Season, card: Card, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Usage:
        free = room.SPARE_BYTES + 1000

    monkeypatch.setattr(room.shutil, "disk_usage", lambda folder: Usage)
    with pytest.raises(DiskFull, match=r"wrapped\.mkv: needs up to .*only 200\.0 MB are free; make room"):
        bring_film(herons, "g1", [card(WRAPPED)])
    assert herons.shelf.films("g1") == [] and jobs(herons) == []
    assert bring_film(herons, "g1", [card(PLAIN)])[0].state == "ready", "what plays as it lies needs no room"


def test_a_torn_stream_is_brought_in_with_its_damage_said(herons: Season, card: Card, tmp_path: Path) -> None:
    stream = card(Recipe("stream", suffix=".ts", n_frames=250, gop=25, sound=None))
    data = stream.read_bytes()
    packets = [data[at : at + 188] for at in range(0, len(data), 188)]
    torn = tmp_path / "torn.ts"
    n = len(packets)
    torn.write_bytes(b"".join(packets[: n * 3 // 10] + packets[n * 6 // 10 :]))
    (film,) = bring_film(herons, "g1", [torn])
    (damage,) = film.damage
    assert damage["kind"] == "gap" and "no picture for" in damage["line"]
    assert 2000 < damage["start_ms"] < damage["end_ms"] < 8000


def test_a_film_that_is_there_is_refused_and_stays_as_it_was(herons: Season, card: Card) -> None:
    herons.games.add("g2", "2026-03-21", "Millrace", False)
    before = bring_film(herons, "g1", [card(PLAIN)])
    for paths in ([card(PLAIN)], [card(SECOND), card(PLAIN)]):
        with pytest.raises(BadGame, match="g1 already"):
            bring_film(herons, "g2", paths)
    with pytest.raises(BadGame, match="twice"):
        bring_film(herons, "g2", [card(SECOND), card(SECOND)])
    assert herons.shelf.films("g1") == before and herons.shelf.films("g2") == []


def test_the_same_film_under_two_names_is_refused(herons: Season, card: Card, tmp_path: Path) -> None:
    twin = tmp_path / "twin.mp4"
    shutil.copyfile(card(PLAIN), twin)
    with pytest.raises(BadGame, match=r"twin\.mp4: the same film as first half\.mp4"):
        bring_film(herons, "g1", [card(PLAIN), twin])


def test_a_film_whose_file_is_away_is_found_again_by_bringing_it(herons: Season, card: Card, tmp_path: Path) -> None:
    first, second = tmp_path / "first.mp4", tmp_path / "renamed.mp4"
    shutil.copyfile(card(PLAIN), first)
    (film,) = bring_film(herons, "g1", [first])
    first.rename(second)
    assert herons.shelf.film(film.id).state == "away"
    (again,) = bring_film(herons, "g1", [second])
    assert (again.id, again.state, herons.shelf.whereabouts.original(film.id)) == (film.id, "ready", second)


def test_marks_that_came_without_film_get_theirs(herons: Season, card: Card, tmp_path: Path) -> None:
    other = Season.open(_season(tmp_path / "other"), make=True)
    (known,) = bring_film(other, "g1", [card(PLAIN)])
    other.close()
    herons.shelf.enter("g1", [NewFilm(known.id, "not filmed", 2400)])
    assert herons.shelf.film(known.id).state == "none"
    (film,) = bring_film(herons, "g1", [card(PLAIN)])
    assert (film.id, film.state, film.n_frames) == (known.id, "ready", 60)


def _season(folder: Path) -> Path:
    folder.mkdir()
    (folder / "season.toml").write_text('id = "s2"\n', encoding="utf-8")
    season = Season.open(folder, make=True)
    season.games.add("g1", "2026-03-14", "Quarry Hill", True)
    season.close()
    return folder


def test_a_game_that_cannot_be_is_not_made_for_its_film(herons: Season, card: Card) -> None:
    with pytest.raises(BadGame, match="already"):
        bring_new_game(herons, "g1", "2026-03-14", "Quarry Hill", True, [card(PLAIN)])
    (film,) = bring_new_game(herons, "g2", "2026-03-21", "Millrace", False, [card(PLAIN)])
    assert film.game == "g2"
    with pytest.raises(NoGame):
        bring_film(herons, "g3", [card(SECOND)])


def test_stopping_leaves_nothing(herons: Season, card: Card) -> None:
    with pytest.raises(FilmStopped):
        bring_new_game(herons, "g2", "2026-03-21", "Millrace", False, [card(OLD)], stop=lambda: True)
    assert [game.id for game in herons.games.all()] == ["g1"] and left(herons) == []


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere names are always text")
def test_a_name_that_is_no_text_is_refused_in_a_line(herons: Season, card: Card, tmp_path: Path) -> None:
    odd = Path(os.fsdecode(os.fsencode(tmp_path) + b"/caf\xe9.mp4"))
    shutil.copy(card(PLAIN), odd)
    within = Path(os.fsdecode(os.fsencode(tmp_path) + b"/caf\xe9")) / "1.mp4"
    within.parent.mkdir()
    shutil.copy(card(PLAIN), within)
    for path, says in (
        (odd, r"^caf\\xe9\.mp4: its name is not plain text"),
        (within, r"^1\.mp4: the name of a folder"),
    ):
        with pytest.raises(BadName, match=says):
            bring_film(herons, "g1", [path])
    assert herons.shelf.films("g1") == []
    (film,) = bring_film(herons, "g1", [card(PLAIN)])
    herons.shelf.relink(film.id, tmp_path / "gone.mp4")
    search = find_again(herons, tmp_path)
    assert search.found == () and [line.split(":")[0] for line in search.refused] == ["caf\\xe9.mp4", "1.mp4"]


def test_a_long_name_is_cut_where_it_is_taken(herons: Season, card: Card, tmp_path: Path) -> None:
    long = tmp_path / f"{'n' * 240}.mp4"
    shutil.copy(card(PLAIN), long)
    (film,) = bring_film(herons, "g1", [long])
    assert len(film.name) <= 80 and film.name.endswith(".mp4") and herons.shelf.whereabouts.original(film.id) == long

"""Film brought into a game: real files of several kinds, and files that are none; nothing changes when it fails."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tagger.bring import bring_film, bring_new_game
from tagger.film.errors import FilmError, FilmMissing, FilmTorn, NotFilm
from tagger.film.index import build_index
from tagger.season import BadGame, NoGame, Season
from tests.film.maker import Recipe, make

PLAIN = Recipe("first half", n_frames=60)
SECOND = Recipe("second half", n_frames=40, first_number=60)
WRAPPED = Recipe("wrapped", suffix=".mkv", sound="ac3", n_frames=40)
OLD = Recipe("old", suffix=".avi", codec="mpeg4", sound="pcm_s16le", n_frames=40)


@pytest.fixture(scope="session")
def card(tmp_path_factory: pytest.TempPathFactory) -> Callable[[Recipe], Path]:
    """`card(recipe)`: the film as it lies on a card; made once."""
    folder = tmp_path_factory.mktemp("card")
    made: dict[str, Path] = {}

    def lies(recipe: Recipe) -> Path:
        if recipe.name not in made:
            made[recipe.name] = make(recipe, folder)
        return made[recipe.name]

    return lies


@pytest.fixture
def season(tmp_path: Path) -> Iterator[Season]:
    folder = tmp_path / "herons"
    folder.mkdir()
    (folder / "season.toml").write_text('id = "s1"\nteam = "Saltmarsh Herons"\n', encoding="utf-8")
    made = Season.open(folder)
    made.add_game("g1", "2026-03-14", "Quarry Hill", True)
    yield made
    made.close()


def left(season: Season) -> list[str]:
    """Files in the season's film folder."""
    folder = season.folder / "film"
    return sorted(path.name for path in folder.rglob("*")) if folder.exists() else []


def test_a_film_is_played_where_it_lies_and_known_by_its_frames(season: Season, card: Callable[[Recipe], Path]) -> None:
    path = card(PLAIN)
    (film,) = bring_film(season, "g1", [path])
    assert (film.name, film.n_frames, film.duration_ms, film.offset_ms) == ("first half.mp4", 60, 2400, 0)
    assert film.state == "ready"
    assert season.film_path(film.id) == path and season.original(film.id) == path
    assert season.film_index(film.id).all_ms().tolist() == build_index(path).all_ms().tolist()
    assert left(season) == []


def test_several_files_are_one_game_in_the_order_given(season: Season, card: Callable[[Recipe], Path]) -> None:
    films = bring_film(season, "g1", [card(SECOND), card(PLAIN)])
    assert [(film.name, film.offset_ms) for film in films] == [("second half.mp4", 0), ("first half.mp4", 1600)]
    assert season.films("g1") == films


def _torn(path: Path, card: Callable[[Recipe], Path]) -> None:
    data = card(PLAIN).read_bytes()
    at = data.index(b"moov") - 4
    path.write_bytes(data[:at] if at > len(data) // 2 else data[: len(data) // 3])


def _empty(path: Path, card: Callable[[Recipe], Path]) -> None:
    path.write_bytes(b"")


def _text(path: Path, card: Callable[[Recipe], Path]) -> None:
    path.write_text("Game four, see the other card\n" * 30, encoding="utf-8")


def _missing(path: Path, card: Callable[[Recipe], Path]) -> None:
    pass


def _folder(path: Path, card: Callable[[Recipe], Path]) -> None:
    path.mkdir()


@pytest.mark.parametrize("keep", [False, True])
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
    season: Season,
    card: Callable[[Recipe], Path],
    tmp_path: Path,
    write: Callable[[Path, Callable[[Recipe], Path]], None],
    kind: type[FilmError],
    says: str,
    keep: bool,
) -> None:
    bad = tmp_path / "bad.mp4"
    write(bad, card)
    with pytest.raises(kind, match=says) as caught:
        bring_film(season, "g1", [card(WRAPPED), bad], keep=keep)
    assert str(caught.value).startswith("bad.mp4: ") and "\n" not in str(caught.value)
    assert season.films("g1") == [] and left(season) == []
    with pytest.raises(kind):
        bring_new_game(season, "g2", "2026-03-21", "Millrace", False, [bad])
    assert [game.id for game in season.games()] == ["g1"]


def test_a_film_that_is_there_is_refused_and_stays_as_it_was(season: Season, card: Callable[[Recipe], Path]) -> None:
    season.add_game("g2", "2026-03-21", "Millrace", False)
    before = bring_film(season, "g1", [card(PLAIN)])
    for paths in ([card(PLAIN)], [card(SECOND), card(PLAIN)]):
        with pytest.raises(BadGame, match="g1 already"):
            bring_film(season, "g2", paths)
    with pytest.raises(BadGame, match="twice|once"):
        bring_film(season, "g2", [card(SECOND), card(SECOND)])
    assert season.films("g1") == before and season.films("g2") == []


def test_a_game_that_cannot_be_is_not_made_for_its_film(season: Season, card: Callable[[Recipe], Path]) -> None:
    with pytest.raises(BadGame, match="already"):
        bring_new_game(season, "g1", "2026-03-14", "Quarry Hill", True, [card(PLAIN)])
    (film,) = bring_new_game(season, "g2", "2026-03-21", "Millrace", False, [card(PLAIN)])
    assert film.game == "g2"
    with pytest.raises(NoGame):
        season.game("g3")

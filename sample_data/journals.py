"""The marks of the sample season's eight games, as journal files: ``python -m sample_data.journals`` writes them anew.

Two games have a short film, whose truth lies beside it; the others are made up whole. Of the last of them one period is
on film, of the rest there are marks only.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sample_data.period_film import begins, with_places
from sample_data.sim import OnFilm, simulate_game
from sample_data.tagging import tag
from sample_data.truth import Truth, read_truth
from tagger.marks.entries import Entry, Header, write_lines
from tagger.texts.folder import read_texts
from tagger.written import write_whole

if TYPE_CHECKING:
    from tagger.film.index import FrameIndex

HERE = Path(__file__).parent
SEASON_ID = "saltmarsh-u17-2026"
BOOK = "anna"
SEEDS = {"g3": 3, "g4": 4, "g5": 5, "g6": 6, "g7": 7, "g8": 8}
"""Seeds of the games that are made up whole."""
ON_FILM = {"g8": OnFilm(period=3, take=108)}
"""The period of them that is on film."""
WITH_LINES = ("g3", "g4", "g5", "g6", "g8")
"""Games of which our line changes were marked too."""
FIRST_PASS_ONLY = ("g7",)
"""Games of which only the first pass was tagged so far."""


@dataclass(frozen=True)
class SampleGame:
    """A game of the sample season: its entry in ``games.json``, its truth, its film's name, fingerprint and frames.

    The film begins `begins_ms` into the game; what was before is not on it.
    """

    about: dict[str, Any]
    truth: Truth
    film: str | None
    fingerprint: str | None
    index: FrameIndex | None = None
    begins_ms: int = 0

    @property
    def id(self) -> str:
        """The game's id."""
        return str(self.about["id"])

    @property
    def level(self) -> str:
        """How much of it is tagged."""
        return "main" if self.id in FIRST_PASS_ONLY else "whole"

    @property
    def film_id(self) -> str:
        """What its marks call the film."""
        from tagger.shelf.films import film_id

        return film_id(self.fingerprint) if self.fingerprint else f"{self.id}-unfilmed"

    def entries(self) -> list[Entry]:
        """Its book."""
        lines = read_texts(HERE / "season").lines if self.id in WITH_LINES else ()
        date = str(self.about["date"])
        made = tag(self.truth, self.id, self.film_id, level=self.level, by=BOOK, date=date, lines=lines)
        return [self._on_film(one) for one in made]

    def _on_film(self, one: Entry) -> Entry:
        """As from a page: on a frame of its film."""
        if self.index is None:
            return one
        if one.at_ms < self.begins_ms:
            return replace(one, film=f"{self.id}-unfilmed")
        return replace(one, at_ms=self.index.at_ms(self.index.nearest(one.at_ms - self.begins_ms)))

    def lines(self) -> str:
        """Its journal file's text."""
        films = (self.fingerprint,) if self.fingerprint else ()
        return "".join(write_lines(Header(SEASON_ID, self.id, BOOK, films), self.entries()))


def games() -> list[dict[str, Any]]:
    """The games of the season, as ``games.json`` has them."""
    return json.loads((HERE / "season" / "games.json").read_text(encoding="utf-8"))["games"]


def sample_game(about: dict[str, Any]) -> SampleGame:
    """A game with its truth: read beside its film, made up from its seed, or both.

    Parameters
    ----------
    about : dict
        One of `games`.

    Returns
    -------
    SampleGame
    """
    whole, begins_ms = None, 0
    if about["id"] in SEEDS:
        on_film = ON_FILM.get(about["id"])
        whole = simulate_game(SEEDS[about["id"]], about["opponent"], on_film=on_film).truth
        if on_film is None:
            return SampleGame(about, whole, None, None)
        begins_ms = begins(whole, on_film.period)
    from tagger.film.fingerprint import fingerprint
    from tagger.film.index import build_index

    path = HERE / "film" / about["film"]
    truth = read_truth(path.with_suffix(".truth.json.gz"))
    index = build_index(path)
    if whole is not None:
        truth = with_places(whole, truth)
    return SampleGame(about, truth, about["film"], fingerprint(path, index), index, begins_ms)


def write_journals(folder: Path) -> list[Path]:
    """Write all journal files, each whole or not at all."""
    written = []
    for about in games():
        game = sample_game(about)
        target = folder / f"{game.id}.jsonl"
        write_whole(target, game.lines())
        written.append(target)
    return written


if __name__ == "__main__":
    for path in write_journals(HERE / "journals"):
        print(path.name)

"""The marks of the sample season's eight games, as journal files: ``python -m sample_data.journals`` writes them anew.

Two games have a short film, whose truth lies beside it; the others are made up whole and have marks only.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sample_data.sim import simulate_game
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
"""Seeds of the games that have no film."""
WITH_LINES = ("g3", "g4", "g5", "g6")
"""Games of which our line changes were marked too."""
FIRST_PASS_ONLY = ("g7", "g8")
"""Games of which only the first pass was tagged so far."""


@dataclass(frozen=True)
class SampleGame:
    """A game of the sample season: its entry in ``games.json``, its truth, its film's name, fingerprint and frames."""

    about: dict[str, Any]
    truth: Truth
    film: str | None
    fingerprint: str | None
    index: FrameIndex | None = None

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
        index = self.index
        if index is None:
            return made
        return [replace(one, at_ms=index.at_ms(index.nearest(one.at_ms))) for one in made]  # as from a page: on frames

    def lines(self) -> str:
        """Its journal file's text."""
        films = (self.fingerprint,) if self.fingerprint else ()
        return "".join(write_lines(Header(SEASON_ID, self.id, BOOK, films), self.entries()))


def games() -> list[dict[str, Any]]:
    """The games of the season, as ``games.json`` has them."""
    return json.loads((HERE / "season" / "games.json").read_text(encoding="utf-8"))["games"]


def sample_game(about: dict[str, Any]) -> SampleGame:
    """A game with its truth: read beside its film, or made up from its seed.

    Parameters
    ----------
    about : dict
        One of `games`.

    Returns
    -------
    SampleGame
    """
    if about["film"] is None:
        return SampleGame(about, simulate_game(SEEDS[about["id"]], about["opponent"]).truth, None, None)
    from tagger.film.fingerprint import fingerprint
    from tagger.film.index import build_index

    path = HERE / "film" / about["film"]
    truth = read_truth(path.with_suffix(".truth.json.gz"))
    index = build_index(path)
    return SampleGame(about, truth, about["film"], fingerprint(path, index), index)


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

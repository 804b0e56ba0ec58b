"""What the fold sees in a book, for the page: problems, the clock, the strength, what is worth a second look."""

from __future__ import annotations

from typing import Any

from tagger.screen.unanswered import unanswered
from tagger.season import Season


def fold_for_page(season: Season, game: str, book: str) -> dict[str, Any]:
    """A book as the fold sees it.

    Parameters
    ----------
    season : Season
        The open season.
    game, book : str
        Which book.

    Returns
    -------
    dict
        `problems`: code, text, of, at_ms. `periods`: [number, start ms, end ms or None]. `clock`: [game ms, seconds
        left], in order. `strength`: [game ms, team, strength] from which it holds. `unanswered`: see `unanswered`.
    """
    folded = season.tagged.folded(game, book)
    rows = folded.rows
    clock = {
        row["at_ms"] if "at_ms" in row else row["start_ms"]: row["clock_s"]
        for table in rows.values()
        for row in table
        if row.get("clock_s") is not None
    }
    return {
        "problems": [{"code": one.code, "text": one.text, "of": one.of, "at_ms": one.at_ms} for one in folded.problems],
        "periods": [[row["period"], row["start_ms"], row.get("end_ms")] for row in rows["periods"]],
        "clock": sorted(map(list, clock.items())),
        "strength": [[row["start_ms"], row["team"], row.get("strength")] for row in rows["possessions"]],
        "unanswered": unanswered(folded, season.texts.language()),
    }

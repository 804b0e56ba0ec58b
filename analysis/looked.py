"""What was looked for: a first pass may leave out screens, and what was not looked for is never counted as zero."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from analysis.codes import codes_of, whole, words

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray


def looked_for(tables: Mapping[str, pd.DataFrame], frame: pd.DataFrame, what: str) -> NDArray[np.bool_]:
    """Say of every row whether, at its time, a kind of mark or a question was looked for.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables, with `detail`.
    frame : DataFrame
        Rows with `game` and `at_ms` or `start_ms`.
    what : str
        A kind as "screen", or a question as "screen.coverage".

    Returns
    -------
    bool array
        One per row. In a game without any detail row everything counts as looked for.
    """
    detail = tables["detail"]
    said = set(words(detail["game"]).tolist())
    if not said:
        return np.ones(len(frame), dtype=bool)
    codes, games = codes_of(frame["game"])
    code_of = {game: code for code, game in enumerate(games)}
    made = np.array([*(game not in said for game in games), True], dtype=bool)[codes]
    if made.all():
        return made
    at_ms = whole(frame["at_ms"] if "at_ms" in frame else frame["start_ms"])
    starts, ends = whole(detail["start_ms"], 0), whole(detail["end_ms"], np.iinfo(np.int64).max)
    for game, start, end, looks in zip(words(detail["game"]), starts, ends, words(detail["looks_for"]), strict=True):
        if what in looks.split():
            made |= (codes == code_of.get(game, len(games))) & (at_ms >= start) & (at_ms < end)
    return made


def looked_for_in(tables: Mapping[str, pd.DataFrame], games: Sequence[str], what: str) -> list[bool]:
    """Say of some games whether a kind of mark or a question was looked for in them at some time.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables, with `detail`.
    games : sequence of str
        Ids of games.
    what : str
        As in `looked_for`.

    Returns
    -------
    list of bool
        One per game; True for a game without any detail row.
    """
    detail = tables["detail"]
    said: dict[str, bool] = {}
    for game, looks in zip(words(detail["game"]).tolist(), words(detail["looks_for"]).tolist(), strict=True):
        said[game] = said.get(game, False) or what in looks.split()
    return [said.get(game, True) for game in games]

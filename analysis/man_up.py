"""Man-up and man-down: what came of each power play, and how much of it there was.

A power play is an unbroken row of stretches, of either team, in which the same team has more runners; it may begin in
one period and end in the next, and two penalties without a stretch between them are one. It is as long as its stretches
are on film: the time in which somebody had the ball. A shot is of it when its team still had more (or fewer) runners as
it went.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis import rate
from analysis.codes import among, places, whole, words
from analysis.groups import Games, Groups, games_of
from analysis.outcome import any_of
from analysis.shots import GOAL, attempts, resulted
from analysis.slice import EVERYTHING, TEAMS, Slice, cut
from analysis.stats.cluster import WIDENED
from analysis.stats.exposure import GARWOOD
from analysis.strength import DOWN, UP, classes

if TYPE_CHECKING:
    from numpy.typing import NDArray

MINUTE_MS = 60_000


def power_plays(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say what came of the power plays of each team.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        Games, periods and team (that with more runners) are looked at; the rest is not asked.
    small_n : int
        Under this many power plays a number is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per team, the one with more runners:

        * `team` string; count `power_plays` (ids of all their runs); count `unmeasured`: those of which a stretch has
          no known end (ids of their runs)
        * rate `scored`: power plays with a goal of the team (ids of their runs; unknown where a shot's result is)
        * counts `shots`, `goals` of the team, `shots_short`, `goals_short` of the other (ids of shots)
        * rates per minute `shots_a_minute`, `goals_a_minute`, `shots_short_a_minute`, `goals_short_a_minute`: in the
          power plays of known length, with their length in ms as n (ids of shots)
        * `method`, `level`, `width`
    """
    kept = cut(tables, Slice(part.games, part.periods), "runs", "shots")
    runs = kept["runs"]
    runs = runs.iloc[np.lexsort((whole(runs["start_ms"]), words(runs["game"])))]
    shots = kept["shots"][attempts(kept["shots"])]
    side = with_more(runs)
    play, n_plays = _numbered(words(runs["game"]), side)
    held = Groups(play, {}, n_plays)
    start, end = whole(runs["start_ms"]), whole(runs["end_ms"])
    measured = (start >= 0) & (end >= start)
    first = np.unique(play, return_index=True)[1][-n_plays:] if n_plays else np.empty(0, dtype=np.intp)
    found = _Plays(
        team=side[first],
        game=games_of(runs).of(first),
        known=held.count(~measured) == 0,
        ms=held.total(np.where(measured, end - start, 0)).astype(np.int64),
        ids=held.ids(words(runs["id"])),
    )
    of_shot = np.append(play, -1)[places(runs["id"], shots["run"])]
    of_shot[with_more(shots) != np.append(found.team, "")[of_shot]] = -1
    own = words(shots["team"]) == np.append(found.team, "")[of_shot]
    goal = resulted(shots, (GOAL,))
    scored = any_of(np.where(own, goal, 0).astype(np.int8), of_shot, n_plays)
    teams = TEAMS if part.team is None else (part.team,)
    how: dict[str, Any] = {"small_n": small_n, "level": level}
    counts, minutes = [], []
    for name, which in (
        ("shots", own),
        ("goals", own & among(shots["result"], (GOAL,))),
        ("shots_short", ~own),
        ("goals_short", ~own & among(shots["result"], (GOAL,))),
    ):
        each, timed = (
            [found.shots(team, of_shot, which, words(shots["id"]), timed=timed) for team in teams]
            for timed in (False, True)
        )
        counts.append(rate.count(name, np.array([len(one) for one in each]), rate.tuples(each)))
        k = np.array([found.cells(team, of_shot, which) for team in teams])
        ms = np.array([found.length(team) for team in teams])
        minutes.append(rate.per(f"{name}_a_minute", k, ms, rate.tuples(timed), of=MINUTE_MS, **how))
    few = np.array([np.count_nonzero(found.known & (found.team == team)) < small_n for team in teams])
    for column in minutes:  # how many power plays, not how many ms, make it few
        [name] = [name for name in column if name.endswith("_few")]
        column[name] = pd.array(few, dtype="boolean")
    return rate.table(
        {"team": list(teams)},
        *(
            rate.count(name, np.array([len(one) for one in rows]), rate.tuples([found.runs(one) for one in rows]))
            for name, rows in (
                ("power_plays", [np.flatnonzero(found.team == team) for team in teams]),
                ("unmeasured", [np.flatnonzero((found.team == team) & ~found.known) for team in teams]),
            )
        ),
        found.share(teams, scored, **how),
        *counts,
        *minutes,
        method=f"{WIDENED}; a minute: {GARWOOD}",
        level=level,
    )


class _Plays:
    """The power plays: whose, in which game, how long, and their runs."""

    def __init__(
        self,
        *,
        team: NDArray[np.object_],
        game: Games,
        known: NDArray[np.bool_],
        ms: NDArray[np.int64],
        ids: NDArray[np.object_],
    ) -> None:
        self.team, self.game, self.known, self.ms, self.ids = team, game, known, ms, ids

    def runs(self, plays: Sequence[int] | NDArray[np.intp]) -> list[str]:
        """The runs of some of them."""
        return [row for one in plays for row in self.ids[one]]

    def length(self, team: str) -> NDArray[np.int64]:
        """The time of a team's, game by game, where it is known."""
        which = self.known & (self.team == team)
        return np.bincount(self.game.codes[which], weights=self.ms[which], minlength=self.game.size).astype(np.int64)

    def cells(self, team: str, of_shot: NDArray[np.intp], which: NDArray[np.bool_]) -> NDArray[np.int64]:
        """How many marked shots fell in a team's power plays of known length, game by game."""
        at = of_shot[which & (of_shot >= 0)]
        at = at[self.known[at] & (self.team[at] == team)]
        return np.bincount(self.game.codes[at], minlength=self.game.size).astype(np.int64)

    def shots(
        self,
        team: str,
        of_shot: NDArray[np.intp],
        which: NDArray[np.bool_],
        ids: NDArray[np.object_],
        *,
        timed: bool,
    ) -> list[str]:
        """The marked shots in a team's power plays, all of them or those of known length."""
        there = which & (of_shot >= 0) & (np.append(self.team, "")[of_shot] == team)
        if timed:
            there &= np.append(self.known, False)[of_shot]
        return [str(one) for one in ids[there]]

    def share(self, teams: Sequence[str], scored: NDArray[np.int8], **how: Any) -> dict[str, Any]:
        """How many brought a goal, of those where that is known."""

        def cells(value: NDArray[np.bool_]) -> NDArray[np.int64]:
            every = [self.game.codes[value & (self.team == team)] for team in teams]
            return np.array([np.bincount(one, minlength=self.game.size) for one in every])

        rows = [self.runs(np.flatnonzero((scored == 1) & (self.team == team))) for team in teams]
        asked = np.array([np.count_nonzero(self.team == team) for team in teams])
        return rate.share("scored", cells(scored == 1), cells(scored >= 0), rate.tuples(rows), asked=asked, **how)


def with_more(frame: pd.DataFrame) -> NDArray[np.object_]:
    """Name for each row the team with more runners.

    Parameters
    ----------
    frame : DataFrame
        With `team` and `strength`, seen from that team.

    Returns
    -------
    object array
        "ours", "theirs", or "" where nobody has more or a net is empty.
    """
    kind, team = words(classes(frame["strength"])), words(frame["team"])
    made = np.full(len(frame), "", dtype=object)
    made[kind == UP] = team[kind == UP]
    made[kind == DOWN] = np.where(team == "ours", "theirs", "ours")[kind == DOWN]
    return made


def _numbered(game: NDArray[np.object_], side: NDArray[np.object_]) -> tuple[NDArray[np.intp], int]:
    """Number the unbroken rows of stretches in which one team has more runners; −1 outside of any."""
    if len(game) == 0:
        return np.empty(0, dtype=np.intp), 0
    begins = np.append(True, (game[1:] != game[:-1]) | (side[1:] != side[:-1])) & (side != "")
    made = np.where(side == "", -1, np.cumsum(begins) - 1)
    return made.astype(np.intp), int(begins.sum())

"""Players by what they did: who shot, who fed, who set the screens and who used them, who lost the ball."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis import rate
from analysis.answered import uneven
from analysis.codes import among, known, words
from analysis.groups import Games, Groups, games_of, group
from analysis.looked import looked_for_in
from analysis.shots import BLOCKED, GOAL, ON_GOAL, attempts, seen
from analysis.slice import EVERYTHING, OTHER_TEAM, TEAMS, Slice, cut
from analysis.stats.cluster import WIDENED
from analysis.stats.exposure import GARWOOD

if TYPE_CHECKING:
    from numpy.typing import NDArray

FREED = ("user", "setter", "third_man")
FEWEST_GAMES = 3
_ANYHOW: dict[str, Any] = {"strengths": None, "phases": None, "sides": None, "sets": None}
PER_GAME = {
    "shots": "shot",
    "goals": "shot",
    "feeds": "shot.feeder",
    "screens_set": "screen",
    "screens_used": "screen",
    "turnovers": "turnover",
    "loose_balls": "loose_ball",
}


@dataclass(frozen=True)
class _Role:
    """Rows of one event table in which a player did one thing, with the player's group."""

    frame: pd.DataFrame
    ids: NDArray[np.object_]
    groups: Groups
    game: Games

    def count(self, name: str, which: NDArray[np.bool_] | None = None) -> dict[str, Any]:
        return rate.count(name, self.groups.count(which), self.groups.ids(self.ids, which))

    def share(self, name: str, yes: NDArray[np.bool_], sure: NDArray[np.bool_], **how: Any) -> dict[str, Any]:
        return rate.share(
            name,
            self.groups.cells(self.game, yes & sure),
            self.groups.cells(self.game, sure),
            self.groups.ids(self.ids, yes & sure),
            asked=self.groups.count(),
            n_ids=self.groups.ids(self.ids, sure),
            **how,
        )


def players(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Count what every player did, role by role.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        What is looked at; shots and turnovers by their own strength. Loose balls and face-offs have none, since nobody
        has the ball: they are counted at any; so is what the other team lost to a man, whatever it was running.
    small_n : int
        Under this n a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per team and player, by number; `player` is "unseen" for what nobody could make out and missing for what
        was not answered, so that the rows add up to the team. Columns:

        * `team`, `player`: string; `games` Int64: games in which the player stands in any row
        * as shooter (ids of shots): counts `shots`, `shots_on_goal`, `goals`, `blocked`; rates `shooting` (goals of
          shots with a known result) and `on_goal`, withheld where shooters are named at another rate on goals
        * as feeder (ids of shots): counts `feeds` (shots fed), `feed_goals`, `second_feeds` (the pass before); rate
          `fed_goal` (goals of shots fed), withheld where feeders are named at another rate on goals than on other shots
        * as setter (ids of screens): count `screens_set`; rate `freed` (somebody came free, of those where it is
          known who did), withheld where setters are named at another rate when somebody came free; so is the user's
        * as user: count `screens_used`; rate `came_free` (the user himself)
        * counts `turnovers`, `caused` (turnovers of the other team that he caused, at any strength) and `loose_balls`
          (won; ids of their rows); rates `faceoffs` (won, of those he took with a known winner) and `done` (plus of
          plus and minus of his grades)
        * rates per game, by Garwood's interval: `shots_per_game`, `goals_per_game`, `feeds_per_game`,
          `screens_set_per_game`, `screens_used_per_game`, `turnovers_per_game`, `loose_balls_per_game`; n is the games
          in which he stands in any row and that kind was looked for at some time. Per minute on the floor, where
          lines are known: `analysis.floor_time`.
        * `method`, `level`, `width`

    Notes
    -----
    `freed` and `came_free` are judged a second after contact, never from the shot. Intervals are Wilson's; "at least
    this wide", since a player's shots of one game resemble each other.
    """
    cut_tables = cut(tables, part, "shots", "screens", "turnovers", "faceoffs", "grades")
    loose = cut(tables, replace(part, strengths=None), "loose_balls")["loose_balls"]  # in most nobody has the ball
    shots = cut_tables["shots"]
    shots = shots[attempts(shots)]
    fed = shots[known(shots["feeder"]) & ~among(shots["feeder"], ("none",)) | among(shots["feeder"], ("unseen",))]
    fed2 = shots[known(shots["feeder2"]) & ~among(shots["feeder2"], ("none",))]
    screens, turnovers = cut_tables["screens"], cut_tables["turnovers"]
    did = {
        "shooter": (shots, "shooter"),
        "feeder": (fed, "feeder"),
        "feeder2": (fed2, "feeder2"),
        "setter": (screens, "setter"),
        "user": (screens, "user"),
        "turnover": (turnovers, "player"),
        "caused": (_caused(tables, part), "by"),
        "loose_ball": (loose, "player"),
        "faceoff": (_faceoffs(cut_tables["faceoffs"], part.team), "player"),
        "grade": (_grades(cut_tables["grades"], part.team), "player"),
    }
    roles, everybody, game, names = _by_player(did)
    shooter, feeder, setter, user = (roles[name] for name in ("shooter", "feeder", "setter", "user"))
    goal = among(shots["result"], (GOAL,))
    how: dict[str, Any] = {"small_n": small_n, "level": level}
    free_known, fed_seen = known(screens["free"]), seen(fed)
    there = everybody.cells(game) > 0
    faceoff, grade = roles["faceoff"], roles["grade"]
    won = words(faceoff.frame["won"]) == words(faceoff.frame["team"])
    freed = among(screens["free"], FREED)
    leans = {
        **{name: _teams_lean(tables, shots, f"shot.{name}", name, goal) for name in ("shooter", "feeder")},
        **{name: _teams_lean(tables, screens, f"screen.{name}", name, freed) for name in ("setter", "user")},
    }

    def lean(name: str) -> NDArray[np.bool_]:
        return np.array([leans[name].get(team, False) for team in everybody.labels["team"]], dtype=bool)

    columns = [
        {"games": pd.array(there.sum(axis=1), dtype="Int64")},
        shooter.count("shots"),
        shooter.count("shots_on_goal", among(shots["result"], ON_GOAL)),
        shooter.count("goals", goal),
        shooter.count("blocked", among(shots["result"], (BLOCKED,))),
        shooter.share("shooting", goal, seen(shots), withheld=lean("shooter"), **how),
        shooter.share("on_goal", among(shots["result"], ON_GOAL), seen(shots), withheld=lean("shooter"), **how),
        feeder.count("feeds"),
        feeder.count("feed_goals", among(fed["result"], (GOAL,))),
        roles["feeder2"].count("second_feeds"),
        feeder.share(
            "fed_goal",
            among(fed["result"], (GOAL,)),
            fed_seen,
            withheld=lean("feeder"),
            **how,
        ),
        setter.count("screens_set"),
        setter.share("freed", freed, free_known, withheld=lean("setter"), **how),
        user.count("screens_used"),
        user.share("came_free", among(screens["free"], ("user",)), free_known, withheld=lean("user"), **how),
        roles["turnover"].count("turnovers"),
        roles["caused"].count("caused"),
        roles["loose_ball"].count("loose_balls"),
        faceoff.share("faceoffs", won, among(faceoff.frame["won"], TEAMS), **how),
        grade.share(
            "done", among(grade.frame["grade"], ("plus",)), among(grade.frame["grade"], ("plus", "minus")), **how
        ),
    ]
    did_in: dict[str, tuple[str, NDArray[np.bool_] | None]] = {
        "shots": ("shooter", None),
        "goals": ("shooter", goal),
        "feeds": ("feeder", None),
        "screens_set": ("setter", None),
        "screens_used": ("user", None),
        "turnovers": ("turnover", None),
        "loose_balls": ("loose_ball", None),
    }
    counted = {name: column for part_ in columns for name, column in part_.items()}
    for name, kind in PER_GAME.items():
        role, which = did_in[name]
        looked = np.array([*looked_for_in(tables, names, kind), False], dtype=bool)
        exposure = (there & looked).astype(np.int64)
        k = roles[role].groups.cells(roles[role].game, which)
        columns.append(
            rate.per(f"{name}_per_game", k, exposure, counted[f"{name}_ids"], small_n=FEWEST_GAMES, level=level)
        )
    return rate.table(everybody.labels, *columns, method=f"{WIDENED}; per game: {GARWOOD}", level=level)


def _caused(tables: Mapping[str, pd.DataFrame], part: Slice) -> pd.DataFrame:
    """The other team's turnovers that a man of ours caused, as rows of his own team; theirs likewise."""
    team = None if part.team is None else OTHER_TEAM[part.team]
    lost = cut(tables, replace(part, team=team, **_ANYHOW), "turnovers")["turnovers"]
    lost = lost[known(lost["by"]) & ~among(lost["by"], ("none",)) | among(lost["by"], ("unseen",))]
    return lost.assign(team=lost["team"].map(OTHER_TEAM).astype("string"))


def number_order(player: str | None) -> tuple[int, int, str]:
    """Sort key that puts numbers as on a roster: 00, 2, 10, then what is no number, then the missing.

    Parameters
    ----------
    player : str or None
        A number as text.

    Returns
    -------
    tuple
        Sorts as said.
    """
    if player is None:
        return (2, 0, "")
    return (0, int(player), player) if player.isdigit() else (1, 0, player)


def _by_player(
    did: Mapping[str, tuple[pd.DataFrame, str]],
) -> tuple[dict[str, _Role], Groups, Games, list[str]]:
    """Put the rows of several tables into one set of groups, one per team and player; and their games, and these."""
    team = np.concatenate([words(frame["team"]) for frame, _ in did.values()])
    player = np.concatenate([words(frame[column]) for frame, column in did.values()])
    game = np.concatenate([words(frame["game"]) for frame, _ in did.values()])
    every = group({"team": _series(team), "player": _series(player)})
    teams = {"ours": 0, "theirs": 1}
    every = every.ordered(
        sorted(
            range(every.size),
            key=lambda row: (teams.get(every.labels["team"][row], 2), number_order(every.labels["player"][row])),
        )
    )
    games = games_of(pd.DataFrame({"game": _series(game)}))
    made, start = {}, 0
    for name, (frame, _) in did.items():
        rows = np.arange(start, start + len(frame))
        made[name] = _Role(frame, words(frame["id"]), every.only(every.codes[rows]), games.of(rows))
        start += len(frame)
    return made, every, games, sorted(set(game.tolist()) - {""})


def _series(plain: NDArray[np.object_]) -> pd.Series:
    return pd.Series(pd.array([word or None for word in plain.tolist()], dtype="string"))


def _faceoffs(faceoffs: pd.DataFrame, team: str | None) -> pd.DataFrame:
    """Put the face-offs in twice: once for each team's man, where he is known."""
    parts = []
    for side in TEAMS if team is None else (team,):
        own = faceoffs.assign(player=faceoffs[side], team=side)
        parts.append(own[known(own["player"])])
    return pd.concat(parts, ignore_index=True)[["game", "id", "won", "team", "player"]]


def _grades(grades: pd.DataFrame, team: str | None) -> pd.DataFrame:
    """Give the grades the team that is graded: ours."""
    own = grades[grades["player"].notna() & (team != "theirs")]
    return own.assign(team="ours")


def _teams_lean(
    tables: Mapping[str, pd.DataFrame], frame: pd.DataFrame, question: str, column: str, came: NDArray[np.bool_]
) -> dict[str | None, bool]:
    """Say for each team whether its men are named at another rate where the outcome came than where it did not."""
    teams = group({"team": frame["team"]})
    leans = uneven(tables, frame, question, known(frame[column]), came, teams)
    return dict(zip(teams.labels["team"], leans.tolist(), strict=True))

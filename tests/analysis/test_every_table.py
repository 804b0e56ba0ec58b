"""What must hold for every result table, whichever function makes it."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest

from analysis.answered import answered
from analysis.chain import arrows
from analysis.codes import coded
from analysis.execution import graded, worth
from analysis.games import box
from analysis.lines import changes, goals_against, units
from analysis.looks import came_back, flow, looks
from analysis.lost_ball import lost_balls
from analysis.pairs import feeds
from analysis.players import players
from analysis.question import noticed
from analysis.rate import rates_in
from analysis.screens import lift, screens
from analysis.sets import naming, sets
from analysis.shot_chart import chart
from analysis.special import contests, power_plays
from analysis.standing import duels, standings
from analysis.tempo import tempo
from analysis.trend import dots, slopes
from tagger.tables import frames
from tests.analysis.invented import season, season_rows

Tables = dict[str, pd.DataFrame]
GAMES = ("g1", "g2", "g3")
MAKERS: dict[str, Callable[[Tables], pd.DataFrame]] = {
    "answered": answered,
    "arrows": arrows,
    "box": box,
    "box by period": lambda tables: box(tables, by=("game", "period")),
    "came_back": came_back,
    "changes": changes,
    "chart": lambda tables: chart(tables, goal_x_m=25.3),
    "contests": contests,
    "dots": lambda tables: dots(tables, GAMES),
    "duels": duels,
    "feeds": feeds,
    "flow": flow,
    "goals_against": goals_against,
    "graded": graded,
    "lift": lift,
    "looks": looks,
    "lost_balls": lambda tables: lost_balls(tables, by=("ended", "set", "safety")),
    "naming": naming,
    "noticed": noticed,
    "players": players,
    "power_plays": power_plays,
    "screens": lambda tables: screens(tables, by=("kind", "coverage", "setter")),
    "sets": lambda tables: sets(tables, by_side=True, widen=True),
    "slopes": lambda tables: slopes(tables, GAMES),
    "standings": standings,
    "tempo": tempo,
    "units": units,
    "worth": worth,
}
every = pytest.mark.parametrize("make", MAKERS.values(), ids=MAKERS.keys())


@pytest.fixture(scope="module")
def tables() -> Tables:
    return season(31, n_games=3, n_possessions=30)


def _without_ids(frame: pd.DataFrame) -> pd.DataFrame:
    return frame.drop(columns=[name for name in frame.columns.tolist() if name.endswith("ids")])


@every
def test_rates_lie_in_their_bounds_and_small_ones_are_flagged(
    make: Callable[[Tables], pd.DataFrame], tables: Tables
) -> None:
    made = make(tables)
    for name in rates_in(made):
        estimate, lo, hi = (
            made[column].to_numpy(dtype=np.float64, na_value=np.nan) for column in (name, f"{name}_lo", f"{name}_hi")
        )
        some = ~np.isnan(estimate)
        assert (lo[some] <= estimate[some] + 1e-12).all() and (estimate[some] <= hi[some] + 1e-12).all()
        n = made[f"{name}_n"].to_numpy(dtype=np.int64)
        withheld = made.get(f"{name}_withheld", pd.Series([False] * len(made))).to_numpy(dtype=bool)
        assert (some == ((n > 0) & ~withheld)).all()
        assert made.loc[n == 0, f"{name}_few"].all()
        if f"{name}_asked" in made:
            assert (made[f"{name}_k"] <= made[f"{name}_asked"]).all()


@every
def test_the_order_of_rows_changes_no_number(make: Callable[[Tables], pd.DataFrame], tables: Tables) -> None:
    mixed = {name: frame.sample(frac=1, random_state=5) for name, frame in tables.items()}
    pd.testing.assert_frame_equal(_without_ids(make(tables)), _without_ids(make(mixed)))


@every
def test_what_is_given_is_not_changed(make: Callable[[Tables], pd.DataFrame], tables: Tables) -> None:
    before = {name: frame.copy() for name, frame in tables.items()}
    make(tables)
    for name, frame in tables.items():
        pd.testing.assert_frame_equal(frame, before[name])


@every
@pytest.mark.parametrize("kind", ["nothing", "one run", "all goals", "no goals", "all unknown", "coded"])
def test_odd_seasons_give_the_same_columns_without_a_warning(
    make: Callable[[Tables], pd.DataFrame], tables: Tables, kind: str
) -> None:
    made = make(_odd(kind))
    pd.testing.assert_series_equal(made.dtypes, make(tables).dtypes)


def _odd(kind: str) -> Tables:
    if kind == "nothing":
        return frames({})
    if kind == "one run":
        head = {"game": "g1", "book": "b", "period": 1, "team": "ours", "strength": "5v5"}
        run = {"id": "r", "possession": "p", "order": 1, "phase": "set", "set": "keel", "start_ms": 0, "end_ms": 900}
        return frames({"possessions": [head | {"id": "p", "start_ms": 0, "end_ms": 900}], "runs": [head | run]})
    if kind == "coded":
        return coded(season(5, n_games=1, n_possessions=8))
    rows = season_rows(5, n_games=1, n_possessions=8)
    for shot in rows["shots"]:
        if kind != "all unknown":
            shot["result"] = "goal" if kind == "all goals" else "wide"
    if kind == "all unknown":
        stays = {"game", "book", "id", "possession", "run", "marks"}
        rows = {
            name: [{key: value if key in stays else None for key, value in row.items()} for row in table]
            for name, table in rows.items()
        }
    return frames(rows)

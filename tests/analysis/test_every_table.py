"""What must hold for every result table, whichever function makes it."""

from __future__ import annotations

import functools
import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd
import pytest

from analysis.answered import answered
from analysis.chain import arrows
from analysis.codes import coded
from analysis.contests import faceoffs, loose_balls
from analysis.execution import graded, worth
from analysis.findings import findings
from analysis.floor_time import per_minute
from analysis.games import box
from analysis.goalkeeper import saves
from analysis.left_open import of_looks, of_screens, of_sets
from analysis.lines import changes, goals_against, units
from analysis.looks import came_back, flow, looks
from analysis.lost_ball import lost_balls
from analysis.man_up import power_plays
from analysis.pairs import feeds
from analysis.players import players
from analysis.practice import practice_list
from analysis.screens import lift, screens
from analysis.set_possessions import by_possession
from analysis.sets import naming, sets
from analysis.shot_chart import chart
from analysis.shot_clock import entries, moments
from analysis.shot_quality import above_expected, quality
from analysis.standing import standings
from analysis.tempo import tempo
from analysis.transition import transition
from analysis.trend import dots, slopes
from tagger.tables import frames
from tests.analysis.invented import rates_in, season, season_rows

Tables = dict[str, pd.DataFrame]
GAMES = ("g1", "g2", "g3")
MAKERS: dict[str, Callable[[Tables], pd.DataFrame]] = {
    "above_expected": lambda tables: above_expected(quality(tables, goal_x_m=25.3)),
    "answered": answered,
    "arrows": arrows,
    "box": box,
    "box by period": lambda tables: box(tables, by=("game", "period")),
    "came_back": came_back,
    "by_possession": by_possession,
    "changes": changes,
    "chart": lambda tables: chart(tables, goal_x_m=25.3),
    "entries": entries,
    "faceoffs": faceoffs,
    "loose balls by player": lambda tables: loose_balls(tables, by="player"),
    "loose_balls": loose_balls,
    "dots": lambda tables: dots(tables, GAMES),
    "feeds": feeds,
    "findings": lambda tables: findings(tables, games=GAMES).compared,
    "flow": flow,
    "goals_against": goals_against,
    "graded": graded,
    "left open by looks": of_looks,
    "left open by screens": of_screens,
    "left open by sets": of_sets,
    "lift": lift,
    "looks": looks,
    "lost_balls": lambda tables: lost_balls(tables, by=("ended", "set", "safety")),
    "moments": moments,
    "naming": naming,
    "per_minute": per_minute,
    "players": players,
    "power_plays": power_plays,
    "practice_list": lambda tables: practice_list(tables, findings(tables)),
    "saves": lambda tables: saves(tables, by="place", goal_x_m=25.3),
    "screens": lambda tables: screens(tables, by=("kind", "coverage", "setter")),
    "sets": lambda tables: sets(tables, by_side=True),
    "slopes": lambda tables: slopes(tables, GAMES),
    "slopes of habits": lambda tables: slopes(tables, GAMES, what="done"),
    "standings": standings,
    "tempo": tempo,
    "transition": transition,
    "units": units,
    "worth": worth,
}
DOCUMENTED = {
    "loose balls by player": loose_balls, "saves": saves,
    "above_expected": above_expected, "box by period": box, "chart": chart, "dots": dots, "findings": findings,
    "lost_balls": lost_balls, "practice_list": practice_list, "screens": screens, "sets": sets, "slopes": slopes,
    "slopes of habits": slopes, "left open by looks": of_sets, "left open by screens": of_sets,
}  # fmt: skip
ASKED_FOR = {
    "box": "by", "box by period": "by", "graded": "by", "lost_balls": "by", "screens": "by",
    "left open by looks": "look", "left open by screens": "by",
}  # fmt: skip
SUFFIX = re.compile(r"_(k|n|lo|hi|few|ids|n_ids|asked|withheld|effect)$")
BY_GAME = {"box", "box by period", "dots", "slopes", "slopes of habits"}
every = pytest.mark.parametrize("make", MAKERS.values(), ids=MAKERS.keys())


@pytest.fixture(scope="module")
def tables() -> Tables:
    rows = season_rows(31, n_games=3, n_possessions=30)
    head = {"book": "first", "team": "ours", "at_ms": 0, "bad": "no"}
    rows["lines"] = [
        head | {"game": game, "period": period, "id": f"{game}-l{period}", "unit": unit, "players": numbers}
        for game in GAMES
        for period, unit, numbers in ((1, "reeds", "00 5 7 8 9"), (2, "gulls", "10 14 16 17 22"))
    ]
    return frames(rows)


@pytest.fixture(scope="module")
def of(tables: Tables) -> Callable[[Callable[[Tables], pd.DataFrame]], pd.DataFrame]:
    """Each maker's table of the season, made once."""
    held: dict[Any, pd.DataFrame] = {}

    def made(make: Callable[[Tables], pd.DataFrame]) -> pd.DataFrame:
        if make not in held:
            held[make] = make(tables)
        return held[make]

    return made


def _without_ids(frame: pd.DataFrame) -> pd.DataFrame:
    return frame.drop(columns=[name for name in frame.columns.tolist() if name.endswith("ids")])


@every
def test_rates_lie_in_their_bounds_and_small_ones_are_flagged(make: Callable[[Tables], pd.DataFrame], of: Any) -> None:
    made = of(make)
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
def test_every_table_names_its_method_and_keeps_the_rows_it_counted(
    make: Callable[[Tables], pd.DataFrame], tables: Tables, of: Any
) -> None:
    made = of(make)
    assert [str(made[name].dtype) for name in ("method", "level", "width")] == ["string", "Float64", "string"]
    assert made["method"].notna().all() and made["level"].notna().all()
    bounded = [name for name in made.columns.tolist() if name.endswith("_lo")]
    assert made["width"].notna().all() or not bounded
    rows = {one for frame in tables.values() for one in frame["id"].tolist()}
    columns = [name for name in made.columns.tolist() if name == "ids" or name.endswith("_ids")]
    assert columns
    for name in columns:
        assert all(isinstance(ids, tuple) and rows.issuperset(ids) for ids in made[name]), name
    for name in bounded:
        if name.removesuffix("_lo") not in {"running", "rank"}:
            assert f"{name.removesuffix('_lo')}_ids" in made and f"{name.removesuffix('_lo')}_few" in made


@pytest.mark.parametrize("name", MAKERS)
def test_every_column_is_documented(name: str, of: Any) -> None:
    doc = (DOCUMENTED.get(name) or MAKERS[name]).__doc__ or ""
    listed = set(re.findall(r"`([\w]+)`", doc)) | {"method", "level", "width"}
    for column in of(MAKERS[name]).columns.tolist():
        if name in ASKED_FOR and column in {
            "game",
            "period",
            "kind",
            "coverage",
            "setter",
            "ended",
            "set",
            "safety",
            "checkpoint",
            "look",
        }:
            continue
        stem = column
        while stem not in listed and SUFFIX.search(stem):
            stem = SUFFIX.sub("", stem)
        assert stem in listed, f"{name}: {column} is not in the docstring"


@pytest.mark.parametrize("name", [name for name in MAKERS if name not in BY_GAME])
def test_games_under_other_names_change_no_number(name: str, tables: Tables, of: Any) -> None:
    turned = {"g1": "g3", "g2": "g1", "g3": "g2"}
    renamed = {kind: frame.assign(game=frame["game"].map(turned).astype("string")) for kind, frame in tables.items()}
    pd.testing.assert_frame_equal(_without_ids(of(MAKERS[name])), _without_ids(MAKERS[name](renamed)))


@every
def test_the_order_of_rows_changes_no_number(make: Callable[[Tables], pd.DataFrame], tables: Tables, of: Any) -> None:
    mixed = {name: frame.sample(frac=1, random_state=5) for name, frame in tables.items()}
    pd.testing.assert_frame_equal(_without_ids(of(make)), _without_ids(make(mixed)))


@every
def test_what_is_given_is_not_changed(make: Callable[[Tables], pd.DataFrame], tables: Tables) -> None:
    before = {name: frame.copy() for name, frame in tables.items()}
    make(tables)
    for name, frame in tables.items():
        pd.testing.assert_frame_equal(frame, before[name])


@every
@pytest.mark.parametrize("kind", ["nothing", "one run", "one game", "all goals", "no goals", "all unknown", "coded"])
def test_odd_seasons_give_the_same_columns_without_a_warning(
    make: Callable[[Tables], pd.DataFrame], of: Any, kind: str
) -> None:
    made = make(_odd(kind))
    pd.testing.assert_series_equal(made.dtypes, of(make).dtypes)


@functools.cache  # none of them changes what it is given, see above
def _odd(kind: str) -> Tables:
    if kind == "nothing":
        return frames({})
    if kind == "one run":
        head = {"game": "g1", "book": "b", "period": 1, "team": "ours", "strength": "5v5"}
        run = {"id": "r", "possession": "p", "order": 1, "phase": "set", "set": "keel", "start_ms": 0, "end_ms": 900}
        return frames({"possessions": [head | {"id": "p", "start_ms": 0, "end_ms": 900}], "runs": [head | run]})
    if kind == "one game":
        return season(6, n_games=1, n_possessions=30)
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

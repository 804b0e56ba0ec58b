"""Two rates compared within games: published strata, and seasons in which nothing differs but games and days."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.errors import NumbersError
from analysis.stats.multiplicity import family_wise
from analysis.stats.told_apart import told_apart
from tests.analysis.published import ADMITTED
from tests.bench.honesty.still import Kind, about
from tests.counts import cases

N_SEASONS = cases(60, many=1000)
KINDS = (
    Kind("games alike", 0.0),
    Kind("games differ", 0.15),
    Kind("sets have games of their own", 0.11, together=False),
    Kind("sets have games of their own, far", 0.15, together=False),
    Kind("few runs, alike", 0.0, per_game=6),
    Kind("few runs, of their own", 0.15, together=False, per_game=6),
)


def _by_department() -> list[list[list[int]]]:
    k, other_k = ([side[at] for side in ADMITTED] for at in (0, 2))
    n, other_n = ([side[at] + side[at + 1] for side in ADMITTED] for at in (0, 2))
    return [[k], [n], [other_k], [other_n]]


def test_admissions_by_department_are_as_published() -> None:
    made = told_apart(*_by_department())
    assert made.chi2[0] == pytest.approx(1.4269, abs=5e-5)
    assert made.odds_ratio[0] == pytest.approx(0.9047, abs=5e-5)
    assert made.swing > 1  # one department departs from the rest
    assert made.p[0] > 0.2323  # what is allowed for swings only makes it less sure


def test_what_is_good_for_all_in_a_game_is_no_difference() -> None:
    mostly_good, mostly_bad = ([[18, 2, 18, 2]], [[20, 4, 20, 4]]), ([[4, 10, 4, 10]], [[4, 20, 4, 20]])
    made = told_apart(*mostly_good, *mostly_bad)  # 40 of 48 against 28 of 48, and no better in any game
    assert made.p[0] > 0.5


def _still(seed: int, kind: Kind, means: list[float]) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng([seed, len(kind.name)])
    common = rng.random(kind.n_games)
    p = np.array([about(rng, mean, kind.sd, common if kind.together else rng.random(kind.n_games)) for mean in means])
    n = rng.poisson(kind.per_game, p.shape)
    return rng.binomial(n, p), n


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_of_a_season_in_which_no_set_differs_nothing_is_said_but_once_in_twenty(kind: Kind) -> None:
    said = 0
    for seed in range(N_SEASONS):
        k, n = _still(seed, kind, [0.45] * 6)
        said += bool(family_wise(told_apart(k, n, k.sum(axis=0) - k, n.sum(axis=0) - n).p).any())
    assert said / N_SEASONS <= 0.05 + 2 * np.sqrt(0.05 * 0.95 / N_SEASONS)


def test_a_set_that_is_far_better_is_found_although_games_differ() -> None:
    found = 0
    for seed in range(100):
        k, n = _still(seed, KINDS[1], [0.75, 0.42, 0.42, 0.42, 0.42, 0.42])
        found += bool(family_wise(told_apart(k, n, k.sum(axis=0) - k, n.sum(axis=0) - n).p)[0])
    assert found > 90


def test_what_says_nothing_is_no_finding() -> None:
    made = told_apart(
        [[0, 0], [3, 4], [5, 5]], [[0, 0], [6, 6], [5, 5]], [[1, 2], [0, 0], [5, 5]], [[4, 4], [0, 0], [5, 5]]
    )
    assert made.p.tolist() == [1, 1, 1] and np.isnan(made.odds_ratio).all()
    assert told_apart([[9]], [[10]], [[0]], [[10]]).p[0] == 1  # of one game, nothing is known of other games
    assert told_apart(*(np.empty((0, 3)) for _ in range(4))).p.shape == (0,)


def test_counts_that_cannot_be_are_refused() -> None:
    with pytest.raises(NumbersError):
        told_apart([[5]], [[4]], [[1]], [[4]])


def test_sides_of_a_game_are_strata_of_their_own_but_one_game() -> None:
    k, n, other_k, other_n = [[9, 1, 8, 2]], [[10, 10, 10, 10]], [[40, 4, 41, 5]], [[50, 50, 50, 50]]
    by_side = told_apart(k, n, other_k, other_n, games=[0, 0, 1, 1])
    pooled = told_apart([[10, 10]], [[20, 20]], [[44, 46]], [[100, 100]])
    assert by_side.difference.estimate[0] == pytest.approx(pooled.difference.estimate[0])
    assert by_side.p[0] < pooled.p[0]  # what the sides explain is no noise any more
    each = told_apart(k, n, other_k, other_n)
    assert by_side.chi2[0] == pytest.approx(each.chi2[0]) and by_side.p[0] >= each.p[0]  # two games, not four
    lo, hi = (float(bound[0]) for bound in by_side.difference[1:])
    assert lo < 0.05 < hi and by_side.p[0] > 0.05

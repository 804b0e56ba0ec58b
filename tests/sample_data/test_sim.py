"""Games made up from seeds: the same again, whole in themselves, at the rates that they say are true."""

from __future__ import annotations

import itertools
from collections import Counter

import pytest

from sample_data.rates import ENDS, FREE, SetRates, TrueRates
from sample_data.sim import simulate_excerpt, simulate_game
from sample_data.truth import Run, Truth
from tests.counts import cases

N_GAMES = cases(10, many=30)


@pytest.fixture(scope="module")
def season() -> list[Truth]:
    return [simulate_game(seed, "Millrace").truth for seed in range(N_GAMES)]


def all_rates() -> list[SetRates]:
    return [*TrueRates().even, *TrueRates().man_up]


def test_the_same_seed_gives_the_same_game_and_another_seed_another() -> None:
    assert simulate_game(5, "Millrace").truth == simulate_game(5, "Millrace").truth
    assert simulate_excerpt(5, 60, "Millrace") == simulate_excerpt(5, 60, "Millrace")
    assert simulate_game(5, "Millrace").truth != simulate_game(6, "Millrace").truth


@pytest.mark.parametrize("rates", all_rates(), ids=lambda rates: f"{rates.code}-{len(rates.looks)}")
def test_true_shares_are_shares(rates: SetRates) -> None:
    for shares, names in ((rates.free, FREE), (rates.end_free, ENDS), (rates.end_covered, ENDS)):
        assert set(shares) == set(names)
        assert sum(shares.values()) == pytest.approx(1)
    assert sum(rates.looks.values()) == pytest.approx(1)
    assert set(rates.goal) == set(rates.looks)
    assert sum(rates.p_end(end) for end in ENDS) == pytest.approx(1)


def test_runs_cut_their_possession_without_gap_or_overlap(season: list[Truth]) -> None:
    for truth in season[:10]:
        for possession in truth.possessions:
            runs = sorted((run for run in truth.runs if run.possession == possession.id), key=lambda run: run.order)
            assert [run.order for run in runs] == list(range(1, len(runs) + 1))
            assert runs[0].start_ms == possession.start_ms
            assert runs[-1].end_ms == possession.end_ms
            assert all(a.end_ms == b.start_ms for a, b in itertools.pairwise(runs))
            assert all(run.start_ms < run.end_ms for run in runs)


def test_everything_falls_where_it_says(season: list[Truth]) -> None:
    for truth in season[:10]:
        runs = {run.id: run for run in truth.runs}
        for shot in truth.shots:
            assert runs[shot.run].ended == "shot" and runs[shot.run].end_ms == shot.at_ms
        for screen in truth.screens:
            assert runs[screen.run].start_ms < screen.at_ms < runs[screen.run].end_ms
        for lost in truth.turnovers:
            assert lost.run is not None and runs[lost.run].end_ms == lost.at_ms
        for run in truth.runs:
            assert run.parent is None or runs[run.parent].ended == "shot"
            assert (run.phase == "second_chance") == (run.parent is not None)


def test_possessions_follow_each_other_inside_their_period(season: list[Truth]) -> None:
    for truth in season[:10]:
        for before, after in zip(truth.possessions, truth.possessions[1:], strict=False):
            assert before.end_ms <= after.start_ms
        for possession in truth.possessions:
            period = truth.periods[possession.period - 1]
            assert period.start_ms < possession.start_ms < possession.end_ms <= period.end_ms


def test_each_period_plays_fifteen_minutes_of_stop_time(season: list[Truth]) -> None:
    for truth in season[:10]:
        for period in truth.periods:
            clocks = [clock for clock in truth.clocks if clock.period == period.number]
            assert clocks[-1].left_s == pytest.approx(0, abs=0.02)
            played = sum(b.at_ms - a.at_ms for a, b in itertools.pairwise(clocks) if a.runs)
            assert played == pytest.approx(15 * 60_000, abs=20)


def test_nobody_plays_while_he_is_in_the_box(season: list[Truth]) -> None:
    checked = 0
    for truth in season:
        for penalty in truth.penalties:
            if penalty.start_ms:
                inside = [shot for shot in truth.shots if penalty.start_ms < shot.at_ms < penalty.end_ms]
                assert all((shot.team, shot.shooter) != (penalty.team, penalty.player) for shot in inside)
                assert all(shot.strength != "5v5" for shot in inside)
                checked += len(inside)
    assert checked > 50


def test_a_youth_team_could_have_these_totals(season: list[Truth]) -> None:
    """Plausible, no norm: invented bounds, common practice, no source."""
    goals = [sum(truth.score()) for truth in season]
    per_team = [len(truth.possessions) / 2 for truth in season]
    assert 10 <= sum(goals) / N_GAMES <= 26
    assert 60 <= sum(per_team) / N_GAMES <= 100
    assert len({truth.score() for truth in season}) > N_GAMES / 2


def share(hits: int, n: int, p: float) -> float:
    """Distance of a share from the truth in standard errors."""
    return abs(hits / n - p) / (p * (1 - p) / n) ** 0.5


@pytest.mark.parametrize("rates", TrueRates().even, ids=lambda rates: rates.code)
def test_sets_end_and_free_at_their_true_rates(season: list[Truth], rates: SetRates) -> None:
    runs: list[Run] = []
    freed: set[tuple[int, str]] = set()
    for game, truth in enumerate(season):
        freed |= {(game, screen.run) for screen in truth.screens if screen.free not in ("nobody", "illegal")}
        for run in truth.runs:
            named = run.set if run.phase == "set" else run.phase if run.phase == "freelance" else None
            if run.team == "ours" and named == rates.code and run.strength == "5v5" and run.ended != "period_end":
                runs.append(run)
    n = len(runs)
    assert n > 60
    ends = Counter(run.ended for run in runs)
    assert share(ends["shot"], n, rates.p_shot) < 4
    assert share(ends["pull_out"], n, rates.p_end("pull_out")) < 4
    assert share(sum(run.side == "left" for run in runs), n, rates.left) < 4 or rates.code == "freelance"
    looks = [run.look for run in runs if run.look not in (None, "none")]
    for look, p in rates.looks.items():
        assert not looks or share(looks.count(look), len(looks), p) < 4


def test_an_excerpt_holds_whole_possessions_and_ends_in_dead_time() -> None:
    for seed in range(6):
        truth = simulate_excerpt(seed, 90, "Quarry Hill").truth
        assert truth.length_ms == 90_000
        assert all(possession.ended != "period_end" for possession in truth.possessions)
        last = max(whistle.at_ms for whistle in truth.whistles if whistle.stops)
        assert truth.possessions[-1].end_ms <= last <= truth.length_ms - 2_900
        assert not truth.periods[0].whole

"""Somebody who sees the picture alone can agree with the truth: room, setters, pull-outs, flows, cuts, shots.

Places are looked at in excerpts of many seeds, those of the two films that come with the program among them.
"""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from sample_data.filmed import SETTER_TAKES, FilmedAttack, following_shares
from sample_data.plays import PLAYS, to_side
from sample_data.rates import FREE, SETTER_NEXT, TrueRates
from sample_data.room import COVERED_M, FREE_M
from sample_data.sim import simulate_excerpt
from sample_data.truth import Truth
from tests.counts import cases
from tests.sample_data.shown import FPS, RULES, Excerpt, excerpt
from tests.sample_data.test_committed import FILMS

N_SEEDS = cases(6, many=20)
N_TRUTHS = cases(24, many=60)
RATES = TrueRates()


@pytest.fixture(scope="module")
def excerpts() -> list[Excerpt]:
    wanted = [(seed, 90.0, "Millrace", 1) for seed in range(N_SEEDS)]
    wanted += [(one.seed, one.seconds, one.opponent, one.period) for one in FILMS.values()]
    return [excerpt(*one) for one in wanted]


@pytest.fixture(scope="module")
def truths() -> list[Truth]:
    return [simulate_excerpt(seed, 150, "Quarry Hill").truth for seed in range(N_TRUTHS)]


def test_a_second_after_contact_who_came_free_has_room_and_nobody_else_at_the_screen(excerpts: list[Excerpt]) -> None:
    seen: Counter[str] = Counter()
    for one in excerpts:
        for screen, at_ms in one.judged():
            seen[screen.free] += 1
            free = {"user": screen.user, "setter": screen.setter}.get(screen.free)
            for number in (screen.user, screen.setter):
                room_m = one.room_m((screen.team, number), at_ms)
                if number == free:
                    assert room_m >= FREE_M, screen
                else:
                    assert room_m <= COVERED_M, screen
    assert set(seen) >= set(FREE) - {"illegal", "third_man"}
    assert sum(seen.values()) > 2 * N_SEEDS


def test_who_came_free_has_the_most_room_of_all_five(excerpts: list[Excerpt]) -> None:
    """Man-up apart, where somebody has no checker at all."""
    for one in excerpts:
        for screen, at_ms in one.judged():
            runners = one.on_floor(screen.team, at_ms)
            if len(one.on_floor("theirs" if screen.team == "ours" else "ours", at_ms)) < 5:
                continue
            rooms = {who[1]: one.room_m(who, at_ms) for who in runners}
            most = max(rooms, key=lambda number: rooms[number])
            if screen.free == "nobody":
                assert rooms[most] < FREE_M, screen
            elif screen.free == "third_man":
                assert most not in (screen.user, screen.setter) and rooms[most] >= FREE_M, screen
            else:
                assert most == {"user": screen.user, "setter": screen.setter}[screen.free], screen
            assert screen.free == "nobody" or sorted(rooms.values())[-2] < FREE_M, screen


def test_a_checker_who_holds_his_man_stands_on_the_side_of_the_goal(excerpts: list[Excerpt]) -> None:
    sides = []
    for one in excerpts:
        for screen, at_ms in one.judged():
            if screen.free != "nobody":
                continue
            for number in (screen.user, screen.setter):
                man = one.at((screen.team, number), at_ms)
                other = "theirs" if screen.team == "ours" else "ours"
                near = min(
                    (one.at(who, at_ms) for who in one.on_floor(other, at_ms)),
                    key=lambda place: float(np.hypot(place[0] - man[0], place[1] - man[1])),
                )
                sides.append(one.from_goal_m(near, screen.possession) < one.from_goal_m(man, screen.possession))
    assert np.mean(sides) > 0.95


def test_the_setter_does_what_the_truth_says_he_did(excerpts: list[Excerpt]) -> None:
    for one in excerpts:
        for screen, at_ms in one.judged():
            who = (screen.team, screen.setter)
            before, after = one.at(who, screen.at_ms), one.at(who, at_ms)
            leaves = (
                range(screen.at_ms - 600, screen.at_ms + 1, 40) if screen.setter_next == "slipped" else [screen.at_ms]
            )
            out_m = max(one.from_goal_m(one.at(who, at), screen.possession) for at in leaves)
            nearer_m = out_m - one.from_goal_m(after, screen.possession)
            went_m = float(np.hypot(before[0] - after[0], before[1] - after[1]))
            if screen.setter_next in ("rolled", "slipped"):
                assert nearer_m > 0.8, screen
            elif screen.setter_next == "popped":
                assert nearer_m < 0.3 and went_m > 0.9, screen
            else:
                assert went_m < 1.3, screen


def test_a_look_to_the_setter_comes_only_when_he_rolled_popped_or_slipped_for_it(truths: list[Truth]) -> None:
    tried = 0
    for truth in truths:
        last = {screen.run: screen for screen in truth.screens}
        for run in truth.runs:
            wanted = SETTER_TAKES.get(run.set or "", {}).get(run.look or "")
            if wanted and run.id in last:
                tried += 1
                assert last[run.id].setter_next == wanted, run
    assert tried > 8


@pytest.mark.parametrize("rates", [*RATES.even, *RATES.man_up], ids=lambda rates: f"{rates.code}-{len(rates.looks)}")
def test_over_all_looks_the_setter_s_shares_are_the_true_ones(rates) -> None:  # type: ignore[no-untyped-def]
    total: Counter[str] = Counter()
    for look, share in rates.looks.items():
        shares = following_shares(rates.code, look, rates.looks)
        for what, p in shares.items():
            total[what] += share * p / sum(shares.values())
    for what, p in SETTER_NEXT[rates.code].items():
        assert total[what] == pytest.approx(p)


def test_a_pull_out_takes_the_ball_back_over_the_restraining_line(excerpts: list[Excerpt]) -> None:
    line_m = RULES.goal_x_m - RULES.restraining_from_centre_m
    seen = 0
    for one in excerpts:
        for run in one.made.truth.runs:
            if run.ended == "pull_out":
                seen += 1
                assert one.out_m(run.end_ms, run.possession) > line_m, run
                assert one.out_m(run.end_ms, run.possession) - one.out_m(run.end_ms - 2000, run.possession) > 2.5, run
    assert seen > 5


def test_when_a_run_flows_into_the_next_the_ball_does_not_go_out(excerpts: list[Excerpt]) -> None:
    seen = 0
    for one in excerpts:
        runs = {(run.possession, run.order): run for run in one.made.truth.runs}
        contact = {screen.run: screen.at_ms for screen in reversed(one.made.truth.screens)}
        for run in one.made.truth.runs:
            after = runs.get((run.possession, run.order + 1))
            if run.ended != "flowed" or after is None:
                continue
            seen += 1
            until = contact.get(after.id, after.start_ms + 2000)
            before_m = one.out_m(run.end_ms, run.possession)
            outs = [one.out_m(at, run.possession) for at in range(run.end_ms, min(until, after.end_ms), 1000 // FPS)]
            assert max(outs) - before_m < 2.2, run
    assert seen > 0


def test_the_others_cuts_have_no_screen_and_their_off_ball_actions_have(truths: list[Truth]) -> None:
    screened: Counter[str] = Counter()
    runs: Counter[str] = Counter()
    for truth in truths:
        with_screen = {screen.run for screen in truth.screens}
        for run in truth.runs:
            if run.phase == "family" and run.set:
                runs[run.set] += 1
                screened[run.set] += run.id in with_screen
    assert runs["cut"] > 5 and screened["cut"] == 0
    assert runs["off_ball"] > 5 and screened["off_ball"] / runs["off_ball"] > 0.75


def test_a_shot_is_in_the_air_long_enough_to_be_seen_and_ends_where_its_result_says(
    excerpts: list[Excerpt],
) -> None:
    post_m = RULES.goal_width_m / 2
    for one in excerpts:
        for flight in one.moved.flights:
            if flight.result == "blocked":
                continue
            assert flight.to_s - flight.from_s >= FilmedAttack.least_flight_s - 1e-6
            end = min(len(one.moved.ball_m) - 1, round(flight.to_s * FPS) + (2 if flight.result == "goal" else 0))
            x, y = np.abs(one.moved.ball_m[end, :2])
            if flight.result == "goal":
                assert x > RULES.goal_x_m and y < post_m
            elif flight.result == "post":
                assert x == pytest.approx(RULES.goal_x_m, abs=0.5) and y == pytest.approx(post_m, abs=0.5)
            elif flight.result == "saved":
                assert x < RULES.goal_x_m and y < 1.4


def test_excerpts_free_at_the_true_rates(truths: list[Truth]) -> None:
    """Nothing that is done for the picture changes how often somebody comes free."""
    n, hits, p = 0, 0, 0.0
    for truth in truths:
        frees = {screen.run: screen.free for screen in truth.screens}
        for run in truth.runs:
            if run.team == "ours" and run.phase == "set" and run.strength == "5v5":
                n += 1
                hits += frees.get(run.id, "nobody") not in ("nobody", "illegal")
                p += RATES.of(run.set or "").p_free
    p /= n
    assert n > 2.5 * N_TRUTHS
    assert abs(hits / n - p) < 4 * (p * (1 - p) / n) ** 0.5


def test_a_set_that_never_comes_to_its_screen_is_seen_to_begin(excerpts: list[Excerpt]) -> None:
    """The screener comes up, and turns back before anybody could take it for a screen."""
    seen = 0
    for one in excerpts:
        screened = {screen.run for screen in one.made.truth.screens}
        for run in one.made.truth.runs:
            if run.phase != "set" or run.id in screened:
                continue
            pick = PLAYS[run.set or ""].pick
            if not {pick.setter, pick.user} <= set(run.roles):
                continue
            seen += 1
            out, left = to_side(pick.place, run.side or "left")
            sign = one.attacks(run.possession)
            place = (sign * (RULES.goal_x_m - out), sign * left)
            times = range(run.start_ms, run.end_ms, 1000 // FPS)
            setter = [one.at((run.team, run.roles[pick.setter]), at_ms) for at_ms in times]
            far = np.array([np.hypot(x - place[0], y - place[1]) for x, y in setter])
            come_m = max(float(far[:k].max() - far[k]) for k in range(1, len(far)))
            assert come_m > 1.0, run
    assert seen >= min(3, N_SEEDS / 6)

"""Motion that people could make: speeds, the ball with its holder, shots from where their shooters stand."""

from __future__ import annotations

import numpy as np
import pytest

from sample_data.drawn.draw import Film
from sample_data.drawn.motion import move, place_of
from sample_data.sim import simulate_excerpt
from sample_data.truth import Truth
from tagger.floor.rules import floor_rules

RULES = floor_rules("canadian")


def frame_of(film: Film, at_ms: int) -> int:
    return round(at_ms / 1000 * film.look.fps)


def test_nobody_is_faster_than_a_sprinting_youth_and_nobody_jumps(film: Film) -> None:
    for track in film.moved.tracks:
        speed = np.hypot(*np.diff(track.place_m, axis=0).T) * film.look.fps
        assert len(speed) == 0 or speed.max() < 8.5


def test_everybody_stays_inside_the_boards(film: Film) -> None:
    for track in film.moved.tracks:
        assert np.abs(track.place_m[:, 0]).max() <= RULES.length_m / 2
        assert np.abs(track.place_m[:, 1]).max() <= RULES.width_m / 2


def test_the_ball_is_with_its_holder(film: Film) -> None:
    seen = 0
    for frame, who in enumerate(film.moved.holder):
        if who is not None:
            here = place_of(film.moved, who, frame)
            assert here is not None
            assert np.hypot(*(film.moved.ball_m[frame, :2] - here)) < 2.5
            seen += 1
    assert seen > 100


def test_five_runners_and_a_goalkeeper_a_side_when_nobody_is_in_the_box(film: Film, truth: Truth) -> None:
    for possession in truth.possessions:
        if possession.strength == "5v5":
            frame = frame_of(film, possession.end_ms)
            for team in ("ours", "theirs"):
                on = [track for track in film.moved.tracks if track.who[0] == team and track.at(frame) is not None]
                assert len(on) == 6
                assert sum(track.goal != 0 for track in on) == 1


def test_shots_are_written_where_the_shooter_stands(film: Film, truth: Truth) -> None:
    attacks = {possession.id: possession.attacks for possession in truth.possessions}
    assert truth.shots
    for shot in truth.shots:
        frame = frame_of(film, shot.at_ms)
        here = place_of(film.moved, (shot.team, shot.shooter), frame)
        assert here is not None
        assert (shot.x_m, shot.y_m) == pytest.approx(np.array(here) * attacks[shot.possession], abs=0.011)
        holders = film.moved.holder[max(0, frame - 2) : frame + 1]
        assert (shot.team, shot.shooter) in holders
        assert np.hypot(RULES.goal_x_m - shot.x_m, shot.y_m) > RULES.crease_radius_m - 0.4


def test_screens_bring_setter_and_user_together_and_settled_tops_stand_nine_to_ten_metres_out() -> None:
    apart, tops = [], []
    for seed in (1, 2):
        made = simulate_excerpt(seed, 90, "Millrace")
        moved = move(made.script, RULES, {}, 90, 25, seed)
        for screen in made.truth.screens:
            a = place_of(moved, (screen.team, screen.setter), round(screen.at_ms / 40))
            b = place_of(moved, (screen.team, screen.user), round(screen.at_ms / 40))
            assert a is not None and b is not None
            apart.append(np.hypot(a[0] - b[0], a[1] - b[1]))
        for possession in made.truth.possessions:
            if possession.settled_ms is not None and possession.strength == "5v5":
                frame = round(possession.settled_ms / 40)
                out = sorted(
                    RULES.goal_x_m - possession.attacks * here[0]
                    for track in moved.tracks
                    if track.who[0] == possession.team and not track.goal and (here := track.at(frame)) is not None
                )
                tops.append(out[3])
    assert np.median(apart) < 1.3
    assert 8.5 < np.median(tops) < 10.5


def test_the_frame_rate_changes_the_sampling_and_nothing_else() -> None:
    made = simulate_excerpt(4, 30, "Millrace")
    slow, quick = (move(made.script, RULES, {}, 30, fps, 4) for fps in (25, 50))
    assert slow.ball_m == pytest.approx(quick.ball_m[::2], abs=1e-9)
    assert [track.who for track in slow.tracks] == [track.who for track in quick.tracks]

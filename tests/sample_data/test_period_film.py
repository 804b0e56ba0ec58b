"""The period that is on film whole: cut out of its game, nothing of it missing, and the rest of the game as it was."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from sample_data.drawn.film import FilmOptions, plan_film
from sample_data.errors import SampleOption
from sample_data.journals import HERE, ON_FILM, SEEDS, SampleGame, games, sample_game
from sample_data.period_film import begins, period_film, score_before
from sample_data.sim import AFTER_S, Simulated, simulate_game
from sample_data.truth import Truth, read_truth
from tagger.film.index import build_index
from tagger.film.still import still

NAME = "g8-larkspur-third-period.mp4"
OPTIONS = FilmOptions(
    seed=SEEDS["g8"], seconds=2400, width_px=768, height_px=432, fps=12.5, opponent="Larkspur", period=3, home=False,
    crf=33, take=ON_FILM["g8"].take,
)  # fmt: skip


@pytest.fixture(scope="module")
def game() -> Simulated:
    return simulate_game(SEEDS["g8"], "Larkspur", on_film=ON_FILM["g8"])


@pytest.fixture(scope="module")
def told() -> Truth:
    return read_truth((HERE / "film" / NAME).with_suffix(".truth.json.gz"))


@pytest.fixture(scope="module")
def sample() -> SampleGame:
    return sample_game(next(about for about in games() if about["film"] == NAME))


def test_the_periods_before_it_are_those_of_the_game_without_film(game: Simulated) -> None:
    plain = simulate_game(SEEDS["g8"], "Larkspur").truth
    until = begins(game.truth, 3)
    for table in ("possessions", "runs", "shots", "screens", "whistles", "penalties"):
        ours, theirs = ([row for row in getattr(truth, table) if _when(row) < until] for truth in (game.truth, plain))
        assert len(ours) > 3 and ours == theirs, table


def _when(row: object) -> int:
    return int(next(getattr(row, name) for name in ("at_ms", "drawn_ms", "start_ms") if hasattr(row, name)))


def test_the_film_holds_the_whole_period_with_its_dead_time(game: Simulated, told: Truth) -> None:
    made = period_film(game, 3, OPTIONS.seconds).truth
    for table in ("periods", "possessions", "runs", "screens", "whistles", "penalties", "face_offs", "grades", "lines"):
        assert getattr(told, table) == getattr(made, table), table
    [period] = told.periods
    assert period.whole and told.length_ms - period.end_ms == AFTER_S * 1000
    assert 10_000 < period.start_ms < 15_000
    inside = [shot for shot in game.truth.shots if shot.at_ms >= begins(game.truth, 3)]
    assert [shot.id for shot in told.shots] == [shot.id for shot in inside] and len(inside) > 20
    stops = [whistle for whistle in told.whistles if whistle.stops]
    assert len(stops) > 10 and told.clocks[-1].left_s == pytest.approx(0, abs=0.02)
    dead_ms = period.end_ms - period.start_ms - 15 * 60_000
    assert dead_ms > 4 * 60_000, "fifteen minutes of play, and what lies between"
    assert sum(game.truth.score()) == sum(score_before(game.truth, 3)) + sum(told.score())


def test_what_its_marks_say_is_in_the_picture_at_their_moments(told: Truth, sample: SampleGame) -> None:
    """By the places of all frames: a shooter has the ball, who loses it is near, who screens is at whom he frees."""
    assert told.film is not None and sample.index is not None
    film = told.film
    assert film["n_frames"] == sample.index.n_frames == len(film["ball"]["x_cm"])
    who = np.array([None] * film["n_frames"], dtype=object)
    spans = [*film["ball"]["holder"], [film["n_frames"], None, None]]
    for (first, team, number), (after, _, _) in pairwise(spans):
        who[first:after] = [(team, number)] * (after - first)

    def at(team: str, number: str, frame: int) -> tuple[float, float]:
        for stint in film["stints"]:
            k = frame - stint["from_frame"]
            if (stint["team"], stint["number"]) == (team, number) and 0 <= k < len(stint["x_cm"]):
                return stint["x_cm"][k] / 100, stint["y_cm"][k] / 100
        raise LookupError((team, number, frame))

    marks = [entry for entry in sample.entries() if entry.film == sample.film_id]
    assert len(marks) > 300
    frame_of = {int(ms): k for k, ms in enumerate(sample.index.all_ms())}
    team_of = {round(run.end_ms / 80): run.team for run in told.runs}
    seen = {"shot": 0, "screen": 0, "turnover": 0}
    apart = []
    for entry in marks:
        frame = frame_of[entry.at_ms]  # every mark lies on a frame
        if entry.kind == "shot":
            shooter = (team_of[frame], entry.answers["shooter"])
            assert shooter in who[max(0, frame - 2) : frame + 1].tolist(), entry
        elif entry.kind == "screen":
            [screen] = [one for one in told.screens if abs(one.at_ms - entry.at_ms) <= 40]
            a, b = (at(screen.team, number, frame) for number in (screen.setter, screen.user))
            apart.append(float(np.hypot(a[0] - b[0], a[1] - b[1])))
        elif entry.kind == "turnover" and entry.answers["kind"] in ("bad_pass", "stripped", "dropped"):
            x, y = at(team_of[frame], entry.answers["player"], frame)
            off_m = float(np.hypot(film["ball"]["x_cm"][frame] / 100 - x, film["ball"]["y_cm"][frame] / 100 - y))
            assert off_m < 2, entry
        seen[entry.kind] = seen.get(entry.kind, 0) + 1
    assert seen["shot"] == len(told.shots) and seen["screen"] == len(told.screens) and seen["turnover"] > 5
    assert np.median(apart) < 1.3 and max(apart) < 2.0


def test_the_file_is_small_and_what_its_seed_draws(told: Truth) -> None:
    """Its first twenty seconds are played out anew; across processors the last digit of a place may differ."""
    path = HERE / "film" / NAME
    assert path.stat().st_size <= 25_000_000
    _, film = plan_film(replace(OPTIONS, seconds=20.0))
    assert told.film is not None
    tracks = {(*track.who, track.from_frame): track for track in film.moved.tracks}
    checked = 0
    for stint in told.film["stints"]:
        track = tracks.get((stint["team"], stint["number"], stint["from_frame"]))
        if track is not None:
            n = min(len(track.place_m), 230 - stint["from_frame"])
            assert np.abs(np.array(stint["x_cm"][:n]) - 100 * track.place_m[:n, 0]).max() <= 2
            checked += n
    assert checked > 12 * 120
    index = build_index(path)
    assert np.diff(np.flatnonzero(index.key)).max() <= 25, "seeking decodes two seconds at most"
    off = still(path, index, 220).astype(float) - film.frame(220)[..., ::-1]
    assert 10 * np.log10(255**2 / float((off**2).mean())) > 26


def test_only_the_last_period_can_be_filmed_whole() -> None:
    with pytest.raises(SampleOption, match="--period is 1; give 3 with --take"):
        replace(OPTIONS, period=1)

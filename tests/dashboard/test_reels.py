"""Reels: the right clips, the right frames (read back from the picture), and nobody's without consent."""

import pytest

from dashboard.choosing import Wanted, chosen
from dashboard.errors import NothingToCut
from dashboard.reels import cut_all, cut_reel, frames_between, set_code
from tests.film.maker import read_numbers


def test_a_players_reel_holds_exactly_his_frames(season, tmp_path):
    target = tmp_path / "reels" / "14.mp4"
    done = cut_reel(season, Wanted(player="14"), target)
    assert done.reel is not None and done.reel.path == target
    # 3.000 to 11.500 s and 21.000 to 29.500 s at 25 frames a second: frames 75 to 287 and 525 to 737
    assert read_numbers(target) == [*range(75, 288), *range(525, 738)]
    assert "14 Elias Brandvold, 2 clips, 1 of 3 without film" in done.told


def test_a_sets_reel_holds_its_runs_only(season, tmp_path):
    done = cut_reel(season, Wanted(play="lantern", game="g1"), tmp_path / "lantern.mp4")
    assert done.reel is not None
    assert [part.end_frame - part.start_frame for part in done.reel.parts] == [213, 213]


def test_a_player_in_a_set_is_both(present):
    assert len(chosen(present.now(), Wanted(player="14", play="lantern"))) == 3
    assert len(chosen(present.now(), Wanted(player="31", play="lantern"))) == 0
    assert len(chosen(present.now(), Wanted(player="14", game="g2"))) == 1


def test_a_feeder_and_a_setter_have_a_part(present):
    assert len(chosen(present.now(), Wanted(player="22"))) == 1


def test_without_consent_no_reel_unless_it_is_said_to_be_there(season, tmp_path):
    roster = season.folder / "roster.csv"
    text = roster.read_text(encoding="utf-8")
    roster.write_text(text.replace("Elias Brandvold,R,corner,yes", "Elias Brandvold,R,corner,no"), encoding="utf-8")
    with pytest.raises(NothingToCut, match="no consent"):
        cut_reel(season, Wanted(player="14"), tmp_path / "14.mp4")
    assert not (tmp_path / "14.mp4").exists()
    assert cut_reel(season, Wanted(player="14"), tmp_path / "14.mp4", consent=False).reel is not None


@pytest.mark.parametrize(
    ("wanted", "why"),
    [
        (Wanted(player="99"), "no player 99 on the roster"),
        (Wanted(player="31"), "none with film here"),
        (Wanted(player="2"), "nothing is tagged"),
    ],
)
def test_what_can_not_be_cut_is_said_and_nothing_is_written(season, tmp_path, wanted, why):
    with pytest.raises(NothingToCut, match=why):
        cut_reel(season, wanted, tmp_path / "x.mp4")
    assert list(tmp_path.glob("*.mp4*")) == []


def test_all_players_get_their_own(season, tmp_path):
    done = cut_all(season, tmp_path / "all", game="g1")
    assert sorted(path.name for path in (tmp_path / "all").iterdir()) == ["14.mp4", "22.mp4", "7.mp4"]
    assert len(done) == len(season.texts.roster)


def test_a_set_is_found_by_code_or_name(season):
    assert set_code(season, "Lantern") == set_code(season, "lantern") == "lantern"
    with pytest.raises(NothingToCut, match="no set “nix”"):
        set_code(season, "nix")


def test_the_frames_of_a_span_are_those_whose_time_lies_in_it(season):
    index = season.shelf.indexes.of(season.shelf.films("g1")[0].id)
    assert frames_between(index, 0, 40) == (0, 1)
    assert frames_between(index, 1, 41) == (1, 2)
    assert frames_between(index, 0, 10**9) == (0, index.n_frames)

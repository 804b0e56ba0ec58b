"""The season's texts agree with each other and with the plays that the simulation runs."""

from __future__ import annotations

import tomllib
from pathlib import Path

from sample_data.journals import games
from sample_data.plays import CHECKPOINTS, PLAYS
from sample_data.rates import SETTER_NEXT, TrueRates
from sample_data.squad import SEASON, herons, opponents
from tagger.texts.folder import read_texts


def test_plays_have_the_playbook_s_roles_looks_and_checkpoints() -> None:
    playbook = tomllib.loads((SEASON / "playbook.toml").read_text(encoding="utf-8"))["set"]
    assert len(playbook) == 6
    for told in playbook:
        play = PLAYS[told["code"]]
        assert list(play.places) == [role["code"] for role in told["role"]]
        assert [look.code for look in play.looks] == [look["code"] for look in told["look"]]
        assert list(CHECKPOINTS[told["code"]]) == [checkpoint["code"] for checkpoint in told["checkpoint"]]
        rates = TrueRates().of(told["code"], told["strength"])
        assert list(rates.looks) == [look["code"] for look in told["look"]]
        assert set(SETTER_NEXT[told["code"]]) <= set(play.pick.setter_next)


def test_eighteen_runners_and_two_goalkeepers_of_both_hands_two_without_consent() -> None:
    roster = read_texts(SEASON).roster
    runners = [player for player in roster if player.position != "goal"]
    assert (len(runners), len(roster)) == (18, 20)
    assert {player.shoots for player in runners} == {"L", "R"}
    assert sum(not player.consent for player in roster) == 2
    assert any(len(player.number) == 1 for player in roster) and any(player.number == "00" for player in roster)


def test_everybody_in_a_five_is_on_the_roster() -> None:
    squad = herons()
    assert {number for five in squad.fives for number in five} <= set(squad.people)
    assert all(len(set(five)) == 5 for five in squad.fives)
    assert set(squad.goalies) == {"30", "35"}


def test_right_handers_run_the_left_side() -> None:
    squad = herons()
    roles = squad.roles(squad.fives[0], PLAYS["lantern"], "left")
    assert squad.people[roles["wick"]].shoots == "R"
    assert squad.people[roles["moth"]].shoots == "L"
    mirrored = squad.roles(squad.fives[0], PLAYS["lantern"], "right")
    assert squad.people[mirrored["wick"]].shoots == "L"


def test_eight_games_two_with_an_excerpt_on_film_and_the_last_with_a_period() -> None:
    told = games()
    assert [game["id"] for game in told] == [f"g{n}" for n in range(1, 9)]
    assert [game["date"] for game in told] == sorted(game["date"] for game in told)
    filmed = [game for game in told if game["film"]]
    assert [game["id"] for game in filmed] == ["g1", "g2", "g8"] and all(game["excerpt"] for game in filmed)
    folder = Path(SEASON).parent / "film"
    sizes = [(folder / game["film"]).stat().st_size for game in filmed]
    assert sum(sizes[:2]) <= 20_000_000 and sizes[2] <= 25_000_000


def test_opponents_are_the_same_every_time_and_differ_by_name() -> None:
    assert opponents("Millrace", 1) == opponents("Millrace", 1)
    assert opponents("Millrace", 1).people != opponents("Fernbank", 1).people
    assert all(len(set(five)) == 5 for five in opponents("Ropewalk", 1).fives)

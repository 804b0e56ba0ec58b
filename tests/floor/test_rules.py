"""The floor by rule code, against the published lengths in feet and inches."""

import pytest

from tagger.floor.errors import FloorError, UnknownRules
from tagger.floor.rules import floor_rules, rule_codes


def test_the_professional_floor_has_its_published_size():
    """60.96 x 25.91 m, crease 2.82 m, goal line 3.66 m from the boards: NLL pages as quoted in the sources."""
    rules = floor_rules("nll")
    assert round(rules.length_m, 2) == 60.96
    assert round(rules.width_m, 2) == 25.91
    assert round(rules.crease_radius_m, 2) == 2.82
    assert round(rules.goal_line_to_boards_m, 2) == 3.66
    assert (rules.n_periods, rules.period_min, rules.shot_clock_s) == (4, 15, 30)


def test_the_canadian_floor_lies_in_the_published_range():
    """180-200 x 80-90 ft, goal 4'0" x 4'0" inside, three periods, of 12 to 20 minutes where minors play."""
    rules = floor_rules("canadian")
    assert 180 * 0.3048 <= rules.length_m <= 200 * 0.3048
    assert 80 * 0.3048 <= rules.width_m <= 90 * 0.3048
    assert rules.goal_width_m == rules.goal_height_m == pytest.approx(1.2192)
    assert rules.n_periods == 3 and 12 <= rules.period_min <= 20


@pytest.mark.parametrize("code", rule_codes())
def test_settled_tops_stand_nearer_to_the_goal_than_the_restraining_line(code):
    rules = floor_rules(code)
    for to_goal in (9.0, 10.0):
        assert rules.restraining_from_centre_m < rules.goal_x_m - to_goal


def test_an_unknown_code_is_told_what_would_be_known():
    with pytest.raises(UnknownRules, match='"moon" is not known; set rule_code to one of canadian, nll') as caught:
        floor_rules("moon")
    assert isinstance(caught.value, FloorError)
    assert isinstance(caught.value, KeyError)

"""The season's question file and the analysis that answers it name the same measures and columns."""

import pytest

from analysis.outcome import FACTS
from analysis.stated import RUN_COLUMNS, SCREEN_COLUMNS, SCREEN_FACTS, Comparison
from tagger.texts import stated


def test_measures_and_columns_are_the_same_on_both_sides() -> None:
    assert tuple(stated.RUN_MEASURES) == FACTS
    assert tuple(stated.SCREEN_MEASURES) == SCREEN_FACTS
    assert tuple(stated.RUN_COLUMNS) == RUN_COLUMNS
    assert tuple(stated.SCREEN_COLUMNS) == SCREEN_COLUMNS


@pytest.mark.parametrize("measure", [*FACTS, *SCREEN_FACTS])
def test_every_question_that_can_be_stated_can_be_answered(measure: str) -> None:
    columns = stated.SCREEN_COLUMNS if measure in stated.SCREEN_MEASURES else stated.RUN_COLUMNS
    for column in columns:
        said = stated.StatedQuestion("Does it?", measure, {column: "left"}, {column: "right"})
        asked = Comparison(said.text, said.measure, said.one, said.other)
        assert asked.of_screens == said.of_screens

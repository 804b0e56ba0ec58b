"""What can be marked at less detail than is looked for."""

from __future__ import annotations

from tests.marks.test_floor import play, table


def test_a_grade_at_the_basic_detail_has_its_row_and_is_not_looked_for() -> None:
    found = play("B d 1 a R 2 2 Enter 1 u H h a n", level="basic")
    assert table(found, "grades", "player", "grade") == [("22", "plus")]
    assert table(found, "lines", "team", "unit") == [("theirs", "first")]
    [detail] = found.rows["detail"]
    assert detail["level"] == "basic" and not {"grade", "line"} & set(detail["looks_for"].split())

"""The counting core against a table library's grouping."""

from __future__ import annotations

import numpy as np
import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.codes import among, coded, codes_of, known, places, words
from analysis.groups import group
from tests.analysis.invented import season

_WORDS = st.lists(
    st.tuples(st.sampled_from(["a", "b", "Z", None]), st.sampled_from(["left", "right", None])), max_size=40
)


def _columns(rows: list[tuple[str | None, str | None]]) -> tuple[pd.Series, pd.Series]:
    return (
        pd.Series(pd.array([first for first, _ in rows], dtype="string")),
        pd.Series(pd.array([second for _, second in rows], dtype="string")),
    )


@settings(deadline=None)
@given(_WORDS)
def test_groups_count_as_pandas_counts(rows: list[tuple[str | None, str | None]]) -> None:
    first, second = _columns(rows)
    found = group({"first": first, "second": second})
    plain = (
        pd.DataFrame({"first": first, "second": second}).groupby(["first", "second"], dropna=False, sort=True).size()
    )
    labels = [tuple(None if pd.isna(word) else word for word in key) for key in plain.index]
    assert list(zip(found.labels["first"], found.labels["second"], strict=True)) == labels
    assert found.count().tolist() == plain.tolist()


@settings(deadline=None)
@given(_WORDS)
def test_categories_and_text_give_the_same_groups(rows: list[tuple[str | None, str | None]]) -> None:
    first, second = _columns(rows)
    text = group({"first": first, "second": second})
    category = group({"first": first.astype("category"), "second": second.astype("category")})
    assert text.labels == category.labels
    np.testing.assert_array_equal(text.codes, category.codes)


@settings(deadline=None)
@given(_WORDS, st.integers(0, 2**32 - 1))
def test_ids_of_the_groups_are_all_ids_once_and_in_order(rows: list[tuple[str | None, str | None]], seed: int) -> None:
    first, second = _columns(rows)
    which = np.random.default_rng(seed).random(len(rows)) < 0.5
    ids = np.array([f"m{place}" for place in range(len(rows))], dtype=object)
    found = group({"first": first, "second": second})
    for place, held in enumerate(found.ids(ids, which)):
        assert held == tuple(ids[which & (found.codes == place)])
        assert len(held) == found.count(which)[place]


def test_groups_that_were_asked_for_are_there_with_no_rows() -> None:
    column = pd.Series(pd.array(["b"], dtype="string"))
    found = group({"set": column}, also=[("a",), ("c",), (None,)])
    assert found.labels["set"] == ["a", "b", "c", None]
    assert found.count().tolist() == [0, 1, 0, 0]


def test_a_wide_space_of_combinations_is_grouped_all_the_same() -> None:
    rng = np.random.default_rng(3)
    columns = {name: pd.Series(rng.integers(0, 5000, 300)).astype("Int64") for name in "abc"}
    found = group(columns)
    assert found.size == len(pd.DataFrame(columns).drop_duplicates())
    assert found.count().sum() == 300


def test_numbers_that_are_text_stay_text() -> None:
    codes, values = codes_of(pd.Series(pd.array(["00", "0", None], dtype="string")))
    assert values == ["0", "00"] and codes.tolist() == [1, 0, -1]


def test_skipped_unseen_and_none_are_three_things() -> None:
    column = pd.Series(pd.array(["7", "none", "unseen", None], dtype="string"))
    for given_column in (column, column.astype("category")):
        assert known(given_column).tolist() == [True, True, False, False]
        assert among(given_column, ("none",)).tolist() == [False, True, False, False]
        assert words(given_column).tolist() == ["7", "none", "unseen", ""]


def test_places_are_found_by_id_and_unknown_ids_stand_nowhere() -> None:
    ids = pd.Series(pd.array(["x", "y"], dtype="string"))
    wanted = pd.Series(pd.array(["y", None, "z", "x"], dtype="string"))
    assert places(ids, wanted).tolist() == [1, -1, -1, 0]
    assert places(ids, wanted.astype("category")).tolist() == [1, -1, -1, 0]


def test_coding_tables_leaves_the_given_ones_as_they_are() -> None:
    tables = season(1, n_games=1, n_possessions=6)
    before = {name: frame.copy() for name, frame in tables.items()}
    made = coded(tables)
    assert isinstance(made["runs"]["set"].dtype, pd.CategoricalDtype)
    assert isinstance(made["shots"]["id"].dtype, pd.StringDtype)
    assert made["runs"]["id"].cat.categories is made["shots"]["run"].cat.categories
    for column, table in (("run", "runs"), ("possession", "possessions")):
        for name in ("shots", "screens", "turnovers"):
            plain = places(tables[table]["id"], tables[name][column])
            assert places(made[table]["id"], made[name][column]).tolist() == plain.tolist()
    for name, frame in tables.items():
        pd.testing.assert_frame_equal(frame, before[name])

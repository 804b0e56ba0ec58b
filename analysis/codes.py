"""Whole numbers in place of words: the core that all counting stands on.

Every text column becomes an array of small whole numbers with the list of what they stand for; several columns
become one number per group. Counting is then `numpy.bincount`, which costs a fraction of a table library's grouping.
Ids travel as positions and are turned into tuples only for the groups that are shown.

A column may be text ("string") or already a category; `coded` makes the latter of whole tables once, after loading, and
then every later question is answered without looking at a word again.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

if TYPE_CHECKING:
    from numpy.typing import NDArray

MISSING = -1
_FREE_TEXT = frozenset({"text", "players", "looks_for"})


def coded(tables: Mapping[str, pd.DataFrame]) -> dict[str, pd.DataFrame]:
    """Turn the repeated words of whole tables into categories; every function of the analysis takes either.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables as `tagger.tables.frames` makes them.

    Returns
    -------
    dict of str to DataFrame
        The same tables with text columns as categories, save free text. Ids of runs and possessions share their
        categories with the columns that name them, so that looking one up is arithmetic; a name of a row that is not
        there becomes missing. The given tables are not changed.
    """
    refers = {(name, column): _referred(name, column) for name, frame in tables.items() for column in frame.columns}
    kinds = {}
    for kind in ("runs", "possessions"):
        named = [tables[name][column] for (name, column), to in refers.items() if to == kind]
        kinds[kind] = pd.CategoricalDtype(pd.Index(pd.unique(pd.concat(named).dropna()), dtype="object"))
    made = {}
    for name, frame in tables.items():
        put: dict[str, Any] = {}
        for column in frame.columns:
            to = refers[name, column]
            if not isinstance(frame[column].dtype, pd.StringDtype) or column in _FREE_TEXT:
                continue
            if to is not None:
                put[column] = frame[column].astype(kinds[to])
            elif column != "id":
                put[column] = frame[column].astype("category")
        made[name] = frame.assign(**put)
    return made


def _referred(table: str, column: str) -> str | None:
    """Name the table whose rows a column names."""
    if column == "id":
        return table if table in {"runs", "possessions"} else None
    return {"run": "runs", "parent": "runs", "possession": "possessions"}.get(column)


def codes_of(column: pd.Series) -> tuple[NDArray[np.intp], list[Any]]:
    """Give every value of a column a whole number.

    Parameters
    ----------
    column : Series
        Text, category or whole numbers.

    Returns
    -------
    tuple of (intp array, list)
        One code per row, −1 where missing, and what the codes stand for, sorted.
    """
    codes, values = small_codes(column)
    return codes.astype(np.intp, copy=False), values


def small_codes(column: pd.Series) -> tuple[NDArray[Any], list[Any]]:
    """Give every value a whole number, in as few bytes as the column already uses."""
    if isinstance(column.dtype, pd.CategoricalDtype):
        raw, values = column.cat.codes.to_numpy(), column.cat.categories.tolist()
    else:
        raw, uniques = pd.factorize(column.array)
        values = list(uniques)
    order = sorted(range(len(values)), key=values.__getitem__)
    if order == list(range(len(values))):
        return raw, values
    new_of_old = np.empty(len(values) + 1, dtype=raw.dtype)
    new_of_old[order] = np.arange(len(values))
    new_of_old[-1] = MISSING
    return new_of_old[raw], [values[old] for old in order]


def among(column: pd.Series, wanted: Collection[Any]) -> NDArray[np.bool_]:
    """Say of every row whether its value is one of those wanted; a missing value never is.

    Parameters
    ----------
    column : Series
        Text, category or whole numbers.
    wanted : collection
        The values.

    Returns
    -------
    bool array
        One per row.
    """
    if isinstance(column.dtype, pd.CategoricalDtype):
        table = np.array([word in wanted for word in column.cat.categories] + [False], dtype=bool)
        return table[column.cat.codes.to_numpy()]
    return column.isin(list(wanted)).to_numpy(dtype=bool, na_value=False)


def known(column: pd.Series, *, unseen: str = "unseen") -> NDArray[np.bool_]:
    """Say of every row whether its question was answered: neither skipped nor "can't see".

    Parameters
    ----------
    column : Series
        Text or category.
    unseen : str
        The code of "can't see".

    Returns
    -------
    bool array
        One per row.
    """
    return column.notna().to_numpy(dtype=bool) & ~among(column, (unseen,))


def words(column: pd.Series) -> NDArray[np.object_]:
    """Return a text column as plain words, "" where missing.

    Parameters
    ----------
    column : Series
        Text or category.

    Returns
    -------
    object array
        One str per row.
    """
    if isinstance(column.dtype, pd.CategoricalDtype):
        table = np.array([*column.cat.categories.tolist(), ""], dtype=object)
        return table[column.cat.codes.to_numpy()]
    return column.to_numpy(dtype=object, na_value="")


def whole(column: pd.Series, missing: int = MISSING) -> NDArray[np.int64]:
    """Return a column of whole numbers as int64.

    Parameters
    ----------
    column : Series
        "Int64".
    missing : int
        Put where there is no number.

    Returns
    -------
    int64 array
        One per row.
    """
    return column.to_numpy(dtype=np.int64, na_value=missing)


def places(ids: pd.Series, wanted: pd.Series) -> NDArray[np.intp]:
    """Find where each wanted id stands.

    Parameters
    ----------
    ids : Series
        Ids that occur once each.
    wanted : Series
        Ids to look for; may be missing or unknown.

    Returns
    -------
    intp array
        For each wanted id its row in `ids`, −1 when it is missing or not there.
    """
    if _share_categories(ids, wanted):
        place_of = np.full(len(ids.cat.categories) + 1, MISSING, dtype=np.intp)
        place_of[ids.cat.codes.to_numpy()] = np.arange(len(ids))
        place_of[-1] = MISSING
        return place_of[wanted.cat.codes.to_numpy()]
    at = {word: place for place, word in enumerate(words(ids).tolist())}
    at.pop("", None)
    if isinstance(wanted.dtype, pd.CategoricalDtype):
        table = np.array([at.get(word, MISSING) for word in wanted.cat.categories] + [MISSING], dtype=np.intp)
        return table[wanted.cat.codes.to_numpy()]
    get = at.get
    return np.array([get(word, MISSING) for word in words(wanted).tolist()], dtype=np.intp)


def _share_categories(ids: pd.Series, wanted: pd.Series) -> bool:
    both = isinstance(ids.dtype, pd.CategoricalDtype) and isinstance(wanted.dtype, pd.CategoricalDtype)
    return both and ids.cat.categories is wanted.cat.categories

"""How many runners stand against how many: classes of strength, so that power play never stands beside 5-on-5."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

if TYPE_CHECKING:
    from collections.abc import Iterable

EVEN = "even"
UP = "up"
DOWN = "down"
EMPTY_NET = "empty_net"
CLASSES = (EVEN, UP, DOWN, EMPTY_NET)
_EXACT = re.compile(r"(\d)(e?)v(\d)(e?)")


def class_of(strength: str) -> str | None:
    """Name the class of one strength, seen from the team with the ball.

    Parameters
    ----------
    strength : str
        As "5v4": runners of the team with the ball, runners of the others, "e" after a side with an empty net.

    Returns
    -------
    str or None
        "even", "up" (power play), "down" (short-handed), "empty_net" (a goalkeeper is out, whichever); None for what is
        no strength.

    Examples
    --------
    >>> class_of("5v4"), class_of("4v4"), class_of("6ev5")
    ('up', 'even', 'empty_net')
    """
    found = _EXACT.fullmatch(strength)
    if found is None:
        return None
    own, own_empty, other, other_empty = found.groups()
    if own_empty or other_empty:
        return EMPTY_NET
    return EVEN if own == other else (UP if own > other else DOWN)


def classes(column: pd.Series) -> pd.Series:
    """Turn a column of strengths into one of classes.

    Parameters
    ----------
    column : Series
        Text or category.

    Returns
    -------
    Series
        "category" over `CLASSES`, same index; missing where the strength is.
    """
    as_category = column if isinstance(column.dtype, pd.CategoricalDtype) else column.astype("category")
    code_of = {name: code for code, name in enumerate(CLASSES)}
    table = [code_of.get(class_of(word) or "", -1) for word in as_category.cat.categories]
    codes = np.array([*table, -1], dtype=np.int64)[as_category.cat.codes.to_numpy()]
    return pd.Series(pd.Categorical.from_codes(codes, categories=pd.Index(CLASSES)), index=column.index)


def matching(column: pd.Series, wanted: Iterable[str]) -> set[str]:
    """Find which strengths of a column are meant by classes and exact strengths.

    Parameters
    ----------
    column : Series
        Text or category.
    wanted : iterable of str
        Classes or exact strengths.

    Returns
    -------
    set of str
        Exact strengths that occur.
    """
    asked = set(wanted)
    return {word for word in column.dropna().unique().tolist() if word in asked or class_of(word) in asked}


def is_strength(word: str) -> bool:
    """Say whether a word is a class or an exact strength.

    Parameters
    ----------
    word : str
        As "even" or "5v4".

    Returns
    -------
    bool
        True if it is.
    """
    return word in CLASSES or _EXACT.fullmatch(word) is not None

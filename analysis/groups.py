"""Rows of event tables put into groups by whole numbers, and what is counted of each group."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis.codes import MISSING, codes_of, small_codes

if TYPE_CHECKING:
    from numpy.typing import NDArray


@dataclass(frozen=True)
class Games:
    """Which game each row is of.

    Attributes
    ----------
    codes : intp array
        The number of each row's game, from 0.
    size : int
        How many there are, one more for rows of no known game.
    """

    codes: NDArray[np.intp]
    size: int

    def of(self, rows: NDArray[Any]) -> Games:
        """Return the games of other rows.

        Parameters
        ----------
        rows : int or bool array
            Places of these rows, −1 for none (of no known game), or which are kept.

        Returns
        -------
        Games
            Of them, numbered alike.
        """
        if rows.dtype == bool:
            return Games(self.codes[rows], self.size)
        return Games(np.append(self.codes, self.size - 1)[rows], self.size)


def games_of(frame: pd.DataFrame) -> Games:
    """Number the games of the rows of an event table.

    Parameters
    ----------
    frame : DataFrame
        With a column `game`.

    Returns
    -------
    Games
        One per row.
    """
    codes, values = codes_of(frame["game"])
    return Games(np.where(codes < 0, len(values), codes), len(values) + 1)


def games_alike(frames: Mapping[str, pd.DataFrame]) -> dict[str, Games]:
    """Number the games of several event tables alike.

    Parameters
    ----------
    frames : mapping of str to DataFrame
        Each with a column `game`.

    Returns
    -------
    dict of str to Games
        One for each table, by its name.
    """
    one = games_of(pd.DataFrame({"game": pd.concat([frame["game"].astype("string") for frame in frames.values()])}))
    made, start = {}, 0
    for name, frame in frames.items():
        made[name] = one.of(np.arange(start, start + len(frame)))
        start += len(frame)
    return made


@dataclass(frozen=True)
class Groups:
    """Rows put into groups by whole numbers.

    Attributes
    ----------
    codes : intp array
        The group of each row, −1 where it is in none.
    labels : dict of str to list
        What the groups stand for: per column, one value per group, None where missing. Groups are in sorted order,
        missing values last.
    size : int
        How many groups there are.
    """

    codes: NDArray[np.intp]
    labels: dict[str, list[Any]]
    size: int

    def count(self, which: NDArray[np.bool_] | None = None) -> NDArray[np.int64]:
        """Count rows per group, all of them or those that are marked.

        Parameters
        ----------
        which : bool array, optional
            One per row.

        Returns
        -------
        int64 array
            One per group.
        """
        codes = self.codes if which is None else self.codes[which]
        if codes.min(initial=0) < 0:
            codes = codes[codes >= 0]
        return np.bincount(codes, minlength=self.size).astype(np.int64, copy=False)

    def cells(self, game: Games, which: NDArray[np.bool_] | None = None) -> NDArray[np.int64]:
        """Count rows per group and game, all of them or those that are marked.

        Parameters
        ----------
        game : Games
            The game of each row.
        which : bool array, optional
            One per row.

        Returns
        -------
        int64 array of shape (groups, games)
            What bounds of rates are made from; a row of no known game has the last column to itself.
        """
        return self.by_game(game).count(which).reshape(self.size, game.size)

    def by_game(self, game: Games) -> Groups:
        """Part every group by game.

        Parameters
        ----------
        game : Games
            The game of each row.

        Returns
        -------
        Groups
            As many for each group as there are games, in order; without labels.
        """
        codes = np.where(self.codes >= 0, self.codes * game.size + game.codes, MISSING)
        return Groups(codes, {}, self.size * game.size)

    def ordered(self, order: Sequence[int]) -> Groups:
        """Put the groups in another order.

        Parameters
        ----------
        order : sequence of int
            Every group once, in the order wanted.

        Returns
        -------
        Groups
            The same groups.
        """
        new_of_old = np.empty(self.size + 1, dtype=np.intp)
        new_of_old[list(order)] = np.arange(self.size)
        new_of_old[-1] = MISSING
        labels = {name: [values[row] for row in order] for name, values in self.labels.items()}
        return Groups(new_of_old[self.codes], labels, self.size)

    def only(self, codes: NDArray[np.intp]) -> Groups:
        """Return the same groups for other rows.

        Parameters
        ----------
        codes : intp array
            The group of each of the other rows, −1 for none.

        Returns
        -------
        Groups
            With these rows.
        """
        return Groups(codes, self.labels, self.size)

    def counts(self, which: Mapping[str, NDArray[np.bool_]]) -> dict[str, NDArray[np.int64]]:
        """Count several kinds of marked rows per group in one pass.

        Parameters
        ----------
        which : mapping of str to bool array
            Name → one per row; at most eight.

        Returns
        -------
        dict of str to int64 array
            Name → one per group; and under "" all rows per group.

        Notes
        -----
        The marks of a row are the bits of one number beside its group; the counts of all patterns are then added up
        by bit.
        """
        pattern = np.zeros(len(self.codes), dtype=np.uint8)
        for bit, marked in enumerate(which.values()):
            pattern |= marked.view(np.uint8) << np.uint8(bit)
        n_patterns = 1 << len(which)
        cell = self.codes * n_patterns
        cell += pattern
        if cell.min(initial=0) < 0:
            cell = cell[self.codes >= 0]
        cells = np.bincount(cell, minlength=self.size * n_patterns).reshape(self.size, n_patterns)
        bits = np.arange(n_patterns)
        made = {name: cells[:, (bits >> bit) & 1 == 1].sum(axis=1) for bit, name in enumerate(which)}
        return made | {"": cells.sum(axis=1)}

    def total(self, values: NDArray[Any]) -> NDArray[np.float64]:
        """Add values up per group.

        Parameters
        ----------
        values : array
            One number per row.

        Returns
        -------
        float64 array
            One per group.
        """
        sums = np.bincount(self.codes + 1, weights=values, minlength=self.size + 1)[1:]
        return sums.astype(np.float64, copy=False)

    def ids(self, ids: NDArray[np.object_], which: NDArray[np.bool_] | None = None) -> NDArray[np.object_]:
        """Gather ids per group, in the order of the rows.

        Parameters
        ----------
        ids : object array
            One per row.
        which : bool array, optional
            The rows that count.

        Returns
        -------
        object array
            One tuple of ids per group.
        """
        rows = self.codes >= 0 if which is None else which & (self.codes >= 0)
        at = np.flatnonzero(rows)
        codes = self.codes[at]
        narrow = codes.astype(np.int16) if self.size < 2**15 else codes  # numpy sorts these by radix
        order = at[np.argsort(narrow, kind="stable")]
        ends = np.cumsum(np.bincount(codes, minlength=self.size))
        sorted_ids = ids[order].tolist()
        made = np.empty(self.size, dtype=object)
        start = 0
        for group, end in enumerate(ends.tolist()):
            made[group] = tuple(sorted_ids[start:end])
            start = end
        return made


def group(columns: Mapping[str, pd.Series], *, also: Sequence[tuple[Any, ...]] = ()) -> Groups:
    """Put rows into groups by the values of one or several columns.

    Parameters
    ----------
    columns : mapping of str to Series
        The columns to group by; a missing value is a value of its own.
    also : sequence of tuple
        Groups (values in the order of the columns) that shall be there even if no row falls in them.

    Returns
    -------
    Groups
        One group for each combination that occurs, in sorted order.
    """
    words_of: list[list[Any]] = []
    joint: NDArray[np.intp] | None = None
    width = 1
    for place, column in enumerate(columns.values()):
        codes, values = small_codes(column)
        extra = {key[place] for key in also if key[place] is not None} - set(values)
        if extra:
            merged = sorted([*values, *extra])
            at = {word: new for new, word in enumerate(merged)}
            moved = np.array([at[word] for word in values] + [MISSING], dtype=np.intp)
            codes, values = moved[codes], merged
        if codes.min(initial=0) < 0:  # missing comes last
            codes = np.where(codes < 0, np.array(len(values), dtype=np.min_scalar_type(-len(values) - 1)), codes)
        words_of.append(values)
        if joint is None:
            joint = codes.astype(np.intp)
        else:
            joint *= len(values) + 1
            joint += codes
        width *= len(values) + 1
    if joint is None:
        joint = np.zeros(0, dtype=np.intp)
    wanted = [_joint_of(key, words_of) for key in also]
    if width <= max(4 * len(joint), 4096):
        there = np.bincount(joint, minlength=width) > 0
        there[wanted] = True
        cells = np.flatnonzero(there)
        if len(cells) < width:
            new_of_old = np.empty(width, dtype=np.intp)
            new_of_old[cells] = np.arange(len(cells))
            joint = new_of_old[joint]
    else:
        cells = np.union1d(np.unique(joint), np.array(wanted, dtype=np.intp))
        joint = np.searchsorted(cells, joint)
    labels: dict[str, list[Any]] = {}
    rest = cells.copy()
    for name, values in reversed(list(zip(columns, words_of, strict=True))):
        rest, own = np.divmod(rest, len(values) + 1)
        choices = [*values, None]
        labels[name] = [choices[code] for code in own.tolist()]
    return Groups(joint, {name: labels[name] for name in columns}, len(cells))


def _joint_of(key: tuple[Any, ...], words_of: list[list[Any]]) -> int:
    joint = 0
    for word, values in zip(key, words_of, strict=True):
        joint = joint * (len(values) + 1) + (len(values) if word is None else values.index(word))
    return joint

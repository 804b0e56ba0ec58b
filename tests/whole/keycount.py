"""Counting keys: what each mark of a typed book took, and what each try and each possession took.

Every press counts, Enter and digits too; Shift held for a capital is part of that press and counted apart; the words of
a note are writing and counted apart. A possession is

against   theirs;
messy     ours with a second chance, or with a set that flowed into the next one;
clean     ours otherwise, and then counted try by try: a try is a run that a set or freelance names, or what was pulled
          out or lost before one was named, with all keys since the try before, so the first bears the possession's
          opening too;
ended     those of the clean ones that came to a shot, a lost ball or a whistle, without those pulled out or broken.

Periods, clock readings, face-offs, loose balls, penalties, strength, lines, goalkeepers, grades and notes belong to no
try: they are in the keys of the game, by kind.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from tagger.marks.fold import Folded
from tests.whole.typist import Typed

PLAY = (
    *("possession", "settled", "set", "freelance", "family", "transition", "screen", "shot", "turnover", "pull_out"),
    *("broken", "look", "whistle"),
)
CLASSES = ("clean", "ended", "messy", "against")


@dataclass(frozen=True)
class Counted:
    """The keys of one typed book.

    Attributes
    ----------
    by_kind : mapping of str to int
        Presses by kind of mark.
    by_class : mapping of str to list of int
        Presses of each clean try, of each of them that ended, each messy possession, each possession against.
    by_mark : tuple of int
        Presses of each mark.
    n_shift, n_written : int
        Presses with Shift among them; letters written into notes, which are not among them.
    """

    by_kind: Mapping[str, int]
    by_class: Mapping[str, list[int]]
    by_mark: tuple[int, ...]
    n_shift: int
    n_written: int

    @property
    def total(self) -> int:
        """All presses."""
        return sum(self.by_mark)


def count(tables: Folded, typed: Sequence[Typed]) -> Counted:
    """Count a book's keys.

    Parameters
    ----------
    tables : Folded
        The book as the fold sees it; its log is in the order of `typed`.
    typed : sequence of Typed
        The strokes of each mark.

    Returns
    -------
    Counted
        A book without a possession of a class has an empty list for it.
    """
    by_mark = tuple(len(one.strokes) for one in typed)  # of a text, the Enter that ends it
    by_kind: dict[str, int] = defaultdict(int)
    teams = {row["id"]: row["team"] for row in tables.rows["possessions"]}
    tries = _tries(tables)
    messy = _messy(tables)
    ended = {row["id"] for row in tables.rows["runs"] if row["ended"] in ("shot", "turnover", "whistle")}
    found: dict[str, dict[str, int]] = {name: defaultdict(int) for name in CLASSES}
    for line, n in zip(tables.log, by_mark, strict=True):
        by_kind[line.mark.kind] += n
        if line.mark.kind not in PLAY or line.possession is None:
            continue
        if teams[line.possession] == "theirs":
            found["against"][line.possession] += n
        elif line.possession in messy:
            found["messy"][line.possession] += n
        else:
            found["clean"][tries.get(line.run or "", line.possession)] += n
    found["ended"] = {run: n for run, n in found["clean"].items() if run in ended}
    return Counted(
        dict(by_kind),
        {name: list(each.values()) for name, each in found.items()},
        by_mark,
        sum(_shifted(stroke) for one in typed for stroke in one.strokes),
        sum(len(stroke) - 1 for one in typed for stroke in one.strokes if _written(stroke)),
    )


def _tries(tables: Folded) -> dict[str, str]:
    """Run → the try that bears it: itself, or for what came before the possession settled the run after it."""
    after: dict[str, str] = {}
    rows = tables.rows["runs"]
    for place, row in enumerate(rows):
        onward = rows[place + 1] if place + 1 < len(rows) else None
        waits = row["ended"] == "settled" and onward is not None and onward["possession"] == row["possession"]
        after[row["id"]] = onward["id"] if waits and onward is not None else row["id"]
    return after


def _messy(tables: Folded) -> set[str]:
    return {
        row["possession"] for row in tables.rows["runs"] if row["phase"] == "second_chance" or row["ended"] == "flowed"
    }


def _written(stroke: str) -> bool:
    return stroke.startswith("=") and len(stroke) > 1


def _shifted(stroke: str) -> bool:
    return stroke.startswith("Shift+") or (len(stroke) == 1 and stroke.isupper())


def shares(counts: Iterable[Counted], name: str) -> list[int]:
    """The presses of a class over several books."""
    return [n for one in counts for n in one.by_class[name]]

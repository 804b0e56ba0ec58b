"""What was tagged before the question was stated: that was there to be looked at, and counts as explored.

A mark's time is the one that the tagger's clock said. A statement of which only the day is known leaves open which of
that day's marks came first; one whose file was edited by hand since, whether any of its marks came after; and a mark
without a time leaves open everything. All three are told apart from what is known.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tagger.marks.putback import wall_of

if TYPE_CHECKING:
    import datetime

    from dashboard.loading import Present
    from tagger.texts.stated import StatedQuestion

BEFORE, OPEN, SINCE = "before", "open", "since"


@dataclass(frozen=True)
class Explored:
    """Rows by whether they were tagged before a statement.

    Attributes
    ----------
    before : tuple of str
        With a mark from before it.
    unclear : tuple of str
        Of the others, with a mark of the very day where no more than the day of the statement is known, without a mark
        that says its time, or with any mark where the question was edited by hand since.
    since : tuple of str
        All whose marks are known to be later.
    """

    before: tuple[str, ...] = ()
    unclear: tuple[str, ...] = ()
    since: tuple[str, ...] = ()


def explored(present: Present, table: str, ids: Iterable[str]) -> Explored:
    """Tell rows tagged before the statement from those tagged since.

    Parameters
    ----------
    present : Present
        The season.
    table : str
        Event table of the rows.
    ids : iterable of str
        The rows that the answer is counted from.

    Returns
    -------
    Explored
        Each row once, in their order; nothing where no question is stated.
    """
    moment = present.now()
    question = moment.stated_question
    if question is None:
        return Explored()
    made: dict[str, Mapping[str, str]] = {}
    rows = moment.rows(table)
    found: dict[str, list[str]] = {BEFORE: [], OPEN: [], SINCE: []}
    for id_ in ids:
        game = str(rows[id_]["game"])
        if game not in made:
            entries, _ = present.season.journal.entries(game, present.season.tagged.chosen_book(game))
            made[game] = {entry.id: _when(wall_of(entry), question) for entry in entries}
        said = {made[game].get(mark, OPEN) for mark in rows[id_]["marks"]} or {OPEN}
        found[next(each for each in (BEFORE, OPEN, SINCE) if each in said)].append(id_)
    return Explored(*(tuple(found[each]) for each in (BEFORE, OPEN, SINCE)))


def _when(wall: datetime.datetime | None, question: StatedQuestion) -> str:
    """When a mark was made, beside the statement."""
    if wall is None:
        return OPEN
    if question.at is not None:
        return BEFORE if wall < question.at else OPEN if question.edited else SINCE
    day = wall.astimezone().date()
    return BEFORE if day < question.stated else OPEN if question.edited or day == question.stated else SINCE

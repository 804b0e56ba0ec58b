"""What was tagged before the question was stated: that was there to be looked at, and counts as explored.

A mark's day is the one that the tagger's clock said; a mark without a day counts as made after, and so does one made on
the day of the statement itself.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from tagger.marks.putback import wall_of

if TYPE_CHECKING:
    from dashboard.loading import Present


def explored(present: Present, table: str, ids: Iterable[str]) -> tuple[str, ...]:
    """The rows with a mark from before the day of the statement.

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
    tuple of str
        Of these, in their order; none where no question is stated.
    """
    moment = present.now()
    if moment.stated_question is None:
        return ()
    day = moment.stated_question.stated
    made: dict[str, set[str]] = {}
    rows = moment.rows(table)
    found = []
    for id_ in ids:
        game = str(rows[id_]["game"])
        if game not in made:
            entries, _ = present.season.journal.entries(game, present.season.tagged.chosen_book(game))
            days = {entry.id: wall.date() for entry in entries if (wall := wall_of(entry)) is not None}
            made[game] = {id_ for id_, when in days.items() if when < day}
        if made[game].intersection(rows[id_]["marks"]):
            found.append(id_)
    return tuple(found)

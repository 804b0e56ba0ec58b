"""From one mark to its own row in an event table, by what its kind says of the table."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from tagger.marks.between import two_of
from tagger.marks.resolve import Mark
from tagger.marks.traits import BALL
from tagger.marks.vocabulary import Language
from tagger.tables import NONE

_NAMED = re.compile(r"#(\d{1,2})(?!\d)")


@dataclass(frozen=True)
class Form:
    """How the marks of one kind become rows.

    Attributes
    ----------
    table : str
        Where.
    columns : frozenset of str
        All of the table's.
    of_ball : bool
        Whether the row is of the team that has the ball; else of whom the mark says.
    flags : tuple of str
        Columns that say whether the answer is yes.
    places, clocks, texts : tuple of str
        Questions of these types: they stand in `x_m` and `y_m`, in `clock_s`, and give the `players` named in them.
    none_with : tuple of (str, str)
        A question, and the one whose "none" is its own, too.
    two : tuple of str
        Questions for a number that can lie between two: those stand in `unsure`.
    """

    table: str
    columns: frozenset[str]
    of_ball: bool
    flags: tuple[str, ...]
    places: tuple[str, ...]
    clocks: tuple[str, ...]
    texts: tuple[str, ...]
    none_with: tuple[tuple[str, str], ...]
    two: tuple[str, ...]


def forms_of(language: Language) -> dict[str, Form]:
    """The forms of all kinds that have a table of their own.

    Parameters
    ----------
    language : Language
        The vocabulary.

    Returns
    -------
    dict of str to Form
        Kind code → its form.
    """
    made = {}
    for code, traits in language.traits.items():
        if traits.table:
            columns = language.tables[traits.table]
            names = frozenset(column.name for column in columns)
            kind = language.kinds[code]
            made[code] = Form(
                traits.table,
                names,
                traits.team == BALL,
                flags=tuple(column.name for column in columns if column.kind == "flag"),
                places=_of_type(kind, "place"),
                clocks=_of_type(kind, "clock"),
                texts=_of_type(kind, "text") if "players" in names else (),
                none_with=tuple((one["code"], one["none_with"]) for one in kind["questions"] if "none_with" in one),
                two=tuple(one["code"] for one in kind["questions"] if one.get("two") and "unsure" in names),
            )
    return made


def _of_type(kind: Mapping[str, Any], type_: str) -> tuple[str, ...]:
    return tuple(question["code"] for question in kind["questions"] if question["type"] == type_)


def event_row(
    form: Form,
    mark: Mark,
    at_ms: int,
    *,
    period: int | None,
    possession: str | None,
    run: str | None,
    team: str | None,
    strength: str | None,
) -> dict[str, Any]:
    """The row of a mark whose kind has a table of its own.

    Parameters
    ----------
    form : Form
        Its kind's.
    mark : Mark
        With cleaned answers.
    at_ms : int
        Its game time.
    period : int or None
        Number of the period.
    possession, run : str or None
        What it falls in.
    team, strength : str or None
        Whose ball it is, and the strength seen from that team.

    Returns
    -------
    dict
        The row, without game and book.
    """
    answers, wanted = mark.answers, form.columns
    row: dict[str, Any] = {name: value for name, value in answers.items() if name in wanted}
    row |= {
        "id": mark.id,
        "possession": possession,
        "run": run,
        "period": period,
        "at_ms": at_ms,
        "marks": (mark.id,),
    }
    if form.of_ball:
        row["team"] = team
    if "strength" in wanted:
        row["strength"] = strength
    for name in form.places:
        place = answers.get(name)
        if isinstance(place, list):
            row["x_m"], row["y_m"] = float(place[0]), float(place[1])
    for name, other in form.none_with:
        if row.get(other) == NONE:
            row.setdefault(name, NONE)
    for name in form.flags:
        row[name] = answers.get(name) == "yes"
    for name in form.clocks:
        row["clock_s"] = answers.get(name)
    if unsure := [one for name in form.two for one in two_of(answers, name)]:
        row["unsure"] = " ".join(unsure)
    for name in form.texts:
        row["players"] = " ".join(dict.fromkeys(_NAMED.findall(str(row.get(name, ""))))) or None
    return row

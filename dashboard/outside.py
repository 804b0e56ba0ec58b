"""A moment of the season as it may be seen anywhere but on the laptop's own screen: numbers stand for names.

The roster keeps its numbers, and notes, sentences and problems say the number where they said the name.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from tagger.naming import Names, hidden_from, shown_roster

if TYPE_CHECKING:
    import pandas as pd

    from dashboard.moment import Moment
    from tagger.marks.fold import Folded, Logged
    from tagger.marks.vocabulary import Language
    from tagger.tables import Tables


def seen_outside(moment: Moment, to: str) -> Moment:
    """A moment without the names that may not go where it is seen.

    Parameters
    ----------
    moment : Moment
        As the laptop sees it.
    to : str
        FILE or DEVICE of `tagger.care`.

    Returns
    -------
    Moment
        Another one, with nothing of what was worked out from the first.
    """
    care = moment.settings.care
    names = hidden_from(moment.roster, care, to)
    question = moment.stated_question
    if question is not None:
        question = replace(question, text=names.without(question.text))
    return replace(
        moment,
        roster=shown_roster(moment.roster, care, to),
        problems=tuple(replace(one, text=names.without(one.text)) for one in moment.problems),
        folded={game: folded_outside(one, names, moment.language) for game, one in moment.folded.items()},
        tables=tables_outside(moment.tables, names, moment.language.tables),
        stated_question=question,
        earlier_questions=tuple(
            replace(each, question=replace(each.question, text=names.without(each.question.text)), as_written="")
            if each.question
            else replace(each, as_written="")
            for each in moment.earlier_questions
        ),
        to=to,
        _rows={},
        _kept={},
    )


def folded_outside(folded: Folded, names: Names, language: Language) -> Folded:
    """A book with numbers in place of names.

    Parameters
    ----------
    folded : Folded
        The book.
    names : Names
        What may not be said.
    language : Language
        The vocabulary: which marks and tables have people's own words in them.

    Returns
    -------
    Folded
        The same object where nothing in it names anybody.
    """
    written = {
        kind["code"]: codes
        for kind in language.data["kinds"]
        if (codes := [one["code"] for one in kind["questions"] if one["type"] == "text"])
    }
    log = tuple(
        replace(one, text=names.without(one.text), mark=replace(one.mark, answers=names.out_of(one.mark.answers)))
        if one.mark.kind in written and _named(names, one, written[one.mark.kind])
        else one
        for one in folded.log
    )
    rows = {
        table: [_without(names, columns, row) for row in folded.rows[table]]
        for table, columns in _free(language.tables)
    }
    problems = tuple(replace(one, text=names.without(one.text)) for one in folded.problems)
    if log == folded.log and problems == folded.problems and all(folded.rows[name] == rows[name] for name in rows):
        return folded
    return replace(folded, log=log, rows={**folded.rows, **rows}, problems=problems)


def tables_outside(tables: Mapping[str, pd.DataFrame], names: Names, shapes: Tables) -> dict[str, pd.DataFrame]:
    """Event tables with numbers in place of names, which stand in what people wrote and nowhere else.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables; not changed.
    names : Names
        What may not be said.
    shapes : mapping of str to tuple of Column
        Which tables there are.

    Returns
    -------
    dict of str to DataFrame
        All of them.
    """
    made = dict(tables)
    for table, columns in _free(shapes):
        held = tables[table]
        texts = {name: held[name].map(names.without, na_action="ignore").astype("string") for name in columns}
        made[table] = held.assign(**texts)
    return made


def lacking(moment: Moment) -> str:
    """Who of the roster has no consent on it, by number.

    Parameters
    ----------
    moment : Moment
        The season.

    Returns
    -------
    str
        A sentence; empty when everybody has.
    """
    numbers = [player.number for player in moment.roster if not player.consent]
    return f"No consent on the roster, so by number only: {', '.join(numbers)}." if numbers else ""


def unnamed(moment: Moment, to: str) -> str:
    """What was left unsaid of a season where it went, for the laptop that sent it there.

    Parameters
    ----------
    moment : Moment
        The season as the laptop sees it.
    to : str
        FILE or DEVICE of `tagger.care`.

    Returns
    -------
    str
        Sentences; empty when every name may go.
    """
    care = moment.settings.care
    without = [player for player in moment.roster if not player.consent]
    told = []
    if not care.names_outside and moment.roster:
        told.append("Numbers stand instead of names (season.toml, [care], names_outside).")
    if without:
        told.append(f"No consent on the roster: {', '.join(moment.called(player.number) for player in without)}.")
    return " ".join([*told, *notes_named(moment.folded.values(), hidden_from(moment.roster, care, to))])


def notes_named(books: Iterable[Folded], names: Names) -> list[str]:
    """How many notes name somebody who may not be named, and what was done with them.

    Parameters
    ----------
    books : iterable of Folded
        Where notes are looked for.
    names : Names
        Who may not be named.

    Returns
    -------
    list of str
        One sentence, or none.
    """
    n = sum(bool(row.get("text") and names.find(str(row["text"]))) for one in books for row in one.rows["notes"])
    if not n:
        return []
    return [
        "1 note names a player; his number stands there." if n == 1 else f"{n} notes name players; numbers stand there."
    ]


def _free(shapes: Tables) -> list[tuple[str, list[str]]]:
    """The tables with people's own words in them, each with the columns of these."""
    found = [(table, [column.name for column in columns if column.free]) for table, columns in shapes.items()]
    return [(table, columns) for table, columns in found if columns]


def _without(names: Names, columns: list[str], row: dict[str, Any]) -> dict[str, Any]:
    said = {name: names.without(row[name]) for name in columns if row.get(name)}
    return {**row, **said} if said else row


def _named(names: Names, one: Logged, questions: Iterable[str]) -> bool:
    return bool(names.find("\n".join((one.text, *(str(one.mark.answers.get(code, "")) for code in questions)))))

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
    from tagger.marks.fold import Folded


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
        folded={game: folded_outside(one, names) for game, one in moment.folded.items()},
        tables=tables_outside(moment.tables, names),
        stated_question=question,
        to=to,
        _rows={},
        _kept={},
    )


def folded_outside(folded: Folded, names: Names) -> Folded:
    """A book with numbers in place of names.

    Parameters
    ----------
    folded : Folded
        The book.
    names : Names
        What may not be said.

    Returns
    -------
    Folded
        The same object where its notes and problems name nobody.
    """
    log = tuple(
        replace(one, text=names.without(one.text), mark=replace(one.mark, answers=names.out_of(one.mark.answers)))
        if _written(one.mark.answers) and names.find(f"{one.text}\n{one.mark.answers['text']}")
        else one
        for one in folded.log
    )
    notes = [{**row, "text": names.without(row["text"])} if row.get("text") else row for row in folded.rows["notes"]]
    problems = tuple(replace(one, text=names.without(one.text)) for one in folded.problems)
    if log == folded.log and notes == folded.rows["notes"] and problems == folded.problems:
        return folded
    return replace(folded, log=log, rows={**folded.rows, "notes": notes}, problems=problems)


def tables_outside(tables: Mapping[str, pd.DataFrame], names: Names) -> dict[str, pd.DataFrame]:
    """Event tables with numbers in place of names, which stand in what notes say and nowhere else.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables; not changed.
    names : Names
        What may not be said.

    Returns
    -------
    dict of str to DataFrame
        All of them.
    """
    notes = tables["notes"]
    texts = notes["text"].map(names.without, na_action="ignore").astype("string")
    return {**tables, "notes": notes.assign(text=texts)}


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


def _written(answers: Any) -> bool:
    return isinstance(answers.get("text"), str)

"""When a question was stated, what was tagged before it, and which were stated before: a question asked again and again
until the answer suits is many questions."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.filters import number_word
from dashboard.pages.numbers import plays
from tagger.screen.opening import day_of

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from dashboard.explored import Explored
    from dashboard.loading import Filmed
    from dashboard.moment import Moment
    from tagger.texts.stated import StatedQuestion


def asked_when(moment: Moment) -> str:
    """When the question was stated, and how many were before it.

    Parameters
    ----------
    moment : Moment
        The season.

    Returns
    -------
    str
        A sentence or two; "" where none is stated.
    """
    question = moment.stated_question
    if question is None:
        return ""
    said = f"Stated on {_day_and_time(question)}; one comparison, fixed then."
    if question.edited:
        said = (
            f"Stated on {_day_and_time(question)}, and question.toml edited by hand since: what it asks now was not "
            "asked then. State it anew here."
        )
    n = len(moment.earlier_questions)
    if n:
        were = "one question was" if n == 1 else f"{number_word(n)} questions were"
        said += f" Before it {were} stated: of so many, one may come out by chance."
    return said


def _day_and_time(question: StatedQuestion) -> str:
    if question.at is None:
        return f"{day_of(question.stated.isoformat())}, at what time is not known"
    return f"{day_of(question.stated.isoformat())} at {question.at.astimezone():%H:%M}"


def earlier_questions(moment: Moment, measures: Mapping[str, str]) -> list[Component]:
    """What was stated before, with its times.

    Parameters
    ----------
    moment : Moment
        The season.
    measures : mapping of str to str
        What each measure says that a run or a screen does.

    Returns
    -------
    list of Component
        A folded list; none where nothing was.
    """
    lines = []
    for each in reversed(moment.earlier_questions):
        ended = each.ended.astimezone()
        until = f"until {day_of(ended.date().isoformat())} at {ended:%H:%M}"
        if each.question is not None:
            measure = measures[each.question.measure]
            lines.append(
                html.Li(
                    [
                        html.B(each.question.text),
                        " ",
                        html.Small(f"{measure}; from {_day_and_time(each.question)}, {until}"),
                    ]
                )
            )
        else:
            why = "One that could not be asked" if each.as_written else "One that was erased"
            lines.append(html.Li([html.B(why), " ", html.Small(until)]))
    if not lines:
        return []
    return [html.Details([html.Summary("Stated before"), html.Ul(lines)], className="more")]


def before_it(filmed: Filmed, of: str, known: Explored) -> list[Component]:
    """How much of what is compared was there to be looked at before the question was stated.

    Parameters
    ----------
    filmed : Filmed
        Which rows have film.
    of : str
        Their event table.
    known : Explored
        All rows compared.

    Returns
    -------
    list of Component
        Numbers that play, in a sentence each; none where all was tagged since.
    """
    n = len(known.before) + len(known.unclear) + len(known.since)
    made: list[Any] = []
    if known.before:
        told = plays(
            filmed, f"{len(known.before)} of {n}", of, known.before, f"Tagged before the question was stated, {of}"
        )
        part = "all of" if len(known.before) == n else "to that part"
        made += [" ", told, f" {of} compared were tagged before that: {part} this is explored, not asked beforehand."]
    if known.unclear:
        told = plays(filmed, f"{len(known.unclear)} of {n}", of, known.unclear, f"Tagged nobody knows when, {of}")
        made += [" ", told, f" {of} do not say whether they were tagged before it."]
    return [html.Span(made)] if made else []

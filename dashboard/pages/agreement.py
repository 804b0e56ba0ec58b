"""Two books of one game side by side: how far they see the same, and what to watch together."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from dash import dcc, html

from dashboard.pages.fold import fold
from dashboard.pages.games import may_tag
from dashboard.pages.names import blank
from dashboard.pages.numbers import plays, records, table
from dashboard.pages.two_books import NAMES, ONE, beside, moments_of, n_alone
from dashboard.story import film_time
from tagger.marks.endings import ending_name, phase_name
from tagger.screen.opening import title_of

if TYPE_CHECKING:
    import pandas as pd
    from dash.development.base_component import Component

    from dashboard.loading import Filmed, Present
    from dashboard.moment import Moment
    from tagger.marks.vocabulary import Language

_OTHER_KINDS = {"possessions": "possession", "runs": "set"}
"""Tables that are worked out, and what does that of which they tell."""
ASKED = {
    "free": "who came free",
    "feeder2": "second feeder",
    "look_open": "open, not taken",
    "setter_next": "what the setter did next",
    "ended": "how it ended",
    "phase": "what it was",
    "gained": "how it was gained",
}
_WORKED_OUT: dict[str, Callable[[Language, str], str]] = {"ended": ending_name, "phase": phase_name}
"""Columns that answer no question of a mark, and what says their codes in words."""
MOST = 200


def page(present: Present, of: str, chosen: Mapping[str, str]) -> list[Component]:
    """The page of two books.

    Parameters
    ----------
    present : Present
        The season.
    of : str
        The game's id.
    chosen : mapping of str to str
        `with`: the other book, the first beside the counted one when left out.

    Returns
    -------
    list of Component
        Empty when there is no such game.
    """
    moment = present.now()
    game = moment.game(of)
    if game is None:
        return []
    one = present.season.tagged.chosen_book(of)
    others = [book.name for book in present.season.journal.books(of) if book.name != one]
    top = [
        html.H1("Do two people see the same?"),
        html.P([dcc.Link(title_of(present.season, game), href=f"/games/{of}")], className="filter"),
    ]
    if not others:
        return [
            *top,
            html.P(
                [
                    f"There is only {one}’s book of this game. ",
                    *_how_to_begin(of),
                    "Then this page says where the two differ.",
                ]
            ),
        ]
    other = chosen.get("with") if chosen.get("with") in others else others[0]
    first, second = (present.season.tagged.tables([of], book=name) for name in (one, str(other)))
    filmed = present.filmed()
    more = [
        html.P([dcc.Link(f"with {name}’s book", href=f"/games/{of}/agreement?with={name}")], className="soft")
        for name in others
        if name != other
    ]
    rows = [row for row in _counted(first, second) if int(row["one"]) or int(row["other"])]
    both, apart = sum(int(row["paired"]) for row in rows), sum(n_alone(row) for row in rows)
    verdict = f"{both} of {both + apart} marks stand in both books." if rows else "Do two people see the same?"
    return [
        html.H1(verdict, className="verdict"),
        top[1],
        html.P(
            f"{one}’s book, which the numbers are counted from, beside {other}’s. Marks within 2 seconds of each other "
            "are taken for the same; the words in brackets are conventions, no verdict.",
            className="lede",
        ),
        *more,
        *beside(of, filmed, rows, (first, second), (one, str(other))),
        html.H2("What to watch together"),
        *_apart(moment, filmed, first, second, one, str(other)),
        fold("Whose ball was it?", _possession(first, second), [html.P(_KAPPA)], "ball"),
        fold(
            "The same events?",
            "kind by kind",
            [_marks(of, filmed, (first, second), (one, str(other)), rows), _limit()],
            "events",
        ),
        fold("The same answers?", "question by question", _answers(first, second), "answers"),
    ]


_KAPPA = "Beyond chance, 1 is always the same and 0 is as by chance."


def _counted(first: Mapping[str, pd.DataFrame], second: Mapping[str, pd.DataFrame]) -> list[dict[str, Any]]:
    from analysis.agreement import marks_agreed

    return records(marks_agreed(first, second))


def _possession(first: Mapping[str, pd.DataFrame], second: Mapping[str, pd.DataFrame]) -> str:
    from analysis.agreement import possession_agreed
    from analysis.stats.kappa import band

    if not len(first["possessions"]) or not len(second["possessions"]):
        return "One of the books has no possession yet."
    found = possession_agreed(first, second)
    if found.kappa != found.kappa:
        return f"The same in {round(found.agreed * 100)} of 100 seconds."
    beyond = f"beyond chance {found.kappa:.2f} ({band(found.kappa)})"
    return f"The same in {round(found.agreed * 100)} of 100 seconds; {beyond}."


def _marks(
    game: str,
    filmed: Filmed,
    books: Sequence[Mapping[str, pd.DataFrame]],
    names: Sequence[str],
    rows: Sequence[Mapping[str, Any]],
) -> Component:
    first, second = books
    one, other = names
    titles = ("Kind", one, other, "Both", f"Only {one}", f"Only {other}", "Agreement", "Counts differ by", "Apart")
    head = [html.Th(title, className="l" if place == 0 else None) for place, title in enumerate(titles)]
    lines = []
    for row in rows:
        name = NAMES[str(row["kind"])]
        alone = []
        for tables, ids, who in ((first, row["one_only_ids"], one), (second, row["other_only_ids"], other)):
            moments = moments_of(tables[str(row["kind"])], game, ids)
            alone.append(html.Td(plays(filmed, str(len(ids)), "moments", moments, f"{name} only in {who}’s book")))
        lines.append(
            html.Tr(
                [
                    html.Th(name, scope="row"),
                    *(html.Td(str(int(row[each]))) for each in ("one", "other", "paired")),
                    *alone,
                    html.Td("–" if blank(row["f"]) else f"{round(float(row['f']) * 100)} in 100"),
                    html.Td("–" if blank(row["error_percent"]) else f"{float(row['error_percent']):.0f} %"),
                    html.Td("–" if blank(row["apart_ms"]) else f"{float(row['apart_ms']) / 1000:.1f} s"),
                ]
            )
        )
    return table(head, lines, "grid")


def _limit() -> Component:
    from analysis.stats.kappa import USUAL_LIMIT_PERCENT

    said = (
        f"Counts that differ by {USUAL_LIMIT_PERCENT:g} % or less are usually taken as good enough, if they count the "
    )
    return html.P(f"{said}same events.", className="soft below")


def _answers(first: Mapping[str, pd.DataFrame], second: Mapping[str, pd.DataFrame]) -> list[Component]:
    """Question by question: those that differ first and open, those always answered alike folded."""
    from analysis.agreement import answers_agreed
    from analysis.stats.kappa import BANDS_NOTE

    rows = records(answers_agreed(first, second))
    if not rows:
        return [html.P("No event stands in both books with the same question answered.")]
    apart = [row for row in rows if float(row["agreed"]) < 1]
    alike = [row for row in rows if float(row["agreed"]) == 1]
    made: list[Component] = [_questions(apart)] if apart else []
    if alike:
        n = "1 question" if len(alike) == 1 else f"{len(alike)} questions"
        made.append(html.Details([html.Summary(f"{n} answered alike every time"), _questions(alike)], className="more"))
    return [
        *made,
        html.P(f"Beyond chance, in brackets: {BANDS_NOTE[:1].lower()}{BANDS_NOTE[1:]}", className="soft below"),
    ]


def _questions(rows: Sequence[Mapping[str, Any]]) -> Component:
    head = [html.Th(title, className="l") for title in ("Question", "Answered by both", "The same", "Beyond chance")]
    lines = []
    for row in rows:
        beyond = "–" if blank(row["kappa"]) else f"{float(row['kappa']):.2f} ({row['band']})"
        same = f"{round(float(row['agreed']) * int(row['both']))} of {int(row['both'])}"
        question = str(row["question"])
        lines.append(
            html.Tr(
                [
                    html.Th(
                        [ASKED.get(question, question).capitalize(), html.Small(NAMES[str(row["kind"])])], scope="row"
                    ),
                    html.Td(str(int(row["both"])), className="l"),
                    html.Td(same, className="l"),
                    html.Td(beyond, className="l"),
                ]
            )
        )
    return table(head, lines, "grid")


def _apart(
    moment: Moment,
    filmed: Filmed,
    first: Mapping[str, pd.DataFrame],
    second: Mapping[str, pd.DataFrame],
    one: str,
    other: str,
) -> list[Component]:
    from analysis.agreement import disagreements

    rows = records(disagreements(first, second))
    if not rows:
        return [html.P("Nothing: the two books say the same.")]
    lines = []
    for row in rows[:MOST]:
        kind, at_ms = str(row["kind"]), int(row["at_ms"])
        name = ONE[kind]
        if blank(row["question"]):
            who = one if not blank(row["one"]) else other
            said = f"{name}: only in {who}’s book"
        else:
            question = str(row["question"])
            said = (
                f"{name}, {ASKED.get(question, question)}: {one} says {_named(moment, kind, question, row['one'])}, "
                f"{other} {_named(moment, kind, question, row['other'])}"
            )
        time = f"film {film_time(at_ms)}"
        where = [f"{row['game']}@{at_ms}"]
        lines.append(html.Li([plays(filmed, time, "moments", where, said), html.Span(f" {said}")]))
    left = [] if len(rows) <= MOST else [html.P(f"{len(rows) - MOST} more.", className="soft")]
    n = "1 place" if len(rows) == 1 else f"{len(rows)} places"
    return [html.P(f"{n}, in order of time.", className="lede"), html.Ul(lines, className="lines"), *left]


def _how_to_begin(game: str) -> list[Any]:
    if not may_tag():
        return ["A second person tags the same film into his own. "]
    here = html.A("begin one here", href=f"/tag/{game}?book=second")
    return ["A second person tags the same film into his own: ", here, " and change its name in the address. "]


def _named(moment: Moment, kind: str, question: str, code: Any) -> str:
    if question == "set":
        return f"“{moment.name_of(str(code))}”"
    if question in _WORKED_OUT and not blank(code):
        return f"“{_WORKED_OUT[question](moment.language, str(code)) or code}”"
    of = next((code for code, traits in moment.language.traits.items() if traits.table == kind), "")
    asked = moment.language.question(_OTHER_KINDS.get(kind, of), question)
    named = {each["code"]: each["name"] for each in (asked or {}).get("choices") or () if "code" in each}
    return f"“{named.get(code, code)}”"

"""The question: stated before tagging, answered as one comparison; and apart from it, what the program noticed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.explored import explored
from dashboard.pages.ask import form
from dashboard.pages.asked_when import asked_when, before_it, earlier_questions
from dashboard.pages.axis import EACH, MOST_BESIDE, key_of_ticks, ticks
from dashboard.pages.deeds import kinds_of, legend, marks_of
from dashboard.pages.fold import fold
from dashboard.pages.found import findings_of, nothing_said, sides_of, stood_out
from dashboard.pages.names import STRENGTHS, blank
from dashboard.pages.numbers import bar, plays, rate_words, records, table
from tagger.screen.visitor import visitor

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.stated import Comparison
    from dashboard.loading import Filmed, Present
    from dashboard.moment import Moment

MEASURES = {
    "shot": "brings a shot",
    "on_goal": "brings a shot on goal",
    "goal": "brings a goal",
    "turnover": "loses the ball",
    "pull_out": "is pulled out",
    "penalty": "draws a penalty",
    "second_chance": "brings a second chance",
    "on_goal_any": "brings a shot on goal, second chances too",
    "goal_any": "brings a goal, second chances too",
    "turnover_any": "loses the ball, second chances too",
    "shot_10s": "brings a shot within 10 s of starting, once settled",
    "shot_20s": "brings a shot within 20 s of starting, once settled",
    "shot_30s": "brings a shot within 30 s of starting, once settled",
    "freed": "frees somebody",
    "user_free": "frees who used it",
    "setter_free": "frees who set it",
    "third_man_free": "frees a third man",
    "shot_after": "is followed by a shot in the run",
    "goal_after": "is followed by a goal in the run",
    "credited": "is followed by a shot the freed man had a part in",
}
MOST_NOTICED = 8
HAPPENED = {
    "shot": "with a shot",
    "turnover": "with a lost ball",
    "freed": "screens that freed somebody",
    "shot_against": "balls that went to them and brought a shot at once",
}
"""What came of what is compared, by the fact of `analysis.findings`."""
FIELDS = ("set", "side", "look", "kind", "coverage", "setter", "user", "setter_next")
"""What a side of the comparison can be narrowed by, as the form names it."""


def analysed(moment: Moment) -> Comparison | None:
    """The stated question as the analysis asks it.

    Parameters
    ----------
    moment : Moment
        The season.

    Returns
    -------
    Comparison or None
        Within our possessions at the strength that its set is meant for, even strength when it names none; None when
        none is stated.
    """
    from analysis.slice import Slice
    from analysis.stated import Comparison

    asked = moment.stated_question
    if asked is None:
        return None
    play = moment.playbook.by_code.get(asked.one.get("set", ""))
    ours, _, theirs = (play.strength if play else "5v5").partition("v")
    strength = "even" if ours == theirs else "up" if ours > theirs else "down"
    return Comparison(asked.text, asked.measure, asked.one, asked.other, Slice(team="ours", strengths=(strength,)))


def page(present: Present, of: str, chosen: Mapping[str, str]) -> list[Component]:
    """The question's page.

    Parameters
    ----------
    present : Present
        The season.
    of
        Not asked.
    chosen : mapping of str to str
        What a form that was refused held, with `fault`.

    Returns
    -------
    list of Component
        The page.
    """
    moment, filmed = present.now(), present.filmed()
    question = moment.stated_question
    fault = [html.P(chosen["fault"], className="fault", role="alert")] if chosen.get("fault") else []
    made: list[Component] = [html.H1(question.text if question else "What do you want to know?", className="verdict")]
    made += [html.P(WHY, className="lede"), html.H2("The answer", id="answer"), *_answer(present, moment, filmed)]
    if visitor().at_laptop:  # the coach's alone: another question changes what everybody's keys ask
        asks = [*fault, form(moment, chosen, MEASURES)]
        if question is None or fault:
            made += [html.H2("State a question" if question is None else "State another", id="state"), *asks]
        else:
            made.append(fold("State another?", "it takes the place of this one", asks, "state"))
    told, noticed = _noticed(moment, filmed)
    return [*made, fold("Noticed, not proven", told, noticed, "noticed")]


WHY = (
    "A question stated before tagging is tested once, and its answer can be leaned on. Stating one also makes tagging "
    "ask only what it needs."
)


def _answer(present: Present, moment: Moment, filmed: Filmed) -> list[Component]:
    question = analysed(moment)
    if question is None or moment.stated_question is None:
        how = " State it below, then tag; the answer stands here first." if visitor().at_laptop else ""
        return [html.P(f"No question is stated.{how}"), *earlier_questions(moment, MEASURES)]
    from analysis.fates import fates
    from analysis.stated import answer

    small_n = moment.settings.small_n
    [row] = moment.kept(("answer",), lambda: records(answer(moment.tables, question, small_n=small_n)))
    of = "screens" if question.of_screens else "runs"
    one = _which(moment, question.one, of)
    other = f"all other {of}" if question.other is None else _which(moment, question.other, of)
    known = explored(present, of, row["difference_ids"])
    sides = (("one", one), ("other", other))
    became = {str(run["id"]): str(run["fate"]) for run in records(fates(moment.tables))}
    lines = _lines(filmed, row, sides, of, became)
    since: list[Component] = []
    if known.before:
        rest = moment.kept(
            ("answer since",), lambda: records(answer(moment.tables, question, without=known.before, small_n=small_n))
        )[0]
        lines += _lines(filmed, rest, tuple((side, f"{name}, not tagged before it") for side, name in sides), of, None)
        if known.unclear or known.since:
            since = [html.Div(f"Without what was tagged before it was stated: {rest['said']}")]
    strength = STRENGTHS[(question.part.strengths or ("even",))[0]]
    counted = f"Counted, out of our {of} at {strength}: how often one {MEASURES[question.measure]}."
    said = plays(filmed, row["said"], of, row["difference_ids"], "The stated question", inline=True)
    there = {str(id_) for side in ("one", "other") for id_ in row[f"{side}_n_ids"]}
    if of == "runs":
        key = [key_of_ticks({became[id_] for id_ in there})]
    else:
        key = [legend(kinds_of(moment, of, sorted(there)), "A mark each, game after game:")]
    return [
        html.Div(
            [html.B(said, className="said-so"), html.Small(counted), *since, html.Small(_gap(row))], className="answer"
        ),
        html.Div([table(_head(), lines, "on-axis stated"), *key], style=_widths(row, filmed, of)),
        *_left_open(filmed, row, of),
        html.Div(
            [
                html.Span(asked_when(moment)),
                *before_it(filmed, of, known),
                *([_withdrawing()] if visitor().at_laptop else []),
            ],
            className="books soft",
        ),
        *earlier_questions(moment, MEASURES),
    ]


def _head() -> list[Component]:
    axis = [html.I(style={"left": f"{at}%"}, **_data(at=str(at))) for at in (0, 25, 50, 75, 100)]
    return [
        html.Th("Compared", className="l"),
        html.Th([html.Span(EACH, className="unseen"), *axis], className="axis"),
        html.Th("How often", className="l"),
    ]


def _widths(row: Mapping[str, Any], filmed: Filmed, of: str) -> dict[str, str]:
    rows = filmed.moment.rows(of)
    ids = [*row["one_n_ids"], *row["other_n_ids"]]
    most = max(len(row["one_n_ids"]), len(row["other_n_ids"]), 1)
    return {"--most": str(min(most, MOST_BESIDE)), "--games": str(len({rows[str(id_)]["game"] for id_ in ids}))}


def _data(**given: str) -> dict[str, Any]:
    return {f"data-{name}": value for name, value in given.items()}


def _lines(
    filmed: Filmed,
    row: Mapping[str, Any],
    sides: Sequence[tuple[str, str]],
    of: str,
    became: Mapping[str, str] | None,
) -> list[Component]:
    """A line a side: its name, what is plausible, a mark for each where it is said what they became, its number."""
    made: list[Component] = []
    for side, name in sides:
        few = bool(row[f"{side}_few"])
        drawn: list[Component] = [html.Span(className="bar none") if few else bar(row, side)]
        ids = [str(id_) for id_ in row[f"{side}_n_ids"]]
        if became is not None and of == "runs":
            drawn.append(ticks(filmed, sorted(ids, key=list(became).index), became, name))
        elif became is not None:
            drawn.append(marks_of(filmed, of, ids, name))
        said = rate_words(filmed, row, side, of, name)
        cells = [html.Th(name, scope="row"), html.Td(drawn, className="figure"), html.Td(said, className="w")]
        made.append(html.Tr(cells, className="few-runs" if few else None))
    return made


def _left_open(filmed: Filmed, row: Mapping[str, Any], of: str) -> list[Component]:
    """What nobody answered leaves open of the difference."""
    n = int(row["open"])
    if not n:
        return []
    told = plays(filmed, str(n), of, row["open_ids"], f"{of.capitalize()} left open", inline=True)
    words = " may be of either, or nobody knows what came of them: a name, a side or another answer is missing."
    ends = ""
    if not blank(row["open_lo"]):
        lo, hi = (round(float(row[f"open_{end}"]) * 100) for end in ("lo", "hi"))
        ends = (
            f" Whichever way they belong, the difference counted would lie from {_signed(lo)} to {_signed(hi)} in 100."
        )
    return [html.P([told, f" {of if n > 1 else of[:-1]}{words}{ends}"], className="soft below")]


def _withdrawing() -> Component:
    button = html.Button("Take it back and ask everything again", type="submit", name="does", value="withdraw")
    return html.Form(button, method="post", action="/question")


def _gap(row: Mapping[str, Any]) -> str:
    if blank(row["difference"]) or bool(row["difference_few"]):
        return ""
    lo, hi = (round(float(row[f"difference_{end}"]) * 100) for end in ("lo", "hi"))
    return f"Within games the difference is plausibly {_signed(lo)} to {_signed(hi)} in 100."


def _signed(n: int) -> str:
    return f"+{n}" if n > 0 else f"−{-n}" if n < 0 else "0"


def _which(moment: Moment, part: Mapping[str, str], of: str) -> str:
    """Which runs or screens, in words."""
    words = []
    for column, code in part.items():
        if column == "set":
            words.append(moment.name_of(code))
        elif column in ("side", "set_side"):
            words.append(f"to the {code}" if column == "set_side" or of == "runs" else f"set on the {code}")
        elif column in ("setter", "user"):
            words.append(f"{'set' if column == 'setter' else 'used'} by {code}")
        elif column == "look":
            play = moment.playbook.by_code.get(part.get("set", ""))
            named = {look.code: look.name for look in play.looks} if play else {}
            words.append(f"look {named.get(code, code)}")
        else:
            asked = moment.language.question("screen", column)
            named = {each["code"]: each["name"] for each in (asked or {}).get("choices") or ()}
            words.append(named.get(code, code))
    text = ", ".join(words)
    return f"{text[:1].upper()}{text[1:]}"


def _noticed(moment: Moment, filmed: Filmed) -> tuple[str, list[Component]]:
    from analysis.findings import EVEN_OURS

    found = findings_of(moment, EVEN_OURS)
    rows = records(found.compared)
    out = [row for row in rows if bool(row["speaks"])]
    lede = stood_out(found.looked_at) if out else nothing_said(moment, found.looked_at)
    if not rows:
        return "too little yet", [html.P(lede)]
    lines = []
    for row in rows[:MOST_NOTICED]:
        first, against = sides_of(moment, row)
        of = str(row["of"])
        lines.append(
            html.Tr(
                [
                    html.Th([f"{first[:1].upper()}{first[1:]}", html.Small(HAPPENED[row["fact"]])], scope="row"),
                    html.Td(rate_words(filmed, row, "one", of, first), className="w"),
                    html.Td(against, className="l soft"),
                    html.Td(rate_words(filmed, row, "other", of, f"{first}: {against}"), className="w"),
                    html.Td("stands out" if bool(row["speaks"]) else "could be chance", className="l wide"),
                ]
            )
        )
    head: list[Component] = [html.Td(""), html.Td(""), html.Th("compared with", className="l"), html.Td("")]
    head.append(html.Td("", className="wide"))
    shown = f" The {len(lines)} most surprising:" if len(rows) > len(lines) else ""
    told = "something stands out" if out else "nothing can be told apart yet"
    return told, [
        html.P(
            f"{lede} What is found by looking around has been picked from many: a hint where to look, or a question "
            f"to state for the next games.{shown}",
            className="lede",
        ),
        table(head, lines, "noticed"),
    ]

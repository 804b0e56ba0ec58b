"""The sets: what came of their runs, how sure that is, and whether the side matters."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from dash import dcc, html

from dashboard.figures import by_side
from dashboard.pages import ids
from dashboard.pages.by_possession import possessions_of
from dashboard.pages.filters import WHERE, fact_of, slice_of
from dashboard.pages.found import findings_of, of_sets, said_of
from dashboard.pages.grid import contents
from dashboard.pages.left_open import TITLE, open_sets
from dashboard.pages.numbers import bar, count_of, film_line, rate_words, records, table
from dashboard.pages.which_set import how_soon, more_runs, ranked_sets
from tagger.marks.endings import phase_name

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.slice import Slice
    from dashboard.loading import Filmed, Present
    from dashboard.moment import Moment

FILTER = (
    "Showing ",
    "{team}",
    " runs in ",
    *WHERE,
    ", ",
    "{strength}",
    ", ",
    "{phase}",
    ", ",
    "{side}",
    "; compared by runs with ",
    "{fact}",
    ".",
)
RESULTS = (
    ("on_goal", "On goal", "runs with a shot on goal"),
    ("goal", "Goal", "runs with a goal"),
    ("turnover", "Ball lost", "runs that lost the ball"),
    ("pull_out", "Pulled out", "runs that were pulled out"),
)
PHASE_ABOUT = {
    "freelance": "no set, by choice",
    "not_tagged": "settled, and nobody said which",
    "transition": "before settling, walk-ups among it",
    "second_chance": "after an own rebound",
    "broken": "the set came apart",
}


def page(present: Present, of: str, chosen: Mapping[str, str]) -> list[Component]:
    """The sets' page.

    Parameters
    ----------
    present : Present
        The season.
    of
        Not asked.
    chosen : mapping of str to str
        What part of the season.

    Returns
    -------
    list of Component
        The page.
    """
    from analysis.sets import naming, sets

    moment, filmed = present.now(), present.filmed()
    part = slice_of(moment, chosen)
    ours = part.team == "ours"
    small_n = moment.settings.small_n
    rows = records(sets(moment.tables, part, playbook=_meant(moment, part), small_n=small_n))
    heading = html.H1("Which sets gave us shots?" if ours else "What gave them shots?")
    if not any(int(row["runs"]) for row in rows):
        return [heading, *_nothing(moment)]
    named = records(naming(moment.tables, part, small_n=small_n))
    side_rows = [] if part.sides else records(sets(moment.tables, part, by_side=True, small_n=small_n))
    fact = fact_of(moment, chosen)
    left_open = open_sets(moment, filmed, part, fact)
    ways = [("came", "what came of them"), ("better", "which is better"), ("open", "what is left open")]
    ways = [
        way
        for way in (*ways, ("held", "by possession"), ("soon", "how soon"), ("side", "side"))
        if way[0] != "open" or left_open
    ]
    return [
        heading,
        html.P(_lede(filmed, rows, named), className="lede"),
        contents(ways),
        html.Span(id="came"),
        _table(moment, filmed, rows, more_runs(moment, part) if ours else {}),
        said_of(moment, filmed, findings_of(moment, part, fact), of_sets(fact)),
        html.H2("Which set is better?" if ours else "Which action is better?", id="better"),
        *ranked_sets(moment, filmed, part, fact),
        *([html.H2(TITLE, id="open"), *left_open] if left_open else []),
        html.H2("And by the possession?", id="held"),
        *possessions_of(moment, filmed, part),
        html.H2("How soon, and with second chances?", id="soon"),
        *how_soon(moment, filmed, rows),
        *_sides(moment, filmed, [row for row in side_rows if row["phase"] in ("set", "family")], small_n),
    ]


def _meant(moment: Moment, part: Slice) -> dict[str, str] | None:
    """Sets that are in use and were never run get a row too, as long as nothing narrows the runs."""
    if part.games is not None or part.sides is not None or part.periods is not None:
        return None
    return {play.code: play.strength for play in moment.playbook.sets if not play.retired}


def _nothing(moment: Moment) -> list[Component]:
    if not any(len(one.rows.get("runs", ())) for one in moment.folded.values()):
        return [
            html.P(["Nothing is tagged yet. ", dcc.Link("Open a game", "/"), " and mark its possessions and sets."])
        ]
    return [html.P("No run of this kind is tagged in these games. Change a word of the sentence above.")]


def _lede(filmed: Filmed, rows: Sequence[Mapping[str, Any]], named: Sequence[Mapping[str, Any]]) -> str:
    said = ["A run counts once if it brought at least one shot of its own; put-backs count apart."]
    stretches = sum(int(row["stretches"]) for row in named)
    blank = sum(int(row["unnamed_k"]) for row in named)
    if blank:
        said.append(f"{blank} of {stretches} settled stretches have no name.")
    said.append(film_line(filmed, "runs", [id_ for row in rows for id_ in row["runs_ids"]], "runs"))
    return " ".join(said)


def _table(moment: Moment, filmed: Filmed, rows: Sequence[Mapping[str, Any]], more: Mapping[str, str]) -> Component:
    head = [
        html.Th("Set", className="l"),
        html.Th("Runs"),
        html.Th("Runs with a shot", className="l", colSpan=2),
        *(html.Th(title, className="wide") for _, title, _ in RESULTS),
    ]
    named = [row for row in rows if row["phase"] in ("set", "family")]
    named.sort(key=lambda row: (bool(row["shot_few"]), -int(row["runs"])))
    others = [row for row in rows if row["phase"] not in ("set", "family")]
    made = [_row(moment, filmed, row, False, more) for row in named]
    made += [_row(moment, filmed, row, place == 0 and bool(named), {}) for place, row in enumerate(others)]
    return table(head, made, "sets")


def _row(moment: Moment, filmed: Filmed, row: Mapping[str, Any], apart: bool, more: Mapping[str, str]) -> Component:
    name, about = _named(moment, row)
    left_out = more.get(str(row["set"]), "")
    about = "; ".join(part for part in (about, f"and {left_out}" if left_out else "") if part)
    plain = name if isinstance(name, str) else str(row["set"])
    first = html.Th([name, html.Small(about)], scope="row")
    if int(row["runs"]) == 0:
        nothing = html.Td("not run here" if left_out else "not run yet", className="w few", colSpan=3 + len(RESULTS))
        return html.Tr([first, nothing], className="apart" if apart else None)
    title = moment.name_of(plain) if row["phase"] in ("set", "family") else plain
    cells = [
        html.Td(count_of(filmed, row, "runs", "runs", f"{title}, runs")),
        html.Td(bar(row, "shot"), className="drawn"),
        html.Td(rate_words(filmed, row, "shot", "runs", f"{title}, runs with a shot"), className="w"),
    ]
    for rate, _, what in RESULTS:
        cells.append(html.Td(count_of(filmed, row, rate, "runs", f"{title}, {what}"), className="wide"))
    return html.Tr([first, *cells], className="apart" if apart else None)


def _named(moment: Moment, row: Mapping[str, Any]) -> tuple[Any, str]:
    if row["phase"] == "set":
        play = moment.playbook.by_code.get(row["set"])
        name = dcc.Link(moment.name_of(row["set"]), href=f"/sets/{row['set']}") if play else moment.name_of(row["set"])
        return name, play.about if play else "not in the playbook any more"
    if row["phase"] == "family":
        return moment.name_of(row["set"]), ""
    return phase_name(moment.language, row["phase"]), PHASE_ABOUT.get(row["phase"], "")


def _sides(moment: Moment, filmed: Filmed, rows: Sequence[Mapping[str, Any]], small_n: int) -> list[Component]:
    """Left and right of each set, drawn and in numbers."""
    rows = [row for row in rows if row["side"] in ("left", "right")]
    if not rows:
        return []
    totals: dict[str, int] = {}
    for row in rows:
        totals[row["set"]] = totals.get(row["set"], 0) + int(row["runs"])
    names = {code: moment.name_of(code) for code in sorted(totals, key=lambda code: -totals[code])}
    figure = by_side(rows, names, "shot", "runs with a shot")
    graph = dcc.Graph(
        id=ids.PLOT,
        figure=figure,
        config={"displayModeBar": False, "responsive": True},
        style={"height": f"{figure.layout.height}px"},
        className="plot",
    )
    head = [html.Th("Set", className="l"), html.Th("Side", className="l"), html.Th("Runs"), html.Th("Runs with a shot")]
    lines = [
        html.Tr(
            [
                html.Th(names[row["set"]], scope="row"),
                html.Td(row["side"], className="l"),
                html.Td(count_of(filmed, row, "runs", "runs", f"{names[row['set']]} to the {row['side']}, runs")),
                html.Td(
                    rate_words(filmed, row, "shot", "runs", f"{names[row['set']]} to the {row['side']}, with a shot")
                ),
            ]
        )
        for code in names
        for row in rows
        if row["set"] == code
    ]
    return [
        html.H2("Does the side matter?", id="side"),
        html.P(
            "The other side is played by other-handed runners, often a different five. Out of 100 runs with a shot; a "
            f"line is what is plausible; under {small_n} runs it is drawn faintly. A click on a point plays it.",
            className="lede",
        ),
        graph,
        html.Details([html.Summary("The same in numbers"), table(head, lines)], className="more"),
    ]

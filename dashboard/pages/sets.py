"""The sets: what came of their runs, how sure that is, and whether the side matters."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from dash import dcc, html

from dashboard.pages.axis import on_one_axis
from dashboard.pages.by_possession import possessions_of
from dashboard.pages.filters import WHERE, fact_of, options, picked, slice_of
from dashboard.pages.fold import fold
from dashboard.pages.found import BROUGHT, Here, findings_of, in_words, of_kinds, of_sets, said_of, speaking
from dashboard.pages.left_open import TITLE, open_sets
from dashboard.pages.numbers import bar, count_of, film_line, rate_words, records, table
from dashboard.pages.two_sets import two_sets
from dashboard.pages.which_set import how_soon, more_runs, ranked_sets
from tagger.marks.endings import phase_name

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.findings import Findings
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
    ", ",
    "{order}",
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
    from analysis.fates import fates
    from analysis.sets import naming, sets

    moment, filmed = present.now(), present.filmed()
    part = slice_of(moment, chosen)
    ours = part.team == "ours"
    small_n = moment.settings.small_n
    rows = records(sets(moment.tables, part, playbook=_meant(moment, part), small_n=small_n))
    if not any(int(row["runs"]) for row in rows):
        return [html.H1("Which sets gave us shots?" if ours else "What gave them shots?"), *_nothing(moment)]
    named = records(naming(moment.tables, part, small_n=small_n))
    side_rows = [] if part.sides else records(sets(moment.tables, part, by_side=True, small_n=small_n))
    fact = fact_of(moment, chosen)
    found = findings_of(moment, part, fact)
    left_open = open_sets(moment, filmed, part, fact)
    more = more_runs(moment, part) if ours else {}
    rows = _in_order(moment, rows, fact, picked(options(moment)["order"], chosen.get("order", "")).code)
    became = {str(row["id"]): str(row["fate"]) for row in records(fates(moment.tables, part))}

    def called(row: Mapping[str, Any]) -> tuple[Any, str, str]:
        name, about = _named(moment, row, more)
        return name, name if isinstance(name, str) else moment.name_of(str(row["set"])), about

    return [
        html.H1(_verdict(moment, found, rows, fact), className="verdict"),
        html.P(_lede(filmed, rows, named), className="lede"),
        on_one_axis(filmed, [row for row in rows if int(row["runs"])], became, called, fact),
        *_not_run(moment, rows, more),
        said_of(moment, filmed, found, of_sets(fact)),
        *two_sets(moment, filmed, part, chosen, rows, became, fact=fact),
        fold("What else came of them?", _in_all(rows), [_table(moment, filmed, rows, more)], "came"),
        fold(
            "Which set is better?" if ours else "Which action is better?",
            _told_apart(found, of_kinds(fact, "set", "freelance")),
            ranked_sets(moment, filmed, part, fact),
            "better",
        ),
        *([fold(TITLE, "", left_open, "open")] if left_open else []),
        fold("And by the possession?", "", possessions_of(moment, filmed, part), "held"),
        fold("How soon, and with second chances?", "", how_soon(moment, filmed, rows), "soon"),
        *_sides(moment, filmed, [row for row in side_rows if row["phase"] in ("set", "family")], found),
    ]


def _verdict(moment: Moment, found: Findings, rows: Sequence[Mapping[str, Any]], fact: str) -> str:
    """What may be said to stand out, else the plain count."""
    said = speaking(found, of_kinds(fact, "set", "freelance"))
    if said:
        return f"{in_words(moment, said[0])}."
    k, n = (sum(int(row[f"{fact}_{end}"]) for row in rows) for end in ("k", "n"))
    return f"{k} of {n} run{'' if n == 1 else 's'} {BROUGHT[fact].rstrip(',')}."


def _told_apart(found: Findings, here: Here) -> str:
    n = len(speaking(found, here))
    return ("something stands out" if n else "nothing can be told apart yet") if found.looked_at else "too little yet"


def _in_all(rows: Sequence[Mapping[str, Any]]) -> str:
    goals, lost, pulled = (sum(int(row[f"{name}_k"]) for row in rows) for name in ("goal", "turnover", "pull_out"))
    return f"{goals} run{'' if goals == 1 else 's'} with a goal, {lost} lost the ball, {pulled} pulled out"


def _in_order(moment: Moment, rows: Sequence[dict[str, Any]], fact: str, order: str) -> list[dict[str, Any]]:
    """Sets before what has no name, those with too few runs last; among them as asked."""

    def key(row: Mapping[str, Any]) -> tuple[Any, ...]:
        others = row["phase"] not in ("set", "family")
        name = _named(moment, row, {})[0]
        if order == "name":
            return others, str(name if isinstance(name, str) else moment.name_of(str(row["set"])))
        few = bool(row[f"{fact}_few"])
        return others, few, -float(row[fact]) if order == "rate" and int(row[f"{fact}_n"]) else 0.0, -int(row["runs"])

    held = sorted(rows, key=key)
    return held if order else [*held[: sum(row["phase"] in ("set", "family") for row in rows)], *_others(rows)]


def _others(rows: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    return [row for row in rows if row["phase"] not in ("set", "family")]


def _not_run(moment: Moment, rows: Sequence[Mapping[str, Any]], more: Mapping[str, str]) -> list[Component]:
    """The sets without a run here, in a line."""
    said = [
        f"{moment.name_of(str(row['set']))}{f' ({left_out})' if left_out else ''}"
        for row in rows
        if not int(row["runs"])
        for left_out in [more.get(str(row["set"]), "")]
    ]
    return [html.P(f"Not run here: {'; '.join(said)}.", className="soft")] if said else []


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
    n_named = sum(row["phase"] in ("set", "family") for row in rows)
    made = [_row(moment, filmed, row, place == n_named > 0, more) for place, row in enumerate(rows)]
    return table(head, made, "sets")


def _row(moment: Moment, filmed: Filmed, row: Mapping[str, Any], apart: bool, more: Mapping[str, str]) -> Component:
    name, about = _named(moment, row, more)
    plain = name if isinstance(name, str) else str(row["set"])
    first = html.Th([name, html.Small(about)], scope="row")
    if int(row["runs"]) == 0:
        nothing = html.Td(
            "not run here" if more.get(str(row["set"])) else "not run yet", className="w few", colSpan=3 + len(RESULTS)
        )
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


def _named(moment: Moment, row: Mapping[str, Any], more: Mapping[str, str]) -> tuple[Any, str]:
    if row["phase"] == "set":
        play = moment.playbook.by_code.get(row["set"])
        name = dcc.Link(moment.name_of(row["set"]), href=f"/sets/{row['set']}") if play else moment.name_of(row["set"])
        about, left_out = play.about if play else "not in the playbook any more", more.get(str(row["set"]), "")
        return name, "; ".join(part for part in (about, f"and {left_out}" if left_out else "") if part)
    if row["phase"] == "family":
        return moment.name_of(row["set"]), ""
    return phase_name(moment.language, row["phase"]), PHASE_ABOUT.get(row["phase"], "")


def _sides(moment: Moment, filmed: Filmed, rows: Sequence[Mapping[str, Any]], found: Findings) -> list[Component]:
    """Left and right of each set, one under the other."""
    rows = [row for row in rows if row["side"] in ("left", "right")]
    if not rows:
        return []
    totals: dict[str, int] = {}
    for row in rows:
        totals[row["set"]] = totals.get(row["set"], 0) + int(row["runs"])
    names = {code: moment.name_of(code) for code in sorted(totals, key=lambda code: -totals[code])}
    head = [html.Th("Set", className="l"), html.Th("Side", className="l"), html.Th("Runs")]
    head.append(html.Th("Runs with a shot", className="l", colSpan=2))
    lines = []
    for code, row in ((code, row) for code in names for row in rows if row["set"] == code):
        what = f"{names[code]} to the {row['side']}"
        cells = [
            html.Td(row["side"], className="l"),
            html.Td(count_of(filmed, row, "runs", "runs", f"{what}, runs")),
            html.Td(bar(row, "shot"), className="drawn"),
            html.Td(rate_words(filmed, row, "shot", "runs", f"{what}, with a shot"), className="w"),
        ]
        lines.append(html.Tr([html.Th(names[code], scope="row"), *cells]))
    words = "The other side is played by other-handed runners, often a different five."
    inside = [html.P(words, className="lede"), table(head, lines, "grid")]
    return [fold("Does the side matter?", _told_apart(found, of_kinds("shot", "side")), inside, "side")]

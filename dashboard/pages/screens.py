"""Screens: who came free of them, of which kind and against which coverage, and what followed in the run."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.filters import WHERE, slice_of
from dashboard.pages.found import findings_of, of_kind, said_of
from dashboard.pages.grid import COUNT, SEVERAL, SHORT, WORDS, Column, contents, grid
from dashboard.pages.left_open import open_screens
from dashboard.pages.names import UNANSWERED, answer_name, blank, key_of, set_name
from dashboard.pages.numbers import plays, rate_words, records, table
from dashboard.pages.players import name_of

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.slice import Slice
    from dashboard.loading import Filmed, Present
    from dashboard.moment import Moment

FILTER = ("Showing ", "{team}", " screens in ", *WHERE, ", ", "{strength}", ", in runs ", "{side}", ".")
COLUMNS = (
    Column("screens", "Screens", COUNT, "screens", "screens"),
    Column("freed", "Somebody came free", WORDS, "screens", "screens that freed somebody"),
    Column(
        "user_free|setter_free|third_man_free",
        "User · setter · third",
        SEVERAL,
        "screens",
        "its user came free|its setter came free|a third man came free",
        True,
    ),
    Column("shot", "Then a shot", WORDS, "screens", "followed by a shot in the run"),
    Column("goal", "Then a goal", SHORT, "screens", "followed by a goal in the run", True),
    Column("credited", "His part", SHORT, "screens", "screens after which the freed man had a part in a shot", True),
)
TITLES = {
    "coverage": "How they were covered",
    "kind": "Kind of screen",
    "setter_next": "What the setter did next",
    "side": "Where it was set",
    "set": "In which set",
    "setter": "Who set it",
    "user": "Who used it",
}
MOST_PAIRS = 12


def page(present: Present, of: str, chosen: Mapping[str, str]) -> list[Component]:
    """The screens' page.

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
    moment, filmed = present.now(), present.filmed()
    part = replace(slice_of(moment, chosen), phases=None)
    top = [html.H1("Who came free of the screens?")]
    rows = _rows(moment, part, ())
    if not rows:
        return [*top, html.P(_none(moment))]
    parts = [
        ("worth", "what a free man was worth"),
        ("coverage", "coverage"),
        ("kind", "kind and place"),
        ("men", "who set and used them"),
        ("pairs", "pairs"),
    ]
    return [
        *top,
        html.P(
            "Judged a second after contact, whatever the shot. What followed is counted to the run’s end; a freed man "
            "had a part as shooter, feeder or second feeder.",
            className="lede",
        ),
        contents(parts),
        html.H2("What was a free man worth?", id="worth"),
        *_worth(moment, filmed, part),
        html.H2("How were they covered?", id="coverage"),
        said_of(moment, filmed, findings_of(moment, part), of_kind("coverage")),
        *by_answer(moment, filmed, part, ("coverage",)),
        *open_screens(moment, filmed, part, "coverage"),
        html.H2("Which kind, where, and in which set?", id="kind"),
        *by_answer(moment, filmed, part, ("kind", "side", "setter_next", "set")),
        html.H2("Who set them and who used them?", id="men"),
        *by_answer(moment, filmed, part, ("setter", "user")),
        html.H2("Which pairs?", id="pairs"),
        *_pairs(moment, filmed, part),
    ]


def by_answer(moment: Moment, filmed: Filmed, part: Slice, by: Sequence[str]) -> list[Component]:
    """Screens split by one answer after another.

    Parameters
    ----------
    moment, filmed
        The season, and which rows have film.
    part : Slice
        What is looked at.
    by : sequence of str
        Of `analysis.screens.BY`.

    Returns
    -------
    list of Component
        A table for each answer that was given at least once, the first open.
    """
    made: list[Component] = []
    silent = []
    for name in by:
        rows = _rows(moment, part, (name,))
        if not any(not blank(row[name]) for row in rows):
            silent.append(TITLES[name].lower())
            continue
        rows.sort(key=lambda row: (blank(row[name]) or row[name] == "unseen", -int(row["screens"])))
        grown = grid(filmed, rows, _namer(moment, name), TITLES[name], COLUMNS, class_name="screens")
        if made:
            made.append(html.Details([html.Summary(TITLES[name]), grown], className="more"))
        else:
            made.append(grown)
    if silent:
        made.append(html.P(f"Not answered in these screens: {', '.join(silent)}.", className="soft below"))
    return made


def _rows(moment: Moment, part: Slice, by: tuple[str, ...]) -> list[dict[str, Any]]:
    from analysis.screens import screens

    small_n = moment.settings.small_n
    return moment.kept(("screens", part, by), lambda: records(screens(moment.tables, part, by=by, small_n=small_n)))


def _namer(moment: Moment, name: str) -> Any:
    def named(row: Mapping[str, Any]) -> str:
        code = row[name]
        if blank(code):
            return "outside any set" if name == "set" else UNANSWERED
        if name == "set":
            return set_name(moment, code)
        if name in ("setter", "user"):
            return _man(moment, row, code)
        words = answer_name(moment, "screen", name, code)
        return f"{words[:1].upper()}{words[1:]}"

    return named


def _man(moment: Moment, row: Mapping[str, Any], number: Any) -> str:
    if blank(number) or number == "unseen":
        return UNANSWERED if blank(number) else "can’t see who"
    return f"{number} {name_of(moment, str(number))}" if row["team"] == "ours" else f"their {number}"


def _pairs(moment: Moment, filmed: Filmed, part: Slice) -> list[Component]:
    rows = [
        row
        for row in _rows(moment, part, ("setter", "user"))
        if not any(blank(row[name]) or row[name] == "unseen" for name in ("setter", "user"))
    ]
    if not rows:
        return [html.P("No screen names both its setter and its user. Answer who set it and who used it.")]
    rows.sort(key=lambda row: -int(row["screens"]))

    def named(row: Mapping[str, Any]) -> str:
        return f"{row['setter']} for {row['user']}"

    made: list[Component] = [grid(filmed, rows[:MOST_PAIRS], named, "Set for", COLUMNS, class_name="screens")]
    if len(rows) > MOST_PAIRS:
        rest = grid(filmed, rows[MOST_PAIRS:], named, "Set for", COLUMNS, class_name="screens")
        made.append(html.Details([html.Summary(f"{len(rows) - MOST_PAIRS} more pairs"), rest], className="more"))
    return made


def _worth(moment: Moment, filmed: Filmed, part: Slice) -> list[Component]:
    """With and without somebody free: the shots and goals that followed, and the difference."""
    from analysis.screens import lift

    lines, caution = [], ""
    for fact, words in (("shot", "a shot"), ("goal", "a goal")):
        for row in records(lift(moment.tables, part, fact=fact, small_n=moment.settings.small_n)):
            caution = str(row["caution"])
            cells = [
                html.Td(rate_words(filmed, row, side, "screens", f"{what}, followed by {words}"), className="w")
                for side, what in (("freed", "Screens that freed somebody"), ("held", "Screens that freed nobody"))
            ]
            gap = html.Td(
                plays(filmed, gap_words(row, "lift"), "screens", row["lift_ids"], "All of both"), className="w"
            )
            lines.append(html.Tr([html.Th(f"Followed by {words}", scope="row"), *cells, gap]))
    if not lines:
        return [html.P("Nobody said yet who came free.")]
    head = ["", "Somebody came free", "Nobody came free", "The difference"]
    return [
        table([html.Th(title, className="l") for title in head], lines, "asked"),
        html.P(caution, className="soft below"),
    ]


def gap_words(row: Mapping[str, Any], name: str) -> str:
    """A difference of two shares as people say it.

    Parameters
    ----------
    row : mapping
        A row of a result table with the measure's columns.
    name : str
        The measure, from −1 to 1.

    Returns
    -------
    str
        As "+12 in 100; plausibly −3 to +26".
    """
    if blank(row[name]) or bool(row[f"{name}_few"]):
        return "too few to say"
    mid, lo, hi = (signed(float(row[f"{name}{end}"])) for end in ("", "_lo", "_hi"))
    return f"{mid} in 100; plausibly {lo} to {hi}"


def signed(share: float) -> str:
    """A difference in hundredths with its sign.

    Parameters
    ----------
    share : float
        From −1 to 1.

    Returns
    -------
    str
        As "+12", "−3", "0".

    Examples
    --------
    >>> signed(0.12), signed(-0.034), signed(0.001)
    ('+12', '−3', '0')
    """
    n = round(share * 100)
    return f"+{n}" if n > 0 else f"−{-n}" if n < 0 else "0"


def _none(moment: Moment) -> str:
    if not moment.rows("screens"):
        key = key_of(moment, "screen")
        return (
            f"No screen is tagged yet. At the detail “also screens”, {key} marks one while the film runs; who came "
            "free is the first thing asked."
        )
    return "No screen of this kind is tagged in these games. Change a word of the sentence above."

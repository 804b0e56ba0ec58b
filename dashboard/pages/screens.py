"""Screens: who came free of them, of which kind and against which coverage, and what followed in the run."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.filters import WHERE, slice_of
from dashboard.pages.fold import fold
from dashboard.pages.found import findings_of, in_words, of_kind, said_of, speaking
from dashboard.pages.grid import COUNT, SEVERAL, SHORT, WORDS, Column, grid
from dashboard.pages.left_open import open_screens
from dashboard.pages.names import UNANSWERED, answer_name, blank, key_of, set_name
from dashboard.pages.numbers import film_line, plays, rate_words, records, table
from dashboard.pages.players import name_of
from dashboard.pages.screen_grids import COVERED, PAIRED, coverage_grid, pair_grid

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.findings import Findings
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
ASKED = "Who came free of the screens?"


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
    rows = _rows(moment, part, ())
    if not rows:
        return [html.H1(ASKED), html.P(_none(moment))]
    found = findings_of(moment, part)
    pairs = _named_pairs(moment, part)
    return [
        html.H1(_verdict(moment, found, rows), className="verdict"),
        html.P(
            [
                "Judged a second after contact, whatever the shot. ",
                film_line(filmed, "screens", [id_ for row in rows for id_ in row["screens_ids"]], "screens"),
            ],
            className="lede",
        ),
        said_of(moment, filmed, found, of_kind("coverage")),
        html.H2(COVERED, id="coverage"),
        *coverage_grid(moment, filmed, _rows(moment, part, ("coverage",))),
        html.H2(PAIRED, id="pairs"),
        *pair_grid(moment, filmed, pairs),
        fold("What was a free man worth?", "", _worth(moment, filmed, part), "worth"),
        fold(
            "How were they covered?",
            "",
            [*by_answer(moment, filmed, part, ("coverage",)), *open_screens(moment, filmed, part, "coverage")],
            "covered",
        ),
        fold(
            "Which kind, where, and in which set?",
            "",
            by_answer(moment, filmed, part, ("kind", "side", "setter_next", "set")),
            "kind",
        ),
        fold("Who set them and who used them?", "", by_answer(moment, filmed, part, ("setter", "user")), "men"),
        *([fold("Which pairs?", "", _pairs(filmed, pairs), "each-pair")] if pairs else []),
    ]


def _verdict(moment: Moment, found: Findings, rows: Sequence[Mapping[str, Any]]) -> str:
    """What may be said to stand out, else the plain count."""
    said = speaking(found, of_kind("coverage"))
    if said:
        return f"{in_words(moment, said[0])}."
    k, n = (sum(int(row[f"freed_{end}"]) for row in rows) for end in ("k", "n"))
    return f"Somebody came free in {k} of {n} screen{'' if n == 1 else 's'}." if n else ASKED


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


def _named_pairs(moment: Moment, part: Slice) -> list[dict[str, Any]]:
    """The pairs of whom both are known, the most frequent first."""
    rows = [
        row
        for row in _rows(moment, part, ("setter", "user"))
        if not any(blank(row[name]) or row[name] == "unseen" for name in ("setter", "user"))
    ]
    return sorted(rows, key=lambda row: -int(row["screens"]))


def _pairs(filmed: Filmed, rows: Sequence[Mapping[str, Any]]) -> list[Component]:
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

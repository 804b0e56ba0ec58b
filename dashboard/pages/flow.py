"""Looks, and where runs go after them: who came free, which look, how it ended."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.grid import COUNT, SHORT, WORDS, Column, grid
from dashboard.pages.names import UNANSWERED, blank, free_name, look_name
from dashboard.pages.numbers import count_of, rate_words, records, table
from tagger.marks.endings import ending_noun

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.slice import Slice
    from dashboard.loading import Filmed
    from dashboard.moment import Moment

MOST_PATHS = 10
LOOKS = (
    Column("runs", "Runs", COUNT, "runs", "runs"),
    Column("taken", "Taken", WORDS, "runs", "runs that took it"),
    Column("left_open", "Open, not taken", SHORT, "runs", "runs where it stood open and was not taken", True),
    Column("shot", "Shot", WORDS, "runs", "runs with a shot"),
    Column("goal", "Goal", SHORT, "runs", "runs with a goal", True),
    Column("turnover", "Ball lost", SHORT, "runs", "runs that lost the ball", True),
    Column("pull_out", "Pulled out", SHORT, "runs", "runs that were pulled out", True),
)


def looks_in_order(moment: Moment, filmed: Filmed, part: Slice, play: str) -> list[Component]:
    """The looks of a set as a numbered list, in the order in which they are read, with how many runs took each.

    Parameters
    ----------
    moment, filmed
        The season, and which rows have film.
    part : Slice
        What is looked at.
    play : str
        The set's code.

    Returns
    -------
    list of Component
        Nothing where no look is marked.
    """
    from analysis.looks import looks

    held = moment.playbook.by_code.get(play)
    if held is None:
        return []
    found = records(looks(moment.tables, part, order={play: [look.code for look in held.looks]}))
    rows = [row for row in found if not blank(row["look"]) and (int(row["runs"]) or not blank(row["place"]))]
    if not any(int(row["runs"]) for row in rows):
        return []
    lines = []
    for row in rows:
        name = look_name(moment, play, row["look"])
        number = "–" if blank(row["place"]) else str(int(row["place"]))
        count = count_of(filmed, row, "runs", "runs", f"{held.name}, look: {name}")
        lines.append(html.Li([html.Span(number, className="number"), html.Span(name), count]))
    return [html.Ul(lines, className="looked")]


def looks_of(moment: Moment, filmed: Filmed, part: Slice, play: str) -> list[Component]:
    """Which looks of a set were taken, in the order in which they are read.

    Parameters
    ----------
    moment, filmed
        The season, and which rows have film.
    part : Slice
        What is looked at.
    play : str
        The set's code.

    Returns
    -------
    list of Component
        A sentence and the table; what to mark where no look is.
    """
    from analysis.looks import looks

    held = moment.playbook.by_code.get(play)
    order = {play: [look.code for look in held.looks]} if held else None
    rows = records(looks(moment.tables, part, order=order, small_n=moment.settings.small_n))
    runs = sum(int(row["runs"]) for row in rows)
    told = sum(int(row["runs"]) for row in rows if not blank(row["look"]) and row["look"] != "unseen")
    if not told:
        return [html.P("No look is marked in these runs. After a run ends, mark which look it was; any end has one.")]
    rows = [row for row in rows if int(row["runs"]) or int(row["left_open_k"]) or not blank(row["place"])]
    lede = (
        f"In the order in which they are read. The look was made out in {told} of {runs} runs, whatever their end; "
        "neither a first look nor a pull-out is good or bad in itself."
    )

    def named(row: Mapping[str, Any]) -> str:
        name = look_name(moment, play, row["look"])
        return name if blank(row["place"]) else f"{int(row['place'])} {name}"

    return [html.P(lede, className="lede"), grid(filmed, rows, named, "Look", LOOKS, class_name="looks")]


def paths(moment: Moment, filmed: Filmed, part: Slice, play: str) -> list[Component]:
    """Where the runs of a set went.

    Parameters
    ----------
    moment, filmed, part, play
        As in `looks_of`.

    Returns
    -------
    list of Component
        The most frequent ways, the others folded; and what became of what was pulled out.
    """
    from analysis.looks import flow

    rows = records(flow(moment.tables, part))
    rows.sort(key=lambda row: -int(row["runs"]))
    if not rows:
        return []
    of = int(rows[0]["of"])
    made: list[Component] = [
        html.P(
            f"{of} runs, the most frequent ways first: who came free of the screens, which look followed, how the "
            "run ended. A number plays those runs.",
            className="lede",
        ),
        _ways(moment, filmed, rows[:MOST_PATHS], play, of),
    ]
    rest = rows[MOST_PATHS:]
    if rest:
        n_runs = sum(int(row["runs"]) for row in rest)
        summary = html.Summary(f"{len(rest)} more ways, {n_runs} runs")
        made.append(html.Details([summary, _ways(moment, filmed, rest, play, of)], className="more"))
    return [*made, *_back(moment, filmed, part)]


def _ways(moment: Moment, filmed: Filmed, rows: Sequence[Mapping[str, Any]], play: str, of: int) -> Component:
    head: list[Component] = [html.Th(title, className="l") for title in ("Came free", "Look", "Ended with")]
    head.append(html.Th("Runs"))
    head.append(html.Td("", className="wide"))
    lines = []
    for row in rows:
        ended = UNANSWERED if blank(row["ended"]) else ending_noun(moment.language, str(row["ended"]))
        words = (free_name(moment, row["free"]), look_name(moment, play, row["look"]), ended)
        width = {"width": f"{int(row['runs']) / max(of, 1) * 100:.1f}%"}
        quiet = ("not answered", "screens not tagged", "no screen marked")
        lines.append(
            html.Tr(
                [
                    *(html.Td(word, className="l few" if word in quiet else "l") for word in words),
                    html.Td(count_of(filmed, row, "runs", "runs", " → ".join(words))),
                    html.Td(html.Span(html.I(style=width), className="amount"), className="wide"),
                ]
            )
        )
    return table(head, lines, "flow")


def _back(moment: Moment, filmed: Filmed, part: Slice) -> list[Component]:
    from analysis.looks import came_back

    rows = records(came_back(moment.tables, part, small_n=moment.settings.small_n))
    if not rows:
        return []
    lines = []
    for row in rows:
        for name, words in (("to_shot", "came back to a shot"), ("to_goal", "came back to a goal")):
            what = f"Pulled out, {words}"
            cell = html.Td(rate_words(filmed, row, name, "runs", what), className="w")
            lines.append(html.Tr([html.Th(f"… {words}", scope="row", className="plain"), cell]))
    n = sum(int(row["pull_outs"]) for row in rows)
    runs = "1 run was" if n == 1 else f"{n} runs were"
    return [
        html.H3("What became of the pull-outs?"),
        html.P(f"{runs} pulled out to start over. Later in the same possession …", className="lede"),
        table([], lines, "asked"),
    ]

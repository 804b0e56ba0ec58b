"""What may be said to stand out, in sentences that play: the same family of comparisons, and the same words, on every
page (`analysis.findings`)."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.names import answer_name, checkpoint_name, set_name
from dashboard.pages.numbers import plays, records

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.findings import Findings
    from analysis.slice import Slice
    from dashboard.loading import Filmed
    from dashboard.moment import Moment

BROUGHT = {
    "shot": "brought a shot",
    "on_goal": "brought a shot on goal",
    "goal": "brought a goal",
    "goal_any": "brought a goal, second chances too,",
    "on_goal_any": "brought a shot on goal, second chances too,",
    "shot_10s": "brought a shot within 10 s",
    "shot_20s": "brought a shot within 20 s",
    "shot_30s": "brought a shot within 30 s",
    "turnover": "lost the ball",
    "pull_out": "were pulled out",
    "penalty": "drew a penalty",
}
"""What runs did, by the fact of `filters.FACT_WORDS`."""
GLANCE = "coverage and who came free are told at one glance: partly one judgement"
Row = Mapping[str, Any]
Here = Callable[[Row], bool]


def of_kind(kind: str) -> Here:
    """The comparisons of one kind.

    Parameters
    ----------
    kind : str
        As "coverage", "safety".

    Returns
    -------
    callable
        Whether a comparison is one of them.
    """
    return lambda row: row["kind"] == kind


def of_sets(fact: str) -> Here:
    """The comparisons that the page of all sets is about, and the opponents' page.

    Parameters
    ----------
    fact : str
        What it counts runs by.

    Returns
    -------
    callable
        Whether a comparison is one of them.
    """
    return lambda row: row["fact"] == fact and row["kind"] in ("set", "freelance", "side")


def of_kinds(fact: str, *kinds: str) -> Here:
    """The comparisons of some kinds by one fact.

    Parameters
    ----------
    fact : str
        What runs are counted by.
    *kinds : str
        As "set", "side".

    Returns
    -------
    callable
        Whether a comparison is one of them.
    """
    return lambda row: row["fact"] == fact and row["kind"] in kinds


def of_runs(play: str) -> Here:
    """The comparisons of one set's runs; those of its checkpoints stand with the checkpoints.

    Parameters
    ----------
    play : str
        The set's code.

    Returns
    -------
    callable
        Whether a comparison is one of them.
    """
    return lambda row: row["set"] == play and row["kind"] != "checkpoint"


def of_checkpoints(plays_: Collection[str]) -> Here:
    """The comparisons of some sets' checkpoints.

    Parameters
    ----------
    plays_ : collection of str
        The sets' codes.

    Returns
    -------
    callable
        Whether a comparison is one of them.
    """
    return lambda row: row["kind"] == "checkpoint" and row["set"] in plays_


def speaking(found: Findings, here: Here) -> list[dict[str, Any]]:
    """What may be said of a page's own matter.

    Parameters
    ----------
    found : Findings
        The family.
    here : callable
        Which of its comparisons the page is about.

    Returns
    -------
    list of dict
        Rows of `Findings.compared`, most surprising first.
    """
    return [row for row in records(found.compared) if bool(row["speaks"]) and here(row)]


def findings_of(moment: Moment, part: Slice, fact: str = "shot") -> Findings:
    """The family of comparisons of a part of the season.

    Parameters
    ----------
    moment : Moment
        The season.
    part : Slice
        What a page shows; its phases and sets don't matter.
    fact : str
        What the page counts runs by.

    Returns
    -------
    Findings
        Worked out once for all pages that show this part.
    """
    from dataclasses import replace

    from analysis.findings import findings

    whole = replace(part, phases=None, sets=None)
    games = [game.id for game in moment.games if part.games is None or game.id in part.games]
    return moment.kept(
        ("findings", whole, fact),
        lambda: findings(
            moment.tables,
            whole,
            fact=fact,
            games=games,
            asked=moment.stated_question is not None,
            small_n=moment.settings.small_n,
        ),
    )


def said_of(moment: Moment, filmed: Filmed, found: Findings, here: Here) -> Component:
    """What may be said of a page's own matter, in sentences.

    Parameters
    ----------
    moment, filmed
        The season, and which rows have film.
    found : Findings
        The family.
    here : callable
        Which of its comparisons the page is about.

    Returns
    -------
    Component
        A sentence each, with how many comparisons were looked at; that nothing can be told apart, in the same words
        everywhere.
    """
    rows = speaking(found, here)
    if not rows:
        return html.P(nothing_said(moment, found.looked_at), className="answer")
    lines = [
        html.Div(
            [
                plays(filmed, words, str(row["of"]), row["difference_ids"], "Told apart", inline=True),
                f": {counts(row)}{f' ({GLANCE})' if row['kind'] == 'coverage' else ''}.",
            ]
        )
        for row in rows
        for words in [in_words(moment, row)]
    ]
    words_ = f"{stood_out(found.looked_at)} {taken_as_alike(rows)}"
    return html.Div([*lines, html.Small(words_)], className="answer")


def looked_at(n: int) -> str:
    """How many comparisons were looked at.

    Parameters
    ----------
    n : int
        Of the whole family.

    Returns
    -------
    str
        As "50 comparisons were looked at".
    """
    return "1 comparison was looked at" if n == 1 else f"{n} comparisons were looked at"


def stood_out(n: int) -> str:
    """What it means that something is said.

    Parameters
    ----------
    n : int
        Comparisons of the whole family.

    Returns
    -------
    str
        A sentence.
    """
    return (
        f"{looked_at(n)} together, within games; what is said stood out beyond what so many show by chance: noticed, "
        "not proven."
    )


def taken_as_alike(rows: Iterable[Row]) -> str:
    """What comparisons that are said don't allow for.

    Parameters
    ----------
    rows : iterable of mapping
        Of `Findings.compared`.

    Returns
    -------
    str
        A sentence.
    """
    sides = any(row["kind"] in ("set", "freelance") and row["within"] == "games" for row in rows)
    return "Sides and line-ups are taken as alike." if sides else "Line-ups are taken as alike."


def nothing_said(moment: Moment, n: int) -> str:
    """That nothing stands out.

    Parameters
    ----------
    moment : Moment
        The season.
    n : int
        Comparisons of the whole family.

    Returns
    -------
    str
        The same sentence on every page.
    """
    if n == 0:
        least = moment.settings.small_n
        return f"Too little is tagged to compare anything here yet: both sides of a comparison need {least}."
    return f"Nothing here can be told apart yet; {looked_at(n)}."


def counts(row: Row) -> str:
    """Both sides of a comparison, counted.

    Parameters
    ----------
    row : mapping
        Of `Findings.compared`.

    Returns
    -------
    str
        As "66 of 96, against 165 of 384".
    """
    one, other = (f"{int(row[f'{side}_k'])} of {int(row[f'{side}_n'])}" for side in ("one", "other"))
    return f"{one}, against {other}"


def in_words(moment: Moment, row: Row) -> str:
    """What stands out.

    Parameters
    ----------
    moment : Moment
        The season.
    row : mapping
        Of `Findings.compared`.

    Returns
    -------
    str
        A sentence without its numbers.
    """
    kind, often = str(row["kind"]), "more often" if bool(row["more"]) else "less often"
    one, other = sides_of(moment, row)
    if kind == "coverage":
        return f"Somebody came free {often} {one} than {other}"
    if kind == "safety":
        return f"A ball that went to them brought a shot at once {often} {one} than {other}"
    return f"{one} {BROUGHT[str(row['fact'])]} {often} than {other}"


def sides_of(moment: Moment, row: Row) -> tuple[str, str]:
    """What is compared with what.

    Parameters
    ----------
    moment : Moment
        The season.
    row : mapping
        Of `Findings.compared`.

    Returns
    -------
    tuple of (str, str)
        The one and the other.
    """
    kind = str(row["kind"])
    if kind == "coverage":
        return f"against “{answer_name(moment, 'screen', 'coverage', row['subject'])}”", "against the other coverages"
    if kind == "safety":
        return "with the safety not back", "with him back"
    name = set_name(moment, row["set"])
    if kind == "checkpoint":
        return f"Runs of {name} with “{checkpoint_name(moment, row['set'], row['subject'])}” missed", "with it met"
    if kind == "side":
        return f"Runs of {name} to the left", "to the right"
    return f"Runs of {name}", "those of the other sets" if kind == "set" else "freelance runs"

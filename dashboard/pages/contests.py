"""Face-offs and loose balls: who won them, and what followed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.filters import WHERE, slice_of
from dashboard.pages.grid import COUNT, RATE, SHORT, WORDS, Column, contents, grid
from dashboard.pages.names import blank, key_of
from dashboard.pages.numbers import records
from dashboard.pages.players import kept_apart, name_of

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.slice import Slice
    from dashboard.loading import Filmed, Present
    from dashboard.moment import Moment

FILTER = ("Showing ", *WHERE, ".")
TAKEN = (
    Column("faceoffs", "Face-offs", COUNT, "faceoffs", "face-offs"),
    Column("won", "Won", RATE, "faceoffs", "won"),
    Column("ball", "Then our ball", SHORT, "faceoffs", "with our ball next"),
    Column("shot_30s", "Our shot within 30 s", SHORT, "faceoffs", "with a shot of ours within 30 s"),
    Column("shot_against_30s", "Their shot within 30 s", SHORT, "faceoffs", "with a shot of theirs within 30 s", True),
)
FOLLOWED = (
    Column("faceoffs", "Face-offs", COUNT, "faceoffs", "face-offs"),
    Column("ball", "Then our ball", WORDS, "faceoffs", "with our ball next"),
    Column("shot_10s", "Our shot within 10 s", SHORT, "faceoffs", "with a shot of ours within 10 s"),
    Column("shot_30s", "Our shot within 30 s", WORDS, "faceoffs", "with a shot of ours within 30 s"),
    Column("shot_against_10s", "Their shot within 10 s", SHORT, "faceoffs", "with a shot of theirs within 10 s"),
    Column("shot_against_30s", "Their shot within 30 s", WORDS, "faceoffs", "with a shot of theirs within 30 s"),
)
LOOSE = (
    Column("loose_balls", "Loose balls", COUNT, "loose_balls", "loose balls"),
    Column("won", "Won by us", RATE, "loose_balls", "won by us"),
)
WON = (
    Column("loose_balls", "Won", COUNT, "loose_balls", "loose balls won"),
    Column("after_faceoff", "After a face-off", COUNT, "loose_balls", "won after a face-off"),
    Column("after_shot", "After a shot", COUNT, "loose_balls", "won after a shot"),
    Column("after_loss", "After a lost ball", COUNT, "loose_balls", "won after a lost ball", True),
    Column("in_possession", "In a possession", COUNT, "loose_balls", "won in a possession", True),
)
OUTCOMES = {"ours": "Won", "theirs": "Lost", "unseen": "Can’t see who won"}
PLACES = {
    "faceoff": "After a face-off",
    "our_shot": "After a shot of ours",
    "their_shot": "After a shot of theirs",
    "our_loss": "After we lost the ball",
    "their_loss": "After they lost the ball",
    "our_start": "Our ball, before settling",
    "their_start": "Their ball, before settling",
    "our_settled": "Our ball, settled",
    "their_settled": "Their ball, settled",
    "nothing": "Nothing marked before in the period",
}
"""What was marked last before a loose ball, by the analysis' names."""


def page(present: Present, of: str, chosen: Mapping[str, str]) -> list[Component]:
    """The page of face-offs and loose balls.

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
    part = slice_of(moment, chosen)
    return [
        html.H1("Who wins the ball?"),
        html.P("At every strength: while the ball is contested nobody has it.", className="lede"),
        contents([("draws", "face-offs"), ("men", "by man"), ("loose", "loose balls"), ("won", "who wins them")]),
        *_faceoffs(moment, filmed, part),
        *_loose(moment, filmed, part),
    ]


def _faceoffs(moment: Moment, filmed: Filmed, part: Slice) -> list[Component]:
    from analysis.contests import faceoffs

    small_n = moment.settings.small_n

    def rows_by(by: str) -> list[dict[str, Any]]:
        return records(faceoffs(moment.tables, part, by=by, small_n=small_n))

    outcomes = rows_by("winner")
    made: list[Component] = [html.H2("What follows a face-off?", id="draws")]
    if not outcomes:
        words = f"No face-off is tagged in this part of the season. {key_of(moment, 'faceoff')} marks one."
        return [*made, html.P(words)]
    outcomes.sort(key=lambda row: list(OUTCOMES).index(row["winner"]) if row["winner"] in OUTCOMES else len(OUTCOMES))
    made += [
        html.P(
            "Whose possession begins next, and who shot within so many seconds of the film, whatever happened between; "
            "of the face-offs after which a possession is tagged.",
            className="lede",
        ),
        grid(filmed, outcomes, lambda row: OUTCOMES.get(row["winner"], "Winner not answered"), "Face-off", FOLLOWED),
        html.H2("Who takes them?", id="men"),
    ]

    def man(row: Mapping[str, Any]) -> str:
        return _unnamed(row["ours"]) or f"{row['ours']} {name_of(moment, str(row['ours']))}"

    made.append(grid(filmed, kept_apart(rows_by("ours"), "ours"), man, "Our man", TAKEN))
    games = {game.opponent for game in moment.games if part.games is None or game.id in part.games}
    if len(games) == 1:
        rows = rows_by("theirs")
        summary = html.Summary("Against whom")
        theirs = grid(filmed, rows, lambda row: _unnamed(row["theirs"]) or f"Their {row['theirs']}", "Their man", TAKEN)
        made.append(html.Details([summary, theirs], className="more"))
    return made


def _loose(moment: Moment, filmed: Filmed, part: Slice) -> list[Component]:
    from analysis.contests import loose_balls

    small_n = moment.settings.small_n
    rows = records(loose_balls(moment.tables, part, small_n=small_n))
    made: list[Component] = [html.H2("Where are loose balls won?", id="loose")]
    if not rows:
        words = f"No loose ball is tagged in this part of the season. {key_of(moment, 'loose_ball')} marks one."
        return [*made, html.P(words)]
    men = records(loose_balls(moment.tables, replace(part, team="ours"), by="player", small_n=small_n))

    def man(row: Mapping[str, Any]) -> str:
        return _unnamed(row["player"]) or f"{row['player']} {name_of(moment, str(row['player']))}"

    return [
        *made,
        html.P(
            "By what was marked last before it in its period: a face-off, a shot, a lost ball, or that a possession "
            "began or settled. Only balls that somebody won are marked.",
            className="lede",
        ),
        grid(filmed, rows, lambda row: PLACES[row["place"]], "Last before", LOOSE),
        html.H2("Who wins them?", id="won"),
        grid(filmed, kept_apart(men, "player"), man, "Our man", WON),
    ]


def _unnamed(number: Any) -> str:
    """What stands for a man whose number is not known."""
    if blank(number):
        return "Not answered"
    return "Can’t see who" if number == "unseen" else ""

"""What players did per minute on the floor, and who feeds whom."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.grid import COUNT, GAMES, MINUTES, SHORT, WORDS, Column, grid
from dashboard.pages.names import key_of
from dashboard.pages.numbers import records
from tagger.tables import SOMEBODY

if TYPE_CHECKING:
    from collections.abc import Callable

    from dash.development.base_component import Component

    from analysis.slice import Slice
    from dashboard.loading import Filmed
    from dashboard.moment import Moment

MOST_PAIRS = 12
PER_MINUTE = (
    (
        Column("with_ball", "Possessions", COUNT, "possessions", "possessions with the ball"),
        Column("shots_a_minute", "Shots", MINUTES, "shots", "shots on the floor"),
        Column("goals_a_minute", "Goals", MINUTES, "shots", "goals on the floor"),
        Column("feeds_a_minute", "Feeds", MINUTES, "shots", "shots fed on the floor"),
    ),
    (
        Column("second_feeds_a_minute", "Passes before", MINUTES, "shots", "passes before the feed on the floor"),
        Column("screens_set_a_minute", "Screens set", MINUTES, "screens", "screens set on the floor"),
        Column("screens_used_a_minute", "Screens used", MINUTES, "screens", "screens used on the floor"),
        Column("turnovers_a_minute", "Balls lost", MINUTES, "turnovers", "balls lost on the floor"),
    ),
    (
        Column("without_ball", "Possessions without the ball", COUNT, "possessions", "possessions without the ball"),
        Column("loose_balls_a_minute", "Loose balls", MINUTES, "loose_balls", "loose balls won on the floor"),
    ),
)
PER_GAME = (
    Column("shots_per_game", "Shots", GAMES, "shots", "shots a game"),
    Column("feeds_per_game", "Feeds", GAMES, "shots", "shots fed a game"),
    Column("screens_set_per_game", "Screens set", GAMES, "screens", "screens set a game"),
    Column("turnovers_per_game", "Balls lost", GAMES, "turnovers", "balls lost a game"),
)
MORE_PER_GAME = (
    Column("goals_per_game", "Goals", GAMES, "shots", "goals a game"),
    Column("screens_used_per_game", "Screens used", GAMES, "screens", "screens used a game"),
    Column("loose_balls_per_game", "Loose balls, at any strength", GAMES, "loose_balls", "loose balls won a game"),
)
FEEDS = (
    Column("shots", "Shots", COUNT, "shots", "shots"),
    Column("on_goal", "On goal", WORDS, "shots", "shots on goal"),
    Column("goal", "Goals", SHORT, "shots", "goals"),
)


def per_minute_of(moment: Moment, filmed: Filmed, part: Slice, named: Callable[[str], str]) -> list[Component]:
    """What players did per minute on the floor.

    Parameters
    ----------
    moment, filmed
        The season, and which rows have film.
    part : Slice
        What is looked at; its team is the players'.
    named : callable
        What a number is called.

    Returns
    -------
    list of Component
        Three tables; what to mark where no line says who was on.
    """
    from analysis.floor_time import per_minute

    every = replace(part, team=None, strengths=None)
    of = part.team or "ours"
    rows = records(per_minute(moment.tables, every, of=of, small_n=moment.settings.small_n))
    [strength] = part.strengths or ("even",)
    rows = [row for row in rows if row["strength"] == strength and str(row["player"]) != SOMEBODY]
    if not rows:
        words = f"No line change says who was on the floor here. {key_of(moment, 'line')} marks one, with its men."
        return [html.P(words)]

    def man(row: Mapping[str, Any]) -> str:
        return named(str(row["player"]))

    lede = (
        "What he did while line changes have him on the floor, in minutes of film in which his team had the ball; "
        "loose balls in minutes of either. Strength is his own team’s. What he did at other times is not in it, since "
        "nobody knows how long that was."
    )
    return [html.P(lede, className="lede"), *(grid(filmed, rows, man, "Player", columns) for columns in PER_MINUTE)]


def per_game_of(filmed: Filmed, rows: Sequence[Mapping[str, Any]], named: Callable[[str], str]) -> list[Component]:
    """What players did per game, whoever was on the floor when.

    Parameters
    ----------
    filmed
        Which rows have film.
    rows : sequence of mapping
        Of `analysis.players.players`.
    named : callable
        What a number is called.

    Returns
    -------
    list of Component
        Two tables, folded.
    """
    rows = [row for row in rows if str(row["player"]) != SOMEBODY]
    if not rows:
        return []

    def man(row: Mapping[str, Any]) -> str:
        return named(str(row["player"]))

    lede = (
        "In games in which any mark here names him and that kind was looked for. Who is on the floor every second "
        "change looks busier than who is on every third."
    )
    tables = (grid(filmed, rows, man, "Player", columns) for columns in (PER_GAME, MORE_PER_GAME))
    return [html.Details([html.Summary("Per game"), html.P(lede, className="lede"), *tables], className="more")]


def feeds_of(moment: Moment, filmed: Filmed, part: Slice, named: Callable[[str], str]) -> list[Component]:
    """Who feeds whom, and what the two of them made together.

    Parameters
    ----------
    moment, filmed, part, named
        As in `per_minute_of`.

    Returns
    -------
    list of Component
        A table, the less frequent pairs folded.
    """
    from analysis.pairs import feeds

    rows = records(feeds(moment.tables, part, small_n=moment.settings.small_n))
    rows = [row for row in rows if SOMEBODY not in (str(row["feeder"]), str(row["shooter"]))]
    rows.sort(key=lambda row: -int(row["shots"]))
    if not rows:
        return [html.P("No shot names both its feeder and its shooter.")]

    def pair(row: Mapping[str, Any]) -> str:
        return f"{named(str(row['feeder']))} to {named(str(row['shooter']))}"

    lede = "Shots with a feeder and a shooter known, by pair; on goal and goals of those with a known result."
    made: list[Component] = [
        html.P(lede, className="lede"),
        grid(filmed, rows[:MOST_PAIRS], pair, "Feeder to shooter", FEEDS),
    ]
    rest = rows[MOST_PAIRS:]
    if rest:
        folded = grid(filmed, rest, pair, "Feeder to shooter", FEEDS)
        made.append(html.Details([html.Summary(f"{len(rest)} more pairs"), folded], className="more"))
    return made

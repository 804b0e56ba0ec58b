"""The players: one thing that they do, a line a man; and all that each did, who fed whom, and how much a minute."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import pandas as pd
from dash import dcc, html

from dashboard.pages.deeds import ROLES, Role
from dashboard.pages.filters import WHERE, options, picked, slice_of
from dashboard.pages.fold import fold
from dashboard.pages.men_on_axis import men_on_axis
from dashboard.pages.numbers import film_line, records, table
from dashboard.pages.on_floor import feeds_of, per_game_of, per_minute_of
from dashboard.pages.roles_table import in_every_role
from tagger.tables import SOMEBODY

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.slice import Slice
    from dashboard.loading import Filmed, Present
    from dashboard.moment import Moment

FILTER = ("Showing ", "{team}", " ", "{role}", " in ", *WHERE, ", ", "{strength}", ".")
ASKED = "Who did what?"
AT_ANY_STRENGTH = ("loose",)
"""Roles that are counted at any strength: in most of them nobody has the ball."""


def page(present: Present, of: str, chosen: Mapping[str, str]) -> list[Component]:
    """The players' page.

    Parameters
    ----------
    present : Present
        The season.
    of
        Not asked.
    chosen : mapping of str to str
        What part of the season, and which role.

    Returns
    -------
    list of Component
        The page.
    """
    from dataclasses import replace

    from analysis.players import players

    moment, filmed = present.now(), present.filmed()
    part = replace(slice_of(moment, chosen), phases=None, sides=None)
    rows = records(players(moment.tables, part, small_n=moment.settings.small_n))
    ours = part.team == "ours"
    known = [row for row in rows if _is_man(row["player"])]
    blank = [row for row in rows if not _is_man(row["player"])]
    if not known:
        said = "No mark here names a player yet. Numbers come with shots, screens and lost balls."
        return [html.H1(ASKED), html.P(said), *(_roster(moment) if ours else [])]
    code = picked(options(moment)["role"], chosen.get("role", "")).code
    role = ROLES[code]
    drawn = sorted(
        (row for row in known if int(row[role.count]) and str(row["player"]) != SOMEBODY),
        key=lambda row: -int(row[role.count]),
    )

    def named(row: Mapping[str, Any]) -> tuple[Any, str, str]:
        number = str(row["player"])
        if not ours:
            return f"their {number}", f"their {number}", ""
        plain = f"{number} {name_of(moment, number)}".strip()
        player = moment.players.get(number)
        return dcc.Link(plain, href=f"/players/{number}"), plain, player.position if player else ""

    every = [id_ for row in drawn for id_ in row[f"{role.count}_ids"]]
    figure: list[Component] = [html.P("None of it is tagged in these games: change a word of the sentence above.")]
    if drawn:
        lede = f"{NOT_COMPARED} {film_line(filmed, role.table, every, role.many)}"
        anyhow = "At any strength: in most of these nobody has the ball. " if code in AT_ANY_STRENGTH else ""
        figure = [html.P(f"{anyhow}{lede}", className="lede"), *men_on_axis(filmed, drawn, role, named)]
    shots = sum(int(row["shots"]) for row in known)
    return [
        html.H1(_verdict(moment, rows, drawn, role, ours), className="verdict"),
        *_caveats(moment, part.games, ours, blank, role),
        *figure,
        fold(
            "What did each do, in every role?",
            f"{_players(len(known))}, {shots} shot{'' if shots == 1 else 's'}",
            [in_every_role(moment, filmed, known, ours, name_of)],
            "roles",
        ),
        *_together(moment, filmed, part, known),
        *(_missing(moment, known, part.games) if ours else []),
    ]


NOT_COMPARED = (
    "Men are counted beside each other, not compared: their shots, screens and opponents differ. The wider the bar, "
    "the less is known."
)


def _verdict(
    moment: Moment, rows: Sequence[Mapping[str, Any]], drawn: Sequence[Mapping[str, Any]], role: Role, ours: bool
) -> str:
    """The plain count of the team, and who has the most, where that is one man."""
    if not drawn:
        return f"No {role.many} here."
    n = sum(int(row[role.count]) for row in rows)
    said = f"{n} {role.many}"
    if role.rate:
        k, n = (sum(int(row[f"{role.rate}_{end}"]) for row in rows) for end in ("k", "n"))
        said = f"{k} of {n} {role.many} {role.came}" if n else said
    most = int(drawn[0][role.count])
    if len(drawn) > 1 and int(drawn[1][role.count]) == most:
        return f"{said}."
    who = str(drawn[0]["player"])
    return f"{said}; {moment.called(who) if ours else f'their {who}'} {role.most} the most, {most}."


def _players(n: int) -> str:
    return "1 player" if n == 1 else f"{n} players"


def _together(moment: Moment, filmed: Filmed, part: Slice, rows: Sequence[Mapping[str, Any]]) -> list[Component]:
    """Per minute on the floor, and by pairs; of theirs in one game alone, where a number is one man."""
    ours = part.team == "ours"
    if not ours and len(moment.games if part.games is None else part.games) > 1:
        return []

    def named(number: str) -> str:
        return f"{number} {name_of(moment, number)}".strip() if ours else f"their {number}"

    minutes = [*per_minute_of(moment, filmed, part, named), *per_game_of(filmed, rows, named)]
    return [
        fold("How much per minute on the floor?", "and by the game", minutes, "minute", no_answer=True),
        fold("Who feeds whom?", "pair by pair", feeds_of(moment, filmed, part, named), "feeds", no_answer=True),
    ]


def name_of(moment: Moment, number: str) -> str:
    """A player's name.

    Parameters
    ----------
    moment : Moment
        The season.
    number : str
        His number.

    Returns
    -------
    str
        "not on the roster" for a stranger, "(erased)" for whoever was taken out of the season; empty where names don't
        go.
    """
    if number == SOMEBODY:
        return "(erased)"
    player = moment.players.get(number)
    return player.name if player else "not on the roster"


def kept_apart(rows: Sequence[Mapping[str, Any]], *columns: str) -> list[dict[str, Any]]:
    """Rows of men, of which those who were erased play nothing: no film of them is put together.

    Parameters
    ----------
    rows : sequence of mapping
        Of a result table.
    *columns : str
        Where the men's numbers stand.

    Returns
    -------
    list of dict
        The same rows; one that names somebody erased has no ids.
    """
    return [
        {name: () if name.endswith("_ids") else value for name, value in row.items()}
        if any(str(row[column]) == SOMEBODY for column in columns)
        else dict(row)
        for row in rows
    ]


def _is_man(player: Any) -> bool:
    """Whether a row is a player's: one with a number, or those who were erased, in one row."""
    return not pd.isna(player) and (str(player).isdigit() or str(player) == SOMEBODY)


def _caveats(
    moment: Moment, games: tuple[str, ...] | None, ours: bool, blank: Sequence[Mapping[str, Any]], role: Role
) -> list[Component]:
    said = []
    if not ours and (games is None or len(games) > 1) and len(moment.games) > 1:
        said.append("Numbers of different teams stand in one line here; choose one game.")
    n = sum(int(row[role.count]) for row in blank)
    if n:
        told = f"Of {n} more {role.many}" if n > 1 else f"Of 1 more of the {role.many}"
        said.append(f"{told} nobody said or saw whose; no line holds {'them' if n > 1 else 'it'}.")
    return [html.P(" ".join(said), className="soft")] if said else []


def _missing(moment: Moment, rows: Sequence[Mapping[str, Any]], games: tuple[str, ...] | None) -> list[Component]:
    """Who is not in the table: marked for something else or at another strength, or named by no mark at all."""
    there = {str(row["player"]) for row in rows}
    marked = {
        number for game, found in moment.marked.items() if games is None or game in games for number in found.numbers
    }
    rest = [player.number for player in moment.roster if player.number not in there]
    made: list[Component] = []
    for words, numbers in (
        ("Marked in these games, but for nothing that stands here: ", [one for one in rest if one in marked]),
        ("Named by no mark of these games: ", [one for one in rest if one not in marked]),
    ):
        if numbers:
            said: list[Any] = [words]
            for place, number in enumerate(numbers):
                said += [", " if place else "", dcc.Link(moment.called(number), href=f"/players/{number}")]
            made.append(html.P([*said, "."]))
    return (
        [fold("Who is in no line here?", f"{_players(len(rest))} of the roster", made, "missing", no_answer=True)]
        if made
        else []
    )


def _roster(moment: Moment) -> list[Component]:
    lines = [
        html.Tr([html.Th(player.number, scope="row"), html.Td(player.name, className="l"), html.Td(player.position)])
        for player in moment.roster
    ]
    return [html.H2("On the roster"), table([], lines)] if lines else []

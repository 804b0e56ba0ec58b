"""What can be picked out of a game: its goals, a set, a player's part.

The word lights it in the figure, the number plays it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.names import set_name
from dashboard.pages.numbers import plays
from dashboard.pages.score import Score

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from dashboard.loading import Filmed


def chips(filmed: Filmed, game: str, score: Score) -> Component:
    """Everything of a game that can be picked out.

    Parameters
    ----------
    filmed : Filmed
        Which rows have film.
    game : str
        The game's id.
    score : Score
        The game's.

    Returns
    -------
    Component
        A row of words, each with its number; the players behind one of their own.
    """
    rows = filmed.moment.folded[game].rows
    ours, theirs = set(score.ours), set(score.theirs)
    made = []
    for name, ids in (("goals", ours), ("goals against", theirs)):
        made += _chip(filmed, name, "shots", [row for row in score.goals if str(row["id"]) in ids])
    runs = [run for run in rows.get("runs", ()) if run.get("team") == "ours" and run.get("phase") == "set"]
    named: dict[str, list[Mapping[str, Any]]] = {}
    for run in runs:
        named.setdefault(set_name(filmed.moment, run.get("set")), []).append(run)
    for name, those in sorted(named.items(), key=lambda each: -len(each[1])):
        made += _chip(filmed, name, "runs", those)
    of_players = {number: _of_player(filmed, rows, number) for number in filmed.moment.players}
    men = [
        html.Li(part)
        for number, those in of_players.items()
        for part in _chip(filmed, filmed.moment.called(number), "possessions", those)
    ]
    if men:
        made.append(html.Details([html.Summary("a player’s"), html.Ul(men)], className="choice"))
    name_it: dict[str, Any] = {"aria-label": "pick out of the figure"}
    return html.Div(["Pick out: ", *made], className="chips onscreen", role="group", **name_it)


def _chip(filmed: Filmed, name: str, table: str, rows: Sequence[Mapping[str, Any]]) -> list[Component]:
    if not rows:
        return []
    ids = [str(row["id"]) for row in rows]
    held = ids if table == "possessions" else [str(row["possession"]) for row in rows if row.get("possession")]
    told: dict[str, Any] = {"data-light": " ".join(dict.fromkeys(held)), "aria-pressed": "false"}
    word = html.Button(name, type="button", className="light", **told)
    return [html.Span([word, " ", plays(filmed, str(len(ids)), table, ids, f"{name}, this game")], className="chip")]


def _of_player(filmed: Filmed, rows: Mapping[str, Iterable[Mapping[str, Any]]], number: str) -> list[Mapping[str, Any]]:
    """The possessions in which a row names one of ours."""
    held = set()
    for table, columns in filmed.moment.language.tables.items():
        if not any(column.name == "possession" for column in columns):
            continue
        own = {
            theirs: [one.name for one in columns if one.of_players and not one.of_theirs and one.of_others is theirs]
            for theirs in (False, True)
        }
        for row in rows.get(table, ()):
            named = own[row.get("team") == "theirs"]
            if any(number in str(row.get(name) or "").split() for name in named):
                held.add(row.get("possession"))
    return [row for row in rows.get("possessions", ()) if row["id"] in held]

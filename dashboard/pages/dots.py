"""A rate from game to game: a dot a game that plays, what is plausible around it, and the running estimate behind.

Drawn in plain elements, as the shot chart is, not as a plotly figure: they are there at once, each count in them is
an ordinary control that plays, and they go into the report as they are.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.found import looked_at
from dashboard.pages.names import blank
from dashboard.pages.numbers import plausibly, plays, records
from tagger.screen.opening import day_of

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.findings import Findings
    from dashboard.loading import Filmed
    from dashboard.moment import Moment

LEAST_GAMES = 12
"""Games from which on a slope is worked out; `analysis.trend.FEWEST_GAMES`, and a test holds that they agree."""


def strip(moment: Moment, filmed: Filmed, rows: Sequence[Mapping[str, Any]], of: str, what: str) -> Component:
    """The games of one line side by side, from 0 at the lower edge to 100 at the upper.

    Parameters
    ----------
    moment : Moment
        The season.
    filmed : Filmed
        Which rows have film.
    rows : sequence of mapping
        Rows of `analysis.trend.dots` of one set or checkpoint, in order of playing.
    of : str
        Event table of the ids.
    what : str
        What is counted, for the line above the film.

    Returns
    -------
    Component
        A dot for each game with something to count; few are drawn faintly.
    """
    name_it: dict[str, Any] = {"aria-label": f"{what}, game by game"}
    games = [_game(moment, filmed, row, of, what) for row in rows]
    return html.Div(games, className="dots", tabIndex=0, role="group", **name_it)


def _game(moment: Moment, filmed: Filmed, row: Mapping[str, Any], of: str, what: str) -> Component:
    game = moment.game(str(row["game"]))
    name = game.opponent if game else str(row["game"])
    day = day_of(game.date).rsplit(" ", 1)[0] if game else ""
    made: list[Any] = []
    if not blank(row["running"]):
        low, mid, high = (float(row[f"running{end}"]) * 100 for end in ("_lo", "", "_hi"))
        made.append(html.I(className="band", style={"bottom": f"{low:.1f}%", "height": f"{high - low:.1f}%"}))
        made.append(html.I(className="run", style={"bottom": f"{mid:.1f}%"}))
    k, n = int(row["rate_k"]), int(row["rate_n"])
    if n:
        lo, hi = float(row["rate_lo"]), float(row["rate_hi"])
        said = f"{what}, {name}: {k} of {n}, {plausibly(lo, hi)}"
        style = {"bottom": f"{lo * 100:.1f}%", "height": f"{(hi - lo) * 100:.1f}%"}
        made.append(html.I(className="span", style=style))
        dot = html.Span(className="dot", style={"bottom": f"{k / n * 100:.1f}%"}, title=said)
        made.append(dot)
    count = plays(filmed, f"{k} of {n}", of, row["rate_n_ids"], f"{what}, {name}, all counted") if n else "–"
    few = " few" if n and bool(row["rate_few"]) else ""
    column = html.Div(made, className="column")
    return html.Div([column, html.Div(count), html.Small([name, html.Br(), day])], className=f"game{few}")


def slope_words(row: Mapping[str, Any] | None) -> str:
    """Whether a line moved over the season, in a sentence.

    Parameters
    ----------
    row : mapping or None
        Its row of `moving`.

    Returns
    -------
    str
        A slope only from twelve games on; before that, that it is not drawn.
    """
    n_games = int(row["games"]) if row is not None else 0
    if row is None or blank(row["slope"]):
        games = "1 game" if n_games == 1 else f"{n_games} games"
        return f"No slope is drawn from {games}; it takes {LEAST_GAMES}."
    first, last = (round(float(row[name]) * 100) for name in ("first", "last"))
    moved = f"from {first} to {last} in 100 over {n_games} games"
    if not bool(row["moves"]):
        return f"The straight line goes {moved}; that cannot be told from standing still yet."
    way = "rises" if float(row["slope"]) > 0 else "falls"
    return f"It {way} {moved}. {looked_at(int(row['comparisons']))}: noticed, not proven."


def moving(found: Findings, what: str) -> list[dict[str, Any]]:
    """The slopes of a family of comparisons, as `slope_words` wants them.

    Parameters
    ----------
    found : Findings
        The family.
    what : str
        A fact, or "done".

    Returns
    -------
    list of dict
        A row for each set or checkpoint, with `comparisons`: how many were looked at in all.
    """
    return [row | {"comparisons": found.looked_at} for row in records(found.slopes[what])]

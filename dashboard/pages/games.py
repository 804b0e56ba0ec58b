"""The games: how each went, side by side, and what all of them add up to."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from dash import dcc, html

from dashboard.pages.numbers import count_of, records, table
from tagger.screen.opening import day_of
from tagger.screen.visitor import TAG, visitor

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from dashboard.loading import Filmed, Present
    from dashboard.moment import Moment
    from tagger.game import Game
    from tagger.shelf.films import Film

COLUMNS = (
    ("goals", "Goals", "shots"),
    ("shots", "Shots", "shots"),
    ("shots_on_goal", "On goal", "shots"),
    ("possessions", "Possessions", "possessions"),
    ("turnovers", "Balls lost", "turnovers"),
)
PER_100 = (("goals", "goals"), ("shots", "shots"), ("turnovers", "balls lost"))


def page(present: Present, of: str, chosen: Mapping[str, str]) -> list[Component]:
    """All games.

    Parameters
    ----------
    present : Present
        The season.
    of, chosen
        Not asked.

    Returns
    -------
    list of Component
        The page.
    """
    from analysis.games import box

    moment, filmed = present.now(), present.filmed()
    if not moment.games:
        return no_games(str(present.season.folder))
    scores = {(row["game"], row["team"]): row for row in records(box(moment.tables))}
    head = [html.Th("Game", className="l"), *(html.Th([name, html.Small("us – them")]) for _, name, _ in COLUMNS)]
    head.append(html.Th("Film", className="l wide"))
    rows = [_row(moment, filmed, game, scores, present.films(game.id)) for game in moment.games]
    return [
        html.H1("How did the games go?"),
        html.P(_lede(moment, filmed), className="lede"),
        table(head, rows, "games"),
        *_totals(moment, filmed),
    ]


def no_games(folder: str) -> list[Component]:
    """What is said before the first game.

    Parameters
    ----------
    folder : str
        The season's folder.

    Returns
    -------
    list of Component
        The page.
    """
    command = f'floorbook film "{folder}" GAME FILE --new --date YYYY-MM-DD --opponent NAME'
    if not visitor().at_laptop:
        return [html.H1("No games yet"), html.P("A season begins with its first film.", className="lede")]
    return [
        html.H1("No games yet"),
        html.P(
            ["A season begins with its first film. ", html.A("Choose it here", href="/films"), ", or type:"],
            className="lede",
        ),
        html.Pre(command, className="command"),
        html.P("Then it stands here, and a click opens it for tagging."),
    ]


def _lede(moment: Moment, filmed: Filmed) -> str:
    n_filmed = sum(bool(films) for films in filmed.ready.values())
    n_games = len(moment.games)
    games = "1 game" if n_games == 1 else f"{n_games} games"
    if n_filmed == n_games:
        return f"{games}, with film. Every underlined number plays what it was counted from."
    film = "none with film here" if n_filmed == 0 else f"{n_filmed} with film"
    return f"{games}, {film}. An underlined number plays what it was counted from, as far as there is film."


def _row(
    moment: Moment,
    filmed: Filmed,
    game: Game,
    scores: Mapping[tuple[str, str], Mapping[str, Any]],
    films: list[Film],
) -> Component:
    about = [day_of(game.date), ", at home" if game.home else ", away"]
    first = html.Th([dcc.Link(game.opponent, href=f"/games/{game.id}"), html.Small(about), _excerpt(game)], scope="row")
    ours, theirs = scores.get((game.id, "ours")), scores.get((game.id, "theirs"))
    if ours is None or theirs is None:
        way: list[Any] = [" ", html.A("Tag it", href=f"/tag/{game.id}")] if may_tag() else []
        nothing = html.Td(["Nothing tagged yet.", *way], colSpan=len(COLUMNS), className="l")
        return html.Tr([first, nothing, html.Td(film_state(films), className="l wide")])
    cells = []
    for name, title, kind in COLUMNS:
        what = f"{game.opponent}, {title.lower()}"
        cells.append(
            html.Td(
                [
                    count_of(filmed, ours, name, kind, f"{what}, ours"),
                    html.Span(" – ", className="soft"),
                    count_of(filmed, theirs, name, kind, f"{what}, theirs"),
                ],
                className="pair",
            )
        )
    return html.Tr([first, *cells, html.Td(film_state(films), className="l wide")])


def _excerpt(game: Game) -> Component:
    return html.Small(game.about, className="wide") if game.about else html.Span()


def may_tag() -> bool:
    """Whether who looks at the page may tag; it offers nothing else.

    Returns
    -------
    bool
        At the laptop, and to who came in to tag.
    """
    return visitor().at_laptop or visitor().may == TAG


def film_state(films: list[Film]) -> Component:
    """What film a game has, in a word or two.

    Parameters
    ----------
    films : list of Film
        The game's.

    Returns
    -------
    Component
        Says what is to be done where film is missing.
    """
    real = [film for film in films if film.state != "none"]
    if not real:
        return html.Span("none", className="soft")
    away = [film.name for film in real if film.state in ("away", "changed")]
    coming = [film.name for film in real if film.state == "waiting"]
    minutes = sum(film.duration_ms for film in real) / 60_000
    length = f"{minutes:.0f} min" if minutes >= 10 else f"{int(minutes)}:{round(minutes % 1 * 60):02d}"
    if away:
        said = f"{length}; {', '.join(away)} not where it was"
        if not visitor().at_laptop:
            return html.Span(said, className="warn")
        said += "; "
        return html.Span([said, html.A("find it again", href="/films#season")], className="warn")
    if coming:
        way = html.A("being made playable", href="/films#work") if visitor().at_laptop else "being made playable"
        return html.Span([f"{length}; ", way])
    return html.Span(length)


def _totals(moment: Moment, filmed: Filmed) -> list[Component]:
    """Both teams' rates over everything, per 100 possessions."""
    from analysis.games import box

    made = []
    whole = {row["team"]: row for row in records(box(moment.tables, by=()))}
    for team, who in (("ours", "We"), ("theirs", "They")):
        row = whole.get(team)
        if row is None or int(row["possessions"]) == 0:
            continue
        parts: list[Any] = [f"{who} had ", count_of(filmed, row, "possessions", "possessions", f"{who}, possessions")]
        parts.append(" possessions. In 100 of them: ")
        for place, (name, words) in enumerate(PER_100):
            rate = f"{name}_per_100"
            said = f"{float(row[rate]):.0f} {words}"
            interval = f" (plausibly {float(row[f'{rate}_lo']):.0f}–{float(row[f'{rate}_hi']):.0f})"
            what = f"{who}, {words}"
            kind = "turnovers" if name == "turnovers" else "shots"
            parts += [", " if place else "", html.B(said), html.Span(interval, className="soft")]
            parts += [", from ", count_of(filmed, row, f"{rate}", kind, what)]
        made.append(html.P([*parts, "."], className="answer"))
    if not made:
        return []
    return [html.H2("What is that in 100 possessions?"), *made]

"""One game: its box score, its possessions along one line, and each of them told in sentences that play."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from dash import dcc, html

from dashboard.pages.games import COLUMNS, film_state, may_tag
from dashboard.pages.numbers import count_of, film_line, plays, records, table
from dashboard.putting_back import earlier, said_of
from dashboard.story import ORDINALS, Said, Told, tell
from tagger.screen.opening import day_of, title_of
from tagger.screen.visitor import visitor

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from dashboard.loading import Filmed, Present
    from tagger.game import Game

MORE_COLUMNS = (
    *COLUMNS,
    ("settled", "Settled", "possessions"),
    ("pull_outs", "Pulled out", "runs"),
    ("second_chances", "Second chances", "runs"),
    ("penalties", "Penalties", "penalties"),
)


def page(present: Present, of: str, chosen: Mapping[str, str]) -> list[Component]:
    """A game's page.

    Parameters
    ----------
    present : Present
        The season.
    of : str
        The game's id.
    chosen
        Not asked.

    Returns
    -------
    list of Component
        Empty when there is no such game.
    """
    moment = present.now()
    game = moment.game(of)
    if game is None:
        return []
    filmed = present.filmed()
    folded = moment.folded[of]
    told = tell(folded, moment.language)
    n_problems = len(folded.problems)
    problems = [f" · {n_problems} to look at there"] if n_problems else []
    tag: list[Any] = [html.A("Tag this game", href=f"/tag/{of}"), *problems, " · "] if may_tag() else []
    top = [
        html.H1(title_of(present.season, game)),
        html.P(
            [
                day_of(game.date),
                f". {game.about}" if game.about else "",
                ". Film: ",
                film_state(present.films(of)),
                ".",
            ],
            className="lede",
        ),
        html.P([*tag, _compared(of)], className="ways"),
        *_books(present, of),
    ]
    if not told:
        more = " What you mark there stands here at once, in sentences." if tag else ""
        return [*top, html.P(f"Nothing is tagged yet.{more}"), *_earlier(present, of)]
    ids = [one.id for one in told]
    return [
        *top,
        _box(present, game),
        html.H2("What happened?"),
        html.P(
            [film_line(filmed, "possessions", ids, "possessions"), " A sentence that is underlined plays."],
            className="soft",
        ),
        *_periods(filmed, told),
        *_earlier(present, of),
    ]


def _compared(game: str) -> Component:
    return dcc.Link("Do two people see the same?", href=f"/games/{game}/agreement")


def _books(present: Present, game: str) -> list[Component]:
    """Whose marks the numbers are from, where there is more than one book, and a way to count from another."""
    names = [book.name for book in present.season.journal.books(game)]
    if len(names) < 2:
        return []
    counted = present.season.tagged.chosen_book(game)
    others = [
        html.Form(
            [
                html.Button(f"count from {name}’s book", type="submit", name="book", value=name, className="link"),
            ],
            method="post",
            action=f"/games/{game}/book",
        )
        for name in names
        if name != counted and visitor().at_laptop
    ]
    return [html.Div([html.Span(f"Counted from {counted}’s book."), *others], className="books soft")]


def _earlier(present: Present, game: str) -> list[Component]:
    """On the laptop: the moments to which the book that is counted may be put back."""
    if not visitor().at_laptop:
        return []
    book = present.season.tagged.chosen_book(game)
    back = [
        html.Li(
            html.Form(
                [
                    html.Button(said_of(one), type="submit", name="place", value=str(one.place), className="link"),
                ],
                method="post",
                action=f"/games/{game}/put-back?book={quote(book)}",
            )
        )
        for one in earlier(present.season, game, book)
    ]
    if not back:
        return []
    words = (
        f"Something went wrong in {book}’s book? It can stand as it did at one of these moments. What came later is "
        "taken back, not deleted, and the moment before is listed here then. Close the game’s tagging page first."
    )
    told = [html.Summary("Put the book back to an earlier moment"), html.P(words), html.Ul(back, className="moments")]
    return [html.Details(told, className="more back")]


def _box(present: Present, game: Game) -> Component:
    from analysis.games import box
    from analysis.slice import Slice

    filmed = present.filmed()
    scores = records(box(present.now().tables, Slice(games=(game.id,))))
    names = {"ours": present.season.texts.settings.team, "theirs": game.opponent}
    head = [html.Th("", className="l"), *(html.Th(title) for _, title, _ in MORE_COLUMNS)]
    rows = []
    for row in scores:
        cells = [
            html.Td(count_of(filmed, row, name, kind, f"{names[row['team']]}, {title.lower()}"))
            for name, title, kind in MORE_COLUMNS
        ]
        rows.append(html.Tr([html.Th([_dot(row["team"]), names[row["team"]]], scope="row"), *cells]))
    return table(head, rows, "box")


def _dot(team: str) -> Component:
    return html.I(className=f"who {team or 'nobody'}")


def _periods(filmed: Filmed, told: Sequence[Told]) -> list[Component]:
    made: list[Component] = []
    for period in dict.fromkeys(one.period for one in told):
        those = [one for one in told if one.period == period]
        name = "Outside any period" if period is None else f"{ORDINALS.get(period, f'{period}th')} period"
        made += [html.H3(name), _line(filmed, those), html.Div([_told(filmed, one) for one in those], className="told")]
    return made


def _line(filmed: Filmed, told: Sequence[Told]) -> Component:
    """Possessions along one neutral line: ours above, theirs below, a shape for how each ended."""
    first = told[0].start_ms
    last = max(one.end_ms or one.start_ms + 1000 for one in told)
    length = max(last - first, 1)
    language = filmed.moment.language
    made = []
    for one in told:
        left = (one.start_ms - first) / length * 100
        width = ((one.end_ms or one.start_ms + 1000) - one.start_ms) / length * 100
        drawn = language.endings.get(one.ended, {}).get("shape")
        shape = html.I(className=f"end {drawn}") if drawn else None
        part = plays(filmed, shape, "possessions", [one.id], _what(one), f"seg {one.team}")
        made.append(
            html.Span(part, className=f"at {one.team}", style={"left": f"{left:.3f}%", "width": f"{width:.3f}%"})
        )
    legend = [html.Span([html.I(className=f"end {one['code']}"), one["name"]]) for one in language.data["shapes"]]
    ends = [html.Span([_dot("ours"), "ours above"]), html.Span([_dot("theirs"), "theirs below"]), *legend]
    return html.Div([html.Div(made, className="line"), html.Div(ends, className="legend")], className="along")


def _what(one: Told) -> str:
    return f"{one.opening}{f': {one.ending}' if one.ending else ''}"


def _told(filmed: Filmed, one: Told) -> Component:
    runs = [html.P(_sentences(filmed, run)) for run in one.runs]
    time = plays(filmed, one.when, "possessions", [one.id], _what(one), "when")
    opening = html.P([_dot(one.team), html.B(f"{one.opening}."), *_short(filmed, one)])
    body = [opening] if len(one.runs) < 1 else [opening, *runs]
    ending = [html.P(f"Score {one.score}.", className="score")] if one.score else []
    return html.Div([html.Div(time, className="time"), html.Div([*body, *ending])], className=f"pos {one.team}")


def _short(filmed: Filmed, one: Told) -> list[Any]:
    return [] if one.runs or not one.ending else [f" {one.ending.capitalize()}."]


def _sentences(filmed: Filmed, said: Sequence[Said]) -> list[Any]:
    made: list[Any] = []
    for one in said:
        text = f"{one.text}."
        made += [plays(filmed, text, one.table, one.ids, one.text, inline=True) if one.ids else html.Span(text), " "]
    return made


def back() -> Component:
    """The way back to all games.

    Returns
    -------
    Component
        A link.
    """
    return dcc.Link("All games", href="/")

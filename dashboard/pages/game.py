"""One game: its score in a sentence, all of it in one figure; its numbers and sentences folded below."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from dash import dcc, html

from dashboard.pages import ids
from dashboard.pages.fold import fold
from dashboard.pages.game_chips import chips
from dashboard.pages.game_figure import Period, figure, period_name, periods_of, what_of
from dashboard.pages.games import COLUMNS, film_state, may_tag
from dashboard.pages.numbers import count_of, film_line, plays, records, table
from dashboard.pages.score import Score, course, score_of, tagged_so_far
from dashboard.putting_back import earlier, said_of
from dashboard.story import Said, Told, tell
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
_TEAMS = ("ours", "theirs")
_LIVE: dict[str, Any] = {"aria-live": "polite"}


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
    score = score_of(moment, of)
    n_problems = len(folded.problems)
    problems = [f" · {n_problems} to look at there"] if n_problems else []
    tag: list[Any] = [html.A("Tag this game", href=f"/tag/{of}"), *problems, " · "] if may_tag() else []
    ways = html.P([*tag, _compared(of)], className="ways")
    if not told:
        more = " What you mark there stands here at once, in sentences." if tag else ""
        return [
            html.H1(title_of(present.season, game)),
            html.P(_about(present, game), className="lede"),
            ways,
            *_books(present, of),
            html.P(f"Nothing is tagged yet.{more}"),
            *_earlier(present, of),
        ]
    periods = periods_of(filmed, of, told)
    return [
        html.H1(_verdict(filmed, game, score)),
        _lede(present, game, told),
        ways,
        *_books(present, of),
        figure(filmed, of, periods, score),
        chips(filmed, of, score),
        html.Section(id=ids.STRETCH, className="stretch", hidden=True, **_LIVE),
        fold("What are its numbers?", _turned(present, game), [_box(present, game)], "numbers", printed=True),
        fold("What happened?", _how_many(filmed, told), _periods(filmed, periods), "happened", no_answer=True),
        *_earlier(present, of),
    ]


def _about(present: Present, game: Game) -> list[Any]:
    where = ", at home" if game.home else ", away"
    about = f" {game.about.rstrip('.')}." if game.about else ""
    return [day_of(game.date), where, f".{about}", " Film: ", film_state(present.films(game.id)), "."]


def _verdict(filmed: Filmed, game: Game, score: Score) -> list[Any]:
    """Both sides' goals, and how it went where the game is tagged whole."""
    team = filmed.moment.settings.team
    us, them = (
        plays(filmed, str(len(ids)), "shots", ids, what, inline=True)
        for ids, what in ((score.ours, f"Goals of {team}"), (score.theirs, f"Goals of {game.opponent}"))
    )
    went = course(score)
    before = [] if score.whole else [html.Small(f"{tagged_so_far(score)}: "), " "]
    return [*before, f"{team} ", us, f", {game.opponent} ", them, f": {went}." if went else "."]


def _lede(present: Present, game: Game, told: Sequence[Told]) -> Component:
    """Whose shots and possessions, the day and the film."""
    filmed = present.filmed()
    made: list[Any] = []
    rows = {row["team"]: row for row in _scores(present, game)}
    for name, words in (("shots", "shots"), ("possessions", "possessions")):
        ours, theirs = (
            count_of(filmed, rows[team], name, name, f"{words}, {team}") if team in rows else "0" for team in _TEAMS
        )
        made += [ours, f" {words} against ", theirs, ", " if name == "shots" else ". "]
    return html.P([*made, *_about(present, game)], className="lede")


def _turned(present: Present, game: Game) -> str:
    rows = {row["team"]: row for row in _scores(present, game)}
    if len(rows) < len(_TEAMS):
        return ""
    parts = (("turnovers", "balls lost"), ("pull_outs", "pulled out"), ("penalties", "penalties"))
    said = (f"{words} {int(rows['ours'][name])} against {int(rows['theirs'][name])}" for name, words in parts)
    return ", ".join(said)


def _how_many(filmed: Filmed, told: Sequence[Told]) -> str:
    return f"In sentences; {film_line(filmed, 'possessions', [one.id for one in told], 'possessions')}"


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


def _scores(present: Present, game: Game) -> list[dict[str, Any]]:
    from analysis.games import box
    from analysis.slice import Slice

    return records(box(present.now().tables, Slice(games=(game.id,))))


def _box(present: Present, game: Game) -> Component:
    filmed = present.filmed()
    scores = _scores(present, game)
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


def _periods(filmed: Filmed, periods: Sequence[Period]) -> list[Component]:
    made: list[Component] = [html.P("A sentence that is underlined plays.", className="soft onscreen")]
    for period in periods:
        name = period_name(period.number, filmed.moment.settings.n_periods)
        made += [html.H3(name), html.Div([_told(filmed, one) for one in period.told], className="told")]
    return made


def _told(filmed: Filmed, one: Told) -> Component:
    runs = [html.P(_sentences(filmed, run)) for run in one.runs]
    time = plays(filmed, one.when, "possessions", [one.id], what_of(one), "when")
    opening = html.P([_dot(one.team), html.B(f"{one.opening}."), *_short(filmed, one)])
    body = [opening] if len(one.runs) < 1 else [opening, *runs]
    ending = [html.P(f"Score {one.score}.", className="score")] if one.score else []
    name_it: dict[str, Any] = {"data-told": one.id}
    return html.Div(
        [html.Div(time, className="time"), html.Div([*body, *ending])], className=f"pos {one.team}", **name_it
    )


def _short(filmed: Filmed, one: Told) -> list[Any]:
    return [] if one.runs or not one.ending else [f" {one.ending.capitalize()}."]


def _sentences(filmed: Filmed, said: Sequence[Said]) -> list[Any]:
    made: list[Any] = []
    for one in said:
        text = f"{one.text}."
        made += [plays(filmed, text, one.table, one.ids, one.text, inline=True) if one.ids else html.Span(text), " "]
    return made

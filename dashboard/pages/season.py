"""The week: how the last game went, what the next practice could take up, and each game of the season as a step."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from dash import dcc, html

from dashboard.explored import explored
from dashboard.pages import games
from dashboard.pages.asked_when import before_it
from dashboard.pages.found import findings_of, nothing_said, speaking, stood_out, taken_as_alike
from dashboard.pages.names import blank, called
from dashboard.pages.numbers import plausibly, plays, records
from dashboard.pages.score import course, result_word, score_of, tagged_so_far
from dashboard.pages.season_course import season_course
from dashboard.pages.stated import analysed
from dashboard.retention import due
from tagger.care import SCREEN
from tagger.screen.opening import day_of
from tagger.screen.visitor import visitor

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from dashboard.loading import Filmed, Present
    from dashboard.moment import Moment
    from tagger.game import Game

KINDS = {"question": "Your question", "keep": "Keep", "fix": "Work on"}
_TABLES = ("runs", "screens", "possessions", "shots", "grades")


def page(present: Present, of: str, chosen: Mapping[str, str]) -> list[Component]:
    """The front.

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
    moment = present.now()
    if not moment.games:
        return games.no_games(str(present.season.folder))
    return [
        *_not_kept(present),
        *_last(present),
        html.H2("What for the next practice?"),
        *practice(moment, present.filmed(), lambda row: _asked_before(present, row)),
        *kept_long(present),
        html.H2("How did each game go?"),
        season_course(present.filmed()),
    ]


def _last(present: Present) -> list[Component]:
    """How the last game that is tagged went, and what is still to be tagged after it."""
    moment, filmed = present.now(), present.filmed()
    tagged = [game for game in moment.games if moment.folded[game.id].rows.get("possessions")]
    newer = moment.games[moment.games.index(tagged[-1]) + 1 :] if tagged else moment.games
    to_tag = [_to_tag(game) for game in newer]
    if not tagged:
        return [html.H1("No game is tagged yet."), *to_tag]
    game = tagged[-1]
    score = score_of(moment, game.id)
    ours, theirs = (
        plays(filmed, str(len(ids)), "shots", ids, f"The last game, goals, {team}", inline=True)
        for ids, team in ((score.ours, "ours"), (score.theirs, "theirs"))
    )
    went = course(score)
    first: list[Any] = [f"{result_word(score)} "] if score.whole else [html.Small(f"{tagged_so_far(score)}:"), " "]
    said = [*first, ours, "–", theirs, f" against {game.opponent}", f": {went}." if went else "."]
    where = "at home" if game.home else "away"
    way = dcc.Link("All of that game", href=f"/games/{game.id}")
    return [html.H1(said), html.P([f"{day_of(game.date)}, {where}. ", way], className="lede"), *to_tag]


def _to_tag(game: Game) -> Component:
    way: list[Any] = [" ", html.A("Tag it", href=f"/tag/{game.id}")] if games.may_tag() else []
    return html.P([f"{game.opponent}, {day_of(game.date)}, is not tagged yet.", *way], className="soft")


def _not_kept(present: Present) -> list[Component]:
    """On the laptop: that the season's own copies fail, until one succeeds."""
    if present.keeper is None or not present.keeper.told or not visitor().at_laptop:
        return []
    words = f"No copy of this season is being kept: {present.keeper.told}. What you tag is on the disk all the same."
    return [html.P(words, className="fault", role="status")]


def kept_long(present: Present) -> list[Component]:
    """What the season has kept for as long as it said, and the commands that take it; on the laptop alone.

    Parameters
    ----------
    present : Present
        The season.

    Returns
    -------
    list of Component
        Nothing, as a rule.
    """
    told = due(present.season) if present.now().to == SCREEN else []
    if not told:
        return []
    one = "This is older than the season keeps it. It goes when you say so:"
    return [
        html.Details(
            [
                html.Summary(f"{len(told)} to erase? {told[0].what}" + ("" if len(told) == 1 else ", and more")),
                html.P(one),
                html.Pre("\n".join(each.command for each in told), className="command"),
            ],
            className="more",
        )
    ]


def _way_to_question(asked: bool) -> str:
    if visitor().at_laptop:
        return "State another" if asked else "State one"
    return "See it" if asked else "What was noticed"


def practice(
    moment: Moment, filmed: Filmed, more: Callable[[Mapping[str, Any]], Sequence[Component]] = lambda row: ()
) -> list[Component]:
    """The practice list.

    Parameters
    ----------
    moment : Moment
        The season.
    filmed : Filmed
        Which rows have film.
    more : callable
        What else is said of a line.

    Returns
    -------
    list of Component
        At most five sentences that play, and how they were picked.
    """
    from analysis.findings import EVEN_OURS

    asked = moment.stated_question
    rows = moment.kept(("practice",), lambda: _listed(moment))
    made = [_line(moment, filmed, row, more(row)) for row in rows if row["kind"] != "nothing"]
    way = dcc.Link(_way_to_question(asked is not None), href="/question")
    words: list[Any] = ["Answered as it was stated, whatever came of it. "] if asked else [_NO_QUESTION]
    noticed = [row for row in rows if row["kind"] in ("keep", "fix", "nothing")]
    n_compared = int(rows[0]["comparisons"]) - (1 if asked else 0) if rows else 0
    if not noticed or rows[-1]["kind"] == "nothing":
        words.append(f"{nothing_said(moment, n_compared)} Practise what you meant to, and tag on.")
    else:
        said = speaking(findings_of(moment, EVEN_OURS), lambda row: True)
        alike = f"{taken_as_alike(said)} " if said else ""
        words.append(f"{stood_out(n_compared)} {alike}It says where to look on film, not what caused what.")
    return [
        html.Ol(made, className="practice") if made else html.Div(),
        html.P([*words, html.Span([" ", way, "."], className="onscreen")], className="lede"),
    ]


_NO_QUESTION = "No question is stated; what is asked before tagging counts for more than what is found after. "


def _listed(moment: Moment) -> list[dict[str, Any]]:
    from analysis.findings import EVEN_OURS
    from analysis.practice import practice_list

    found = findings_of(moment, EVEN_OURS)
    small_n = moment.settings.small_n
    return records(
        practice_list(moment.tables, found, question=analysed(moment), names=called(moment), small_n=small_n)
    )


def _asked_before(present: Present, row: Mapping[str, Any]) -> list[Component]:
    """How much of what answers the question was there to be looked at before it was stated."""
    question = present.now().stated_question
    if row["kind"] != "question" or question is None:
        return []
    of = "screens" if question.of_screens else "runs"
    return before_it(present.filmed(), of, explored(present, of, row["ids"]))


def _line(moment: Moment, filmed: Filmed, row: Mapping[str, Any], more: Sequence[Component]) -> Component:
    ids = list(row["ids"])
    of = next((name for name in _TABLES if ids and ids[0] in moment.rows(name)), "runs")
    what = "The stated question" if row["kind"] == "question" else KINDS[row["kind"]]
    text = plays(filmed, row["said"], of, ids, what, inline=True)
    n_film = filmed.count(of, ids)
    sure = (
        ""
        if "plausibly" in row["said"] or row["kind"] == "question" or blank(row["lo"])
        else f"{plausibly(float(row['lo']), float(row['hi']))}; "
    )
    has_film = f"{sure}{n_film} of {len(ids)} {of} {'has' if len(ids) == 1 else 'have'} film"
    small = html.Small([f"{has_film}." if more else has_film, *more])
    return html.Li([html.B(KINDS[row["kind"]], className="kind"), html.Span([text, small])], className=row["kind"])

"""One player: what he did, role by role with how sure that is, and his clips."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from dash import dcc, html

from dashboard.choosing import Wanted, apart, parts_of, together
from dashboard.clips import clip_of
from dashboard.in_net import GOAL_POSITIONS, in_net
from dashboard.pages.fold import fold
from dashboard.pages.his_games import earlier_and_later, his_games
from dashboard.pages.names import key_of
from dashboard.pages.numbers import bar, count_of, plays, rate_words, records, table
from dashboard.reels import CARE
from dashboard.story import label
from tagger.care import FILE, SCREEN
from tagger.tables import OURS, SOMEBODY, THEIRS

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from dashboard.loading import Filmed, Present
    from dashboard.moment import Moment
    from tagger.texts.roster import Player

RATES = (
    ("shooting", "Shots that were goals", "shots"),
    ("on_goal", "Shots on goal", "shots"),
    ("fed_goal", "Shots he fed that were goals", "shots"),
    ("freed", "Screens he set that freed somebody", "screens"),
    ("came_free", "Screens he used that freed him", "screens"),
    ("faceoffs", "Face-offs he took that we won", "faceoffs"),
    ("done", "Grades that were plus", "grades"),
)
COUNTS = (
    ("shots", "shot", "shots", "shots"),
    ("goals", "goal", "goals", "shots"),
    ("feeds", "shot fed", "shots fed", "shots"),
    ("screens_set", "screen set", "screens set", "screens"),
    ("screens_used", "screen used", "screens used", "screens"),
    ("turnovers", "ball lost", "balls lost", "turnovers"),
    ("loose_balls", "loose ball won", "loose balls won", "loose_balls"),
)
HIS_PART = (
    ("shots", "Shots and feeds", ""),
    ("screens", "Screens", ""),
    ("turnovers", "Balls lost", "player"),
    ("turnovers", "Balls won off them", "by"),
    ("turnovers", "Passes for him that were lost", "meant"),
    ("turnovers", "Illegal picks on him", "hit"),
    ("loose_balls", "Loose balls", ""),
    ("penalties", "Penalties", "player"),
    ("penalties", "Fouls on him", "fouled"),
    ("grades", "Grades", ""),
)
"""What of his is listed under which title: the table, and the answer that names him where it makes a difference."""
TO_SAY = {
    "Shots and feeds": (("shooting", "shots were goals"), ("fed_goal", "he fed were goals")),
    "Screens": (("freed", "he set freed somebody"), ("came_free", "he used freed him")),
    "Grades": (("done", "were plus"),),
}
"""What to say of his clips under a title: the rates that they come to."""
ERASED = (
    "Players who were erased from this season, all in one line: no number, no name, no film of their own. "
    "What they did still counts for the team."
)
SHOOTS = {"L": "shoots left", "R": "shoots right"}


def page(present: Present, of: str, chosen_words: Mapping[str, str]) -> list[Component]:
    """A player's page.

    Parameters
    ----------
    present : Present
        The season.
    of : str
        His number.
    chosen_words
        Not asked.

    Returns
    -------
    list of Component
        Empty when nobody has this number.
    """
    from analysis.players import players
    from analysis.slice import Slice

    moment, filmed = present.now(), present.filmed()
    rows = records(players(moment.tables, Slice(team="ours"), small_n=moment.settings.small_n))
    row = next((row for row in rows if row["player"] == of), None)
    player = moment.players.get(of)
    if player is None and row is None:
        return []
    if of == SOMEBODY and row is not None:
        return [html.H1("Somebody"), html.P(ERASED, className="lede"), _counts(filmed, row, SOMEBODY)]
    name = moment.called(of) if player else f"{of}, not on the roster"
    top = [html.H1(name), html.P(_about(player, row), className="soft")]
    net = _net(moment, filmed, of, name, player)
    if row is None:
        nothing = [] if net else [html.P(["No mark names him yet. ", dcc.Link("All players", "/players")])]
        return [*top, *net, *nothing]
    answer, halves = earlier_and_later(moment, filmed, row, name)
    return [
        *top,
        _counts(filmed, row, name),
        *net,
        *his_games(moment, filmed, row, name),
        *_clips(present, moment, filmed, row, player),
        fold("What do his numbers come to?", "each with how sure it is", [_rates(filmed, row, name)], "rates"),
        fold("Is he any different from earlier?", answer, halves, "earlier"),
    ]


def _about(player: Player | None, row: Mapping[str, Any] | None) -> str:
    said = [player.position, SHOOTS.get(player.shoots, "")] if player else []
    if row is not None:
        n_games = int(row["games"])
        said.append(f"in marks of {n_games} game{'' if n_games == 1 else 's'}")
    words = ", ".join(part for part in said if part)
    every = " Here all his games count, at every strength." if row else ""
    return f"{words[:1].upper()}{words[1:]}.{every}" if words else ""


def _net(moment: Moment, filmed: Filmed, number: str, name: str, player: Player | None) -> list[Component]:
    """A goalkeeper's saves; what to mark where nobody said who was in net."""
    found = in_net(moment)
    row = found.row(number, moment.settings.small_n)
    if int(row["save_n"]):
        goals = int(row["goals"])
        against = plays(filmed, str(goals), "shots", row["goals_ids"], f"{name}, goals against")
        lines = html.Tr(
            [
                html.Th("Shots on goal he saved", scope="row", className="plain"),
                html.Td(bar(row, "save"), className="drawn"),
                html.Td(rate_words(filmed, row, "save", "shots", f"{name}, saves"), className="w"),
            ]
        )
        left = f" Of {len(found.nobody)} more nobody said who was in net." if found.nobody else ""
        goals_words = " goal against." if goals == 1 else " goals against."
        said = html.P([against, goals_words, html.Span(left, className="soft")])
        return [html.H2("In net"), table([], [lines], "rates"), said]
    if player is not None and player.position.casefold() in GOAL_POSITIONS:
        n = len(found.nobody)
        shots = "a shot" if n == 1 else f"{n} shots"
        more = f" Of {shots} on our goal nobody said." if n else ""
        return [
            html.H2("In net"),
            html.P(
                f"Saves and goals against belong to the man in net; no mark says that he was.{more} A goalkeeper mark "
                f"({key_of(moment, 'goalie')}) at the beginning of the game, and at each change, is enough."
            ),
        ]
    return []


def _counts(filmed: Filmed, row: Mapping[str, Any], name: str) -> Component:
    made: list[Any] = []
    for column, one, many, kind in COUNTS:
        n = int(row[column])
        words = one if n == 1 else many
        if n and name == SOMEBODY:
            made += [", " if made else "", html.B(str(n)), f" {words}"]
        elif n:
            made += [", " if made else "", html.B(count_of(filmed, row, column, kind, f"{name}, {words}")), f" {words}"]
    return html.P([*made, "."], className="his-counts") if made else html.Div()


def _rates(filmed: Filmed, row: Mapping[str, Any], name: str) -> Component:
    lines = []
    for rate, words, kind in RATES:
        if int(row[f"{rate}_n"]) == 0:
            continue
        cells = [
            html.Th(words, scope="row", className="plain"),
            html.Td(bar(row, rate), className="drawn"),
            html.Td(rate_words(filmed, row, rate, kind, f"{name}, {words.lower()}"), className="w"),
        ]
        lines.append(html.Tr(cells))
    note = []
    if bool(row.get("fed_goal_withheld", False)):
        note = [
            html.P(
                "Feeders are named more often on goals than on other shots, so that rate is withheld.", className="soft"
            )
        ]
    return html.Div([table([], lines, "rates"), *note])


def _clips(
    present: Present, moment: Moment, filmed: Filmed, row: Mapping[str, Any], player: Player | None
) -> list[Component]:
    """All his clips, his reel, and his clips by what he did, each with what to say about it."""
    number = str(row["player"])
    parts = parts_of(moment, number)
    care = moment.going_out(apart(moment, Wanted(player=number)))
    clips = together(moment, care).clips
    shown = [clip for clip in clips if clip.pieces(filmed.ready.get(clip.game, ()))]
    made: list[Component] = [html.H2("His film", id="film")]
    if care.left_out:
        n_kept = len(care.left_out)
        kept = "A clip stays" if n_kept == 1 else f"{n_kept} clips stay"
        made.append(html.P(f"{kept} on the laptop: somebody marked there has no consent.", className="soft"))
    if not clips and care.left_out:
        return made
    if not shown:
        made.append(html.P(f"None of his {len(clips)} clips has film here."))
    else:
        what = f"{number}, every clip"
        n = len(shown)
        words = "Play his only clip" if n == 1 else f"Play all {n} clips"
        data: dict[str, Any] = {"data-player": number, "data-what": what}
        rest = f", {n} of {len(clips)} with film; what overlaps is put together" if n < len(clips) else ""
        line: list[Any] = [
            html.Button(words, className="plays", type="button", **data),
            html.Span(f"{rest}.", className="soft"),
        ]
        if moment.to == SCREEN:
            line += [" ", html.A("A reel of them", href="#reel")]
        made.append(html.P(line))
    for kind, title, column in HIS_PART:
        others = {one.name for one in moment.language.tables[kind] if one.of_others}
        side = THEIRS if column in others else OURS
        rows = [row for table_name, row in parts if table_name == kind]
        if column:
            rows = [row for row in rows if row.get(column) == number and row["team"] == side]
        n_film, inside = _kind(moment, filmed, kind, rows, f"{number}, {title.lower()}")
        if inside:
            made.append(fold(title, _to_say(row, title, len(rows), n_film), inside, f"{kind}-{column or 'all'}"))
    return [*made, *_reel(present, moment, number, player, bool(shown))]


def _to_say(row: Mapping[str, Any], title: str, n: int, n_film: int) -> str:
    """What to say of the clips of one kind: what they come to, counted."""
    said = [
        f"{int(row[f'{rate}_k'])} of {int(row[f'{rate}_n'])} {words}"
        for rate, words in TO_SAY.get(title, ())
        if int(row[f"{rate}_n"])
    ]
    return f"{', '.join(said) if said else '1 mark' if n == 1 else f'{n} marks'}; {n_film} with film"


def _kind(
    moment: Moment, filmed: Filmed, kind: str, rows: Sequence[Mapping[str, Any]], what: str
) -> tuple[int, list[Component]]:
    """A line for each that has film and may be seen here, and how many; the rest are in the numbers above."""
    there = filmed.ids(kind)
    goes = {
        clip.rows[0][1] for clip in moment.going_out(clip_of(kind, row) for row in rows if row["id"] in there).clips
    }
    those = sorted(
        (row for row in rows if row["id"] in goes),
        key=lambda row: ([game.id for game in moment.games].index(row["game"]), row.get("at_ms", 0)),
    )
    made: list[Component] = []
    for row in those:
        words = label(moment, kind, row)
        made.append(html.Li(plays(filmed, words, kind, [row["id"]], words, inline=True)))
    if not made:
        return 0, []
    ids = [str(row["id"]) for row in those]
    every = [html.P(plays(filmed, f"Play these {len(ids)}", kind, ids, what))] if len(ids) > 1 else []
    return len(ids), [*every, html.Ul(made, className="lines")]


def _reel(present: Present, moment: Moment, number: str, player: Player | None, any_film: bool) -> list[Component]:
    """How to cut his reel, on the laptop that can cut it."""
    if not any_film or moment.to != SCREEN:
        return []
    made: list[Component] = []
    if player is None:
        return [fold("A reel to take along?", "only players on the roster get one", [], "reel")]
    if not player.consent:
        said = "The roster says no consent for him, so no reel of him is cut."
        return [fold("A reel to take along?", "no consent", [html.P(said)], "reel")]
    command = f'floorbook reels "{present.season.folder}" --player {number} --to "{number}.mp4"'
    data: dict[str, Any] = {"data-copy": command}
    copy = html.Button("copy it", type="button", className="copy", **data)
    made.append(html.P(["A reel is cut by a command, in a terminal on this laptop: ", copy]))
    made.append(html.Pre(command, className="command", id="reel-command"))
    left = len(moment.going_out(apart(moment, Wanted(player=number)), to=FILE).left_out)
    if left:
        clips = "1 clip" if left == 1 else f"{left} clips"
        made.append(html.P(f"It leaves out {clips} in which somebody without consent is marked.", className="soft"))
    made.append(html.P(CARE, className="soft"))
    return [fold("A reel to take along?", "cut by one command", made, "reel")]

"""From a number in a page to its film: the page sends the ids of the rows counted, and gets what to play.

No number's film is worked out twice: the ids come with the number, from the very rows that it was counted from.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING, Any

from flask import Blueprint, Response, jsonify

from dashboard.choosing import Wanted, apart, together
from dashboard.clips import AS_USUAL, MOMENTS, STRETCHES, Clip, More, Piece, clip_of, in_order, moment_row
from dashboard.one_line import line_of
from tagger.care import SCREEN
from tagger.screen.answers import Refused, error_answer
from tagger.screen.body import sent_object
from tagger.screen.outside import has_film
from tagger.screen.visitor import ALL, TAG, visitor

if TYPE_CHECKING:
    from dashboard.loading import Present
    from dashboard.moment import Moment
    from tagger.care import GoingOut
    from tagger.shelf.films import Film

MOST_IDS = 20_000
MOST_CHOSEN = 500
MOST_MORE_S = 60
_MOST_BYTES = 4 * 1024 * 1024


def create_play(present: Present) -> Blueprint:
    """The answers to "play this number".

    Parameters
    ----------
    present : Present
        The season.

    Returns
    -------
    Blueprint
        POST /clips.
    """
    play = Blueprint("play", __name__)

    @play.errorhandler(Refused)
    def refused(error: Refused) -> Response:
        return error_answer(error)

    @play.post("/clips")
    def clips() -> Response:
        sent = sent_object(_MOST_BYTES)
        more = _more_asked(sent)
        if "rows" in sent:
            made = rows_list(present, _rows_named(present.now().language.tables, sent["rows"]), more)
        elif "player" in sent:
            made = players_list(present, str(sent["player"]), more)
        else:
            made = playlist(present, *_rows_asked(present.now().language.tables, sent), more)
        answer = jsonify({**made, "tag": visitor().may in (TAG, ALL), "season": present.now().settings.id})
        answer.headers["Cache-Control"] = "no-store"
        return answer

    return play


def playlist(present: Present, table: str, ids: Sequence[str], more: More = AS_USUAL) -> dict[str, Any]:
    """What to play for some rows.

    Parameters
    ----------
    present : Present
        The season.
    table : str
        The rows' event table.
    ids : sequence of str
        Their ids.
    more : More
        How much more than usual each clip shows.

    Returns
    -------
    dict
        `n`: how many rows there are of those asked for; `clips`: for each that film shows, in the order of the
        season, what `one_line.line_of` says of it, and `pieces`: each with `film` (address), `start_s`, `end_s`; of a
        run also `screen`: the `piece` in which its first screen is, and `at_s` in that film, where it has one there;
        `away`: names of films that are not where they were; `gone`: how many of the ids are no longer there, because
        marks were changed meanwhile; `kept_back`: how many of the clips may not be seen where they are asked for,
        since somebody without consent is marked in them (`tagger.care`); `film`: whether who asks gets film at all.
    """
    moment = present.now()
    rows = _moments(moment, ids) if table == MOMENTS else moment.rows(table)
    wanted = [rows[id_] for id_ in dict.fromkeys(ids) if id_ in rows]
    runs = moment.rows("runs") if table not in STRETCHES else {}
    found = [clip_of(table, row, run=runs.get(str(row.get("run")))).widened(more) for row in wanted]
    clips = in_order(found, [game.id for game in moment.games])
    return {**_shown(present, moment, moment.going_out(clips)), "gone": len(set(ids)) - len(wanted)}


def players_list(present: Present, player: str, more: More = AS_USUAL) -> dict[str, Any]:
    """What to play for a player: the clips of his reel.

    Parameters
    ----------
    present : Present
        The season.
    player : str
        His number.
    more : More
        How much more than usual each clip shows.

    Returns
    -------
    dict
        As from `playlist`.
    """
    moment = present.now()
    care = moment.going_out([clip.widened(more) for clip in apart(moment, Wanted(player=player))])
    return {**_shown(present, moment, together(moment, care)), "gone": 0}


def rows_list(present: Present, rows: Sequence[tuple[str, str]], more: More = AS_USUAL) -> dict[str, Any]:
    """What to play for rows that somebody chose one by one.

    Parameters
    ----------
    present : Present
        The season.
    rows : sequence of (str, str)
        Event table and id of each.
    more : More
        How much more than usual each clip shows.

    Returns
    -------
    dict
        As from `playlist`, in the order of the rows.
    """
    found: list[dict[str, Any]] = []
    parts = {table: playlist(present, table, [id_ for each, id_ in rows if each == table], more) for table, _ in rows}
    place = {row: number for number, row in enumerate(rows)}
    for part in parts.values():
        found += part["clips"]
    found.sort(key=lambda clip: place[clip["table"], clip["id"]])
    away = dict.fromkeys(name for part in parts.values() for name in part["away"])
    counted = {name: sum(part[name] for part in parts.values()) for name in ("n", "gone", "kept_back")}
    film = all(part["film"] for part in parts.values())
    return {**counted, "clips": found, "away": list(away), "film": film}


def _shown(present: Present, moment: Moment, care: GoingOut[Clip]) -> dict[str, Any]:
    if moment.to != SCREEN and not has_film(present.season):
        return {"n": 0, "clips": [], "away": [], "kept_back": len(care.clips) + len(care.left_out), "film": False}
    clips = care.clips
    made: list[dict[str, Any]] = []
    away: dict[str, None] = {}
    films = {game: present.films(game) for game in dict.fromkeys(clip.game for clip in clips)}
    played = {
        film.id: f"/film/{film.id}?v={present.season.shelf.copies.played(film.id)[1]}"  # one file to the clip’s end
        for each in films.values()
        for film in each
        if film.state == "ready"
    }
    for clip in clips:
        away |= {film.name: None for film in films[clip.game] if film.state in ("away", "changed")}
        pieces = clip.pieces([film for film in films[clip.game] if film.state == "ready"])
        if pieces:
            table, id_ = clip.rows[0]
            unsaid = clip in care.unsaid
            screen = (
                {} if unsaid or table != "runs" else _screen(pieces, films[clip.game], moment.first_screen.get(id_))
            )
            made.append(
                {
                    **line_of(moment, table, id_, unsaid=unsaid),
                    "pieces": [_piece(played[piece.film], piece.start_ms, piece.end_ms) for piece in pieces],
                    **screen,
                }
            )
    return {"n": len(clips), "clips": made, "away": list(away), "kept_back": len(care.left_out), "film": True}


def _screen(pieces: Sequence[Piece], films: Sequence[Film], at_ms: int | None) -> dict[str, Any]:
    """Where a run's first screen is in what is shown of it; nothing where it has none there."""
    starts = {film.id: film.offset_ms for film in films}
    for place, piece in enumerate(pieces):
        if at_ms is not None and piece.start_ms <= at_ms - starts[piece.film] < piece.end_ms:
            return {"screen": {"piece": place, "at_s": (at_ms - starts[piece.film]) / 1000}}
    return {}


def _moments(moment: Moment, ids: Sequence[str]) -> dict[str, dict[str, Any]]:
    made = {id_: moment_row(id_) for id_ in ids}
    return {id_: row for id_, row in made.items() if row is not None and moment.game(row["game"]) is not None}


def _piece(film: str, start_ms: int, end_ms: int) -> dict[str, Any]:
    return {"film": film, "start_s": start_ms / 1000, "end_s": end_ms / 1000}


def _rows_asked(tables: Collection[str], sent: dict[str, Any]) -> tuple[str, list[str]]:
    table, ids = sent.get("table"), sent.get("ids")
    if not isinstance(table, str) or (table not in tables and table != MOMENTS):
        raise Refused(400, "no_table", f"“{table}” is no event table; it is one of {', '.join(tables)}")
    if not isinstance(ids, list) or len(ids) > MOST_IDS or not all(isinstance(id_, str) for id_ in ids):
        raise Refused(400, "no_ids", f'"ids" is a list of at most {MOST_IDS} ids of rows')
    return str(table), ids


def _rows_named(tables: Collection[str], named: Any) -> list[tuple[str, str]]:
    if not isinstance(named, list) or len(named) > MOST_CHOSEN:
        raise Refused(400, "no_rows", f'"rows" is a list of at most {MOST_CHOSEN} pairs of event table and id')
    made = []
    for one in named:
        if not (isinstance(one, list) and len(one) == 2 and all(isinstance(part, str) for part in one)):
            raise Refused(400, "no_rows", f'"rows" is a list of at most {MOST_CHOSEN} pairs of event table and id')
        if one[0] not in tables and one[0] != MOMENTS:
            raise Refused(400, "no_table", f"“{one[0]}” is no event table; it is one of {', '.join(tables)}")
        made.append((one[0], one[1]))
    return made


def _more_asked(sent: dict[str, Any]) -> More:
    asked = [sent.get(f"{name}_s", 0) for name in ("before", "after")]
    if not all(type(one) is int and abs(one) <= MOST_MORE_S for one in asked):
        raise Refused(400, "no_seconds", f'"before_s" and "after_s" are whole seconds, at most {MOST_MORE_S}')
    return More(*(1000 * one for one in asked))

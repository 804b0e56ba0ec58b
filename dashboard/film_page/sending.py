"""Film sent from another device, piece by piece: what the browser of that device asks of the server.

A name never becomes a path: a file gets its id and its name here. Pieces carry a plain checksum (CRC-32), since on a
plain address of a local network a browser offers no digests of its own.

Who came in to send sees nothing of the season: he says the day and the opponent, and the laptop puts his film to the
game of that day, if there is one, without telling him. Only what his own browser began is his to go on with.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from flask import Blueprint, Response, request

from dashboard.doors.guests import Guest, present_guest
from dashboard.doors.quota import STAY_FREE_BYTES, Quota
from dashboard.film_page.listing import FILM_SUFFIXES
from dashboard.film_page.request import answer_json, game_for, sent_json, text_of
from dashboard.film_page.sorting import game_of_sent
from dashboard.film_page.words import job_line
from tagger.errors import NoJob, SeasonError
from tagger.film.errors import DiskFull, FilmError
from tagger.screen.answers import Refused, error_answer
from tagger.season import Season
from tagger.work.arrivals import Arrivals, TooManyArrivals, suffix_of
from tagger.work.job import BRING, FAILED
from tagger.work.jobs import JobList
from tagger.work.parcel import Arrival, NoArrival, OtherFile, Sent, StrayPiece, TornPiece
from tagger.work.plan import free_bytes

SENDING = "/films/send/"
MOST_LABEL = 80
LARGEST = 1 << 50
_CRCS = range(1 << 32)


def add_sending(blueprint: Blueprint, season: Season, arrivals: Arrivals) -> None:
    """Add to the page of film what sending takes; who may ask is the page's matter.

    Parameters
    ----------
    blueprint : Blueprint
        The page of film.
    season : Season
        The open season.
    arrivals : Arrivals
        What is being sent to it.
    """
    _clear_old(season, arrivals)
    quota = Quota(season.texts.settings.send_gb * 10**9, season.texts.settings.send_films)

    def begun() -> list[str]:
        return [one.id for one in arrivals.all()]

    def his(id_: str) -> str:
        """An arrival's id, of whoever asks: what another sends is nothing to him."""
        guest = present_guest()
        if guest is not None and not quota.owns(guest, id_):
            raise NoArrival("this film is not being sent from here; choose its file again to send it")
        return id_

    @blueprint.errorhandler(NoArrival)
    @blueprint.errorhandler(TooManyArrivals)
    @blueprint.errorhandler(StrayPiece)
    @blueprint.errorhandler(TornPiece)
    @blueprint.errorhandler(OtherFile)
    def not_taken(error: SeasonError) -> Response:
        status, code = _REFUSALS[type(error)]
        return error_answer(Refused(status, code, str(error)))

    @blueprint.errorhandler(FilmError)
    def no_film(error: FilmError) -> Response:
        full = isinstance(error, DiskFull)
        return error_answer(Refused(507 if full else 400, "no_room" if full else "film", str(error)))

    @blueprint.get(f"{SENDING}state.json")
    def sending_state() -> Response:
        from tagger.film.room import spoken_bytes

        guest = present_guest()
        coming = coming_of(arrivals)
        free = max(0, free_bytes(season.folder) - STAY_FREE_BYTES)
        if guest is not None:
            coming = [one for one in coming if quota.owns(guest, one["id"])]
            free = min(free, quota.left_bytes(guest, begun()))
        return answer_json({"free": spoken_bytes(free), "piece": arrivals.piece_bytes, "coming": coming})

    @blueprint.post(f"{SENDING}begin")
    def begin() -> Response:
        sent = sent_json()
        _clear_old(season, arrivals)
        guest = present_guest()
        wish: dict[str, Any] = {key: sent[key] for key in ("game", "new", "camera") if key in sent}
        if guest is not None and "new" not in wish:
            raise Refused(400, "no_game", "say the day of the game and the opponent")
        game_for(season, wish)
        if "new" in wish:
            wish["new"] = {key: wish["new"].get(key) for key in ("date", "opponent", "home")}
        label = "".join(char for char in text_of(str(sent.get("name", ""))[-MOST_LABEL:], "name") if char.isprintable())
        file = Sent(
            size_bytes=_whole(sent.get("size"), "size", range(1, LARGEST)),
            first_crc=_whole(sent.get("first"), "first", _CRCS),
            last_crc=_whole(sent.get("last"), "last", _CRCS),
            suffix=suffix_of(label, FILM_SUFFIXES),
            label=label.replace("/", " ").replace("\\", " ").strip() or "a film",
            wish=wish,
        )
        arrival = begin_within(guest, file) if guest is not None else arrivals.begin(file)
        return answer_json({"id": arrival.id, "piece": arrivals.piece_bytes, **_far(arrival)})

    def begin_within(guest: Guest, file: Sent) -> Arrival:
        """Begin a film that leaves its sender within his quota, and the disk its room."""
        held = arrivals.begun_as(file)
        if not held:
            coming = sum(one.sent.size_bytes - one.there_bytes for one in arrivals.all())
            if free_bytes(season.folder) - coming - file.size_bytes < STAY_FREE_BYTES:
                raise Refused(507, "no_room", f"{file.label}: the coach’s computer has no room for it; ask the coach")
        made: list[Arrival] = []

        def begins() -> str:
            made.append(arrivals.begin(file))
            return made[0].id

        quota.begin(guest, file.size_bytes, held, begun(), begins)
        return made[0]

    @blueprint.post(f"{SENDING}<id_>/<int:at>")
    def piece(id_: str, at: int) -> Response:
        if request.mimetype != "application/octet-stream":
            raise Refused(415, "no_piece", "send a piece as application/octet-stream")
        if request.content_length is None:
            raise Refused(411, "no_length", "say how long the piece is")
        if request.content_length > arrivals.piece_bytes:
            raise Refused(413, "too_much", f"a piece is at most {arrivals.piece_bytes} bytes")
        crc = request.args.get("crc", "")
        if not crc.isascii() or not crc.isdigit() or len(crc) > 10 or int(crc) not in _CRCS:
            raise Refused(400, "no_crc", "say the piece’s checksum")
        return answer_json(_far(arrivals.take(his(id_), at, request.get_data(cache=False), int(crc))))

    @blueprint.post(f"{SENDING}<id_>/finish")
    def finish(id_: str) -> Response:
        sent_json()
        guest = present_guest()
        jobs = JobList(season.store)
        his(id_)
        for job in jobs.all():  # the answer to an earlier asking may have got lost
            if job.kind == BRING and job.body.get("sent") == id_:
                return answer_json({"job": job.id})
        wish = arrivals.get(id_).sent.wish
        game, aim = game_for(season, wish) if guest is None else game_of_sent(season, guest, wish)
        quota.finished(id_)
        path = arrivals.finish(id_)
        body = {"paths": [str(path)], "in_order": True, "keep": False, "sent": id_, **aim}
        job = jobs.add(BRING, 0, game=game, body=body)
        if guest is not None:
            guest.games[aim.get("new", {}).get("id", game)] = aim["camera"]
        return answer_json({"job": job.id})

    @blueprint.post(f"{SENDING}<id_>/rest")
    def rest(id_: str) -> Response:
        sent_json()
        arrivals.rest(his(id_))
        return answer_json({})

    @blueprint.post(f"{SENDING}<id_>/clear")
    def clear(id_: str) -> Response:
        sent_json()
        arrivals.clear(id_)
        return answer_json({"coming": coming_of(arrivals)})

    @blueprint.get(f"{SENDING}job/<int:id_>.json")
    def sent_job(id_: int) -> Response:
        try:
            job = JobList(season.store).job(id_)
        except NoJob:
            return answer_json({"state": "done"})
        guest = present_guest()
        if job.kind != BRING or "sent" not in job.body or (guest and not quota.owns(guest, job.body["sent"])):
            return answer_json({"state": "done"})
        line = job_line(job, None, "")
        return answer_json({key: line[key] for key in ("state", "doing", "share", "left", "why")})


def coming_of(arrivals: Arrivals) -> list[dict[str, Any]]:
    """What is being sent, for a page.

    Parameters
    ----------
    arrivals : Arrivals
        All of it.

    Returns
    -------
    list of dict
        `id`, `what` it is called, `size` and `there` in words, `share`, and whether it is `coming` just now.
    """
    from tagger.film.room import spoken_bytes

    return [
        {
            "id": one.id,
            "what": one.sent.label,
            "size": spoken_bytes(one.sent.size_bytes),
            "there": spoken_bytes(one.there_bytes) if one.there_bytes else "nothing",
            "share": round(one.there_bytes / one.sent.size_bytes, 3),
            "coming": arrivals.is_coming(one.id),
        }
        for one in arrivals.all()
    ]


def _far(arrival: Arrival) -> dict[str, Any]:
    return {"missing": arrival.missing, "there": arrival.there_bytes}


def _whole(value: Any, name: str, within: range) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or value not in within:
        raise Refused(400, f"no_{name}", f"say the file’s {name}, a whole number")
    return value


def _clear_old(season: Season, arrivals: Arrivals) -> None:
    """Throw away what nobody went on with, and sent files that were looked at and put aside, after some days."""
    arrivals.clear_old()
    jobs = [job for job in JobList(season.store).all() if job.state != FAILED]
    wanted = {Path(one).name for job in jobs for one in job.body.get("paths", ())}
    wanted |= {Path(film.path).name for film in season.shelf.all_films() if film.path}
    arrivals.clear_unused(wanted)


_REFUSALS = {
    NoArrival: (404, "no_arrival"),
    TooManyArrivals: (429, "too_many"),
    StrayPiece: (400, "stray_piece"),
    TornPiece: (422, "torn_piece"),
    OtherFile: (409, "other_file"),
}

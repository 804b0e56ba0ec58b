"""Reels: the clips in which a player has a part, or those of a set, cut frame-exactly into one MP4.

A player has a part in what he did (shots, feeds, screens set and used, turnovers, loose balls, penalties, grades), and
in the runs in which he did it or had a role. Clips that show the same moments are put together, so that nothing is
seen twice. Consent stands in the roster: a player whose line does not say ``yes`` gets no reel unless the caller says
that consent is there. Opponents are not on the roster, and get none.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dashboard.clips import USUAL, Clip, Timing, clip_of, in_order, merged
from dashboard.errors import NothingToCut
from dashboard.story import label
from tagger.tables import SOMEBODY

if TYPE_CHECKING:
    from dashboard.loading import Moment
    from tagger.film.cut import Clip as FilmClip
    from tagger.film.cut import Reel
    from tagger.season import Season
    from tagger.texts import Player

Progress = Callable[[float, str], None]

CARE = (
    "Film of players is personal, of minors more so: show it to whom it is for, send no public links, "
    "delete it when asked. Your league’s and country’s rules come first."
)
PARTS: Mapping[str, tuple[str, ...]] = {
    "shots": ("shooter", "feeder", "feeder2"),
    "screens": ("setter", "user"),
    "turnovers": ("player",),
    "loose_balls": ("player",),
    "penalties": ("player",),
    "grades": ("player",),
    "roles": ("player",),
}


@dataclass(frozen=True)
class Wanted:
    """Whose clips: of one game or all, of a player, of a set (its code), or of a player in a set."""

    game: str | None = None
    player: str | None = None
    play: str | None = None


@dataclass(frozen=True)
class Done:
    """What came of one reel: a line to tell, and the reel; None when it was not cut."""

    told: str
    reel: Reel | None = None


def cut_reel(
    season: Season,
    wanted: Wanted,
    target: Path,
    *,
    consent: bool = True,
    timing: Timing = USUAL,
    progress: Progress | None = None,
) -> Done:
    """Cut one reel.

    Parameters
    ----------
    season : Season
        The open season.
    wanted : Wanted
        Whose clips.
    target : Path
        The MP4; it appears only when it is whole.
    consent : bool
        Whether only players with consent on the roster get one.
    timing : Timing
        How much each clip shows.
    progress : callable, optional
        Told how far it is.

    Returns
    -------
    Done
        With the reel.

    Raises
    ------
    NothingToCut
        No such player, no consent, no clip, or none with film.
    FilmError
        The film can't be cut.
    """
    from dashboard.loading import Desk
    from tagger.film.cut import write_reel

    moment = Desk(season).now()
    who = _who(moment, wanted, consent)
    clips = chosen(moment, wanted, timing)
    if not clips:
        raise NothingToCut(f"{who}: nothing is tagged that fits; nothing was cut")
    pieces, missing = film_clips(season, moment, clips)
    if not pieces:
        raise NothingToCut(f"{who}: {_clips(len(clips))}, none with film here; bring the film in, or put the card back")
    target.parent.mkdir(parents=True, exist_ok=True)
    reel = write_reel(pieces, target, progress=progress)
    short = f", {missing} of {len(clips)} without film" if missing else ""
    size = f"{reel.size_bytes / 1e6:.1f} MB"
    length = f"{reel.duration_ms // 60_000}:{reel.duration_ms // 1000 % 60:02d}"
    return Done(f"{target}: {who}, {_clips(len(clips) - missing)}{short}, {length}, {size}", reel)


def cut_all(
    season: Season,
    folder: Path,
    *,
    game: str | None = None,
    play: str | None = None,
    consent: bool = True,
    timing: Timing = USUAL,
    progress: Progress | None = None,
) -> list[Done]:
    """Cut a reel for every player of the roster who has clips with film.

    Parameters
    ----------
    season : Season
        The open season.
    folder : Path
        Where to; made if missing. Reels are named by number and name.
    game, play : str, optional
        Only of this game; only runs of this set.
    consent : bool
        Whether only players with consent on the roster get one.
    timing : Timing
        How much each clip shows.
    progress : callable, optional
        Told how far it is.

    Returns
    -------
    list of Done
        One for each player, those without a reel too, with why.

    Raises
    ------
    NothingToCut
        Nobody got a reel.
    """
    made: list[Done] = []
    roster = season.roster
    for place, player in enumerate(roster):

        def share(done: float, text: str, place: int = place, number: str = player.number) -> None:
            if progress is not None:
                progress((place + done) / len(roster), f"{number}, {text}")

        wanted = Wanted(game=game, player=player.number, play=play)
        target = folder / file_of(player)
        try:
            made.append(cut_reel(season, wanted, target, consent=consent, timing=timing, progress=share))
        except NothingToCut as fault:
            made.append(Done(str(fault)))
    if not any(one.reel for one in made):
        raise NothingToCut("no player has a clip with film here that may be cut; nothing was cut")
    return made


def file_of(player: Player) -> str:
    """What a player's reel is called.

    Parameters
    ----------
    player : Player
        Of the roster.

    Returns
    -------
    str
        A name that any system takes.
    """
    return f"{player.number} {_plain(player.name)}.mp4"


def set_code(season: Season, words: str) -> str:
    """A set by its code or its name.

    Parameters
    ----------
    season : Season
        The open season.
    words : str
        As a person types it.

    Returns
    -------
    str
        Its code.

    Raises
    ------
    NothingToCut
        The playbook has no such set.
    """
    for play in season.playbook.sets:
        if words.lower() in (play.code.lower(), play.name.lower()):
            return play.code
    there = ", ".join(play.code for play in season.playbook.sets) or "none yet"
    raise NothingToCut(f"no set “{words}” in the playbook; it has {there}")


def chosen(moment: Moment, wanted: Wanted, timing: Timing = USUAL) -> list[Clip]:
    """The clips that are wanted, put together where they overlap.

    Parameters
    ----------
    moment : Moment
        The season.
    wanted : Wanted
        Whose.
    timing : Timing
        How much each shows.

    Returns
    -------
    list of Clip
        In the order of the season.
    """
    runs = {
        id_: row
        for id_, row in moment.rows("runs").items()
        if row.get("team") == "ours" and (wanted.play is None or row.get("set") == wanted.play)
    }
    found: list[Clip] = []
    if wanted.player is None:
        found = [clip_of("runs", row, timing) for row in runs.values() if _in_game(row, wanted)]
    else:
        for table, row in parts_of(moment, wanted.player):
            run = row.get("run")
            if not _in_game(row, wanted) or (wanted.play is not None and run not in runs):
                continue
            if run in runs and runs[run].get("phase") != "not_tagged":
                found.append(clip_of("runs", runs[run], timing))
            elif row.get("at_ms") is not None:
                found.append(clip_of(table, row, timing))
    return in_order(merged(found), [game.id for game in moment.games])


def parts_of(moment: Moment, player: str) -> list[tuple[str, Mapping[str, Any]]]:
    """Everything in which one of our players has a part.

    Parameters
    ----------
    moment : Moment
        The season.
    player : str
        His number.

    Returns
    -------
    list of (str, row)
        Event table and row.
    """
    found: list[tuple[str, Mapping[str, Any]]] = []
    if player == SOMEBODY:  # who was erased has no film of his own
        return found
    for table, columns in PARTS.items():
        for row in moment.rows(table).values():
            if row.get("team", "ours") == "ours" and any(row.get(column) == player for column in columns):
                found.append((table, row))
    return found


def film_clips(season: Season, moment: Moment, clips: Iterable[Clip]) -> tuple[list[FilmClip], int]:
    """Clips as frames of original films.

    Parameters
    ----------
    season : Season
        The open season.
    moment : Moment
        The season at this moment.
    clips : iterable of Clip
        What to cut.

    Returns
    -------
    tuple of list of film Clip and int
        What can be cut, in order, and how many of the clips no original shows.
    """
    from tagger.errors import NoFilm
    from tagger.film.cut import Clip as FilmClip

    made: list[FilmClip] = []
    missing = 0
    for clip in clips:
        cut_any = False
        for piece in clip.pieces([film for film in season.films(clip.game) if film.state != "none"]):
            try:
                source = season.clip_source(piece.film)
            except NoFilm:
                continue
            start, end = frames_between(source.index, piece.start_ms, piece.end_ms)
            if start < end:
                made.append(FilmClip(source.path, source.index, start, end, label(moment, *_leading(moment, clip))))
                cut_any = True
        missing += not cut_any
    return made, missing


def frames_between(index: Any, start_ms: int, end_ms: int) -> tuple[int, int]:
    """The frames of a span of time.

    Parameters
    ----------
    index : FrameIndex
        The film's frames.
    start_ms, end_ms : int
        From the first shown frame, end exclusive.

    Returns
    -------
    tuple of int
        First frame and end (exclusive): the frames whose own time lies in the span.
    """
    import numpy as np

    times = index.all_ms()
    return int(np.searchsorted(times, start_ms)), int(np.searchsorted(times, end_ms))


def _leading(moment: Moment, clip: Clip) -> tuple[str, Mapping[str, Any]]:
    table, id_ = clip.rows[0]
    return table, moment.rows(table)[id_]


def _in_game(row: Mapping[str, Any], wanted: Wanted) -> bool:
    return wanted.game is None or row["game"] == wanted.game


def _who(moment: Moment, wanted: Wanted, consent: bool) -> str:
    """Whose reel it is, in words; refuses who may not have one."""
    play = f" in {moment.playbook.name_of(wanted.play)}" if wanted.play else ""
    if wanted.player is None:
        return f"our runs{play}"
    player = moment.players.get(wanted.player)
    if player is None:
        numbers = ", ".join(moment.players) or "nobody yet"
        raise NothingToCut(f"no player {wanted.player} on the roster; it has {numbers}")
    if consent and not player.consent:
        raise NothingToCut(
            f"{player.number} {player.name}: no consent on the roster, no reel; write yes in the line’s consent, "
            "or say --without-consent when you have it elsewhere"
        )
    return f"{player.number} {player.name}{play}"


def _clips(n: int) -> str:
    return f"{n} clip{'' if n == 1 else 's'}"


def _plain(name: str) -> str:
    """A name that any system takes as a file's."""
    return "".join(letter for letter in name if letter.isalnum() or letter in " -'’._").strip(" .") or "player"

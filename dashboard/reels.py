"""Reels: the clips in which a player has a part, or those of a set, cut frame-exactly into one MP4.

Clips that show the same moments are put together, so that nothing is seen twice. Who may be seen in them is asked of
`tagger.care`, before anything is cut, and told: a clip in which somebody without consent is marked is left out, or goes
out with nothing said of it, as the season sets. A player without consent gets no reel of his own unless the caller says
that consent is there. Opponents are not on the roster, and get none.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dashboard.choosing import Wanted, apart, together
from dashboard.clips import USUAL, Clip, Timing
from dashboard.errors import NothingToCut
from dashboard.story import label, where
from tagger.care import FILE, LEAVE_OUT_NAME, SCREEN, GoingOut
from tagger.naming import called
from tagger.progress import Progress, Tell
from tagger.written import OWNER_ONLY, OWNERS_FOLDER

if TYPE_CHECKING:
    from dashboard.loading import Present
    from dashboard.moment import Moment
    from tagger.film.cut import Clip as FilmClip
    from tagger.film.cut import Reel
    from tagger.season import Season
    from tagger.texts.roster import Player


CARE = (
    "Film of players is personal, of minors more so: show it to whom it is for, send no public links, "
    "delete it when asked. Your league’s and country’s rules come first."
)
OPPONENTS = "Opponents are on no roster here, so nobody has asked for their consent: they are as much to be cared for."


@dataclass(frozen=True)
class Done:
    """What came of one reel: a line to tell, and the reel; None when it was not cut."""

    told: str
    reel: Reel | None = None


@dataclass(frozen=True)
class _Choice:
    """What goes into one reel: whose it is, the season as laptop and file see it, and which of n clips go.

    `who_on_screen` names him whatever the season lets out: it is told on the laptop, and never goes into a file.
    """

    who_on_screen: str
    moment: Moment
    outside: Moment
    care: GoingOut[Clip]
    n: int


def cut_reel(
    season: Season,
    wanted: Wanted,
    target: Path,
    *,
    consent: bool = True,
    timing: Timing = USUAL,
    progress: Progress | None = None,
    tell: Tell | None = None,
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
        Whether the roster's consent is asked for; False: somebody at the laptop said that it is there.
    timing : Timing
        How much each clip shows.
    progress : callable, optional
        Told how far it is.
    tell : callable, optional
        Told, before anything is cut, who without consent is marked in how many clips and what becomes of them.

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
    from dashboard.loading import Present

    choice = _choose(Present(season), wanted, consent, timing)
    if tell is not None and choice.care.n_marked:
        tell(_warning(choice, consent))
    return _cut(season, choice, target, progress)


def cut_all(
    season: Season,
    folder: Path,
    *,
    game: str | None = None,
    play: str | None = None,
    consent: bool = True,
    timing: Timing = USUAL,
    progress: Progress | None = None,
    tell: Tell | None = None,
) -> list[Done]:
    """Cut a reel for every player of the roster who has clips with film.

    Parameters
    ----------
    season : Season
        The open season.
    folder : Path
        Where to; made if missing, for its owner only. Reels are named as their players may be called outside.
    game, play : str, optional
        Only of this game; only runs of this set.
    consent, timing, progress, tell
        As for `cut_reel`; everything is told before the first is cut.

    Returns
    -------
    list of Done
        One for each player, those without a reel too, with why.

    Raises
    ------
    NothingToCut
        Nobody got a reel.
    """
    from dashboard.loading import Present

    present = Present(season)
    made: dict[str, Done] = {}
    choices: dict[str, _Choice] = {}
    for number in (player.number for player in season.texts.roster):
        try:
            choices[number] = _choose(present, Wanted(game=game, player=number, play=play), consent, timing)
        except NothingToCut as fault:
            made[number] = Done(str(fault))
    for choice in choices.values():
        if tell is not None and choice.care.n_marked:
            tell(_warning(choice, consent))
    for place, (number, choice) in enumerate(choices.items()):

        def share(done: float, text: str, place: int = place, number: str = number) -> None:
            if progress is not None:
                progress((place + done) / len(choices), f"{number}, {text}")

        target = folder / file_of(choice.outside.players[number])
        try:
            made[number] = _cut(season, choice, target, share)
        except NothingToCut as fault:
            made[number] = Done(str(fault))
    if not any(one.reel for one in made.values()):
        raise NothingToCut("no player has a clip with film here that may be cut; nothing was cut")
    return [made[player.number] for player in season.texts.roster]


def _choose(present: Present, wanted: Wanted, consent: bool, timing: Timing) -> _Choice:
    """Whose reel it is and which clips go into it; refuses who may not have one, and a reel of nothing."""
    moment, outside = present.now(SCREEN), present.now(FILE)
    who = _who(moment, wanted, consent)
    clips = apart(moment, wanted, timing)
    if not clips:
        raise NothingToCut(f"{who}: nothing is tagged that fits; nothing was cut")
    care = outside.going_out(clips, said_to_be_there=not consent)
    return _Choice(who, moment, outside, together(moment, care), len(clips))


def _cut(season: Season, choice: _Choice, target: Path, progress: Progress | None) -> Done:
    from tagger.film.cut import write_reel

    who, clips, left = choice.who_on_screen, choice.care.clips, len(choice.care.left_out)
    if not clips:
        raise NothingToCut(f"{who}: somebody without consent is marked in every clip; nothing was cut")
    pieces, missing = film_clips(season, choice.outside, clips, choice.care.unsaid)
    if not pieces:
        raise NothingToCut(f"{who}: {_clips(len(clips))}, none with film here; bring the film in, or put the card back")
    target.parent.mkdir(mode=OWNERS_FOLDER, parents=True, exist_ok=True)
    reel = write_reel(pieces, target, progress=progress)
    reel.path.chmod(OWNER_ONLY)
    short = f", {missing} of {len(clips)} without film" if missing else ""
    short += f", {left} left out" if left else ""
    size = f"{reel.size_bytes / 1e6:.1f} MB"
    length = f"{reel.duration_ms // 60_000}:{reel.duration_ms // 1000 % 60:02d}"
    return Done(f"{target}: {who}, {_clips(len(clips) - missing)}{short}, {length}, {size}", reel)


def _warning(choice: _Choice, consent: bool) -> str:
    """Who without consent is marked in how many of the clips, and what becomes of those, in one line."""
    care, moment = choice.care, choice.moment
    men = ", ".join(f"{moment.called(number)} in {count}" for number, count in care.because.items())
    if not consent:
        does = "they are cut all the same, because --without-consent says that you have it elsewhere"
    elif moment.settings.care.without_consent == LEAVE_OUT_NAME:
        does = "they are cut, and nothing is written of what happens in them (season.toml, [care])"
    else:
        does = "they are left out (season.toml, [care])"
    who, clips = choice.who_on_screen, _clips(choice.n)
    return f"{who}: in {care.n_marked} of {clips} somebody without consent is marked ({men}); {does}"


def file_of(player: Player) -> str:
    """What a player's reel is called.

    Parameters
    ----------
    player : Player
        Of the roster as it may be shown outside.

    Returns
    -------
    str
        What he may be called there, as any system takes it.
    """
    return f"{_plain(called(player))}.mp4"


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
    for play in season.texts.playbook.sets:
        if words.lower() in (play.code.lower(), play.name.lower()):
            return play.code
    there = ", ".join(play.code for play in season.texts.playbook.sets) or "none yet"
    raise NothingToCut(f"no set “{words}” in the playbook; it has {there}")


def film_clips(
    season: Season, moment: Moment, clips: Iterable[Clip], unsaid: Collection[Clip] = ()
) -> tuple[list[FilmClip], int]:
    """Clips as frames of original films.

    Parameters
    ----------
    season : Season
        The open season.
    moment : Moment
        The season at this moment.
    clips : iterable of Clip
        What to cut.
    unsaid : collection of Clip
        Moments of which nothing is said beside game and time.

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
        row = _leading(moment, clip)
        words = where(moment, row[1]) if clip in unsaid else label(moment, *row)
        for piece in clip.pieces([film for film in season.shelf.films(clip.game) if film.state != "none"]):
            try:
                source = season.shelf.copies.clip_source(piece.film)
            except NoFilm:
                continue
            start, end = frames_between(source.index, piece.start_ms, piece.end_ms)
            if start < end:
                made.append(FilmClip(source.path, source.index, start, end, words))
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
            f"{moment.called(player.number)}: no consent on the roster, no reel; write yes in the line’s consent "
            "when you have it"
        )
    return f"{moment.called(player.number)}{play}"


def _clips(n: int) -> str:
    return f"{n} clip{'' if n == 1 else 's'}"


def _plain(name: str) -> str:
    """A name that any system takes as a file's."""
    return "".join(letter for letter in name if letter.isalnum() or letter in " -'’._").strip(" .") or "player"

"""Which clips are wanted: a player's, a set's, or a player's in a set.

A player has a part in what the vocabulary says (`part`: shots, feeds, screens set and used, turnovers, loose balls,
penalties, grades), and in the runs in which he did it or had a role. Whether they may be seen is asked of `tagger.care`
on the way.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from dashboard.clips import USUAL, Clip, Timing, clip_of, in_order, merged
from tagger.tables import OURS, SOMEBODY, THEIRS

if TYPE_CHECKING:
    from dashboard.moment import Moment
    from tagger.care import GoingOut


@dataclass(frozen=True)
class Wanted:
    """Whose clips: of one game or all, of a player, of a set (its code), or of a player in a set."""

    game: str | None = None
    player: str | None = None
    play: str | None = None


def chosen(moment: Moment, wanted: Wanted, timing: Timing = USUAL) -> list[Clip]:
    """The clips that are wanted and may be seen where the moment is seen, put together where they overlap.

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
    return list(together(moment, moment.going_out(apart(moment, wanted, timing))).clips)


def together(moment: Moment, care: GoingOut[Clip]) -> GoingOut[Clip]:
    """The clips that go out, put together where they overlap.

    Parameters
    ----------
    moment : Moment
        The season.
    care : GoingOut
        What may be seen of clips each of its own.

    Returns
    -------
    GoingOut
        In the order of the season. Nothing that was left out is shown by what others make together, and nothing is said
        of what holds a clip of which nothing may be said.
    """
    clips = in_order(merged(care.clips), [game.id for game in moment.games])
    silent = {row for clip in care.unsaid for row in clip.rows}
    return replace(
        care, clips=tuple(clips), unsaid=frozenset(clip for clip in clips if not silent.isdisjoint(clip.rows))
    )


def apart(moment: Moment, wanted: Wanted, timing: Timing = USUAL) -> list[Clip]:
    """The clips that are wanted, each of its own, whoever is seen in them.

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
        In the order of the season, none twice.
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
                found.append(clip_of(table, row, timing, moment.rows("runs").get(str(run))))
    return in_order(dict.fromkeys(found), [game.id for game in moment.games])


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
    parts = [(traits.table, traits.part) for traits in moment.language.traits.values() if traits.part]
    for table, columns in (*parts, ("roles", ("player",))):
        others = {one.name for one in moment.language.tables[table] if one.of_others}
        for row in moment.rows(table).values():
            side = row.get("team", OURS)
            own = [column for column in columns if side == (THEIRS if column in others else OURS)]
            if any(row.get(column) == player for column in own):
                found.append((table, row))
    return found


def _in_game(row: Mapping[str, Any], wanted: Wanted) -> bool:
    return wanted.game is None or row["game"] == wanted.game

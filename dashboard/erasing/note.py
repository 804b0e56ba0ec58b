"""What an erasure under way keeps beside the season, so that one that was cut short is finished and not forgotten.

It names who is erased, since the roster may not any more; it is the last thing that goes.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dashboard.erasing.found import NOTE, find_reached
from dashboard.erasing.game import GamePlan
from dashboard.erasing.person import Person
from dashboard.erasing.player import PlayerPlan, plan_person
from dashboard.erasing.roster import texts_of
from dashboard.errors import NotErased
from tagger.written import write_whole

if TYPE_CHECKING:
    from tagger.season import Season

_VERSION = 1


@dataclass(frozen=True)
class Begun:
    """An erasure that was confirmed: what is said of it in the end, and what is left of it to do."""

    line: str
    plan: PlayerPlan | GamePlan


def is_begun(folder: Path) -> bool:
    """Whether an erasure was begun in a season and not finished.

    Parameters
    ----------
    folder : Path
        The season's folder.

    Returns
    -------
    bool
        `floorbook erase FOLDER` finishes it.
    """
    return (folder / NOTE).exists()


def write_note(folder: Path, begun: Begun) -> None:
    """Keep what was confirmed.

    Parameters
    ----------
    folder : Path
        The season's folder.
    begun : Begun
        It.
    """
    plan = begun.plan
    told: dict[str, Any] = {"v": _VERSION, "line": begun.line}
    if isinstance(plan, PlayerPlan):
        told["player"] = {**vars(plan.person), "own_words": sorted(plan.person.own_words)}
        told["player"] = {name: told["player"][name] for name in Person.__dataclass_fields__}
    else:
        files = [path.relative_to(folder).as_posix() for path in plan.files]
        told["game"] = {"game": plan.game, "film_only": plan.film_only, "films": plan.films, "files": files}
    write_whole(folder / NOTE, json.dumps(told, ensure_ascii=False))


def read_note(season: Season) -> Begun:
    """What is left to do of an erasure that was cut short.

    Parameters
    ----------
    season : Season
        Open.

    Returns
    -------
    Begun
        By what is in the folder now.

    Raises
    ------
    NotErased
        The note can't be read.
    """
    try:
        told = json.loads((season.folder / NOTE).read_text(encoding="utf-8"))
        if told["v"] != _VERSION:
            raise ValueError("of another version")
        if "player" in told:
            held = told["player"]
            person = Person(
                **{
                    **held,
                    **{name: tuple(held[name]) for name in ("names", "contacts", "others")},
                    "own_words": frozenset(held["own_words"]),
                    "not_his": tuple((since, until) for since, until in held["not_his"]),
                }
            )
            plan: PlayerPlan | GamePlan = plan_person(season, person, n_lines=0, texts=texts_of(season.folder))
        else:
            held = told["game"]
            plan = GamePlan(str(held["game"]), bool(held["film_only"]), tuple(held["films"]))
            files = tuple(season.folder / str(name) for name in held["files"])
            plan = replace(plan, files=files, found=find_reached(season.folder, season.texts.settings.id, None))
        return Begun(str(told["line"]), plan)
    except (OSError, ValueError, TypeError, KeyError) as fault:
        raise NotErased(
            f"{NOTE}: what was begun to be erased can’t be read ({fault}); delete this file and say it anew"
        ) from fault

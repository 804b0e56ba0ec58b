"""An erasure carried out: step by step, each of which can be done again, so that one that was cut short is finished."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from dashboard.erasing.database import write_anew
from dashboard.erasing.found import find_reached
from dashboard.erasing.log import LOG, NOTE
from dashboard.erasing.note import Begun, write_note
from dashboard.erasing.player import PlayerPlan, label_changes
from dashboard.erasing.search import Search
from dashboard.erasing.shredding import replace_text, shred, shred_folder
from dashboard.errors import NotErased
from tagger.progress import Tell
from tagger.store.before_opening import DATABASE
from tagger.store.lock import SeasonLock, SeasonLocked
from tagger.work.queue import LOCK
from tagger.written import write_whole

if TYPE_CHECKING:
    from tagger.texts.settings import Settings


@contextmanager
def alone(folder: Path) -> Iterator[None]:
    """Hold a season so that nobody serves it and nobody works on its film meanwhile.

    Parameters
    ----------
    folder : Path
        The season's folder.

    Yields
    ------
    None
        Held.

    Raises
    ------
    tagger.store.lock.SeasonLocked
        Somebody does.
    """
    lock = SeasonLock(folder)
    try:
        try:
            film = SeasonLock(folder, LOCK)
        except SeasonLocked:
            raise SeasonLocked(f"{folder}: film of this season is being worked on; let that end first") from None
        try:
            yield
        finally:
            film.release()
    finally:
        lock.release()


def carry_out(
    folder: Path,
    settings: Settings,
    begun: Begun,
    *,
    files_too: bool = False,
    today: datetime.date | None = None,
    tell: Tell = lambda step: None,
) -> list[str]:
    """Erase what was confirmed. The season must be closed, and held with `alone`.

    Parameters
    ----------
    folder : Path
        The season's folder.
    settings : Settings
        The season's.
    begun : Begun
        What was confirmed.
    files_too : bool
        Also the files of other programs that name him.
    today : date, optional
        For the log.
    tell : callable
        Told what was just done.

    Returns
    -------
    list of str
        Where something of it is still found in the folder: nowhere, as a rule.

    Raises
    ------
    NotErased, tagger.store.database.StoreError, OSError
        It can't be done, or not to the end; `floorbook erase FOLDER` goes on with it.
    """
    plan = begun.plan
    if not (folder / NOTE).exists():
        write_note(folder, begun)
    tell("noted")
    write_anew(folder / DATABASE, plan.change, lambda step: tell(f"database {step}"))
    if isinstance(plan, PlayerPlan):
        _texts(folder, plan, tell)
        _names_of_films(plan, tell)
    else:
        for path in plan.files:
            shred_folder(path)
            tell("film")
    _reels_and_copies(folder, settings, plan, files_too, tell)
    day = (today or datetime.date.today()).isoformat()
    line = f"{day}: {begun.line}\n"
    with suppress(FileNotFoundError):
        before = (folder / LOG).read_text(encoding="utf-8")
        line = before if before.endswith(line) else before + line
    write_whole(folder / LOG, line)
    tell("logged")
    shred(folder / NOTE)
    tell("finished")
    person = plan.person if isinstance(plan, PlayerPlan) else None
    return Search(person, () if isinstance(plan, PlayerPlan) else plan.search_for).folder(folder)


def _texts(folder: Path, plan: PlayerPlan, tell: Tell) -> None:
    for name, text in plan.texts.items():
        if text is None:
            shred(folder / name)
        else:
            replace_text(folder / name, text)
        tell(f"text {name}")


def _names_of_films(plan: PlayerPlan, tell: Tell) -> None:
    for path, text in label_changes(plan).items():
        replace_text(path, text)
        tell("label")
    for path, target in plan.found.renamed:
        if target.exists():
            raise NotErased(f"{path.name}: {target.name} is there already; rename one of them, then erase again")
        path.replace(target)
        tell("film renamed")


def _reels_and_copies(folder: Path, settings: Settings, plan: object, files_too: bool, tell: Tell) -> None:
    """What was made of the season goes; of its copies one is made anew first, from the season as it is now."""
    from dashboard.erasing.copies import fresh_copy, kept_elsewhere

    person = plan.person if isinstance(plan, PlayerPlan) else None
    found = find_reached(folder, settings.id, person)
    copies = [*found.copies, *kept_elsewhere(folder, settings)]
    if copies:
        fresh = fresh_copy(folder, settings)
        tell("copy made")
        for path in copies:
            if path != fresh:
                shred_folder(path)
                tell("copy")
    marks_stay = not isinstance(plan, PlayerPlan) and bool(getattr(plan, "film_only", False))
    for path in (*found.reels, *found.beside, *(() if marks_stay else found.written)):
        shred_folder(path)
        tell("file")
    for path in found.others if files_too else ():
        shred(path)
        tell("other file")

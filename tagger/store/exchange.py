"""A season's files exchanged for those of a copy as if in one step.

What is to be put in lies complete in a folder inside the season's. When that folder takes the name `READY`, the
exchange is decided: from then on it is finished, by whoever opens the season next if need be, since every step of it
may be done twice. Before that nothing of the season was touched. So it is at every moment the old one or the new one.
"""

from __future__ import annotations

import json
import os
import shutil
from contextlib import suppress
from dataclasses import asdict, dataclass
from pathlib import Path

READY = "restoring.ready"
_PLAN = "plan.json"
_FILES = "files"
_OF_DATABASE = ("-wal", "-shm", "-journal")


@dataclass(frozen=True)
class Plan:
    """What else is done than putting files in.

    Attributes
    ----------
    remove : tuple of str
        Files of the season that the copy does not have; they were kept elsewhere.
    aside : tuple of str
        Files that make room for others of their name and are moved away.
    before : str
        The folder they are moved to.
    database : str
        The database's name: what SQLite kept beside the old one goes with it.
    """

    remove: tuple[str, ...] = ()
    aside: tuple[str, ...] = ()
    before: str = ""
    database: str = ""


def files_of(staged: Path) -> Path:
    """Where the files that are put in lie.

    Parameters
    ----------
    staged : Path
        The folder that will be decided on.

    Returns
    -------
    Path
        A folder in it.
    """
    return staged / _FILES


def decide(staged: Path, folder: Path, plan: Plan) -> None:
    """Decide on an exchange: the one step that counts.

    Parameters
    ----------
    staged : Path
        A folder inside the season's, with everything in `files_of` it, on the disk.
    folder : Path
        The season's folder.
    plan : Plan
        What else is to be done.
    """
    path = staged / _PLAN
    with path.open("w", encoding="utf-8") as file:
        json.dump(asdict(plan), file)
        file.flush()
        os.fsync(file.fileno())
    staged.rename(folder / READY)


def finish(folder: Path) -> bool:
    """Finish an exchange that was decided on; harmless when there is none, or when somebody else finishes it too.

    Parameters
    ----------
    folder : Path
        The season's folder.

    Returns
    -------
    bool
        Whether there was one.

    Raises
    ------
    OSError
        A file can't be put in its place; the exchange stays to be finished.
    """
    ready = folder / READY
    try:
        told = json.loads((ready / _PLAN).read_text(encoding="utf-8"))
    except (FileNotFoundError, NotADirectoryError):
        with suppress(OSError):
            shutil.rmtree(ready)  # finished already, all but this
        return False
    plan = Plan(**told)
    for name in plan.remove:
        (folder / name).unlink(missing_ok=True)
    files = files_of(ready)
    for path in sorted(each for each in files.rglob("*") if each.is_file()):
        name = path.relative_to(files).as_posix()
        target = folder / name
        with suppress(FileNotFoundError):  # another one was quicker
            if name == plan.database:
                for end in _OF_DATABASE:
                    target.with_name(target.name + end).unlink(missing_ok=True)
            aside = Path(plan.before) / name
            if name in plan.aside and target.exists() and not aside.exists():
                aside.parent.mkdir(parents=True, exist_ok=True)
                shutil.move(target, aside)
            target.parent.mkdir(parents=True, exist_ok=True)
            path.replace(target)
    (ready / _PLAN).unlink(missing_ok=True)
    shutil.rmtree(ready, ignore_errors=True)
    return True

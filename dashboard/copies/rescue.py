"""A damaged season's new folder: all that can be read of the old one, which is never written to."""

from __future__ import annotations

import shutil
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from dashboard.copies.packing import packed
from dashboard.errors import WrongFolder
from dashboard.outputs import new_folder
from tagger.progress import Progress
from tagger.shelf.films import FILM_FOLDER
from tagger.store.before_opening import DATABASE
from tagger.store.database import Store
from tagger.store.faults import WAL
from tagger.store.rescued import put_into
from tagger.store.salvage import Salvaged, salvage
from tagger.store.snapshot import Snapshot, raw
from tagger.texts.settings import SETTINGS
from tagger.written import is_full, whole_folder

_SPARE_BYTES = 64 * 1024 * 1024


@dataclass(frozen=True)
class Rescued:
    """What was saved, and a line on each thing that was not."""

    n_entries: int
    n_games: int
    n_films: int
    lost: tuple[str, ...]


def rescue(folder: Path, target: Path, *, film: bool = True, progress: Progress | None = None) -> Rescued:
    """Save all that can be read of a season into a new folder; it appears only when it is whole.

    Parameters
    ----------
    folder : Path
        The damaged season; nothing in it is changed.
    target : Path
        The new folder: not there yet, or empty.
    film : bool
        Copy the originals that lie in the season's folder too; else they are played where they lie.
    progress : callable, optional
        Told how far it is.

    Returns
    -------
    Rescued
        What came of it.

    Raises
    ------
    WrongFolder
        There is neither a database nor its log, nothing can be read, or the new folder is none.
    FullDisk
        There is no room for it; nothing is left.
    """
    salvaged = _read(folder)
    target = new_folder(target)
    with whole_folder(target) as beside:
        lost = [*salvaged.lost, *_texts(folder, beside)]
        own = [row for row in salvaged.rows["films"] if _own(folder, row)]
        if film:
            _films(folder, beside, [folder / row["path"] for row in own], progress)
        else:
            lie = {row["id"]: str((folder / row["path"]).absolute()) for row in own}
            films = tuple({**row, "path": lie.get(row["id"], row.get("path", ""))} for row in salvaged.rows["films"])
            salvaged = replace(salvaged, rows={**salvaged.rows, "films": films})
        store = Store(beside / DATABASE, make=True)
        try:
            put_into(store, salvaged)
            count = {name: _count(store, name) for name in ("journal", "games", "films")}
        finally:
            store.close()
    return Rescued(count["journal"], count["games"], count["films"], tuple(lost))


def _read(folder: Path) -> Salvaged:
    path = folder / DATABASE
    if path.is_file():
        aside = Snapshot(path)
        try:
            content, log = raw(aside.path)
        finally:
            aside.close()
    elif path.with_name(path.name + WAL).is_file():
        content, log = raw(path)
    else:
        raise WrongFolder(f"{folder}: neither {DATABASE} nor {DATABASE}{WAL} lies there; name the season's folder")
    salvaged = salvage(content, log)
    if salvaged.is_empty:
        raise WrongFolder(
            f"{folder}: no game and no mark can be read in {DATABASE}; `floorbook restore` takes a kept copy"
        )
    return salvaged


def _texts(folder: Path, beside: Path) -> list[str]:
    """Copy what lies beside the database and is not film; gives a line for what could not be."""
    lost = []
    files = packed(folder, film=False)
    for path, _ in files.files:
        to = beside / path.relative_to(folder)
        to.parent.mkdir(parents=True, exist_ok=True)
        try:
            shutil.copyfile(path, to)
        except OSError as fault:
            if is_full(fault):
                raise
            lost.append(f"{path.name}: can't be read ({fault.strerror})")
    if not (beside / SETTINGS).is_file():
        from dashboard.start import first_settings

        (beside / SETTINGS).write_text(first_settings(folder.resolve().name), encoding="utf-8", newline="\n")
        lost.append(f"{SETTINGS}: it was not there; a new one is, fill in the team’s name and rules")
    return [*lost, *files.left_out]


def _own(folder: Path, row: Mapping[str, str]) -> bool:
    """Whether a film's original is one that the season keeps in its own folder, and is there."""
    path = row.get("path") or ""
    return bool(path) and not Path(path).is_absolute() and (folder / path).is_file()


def _films(folder: Path, beside: Path, films: list[Path], progress: Progress | None) -> None:
    sizes = {path: path.stat().st_size for path in films}
    if sum(sizes.values()) + _SPARE_BYTES > shutil.disk_usage(beside).free:
        raise WrongFolder(
            f"{beside.parent}: no room for the season's own film ({sum(sizes.values()) / 1e9:.1f} GB); name a place on "
            "another disk, or say --without-film, and film is played where it lies now"
        )
    done, total = 0, sum(sizes.values()) or 1
    for path, size in sizes.items():
        if progress is not None:
            progress(done / total, path.name)
        to = beside / path.relative_to(folder)
        to.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(path, to)
        done += size
    (beside / FILM_FOLDER).mkdir(exist_ok=True)


def _count(store: Store, table: str) -> int:
    return int(store.connection().execute(f"SELECT count(*) FROM {table}").fetchone()[0])

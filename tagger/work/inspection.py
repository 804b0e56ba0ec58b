"""A look at film files before they are brought in: what each is, its frames, what it is known by, and their order.

Every file is looked at in a process of its own, with limits: what lies on a card may be broken or hostile.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import nullcontext
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tagger.shelf.films import film_id
from tagger.work.cores import threads_of, within

if TYPE_CHECKING:
    from tagger.film.index import FrameIndex
    from tagger.film.parts import FilmPart
    from tagger.film.probe import FilmFacts
    from tagger.progress import Progress, Stop


SILENCE_S = 60.0  # a card may take its time


@dataclass(frozen=True, eq=False)
class Inspected:
    """What was found out about one file.

    Attributes
    ----------
    path : Path
        The file.
    facts : FilmFacts
        What it is.
    index : FrameIndex
        Its frames.
    fingerprint : str
        What it is known by.
    slow : str
        Why seeking in it would be slow, even where it plays; empty when it is not.
    damage : tuple of dict
        Damaged stretches; see `tagger.shelf.films.Film`.
    gap_ms : int
        Time missing between the file before it and this one.
    gap_from : str
        How the gap is known: "clock", "date" or "assumed"; empty for the first file.
    """

    path: Path
    facts: FilmFacts
    index: FrameIndex
    fingerprint: str
    slow: str
    damage: tuple[dict[str, Any], ...]
    gap_ms: int = 0
    gap_from: str = ""

    @property
    def id(self) -> str:
        """The film's id."""
        return film_id(self.fingerprint)


def inspect_file(
    path: Path,
    *,
    n_threads: int = 0,
    settled: bool = False,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> Inspected:
    """Look at one file, here.

    Parameters
    ----------
    path : Path
        The file.
    settled : bool
        Whether it is known that nobody writes into it any more.
    n_threads : int
        Threads to decode with where that is needed; 0 for as many as there are cores.
    progress, stop : callable, optional
        As in `tagger.film.index.build_index`.

    Returns
    -------
    Inspected
        Without regard to other files.

    Raises
    ------
    tagger.film.errors.FilmError
        It is no film, torn, missing; `StillCopied` when it is not all there yet.
    """
    from tagger.film.damage import damage_of
    from tagger.film.fingerprint import fingerprint
    from tagger.film.index import build_index
    from tagger.film.probe import probe
    from tagger.film.still_copied import watched
    from tagger.film.viewing import why_viewing_copy

    with nullcontext() if settled else watched(path):
        facts = probe(path)
        index = build_index(path, n_threads=n_threads, progress=progress, stop=stop)
        return Inspected(
            path=path,
            facts=facts,
            index=index,
            fingerprint=fingerprint(path, index),
            slow=why_viewing_copy(replace(facts, as_it_lies=True, why_not=""), index),
            damage=tuple(asdict(one) for one in damage_of(facts, index)),
        )


def glimpse(path: Path) -> FilmFacts:
    """Look at a file's beginning only, here.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    FilmFacts
        From what the file claims.

    Raises
    ------
    tagger.film.errors.FilmError
        As from `inspect_file`.
    """
    from tagger.film.probe import probe
    from tagger.film.still_copied import watched

    with watched(path):
        return probe(path)


def inspect_files(
    paths: Sequence[Path],
    *,
    in_order: bool = True,
    n_cores: int = 1,
    settled: bool = False,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> list[Inspected]:
    """Look at files of one game, each in a process of its own.

    Parameters
    ----------
    paths : sequence of Path
        The files.
    in_order : bool
        Whether they are given in their order; else it is found by their clocks, dates and names.
    n_cores : int
        Cores to keep to.
    settled : bool
        Whether it is known that nobody writes into them any more.
    progress, stop : callable, optional
        As in `tagger.film.index.build_index`.

    Returns
    -------
    list of Inspected
        In order, with the time missing between them.

    Raises
    ------
    tagger.film.errors.FilmError
        One of them is no film, torn, missing, still being copied, or can't be written down by its name.
    """
    from tagger.film.child import Limits, in_child
    from tagger.film.errors import FilmStopped
    from tagger.film.file_names import spoken_name
    from tagger.film.parts import join_parts
    from tagger.film.plain_file import check_path

    heed = stop or _never
    limits, n_threads = Limits(silence_s=SILENCE_S), threads_of(n_cores)
    inspected: list[Inspected] = []
    for path in paths:
        check_path(path)
    for place, path in enumerate(paths):
        report = _part_of(progress, place, len(paths), spoken_name(path.name))
        how: dict[str, Any] = {"n_threads": n_threads, "settled": settled}
        one: Inspected = in_child(
            within, n_cores, inspect_file, path, film=path, limits=limits, progress=report, stop=heed, **how
        )
        inspected.append(one)
        if heed():
            raise FilmStopped("bringing it in was stopped", path, "nothing was changed; start again when you like")
    if len(inspected) < 2:
        return inspected
    parts: list[FilmPart] = in_child(
        within,
        n_cores,
        join_parts,
        [one.path for one in inspected],
        in_order=in_order,
        indexes=[one.index for one in inspected],
        film=inspected[0].path,
        limits=limits,
        stop=heed,
    )
    found = {one.path: one for one in inspected}
    return [
        replace(found[part.path], gap_ms=part.gap_before_ms, gap_from=part.gap_from if place else "")
        for place, part in enumerate(parts)
    ]


def _part_of(progress: Progress | None, place: int, of: int, name: str) -> Progress | None:
    if progress is None:
        return None
    tell = progress
    return lambda done, text: tell((place + done) / of, f"{name}: {text}")


def _never() -> bool:
    """Asked by the child, which so shows that it lives."""
    return False

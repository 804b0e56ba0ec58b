"""Odd files, film that is still being copied, and disks that fill up under film: what each costs and what is said."""

import contextlib
import os
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from pathlib import Path

from tagger.film.child import in_child
from tagger.film.convert import make_playable
from tagger.film.errors import FilmError, StillCopied
from tagger.film.viewing import make_viewing_copy
from tagger.work.inspection import inspect_file, inspect_files
from tagger.work.originals import copy_original
from tests.bench.figure import Figure, at_most
from tests.film.maker import Recipe, make
from tests.film.oddities import ABSURD, GIANTS, NO_FILES, TIMES, Odd, peak
from tests.film.tight import Tried, send, tries, tries_on

NAME = "hardening.odd_film"
ABOUT = "odd files in one line and soon, half copied film waited for, a full disk called full"

MOST_S, MOST_MB = 2.0, 400.0
COPY_S = 3.0
SUFFIXES = (".mp4", ".mov", ".mkv", ".ts", ".avi")
WRAPPED = Recipe("wrapped", suffix=".mkv", sound="ac3", n_frames=50, size=(160, 90))
OLD = Recipe("old", suffix=".avi", codec="mpeg4", sound="pcm_s16le", n_frames=50, size=(160, 90))
WORKS = ((make_playable, WRAPPED), (make_playable, OLD), (make_viewing_copy, OLD), (copy_original, OLD), (send, OLD))
N_SIZES = 40
SMALL_DISKS_KB = (64, 96, 160, 256, 400)


def run() -> list[Figure]:
    """Odd files, copies in the making, full disks."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        return [
            *_odd(folder / "odd"),
            *_absurd(folder / "absurd"),
            *_copied(folder / "copied"),
            *_full(folder / "full"),
        ]


def _odd(folder: Path) -> list[Figure]:
    folder.mkdir()
    figures = []
    n_unsaid = 0
    groups: tuple[tuple[str, tuple[Odd, ...]], ...] = (("times that name no frame", TIMES),)
    if sys.platform == "linux":
        byte = Odd(os.fsdecode(b"caf\xe9.mp4"), make_small, "not plain text")
        groups = (*groups, ("giant of holes", GIANTS), ("pipe or device", NO_FILES), ("name that is no text", (byte,)))
    for what, odds in groups:
        longest = 0.0
        for odd in odds:
            odd.make(folder / odd.name)
            begun = time.perf_counter()
            n_unsaid += odd.says not in _line_of(folder / odd.name)
            longest = max(longest, time.perf_counter() - begun)
        said = f"{what}: its line, at most"
        figures.append(at_most(said, longest, "s", MOST_S) if odds is not TIMES else Figure(said, longest, "s"))
    return [*figures, at_most("odd files without the right line", n_unsaid, "files", 0)]


def make_small(path: Path) -> None:
    """A film like any other."""
    make(Recipe("plain", size=(160, 90), n_frames=10, sound=None), path.parent).rename(path)


def _line_of(path: Path) -> str:
    """As bringing film in says it: from a process of its own."""
    try:
        inspect_files([path], settled=True)
    except FilmError as fault:
        line = str(fault)
        return line if "\n" not in line and line.isprintable() else ""
    return ""


def _absurd(folder: Path) -> list[Figure]:
    if sys.platform != "linux":
        return []
    folder.mkdir()
    found = []
    for odd in ABSURD:
        odd.make(folder / odd.name)
        found.append(in_child(peak, folder / odd.name, film=folder / odd.name))
    return [
        at_most(
            f"memory for a picture of absurd size, most of {len(found)}", max(one.mb for one in found), "MB", MOST_MB
        ),
        at_most("pictures of absurd size taken for film", sum(not one.said for one in found), "files", 0),
    ]


def _copied(folder: Path) -> list[Figure]:
    """Each kind of film copied slowly while it is looked at again and again."""
    folder.mkdir()
    n_wrong = n_looks = 0
    longest = 0.0
    for number, suffix in enumerate((*SUFFIXES, ".mp4")):
        front = {"movflags": "+faststart"} if number == len(SUFFIXES) else {}
        codec = "mpeg4" if suffix == ".avi" else "libx264"
        recipe = Recipe(f"film {number}", suffix=suffix, codec=codec, sound=None, n_frames=80, container_options=front)
        source = make(recipe, folder)
        target = folder / f"copy {number}{suffix}"
        copier = threading.Thread(target=_copy_slowly, args=(source, target))
        copier.start()
        while copier.is_alive():
            time.sleep(0.1)
            if not target.exists():
                continue
            try:
                inspect_file(target)
            except StillCopied:
                n_looks += 1
            except FilmError as fault:
                print(f"{target.name}: {fault}")
                n_wrong += 1
            else:
                n_wrong += copier.is_alive() and target.stat().st_size < source.stat().st_size
        whole = time.perf_counter()
        n_wrong += inspect_file(target).damage != ()
        longest = max(longest, time.perf_counter() - whole)
    return [
        Figure("inspected at film that was still being copied", n_looks, "inspected"),
        at_most("of them entered, or called damaged", n_wrong, "inspected", 0),
        at_most("from whole to taken, at most", longest, "s", 5.0),
    ]


def _copy_slowly(source: Path, target: Path) -> None:
    data = source.read_bytes()
    n = 40
    with target.open("wb") as file:
        for place in range(n):
            file.write(data[len(data) * place // n : len(data) * (place + 1) // n])
            file.flush()
            time.sleep(COPY_S / n)


def _full(folder: Path) -> list[Figure]:
    if sys.platform == "win32":
        return []
    folder.mkdir()
    found: list[Tried] = []
    n_short = 0
    for place, (work, recipe) in enumerate(WORKS):
        source = make(recipe, folder)
        target = folder / str(place) / "made.mp4"
        target.parent.mkdir()
        (whole,) = tries(work, target, source, [1 << 40], source=source)
        steps = [whole.target_bytes * 2 * n // N_SIZES for n in range(N_SIZES)]
        tried = tries(work, target, source, [*steps, 1, 40, 400], source=source)
        n_short += sum(not one.said and one.target_bytes < whole.target_bytes * 0.98 for one in tried)
        found += tried
    small = []
    for kb in SMALL_DISKS_KB:
        with _small_disk(folder / f"disk {kb}", kb) as disk:
            if disk is not None:
                for work, recipe in WORKS:
                    source = folder / (recipe.name + recipe.suffix)
                    small.append(tries_on(work, disk / "made.mp4", source, source=source))
                    for left in disk.iterdir():
                        shutil.rmtree(left) if left.is_dir() else left.unlink()
    return [
        Figure("tries to write film without room, files bounded", sum(bool(one.said) for one in found), "tries"),
        Figure("tries to write film without room, small disks", sum(bool(one.said) for one in small), "tries"),
        at_most("half files left", sum(one.is_half for one in (*found, *small)), "files", 0),
        at_most("film that is shorter than it should be", n_short, "files", 0),
        at_most("something else blamed than a full disk", sum(one.is_wrong for one in (*found, *small)), "tries", 0),
    ]


@contextlib.contextmanager
def _small_disk(place: Path, kb: int) -> Iterator[Path | None]:
    """A disk of a few kilobytes; none where it can't be mounted."""
    place.mkdir()
    told = None
    if shutil.which("mount") is not None:
        command = ["mount", "-t", "tmpfs", "-o", f"size={kb}k", "tmpfs", str(place)]
        told = subprocess.run(command, capture_output=True, check=False)
    mounted = told is not None and told.returncode == 0
    try:
        yield place if mounted else None
    finally:
        if mounted:
            subprocess.run(["umount", str(place)], check=False)

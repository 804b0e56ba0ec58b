"""Everything the film package does, done to one file: it works, or ends in one film error, and leaves nothing."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from tagger.film.convert import make_playable
from tagger.film.cut import Clip, write_reel
from tagger.film.errors import FilmError
from tagger.film.fingerprint import fingerprint
from tagger.film.index import build_index
from tagger.film.loudness import outline_sound
from tagger.film.probe import probe
from tagger.film.scan import scan_pictures
from tagger.film.still import still
from tagger.progress import Progress
from tests.film.mutator import mutate


def examine(path: Path) -> list[str]:
    """Lines of all errors met; anything but a film error is raised."""
    lines: list[str] = []
    target = path.with_name("made.mp4")

    def attempt(work: Callable[[], object]) -> None:
        try:
            work()
        except FilmError as error:
            line = str(error)
            if "\n" in line or not line.startswith((path.name, target.name)) or "; " not in line:
                raise ValueError(f"not one clear line: {line!r}") from error
            lines.append(line)

    attempt(lambda: probe(path))
    try:
        index = build_index(path)
    except FilmError as error:
        return [*lines, str(error)]
    n = index.n_frames
    attempt(lambda: fingerprint(path, index))
    for frame in {0, n // 2, n - 1}:
        attempt(lambda frame=frame: still(path, index, frame))  # type: ignore[misc]
    attempt(lambda: scan_pictures(path, index))
    attempt(lambda: outline_sound(path, index))
    attempt(lambda: write_reel([Clip(path, index, n // 3, min(n, n // 3 + 12))], target))
    target.unlink(missing_ok=True)
    attempt(lambda: make_playable(path, target, index=index))
    target.unlink(missing_ok=True)
    left = [each.name for each in path.parent.iterdir() if each != path]
    if left:
        raise ValueError(f"left behind: {left}")
    return lines


def examine_mutants(folder: Path, sources: list[Path], seeds: list[int], *, progress: Progress) -> dict[str, list[str]]:
    """Examine many mutants one after the other; what was done to each, and the lines it gave."""
    found = {}
    for n, seed in enumerate(seeds):
        source = sources[seed // 9 % len(sources)]
        done, data = mutate(source.read_bytes(), seed)
        path = folder / f"mutant{source.suffix}"
        path.write_bytes(data)
        try:
            found[f"{source.name}, {done}"] = examine(path)
        except Exception as error:
            raise RuntimeError(f"{source.name}, {done}: {type(error).__name__}: {error}") from error
        finally:
            path.unlink(missing_ok=True)
        progress((n + 1) / len(seeds), f"{source.name}, {done}")
    return found

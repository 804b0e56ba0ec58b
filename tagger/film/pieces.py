"""A viewing copy in the making: its working folder, the plan of its pieces, and which of them are whole."""

from __future__ import annotations

import contextlib
import json
import shutil
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np

from tagger.film.convert import even_size
from tagger.film.errors import from_os
from tagger.film.fingerprint import fingerprint
from tagger.film.index import FrameIndex
from tagger.film.probe import FilmFacts
from tagger.film.writer import PictureSettings, timescale_for
from tagger.written import write_whole

FIRST_PIECE_S = 10
_VERSION = 1


@dataclass(frozen=True)
class Piece:
    """A stretch of frames encoded by itself; `n_pictures` is 0 until it is done."""

    start_frame: int
    end_frame: int
    path: Path
    n_pictures: int = 0


def folder_of(target: Path) -> Path:
    """The working folder of a copy."""
    return target.with_name(target.name + ".work")


class Work:
    """The working folder of one copy: its plan, and the pieces that are done."""

    def __init__(
        self,
        source: Path,
        target: Path,
        facts: FilmFacts,
        *,
        index: FrameIndex,
        height_px: int,
        settings: PictureSettings,
        piece_s: int,
    ) -> None:
        self.source, self.target, self.facts, self.index, self.settings = source, target, facts, index, settings
        self.folder = folder_of(target)
        self.per_frame = 2 if facts.interlaced else 1
        self.time_base = timescale_for(index.time_base / self.per_frame)
        self.size = even_size(facts, height_px)
        self.pieces = self._planned(piece_s)

    def _planned(self, piece_s: int) -> list[Piece]:
        ms = self.index.all_ms()
        starts, at_ms, step_ms = [0], 0, min(FIRST_PIECE_S, piece_s) * 1000
        while (at_ms := at_ms + step_ms) < ms[-1]:
            frame = int(np.searchsorted(ms, at_ms))
            if frame > starts[-1]:
                starts.append(frame)
            step_ms = min(step_ms * 2, piece_s * 1000)
        ends = [*starts[1:], self.index.n_frames]
        return [Piece(a, b, self.folder / f"piece-{a:08d}.mp4") for a, b in zip(starts, ends, strict=True)]

    def begin(self) -> None:
        """Make the folder, or take over one whose plan is the same; any other is thrown away."""
        plan = {
            "version": _VERSION,
            "film": fingerprint(self.source, self.index),
            "size": list(self.size),
            "settings": {k: v for k, v in asdict(self.settings).items() if k != "n_threads"},
            "starts": [piece.start_frame for piece in self.pieces],
        }
        place = self.folder / "plan.json"
        try:
            with contextlib.suppress(OSError, ValueError):
                if json.loads(place.read_text(encoding="utf-8")) == plan:
                    return
            shutil.rmtree(self.folder, ignore_errors=True)
            self.folder.mkdir(parents=True)
            write_whole(place, json.dumps(plan))
        except OSError as error:
            raise from_os(error, self.target) from error

    def done(self) -> list[Piece]:
        """The pieces that are whole, from the film's beginning on without a hole."""
        found = []
        for piece in self.pieces:
            note = piece.path.with_suffix(".json")
            try:
                n_pictures = int(json.loads(note.read_text(encoding="utf-8"))["n_pictures"])
            except (OSError, ValueError, KeyError):
                break
            if not piece.path.is_file():
                break
            found.append(Piece(piece.start_frame, piece.end_frame, piece.path, n_pictures))
        return found

    def note(self, piece: Piece, n_pictures: int) -> None:
        """Remember that a piece is whole."""
        note = piece.path.with_suffix(".json")
        try:
            write_whole(note, json.dumps({"n_pictures": n_pictures}))
        except OSError as error:
            raise from_os(error, self.target) from error

    def drop(self) -> None:
        """Remove the folder."""
        shutil.rmtree(self.folder, ignore_errors=True)

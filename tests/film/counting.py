"""Asking ffprobe, a program of its own, how many frames a film shows."""

from __future__ import annotations

import subprocess
from pathlib import Path


def counted_frames(path: Path) -> int:
    """Frames of the first picture stream, each one decoded by `ffprobe -count_frames`."""
    ask = ["ffprobe", "-v", "error", "-select_streams", "v:0", "-count_frames"]
    ask += ["-show_entries", "stream=nb_read_frames", "-of", "default=nokey=1:noprint_wrappers=1", str(path)]
    done = subprocess.run(ask, capture_output=True, text=True, encoding="utf-8", check=True)
    return int(done.stdout.split()[0])

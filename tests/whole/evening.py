"""A season served by the program itself, as a coach starts it, for tests of the whole job."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from dataclasses import dataclass
from pathlib import Path

CLONE = Path(__file__).resolve().parents[2]


@dataclass
class Evening:
    """`floorbook open` in a process of its own.

    Attributes
    ----------
    folder : Path
        The season's folder.
    port : int
        A free one; kept when the server is started again.
    """

    folder: Path
    port: int = 0
    process: subprocess.Popen[bytes] | None = None

    def __post_init__(self) -> None:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]

    @property
    def address(self) -> str:
        """Where it is served."""
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> float:
        """Start it and wait for the first page; seconds that took."""
        began = time.monotonic()
        command = [
            sys.executable,
            "-m",
            "dashboard.cli",
            "open",
            str(self.folder),
            "--no-browser",
            "--port",
            str(self.port),
        ]
        self.process = subprocess.Popen(
            command, cwd=CLONE, env={**os.environ, "PYTHONUTF8": "1"}, stdout=subprocess.DEVNULL
        )
        while time.monotonic() - began < 60:
            try:
                with urllib.request.urlopen(self.address, timeout=5):
                    return time.monotonic() - began
            except (OSError, urllib.error.URLError):
                if self.process.poll() is not None:
                    raise RuntimeError(f"floorbook open ended with {self.process.returncode}") from None
                time.sleep(0.05)
        raise TimeoutError("no page in 60 s")

    def stop(self) -> None:
        """Stop it."""
        if self.process is not None:
            self.process.terminate()
            self.process.wait(20)
            self.process = None

"""The whole program, served from a season folder by a process of its own, as a user starts it."""

from __future__ import annotations

import re
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import IO

CLONE = Path(__file__).resolve().parents[1]
ADDRESS = re.compile(r"https?://\S+/")


class Served:
    """A season that is being served; `address` ends in a slash.

    Parameters
    ----------
    folder : Path
        The season's folder.
    *more : str
        Further arguments of `floorbook open`.
    """

    def __init__(self, folder: Path, *more: str) -> None:
        command = [sys.executable, "-m", "dashboard.cli", "open", str(folder), "--port", "0", "--no-browser", *more]
        flags = getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0)
        self.process = subprocess.Popen(
            command, cwd=CLONE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, creationflags=flags
        )
        self.began = time.monotonic()
        self.said = self._first_line()
        found = ADDRESS.search(self.said)
        if found is None:
            self.process.kill()
            raise RuntimeError(f"no address: {self.said}{self._rest(self.process.stderr)}")
        self.address = found[0]

    def phrases(self) -> dict[str, str]:
        """What it says of the doors when it serves a network; to be asked once.

        Returns
        -------
        dict of str to str
            The phrase of each key, by `send`, `look` and `tag`; `host`: under which name other devices ask for it.
        """
        assert self.process.stdout is not None
        lines = [self.process.stdout.readline().decode() for _ in range(5)]
        found = {key: line.split()[-1] for key, line in zip(("send", "look", "tag"), lines[1:4], strict=True)}
        address = ADDRESS.search(lines[0])
        assert address is not None, lines
        return {**found, "host": address[0].split("/")[2]}

    def interrupt(self) -> tuple[int, str]:
        """End it as Ctrl-C does.

        Returns
        -------
        tuple of int and str
            The exit code, and what it said on stderr.
        """
        self.process.send_signal(getattr(signal, "CTRL_BREAK_EVENT", signal.SIGINT))
        _, told = self.process.communicate(timeout=30)
        return self.process.returncode, told.decode()

    def stop(self) -> None:
        """End it, however it is."""
        if self.process.poll() is None:
            self.process.kill()
        for stream in (self.process.stdout, self.process.stderr):
            if stream is not None:
                stream.close()
        self.process.wait()

    def _first_line(self) -> str:
        assert self.process.stdout is not None
        return self.process.stdout.readline().decode()

    @staticmethod
    def _rest(stream: IO[bytes] | None) -> str:
        return stream.read().decode() if stream is not None else ""

"""How long work is told about, and stopped: one shape for all that takes time."""

from __future__ import annotations

from collections.abc import Callable

Progress = Callable[[float, str], None]
"""Told the share done, 0 to 1, and a few words on what is being done."""
Stop = Callable[[], bool]
"""Asked now and then whether to stop."""
Tell = Callable[[str], None]
"""Told a line for people."""

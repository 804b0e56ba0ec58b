"""The coach's share of the machine: how many cores work on film may take, and how a process keeps to it.

The system binds a process to its cores (affinity on Linux and Windows), since libraries start threads of their own.
On macOS each library (decoder, filters, encoder, OpenCV) is given half the share as its number of threads, since one
decodes while another encodes.
"""

from __future__ import annotations

import contextlib
import os
import signal
import sys
from collections.abc import Callable
from typing import Any


def share_of(film_cores: int) -> int:
    """How many cores work on film takes.

    Parameters
    ----------
    film_cores : int
        As set in season.toml; 0 for half of those there are.

    Returns
    -------
    int
        At least 1, at most all.
    """
    there = usable()
    return max(1, min(there, film_cores or there // 2))


def usable() -> int:
    """How many cores this process may use.

    Returns
    -------
    int
        At least 1.
    """
    if sys.platform == "linux":
        return max(1, len(os.sched_getaffinity(0)))
    return os.cpu_count() or 1


def threads_of(n_cores: int) -> int:
    """How many threads each library gets in work that keeps to so many cores.

    Parameters
    ----------
    n_cores : int
        The share.

    Returns
    -------
    int
        The share where the system binds the process to it. Elsewhere (macOS) half of it, at least 1, since one
        library decodes while another encodes.
    """
    return n_cores if sys.platform in ("linux", "win32") else max(1, n_cores // 2)


def keep_to(n_cores: int) -> None:
    """Bind this process to so many cores, whatever number of threads a library starts.

    Where the system offers no such thing (macOS) nothing happens; the work's own number of threads must do.

    Parameters
    ----------
    n_cores : int
        From 1.
    """
    with contextlib.suppress(OSError, AttributeError):
        if sys.platform == "linux":
            mine = sorted(os.sched_getaffinity(0))
            os.sched_setaffinity(0, mine[-n_cores:])
        elif sys.platform == "win32":
            import ctypes

            kernel = ctypes.windll.kernel32
            kernel.SetProcessAffinityMask(kernel.GetCurrentProcess(), (1 << n_cores) - 1)


def within(n_cores: int, work: Callable[..., Any], *args: Any, **kwargs: Any) -> Any:
    """Do work within a share of cores; meant to be called in a process of its own.

    Ctrl-C in a terminal reaches every process of a program: here it is left to the one that asked for the work, which
    ends it in order.

    Parameters
    ----------
    n_cores : int
        The share.
    work : callable
        What to do.
    *args, **kwargs
        Its arguments.

    Returns
    -------
    object
        What it gives.
    """
    with contextlib.suppress(ValueError):
        signal.signal(signal.SIGINT, signal.SIG_IGN)
    keep_to(n_cores)
    return work(*args, **kwargs)

"""Work on a film in a process of its own, so that a hostile or broken file can't take the program with it.

The child has a limit of memory (where the platform offers one) and of silence: work that reports nothing for
too long is ended. It is spawned, not forked, and works the same on every platform. Results and film errors come
back as if the function had been called here.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import sys
import time
import traceback
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, TypeVar

from tagger.film.errors import FilmError, FilmStopped, FilmTooMuch, FilmTooSlow, FilmUnread, from_os
from tagger.progress import Progress, Stop

Result = TypeVar("Result")


class WorkFault(Exception):
    """Work on a film failed by a fault of the program's own; the film is not to blame.

    Parameters
    ----------
    film : str
        The film in hand.
    what : str
        The exception in the child, in a line.
    trace : str
        Where it was raised, as the child printed it; for whoever mends it.
    """

    def __init__(self, film: str, what: str, trace: str = "") -> None:
        name = Path(film).name or film
        line = f"{name}: work on it failed by a fault of floorbook’s own ({what}); the film may be whole; report this"
        super().__init__(" ".join(line.split()))
        self.film, self.what, self.trace = film, what, trace
        if trace:
            self.add_note(trace)

    def __reduce__(self) -> tuple[type, tuple[str, str, str]]:
        return type(self), (self.film, self.what, self.trace)


START_UP_S = 60.0
_POLL_S = 0.1
_REPORT_EVERY_S = 0.1
_STOP_WITHIN_S = 3.0
_COPY_AGAIN = "copy it from the camera again, or save it as H.264 MP4 and use that"


@dataclass(frozen=True)
class Limits:
    """What a child may use.

    `memory_mb` bounds its private memory on Linux (elsewhere there is no such limit to be had without other
    software). `silence_s` is how long it may work without reporting anything. A `background` child gives way to
    everything else on the machine.
    """

    memory_mb: int = 1500
    silence_s: float = 20.0
    background: bool = False


def in_child(
    work: Callable[..., Result],
    *args: Any,
    film: Path | str,
    limits: Limits | None = None,
    leaves: Sequence[Path | str] = (),
    progress: Progress | None = None,
    stop: Stop | None = None,
    **kwargs: Any,
) -> Result:
    """Call `work(*args, **kwargs)` in a process of its own and give its result.

    Parameters
    ----------
    work : callable
        A function that can be imported; arguments and result can be pickled.
    *args, **kwargs : object
        Passed on to `work`.
    film : Path or str
        The film in hand, named in errors.
    limits : Limits, optional
        What the child may use.
    leaves : sequence of Path or str
        Files that `work` would write; what it left of them is removed when it had to be ended.
    progress, stop : callable, optional
        If given, `work` gets its own `progress` and `stop`, tied to these.

    Returns
    -------
    object
        What `work` returned.

    Raises
    ------
    WorkFault
        `work` failed by a fault of its own.
    FilmError
        What `work` raised; `FilmTooMuch` when a limit was passed; `FilmTorn` when the film brought the child down;
        `FilmStopped` when `stop` said so.
    """
    limits = limits or Limits()
    context = multiprocessing.get_context("spawn")
    here, there = context.Pipe()
    calls = {"progress": progress is not None, "stop": stop is not None}
    child = context.Process(target=_child, args=(there, limits, work, args, kwargs, calls), daemon=True)
    child.start()
    there.close()
    try:
        return _await(child, here, Path(film), limits, progress, stop)
    except BaseException:
        _end(child)
        for target in leaves:
            _clean(Path(target))
        raise
    finally:
        here.close()
        child.join()
        child.close()


def _await(
    child: Any, here: Connection, film: Path, limits: Limits, progress: Progress | None, stop: Stop | None
) -> Any:
    heard = time.monotonic()
    patience_s = max(limits.silence_s, START_UP_S)  # a busy machine may take long to start a process at all
    asked_to_stop: float | None = None
    while True:
        try:
            ready = here.poll(_POLL_S)
            message: tuple[str, Any] = here.recv() if ready else ("", None)
        except (EOFError, OSError):
            child.join(_STOP_WITHIN_S)
            raise _gone(film, child.exitcode) from None
        kind, value = message
        now = time.monotonic()
        if kind == "progress":
            heard = now
            if progress is not None and asked_to_stop is None:
                progress(*value)
        elif kind == "done":
            return value
        elif kind == "error" and isinstance(value, FilmError | WorkFault):
            raise value
        elif kind == "alive":
            heard, patience_s = now, limits.silence_s
        if asked_to_stop is None and stop is not None and stop():
            asked_to_stop = now
            with contextlib.suppress(OSError):
                here.send("stop")
        if asked_to_stop is not None and now - asked_to_stop > _STOP_WITHIN_S:
            raise FilmStopped("the work was stopped", film, "start it again when you like")
        if now - heard > patience_s:
            raise FilmTooSlow(f"reading it got nowhere for {patience_s:.0f} s", film, _COPY_AGAIN)


def _gone(film: Path, exit_code: int | None) -> FilmError:
    return FilmUnread(f"reading it brought the reader down (code {exit_code})", film, _COPY_AGAIN)


def _end(child: Any) -> None:
    with contextlib.suppress(Exception):
        child.kill()
        child.join(_STOP_WITHIN_S)


def _clean(target: Path) -> None:
    from tagger.film.writer import PartFile

    with contextlib.suppress(FilmError, OSError):
        PartFile(target).drop()


def _child(
    there: Connection,
    limits: Limits,
    work: Callable[..., Any],
    args: tuple[Any, ...],
    kwargs: dict[str, Any],
    calls: dict[str, bool],
) -> None:
    """The child's whole life."""
    limit_self(limits)
    film = next((arg for arg in args if isinstance(arg, str | Path)), "film")
    line = _Line(there)
    if calls["progress"]:
        kwargs["progress"] = line.progress
    if calls["stop"]:
        kwargs["stop"] = line.stop
    there.send(("alive", None))
    try:
        answer: tuple[str, Any] = ("done", work(*args, **kwargs))
    except FilmError as error:
        answer = ("error", error)
    except MemoryError:
        answer = ("error", FilmTooMuch("reading it needs more memory than a film may", film, _COPY_AGAIN))
    except OSError as error:
        answer = ("error", from_os(error, film))
    except Exception as error:
        answer = ("error", WorkFault(str(film), f"{type(error).__name__}: {error}", traceback.format_exc()))
    with contextlib.suppress(OSError):
        there.send(answer)
    there.close()


class _Line:
    """The child's end of the pipe, as the `progress` and `stop` that the work is given."""

    def __init__(self, there: Connection) -> None:
        self.there = there
        self._reported = 0.0
        self._stopped = False

    def progress(self, done: float, text: str) -> None:
        """Report, not more often than ten times a second."""
        now = time.monotonic()
        if now - self._reported >= _REPORT_EVERY_S or done >= 1.0:
            self._reported = now
            with contextlib.suppress(OSError):
                self.there.send(("progress", (done, text)))

    def stop(self) -> bool:
        """Whether to stop: asked to, or nobody is left to work for."""
        if not self._stopped:
            try:
                self._stopped = self.there.poll(0) and self.there.recv() == "stop"
            except (EOFError, OSError):
                self._stopped = True
        now = time.monotonic()
        if now - self._reported >= 1.0:
            self._reported = now
            with contextlib.suppress(OSError):
                self.there.send(("alive", None))
        return self._stopped


def limit_self(limits: Limits) -> None:
    """Keep this very process within limits from now on; for processes that open films.

    Parameters
    ----------
    limits : Limits
        Its memory, and whether it gives way; silence is for others to watch.
    """
    if sys.platform == "linux":
        import resource

        most = limits.memory_mb * 1_000_000
        with contextlib.suppress(ValueError, OSError):
            resource.setrlimit(resource.RLIMIT_DATA, (most, most))
        with contextlib.suppress(ValueError, OSError):
            resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    if limits.background:
        with contextlib.suppress(Exception):
            if sys.platform == "win32":
                import ctypes

                kernel = ctypes.windll.kernel32
                kernel.SetPriorityClass(kernel.GetCurrentProcess(), 0x4000)  # below normal
            else:
                os.nice(10)

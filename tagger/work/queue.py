"""The one queue that does the season's work on film, one job at a time, the most urgent first.

It runs in the served program as a thread, or in the foreground of a command; whichever holds the lock. A job that is
cut off, by a pause, a more urgent one, or the end of the program, is gone on with later.
"""

from __future__ import annotations

import logging
import sqlite3
import threading
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path

from tagger.errors import NoJob, SeasonError
from tagger.film.file_names import spoken_name
from tagger.season import Season
from tagger.store.database import StoreError
from tagger.store.lock import SeasonLock, SeasonLocked
from tagger.work.doing import Means, clean_up, do_job, refuse_sent, tidy
from tagger.work.job import COMING, Job
from tagger.work.jobs import JobList
from tagger.work.plan import steps_for
from tagger.work.wait_for_copy import CopyWatch
from tagger.written import is_full

LOCK = "film.lock"
_CHECK_EVERY_S = 0.5
_REPORT_EVERY_S = 1.0
_IDLE_S = 1.0
_GUESS_AFTER_S = 2.0

Tell = Callable[[Job, float, str], None]


class QueueTaken(SeasonLocked):
    """Another floorbook does this season's work on film."""


class Queue:
    """Does the work on film of one season.

    Parameters
    ----------
    season : Season
        The open season.

    Raises
    ------
    QueueTaken
        Another process does it.
    """

    def __init__(self, season: Season) -> None:
        self.season = season
        self.jobs = JobList(season.store)
        try:
            self._lock = SeasonLock(season.folder, LOCK)
        except SeasonLocked:
            raise QueueTaken(f"{season.folder}: another floorbook does the work on its film") from None
        self._closing = threading.Event()
        self._coming: dict[int, CopyWatch] = {}
        self._unsaid: dict[int, str] = {}
        self._thread: threading.Thread | None = None
        if not season.store.read_only:
            self.jobs.requeue()
            tidy(season)

    def start(self) -> None:
        """Work in the background from now on."""
        self._thread = threading.Thread(target=self._work, name="film", daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Stop, keep what is done, and let another process do the rest. Harmless when it is closed already."""
        self._closing.set()
        if self._thread is not None:
            self._thread.join()
            self._thread = None
        self._lock.release()

    def run(self, films: Sequence[str], *, tell: Tell | None = None) -> list[Job]:
        """Work in the foreground until nothing waits for some films.

        Parameters
        ----------
        films : sequence of str
            Their ids.
        tell : callable, optional
            Told the job at work, how far it is (0 to 1), and what is being done.

        Returns
        -------
        list of Job
            Those of the films that failed.
        """
        self._clean()
        while (job := self.jobs.next(films)) is not None:
            self._do(job, tell)
        return [job for job in self.jobs.all() if job.film in films and job.why]

    def _work(self) -> None:
        self._heal()
        while not self._closing.is_set():
            try:
                self._say()
                self._clean()
                self.season.shelf.whereabouts.keep_dates()
                self.check_coming(self._coming_jobs())
                job = self.jobs.next()
                if job is not None:
                    self._do(job, None)
                    continue
            except (StoreError, SeasonError):
                logging.getLogger(__name__).debug("the list of work can't be read", exc_info=True)
            self._closing.wait(_IDLE_S)

    def _do(self, job: Job, tell: Tell | None) -> None:
        from tagger.film.errors import FilmError, FilmStopped, StillCopied

        self.jobs.begin(job)
        watch = _Watch(self, job, tell)
        try:
            do_job(job, Means(self.season, watch.progress, watch.stop))
        except FilmStopped:
            self.jobs.rest(job)
        except StillCopied as fault:
            self._coming[job.id] = CopyWatch(_paths(job))
            self.jobs.wait_for_file(job, str(fault))
        except (FilmError, SeasonError, StoreError, OSError) as fault:
            self._fail(job, _line(fault) + refuse_sent(job, self.season, fault))
        except Exception as fault:
            if is_full_database(fault):
                self._fail(job, _line(fault))
                return
            logging.getLogger(__name__).error("work on film failed", exc_info=True)
            self._fail(job, f"our own fault ({type(fault).__name__}: {_line(fault)}); report it, and try again")
        except BaseException:
            self.jobs.rest(job)
            raise
        else:
            self.jobs.finish(job)

    def _fail(self, job: Job, line: str) -> None:
        """Note that a job failed, as soon as that can be written: what fills the disk up keeps the list from it too."""
        try:
            self.jobs.fail(job, line)
        except Exception:
            logging.getLogger(__name__).debug("the list of work can't be written", exc_info=True)
            self._unsaid[job.id] = line

    def _say(self) -> None:
        for id_ in list(self._unsaid):
            with suppress(NoJob):
                self.jobs.fail(self.jobs.job(id_), self._unsaid[id_])
            del self._unsaid[id_]

    def _coming_jobs(self) -> list[Job]:
        return [job for job in self.jobs.all() if job.state == COMING]

    def check_coming(self, jobs: Sequence[Job] | None = None) -> None:
        """Look at the files that are still being copied; those that stand still now are looked into next.

        Parameters
        ----------
        jobs : sequence of Job, optional
            All the jobs that wait for files; those known of when left out.
        """
        if jobs is None:
            jobs = self._coming_jobs() if self._coming else ()
        for job in jobs:
            watch = self._coming.setdefault(job.id, CopyWatch(_paths(job)))
            if watch.changed():
                self.jobs.wait_for_file(job, _said(job))
            elif watch.ready:
                del self._coming[job.id]
                self.jobs.file_is_still(job.id)
        for gone in set(self._coming) - {job.id for job in jobs}:
            del self._coming[gone]

    def _clean(self) -> None:
        for job in self.jobs.dropped():
            clean_up(job, self.season)
            self.jobs.finish(job)

    def _heal(self) -> None:
        """Ask for what makes a film playable and is neither there nor asked for: a copy may have been deleted."""
        for film in self.season.shelf.all_films():
            if film.state == "waiting" and not self.jobs.of_film(film.id):
                facts = self.season.shelf.whereabouts.facts(film.id)
                if facts is not None:
                    steps = steps_for(facts, self.season.shelf.indexes.of(film.id), "", keep=False)[:1]
                    self.jobs.add_steps(film.game, film.id, steps)


class _Watch:
    """Between a job at work and the list: passes on progress, notices that the job is to stop."""

    def __init__(self, queue: Queue, job: Job, tell: Tell | None) -> None:
        self.queue, self.job, self.tell = queue, job, tell
        self._began = self._reported = self._checked = time.monotonic()
        self._first: tuple[float, float] | None = None
        self._stopped = False

    def progress(self, share: float, told: str) -> None:
        """Pass on how far it is."""
        now = time.monotonic()
        if self._first is None:
            self._first = (now, share)
        if self.tell is not None:
            self.tell(self.job, share, told)
        if now - self._reported >= _REPORT_EVERY_S:
            self._reported = now
            self.queue.jobs.report(self.job, share, told, self.left_s(now, share))

    def left_s(self, now: float, share: float) -> float | None:
        """How long the rest takes at the pace since the work began, or was gone on with."""
        if self._first is None:
            return None
        gone_s, done = now - self._first[0], share - self._first[1]
        if gone_s < _GUESS_AFTER_S or done <= 0.005:
            return None
        return round(gone_s * (1 - share) / done, 1)

    def stop(self) -> bool:
        """Whether the job is to stop."""
        if self.queue._closing.is_set():
            return True
        now = time.monotonic()
        if not self._stopped and now - self._checked >= _CHECK_EVERY_S:
            self._checked = now
            self.queue.check_coming()
            self._stopped = not self.queue.jobs.wants_to_go_on(self.job)
        return self._stopped


def _paths(job: Job) -> list[Path]:
    return [Path(one) for one in job.body.get("paths", ())]


def _said(job: Job) -> str:
    """What there is to say of the first of a job's files that is not all there."""
    from tagger.film.errors import FilmError
    from tagger.film.still_copied import still_copied

    known = [path for path in _paths(job) if job.why.startswith(f"{spoken_name(path.name)}: ")]
    try:
        return str(still_copied((known or _paths(job))[0]))
    except FilmError as fault:
        return str(fault)


def is_full_database(fault: BaseException) -> bool:
    """Whether the season's database says that the disk is full.

    Parameters
    ----------
    fault : BaseException
        What was raised.

    Returns
    -------
    bool
    """
    return isinstance(fault, sqlite3.Error) and "full" in str(fault).lower()


def _line(fault: BaseException) -> str:
    if (is_full(fault) and type(fault).__module__ == "builtins") or is_full_database(fault):
        where = f"{Path(str(fault.filename)).name}: " if isinstance(fault, OSError) and fault.filename else ""
        return f"{where}the disk is full; make room and try again, nothing was lost"
    if type(fault).__module__ == "builtins" and isinstance(fault, OSError) and fault.strerror:
        where = f"{fault.filename}: " if fault.filename else ""
        return f"{where}{fault.strerror}; check the name, its rights and the room on the disk"
    return " ".join(str(fault).split()) or type(fault).__name__

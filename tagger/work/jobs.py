"""The list of work on film: what waits, what is at work, what failed. It lives in the season's database.

Whoever asks for work, or pauses it, writes here; the one queue (`tagger.work.queue`) reads it. So a page, a command and
the queue need not be one process, and what was begun is gone on with after a restart.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from typing import Any

from tagger.errors import NoJob
from tagger.store.database import Store
from tagger.work.job import BEGUN, COMING, DROPPED, FAILED, PAUSED, RUNNING, WAITING, Job, job_of
from tagger.work.plan import URGENT_VIEWING, Step


class JobList:
    """The jobs of one season.

    Parameters
    ----------
    store : Store
        The season's database.
    """

    def __init__(self, store: Store) -> None:
        self.store = store

    def add(self, kind: str, urgency: int, *, game: str = "", body: dict[str, Any] | None = None) -> Job:
        """Ask for work that is about no film yet.

        Parameters
        ----------
        kind : str
            Its kind.
        urgency : int
            Smaller is sooner.
        game : str
            The game; empty when the work makes it.
        body : dict
            What to do; JSON.

        Returns
        -------
        Job
            Waiting.
        """
        with self.store.writing() as db:
            made = db.execute(
                "INSERT INTO jobs (kind, urgency, game, body) VALUES (?, ?, ?, ?)",
                (kind, urgency, game or None, json.dumps(body or {}, ensure_ascii=False)),
            ).lastrowid
        return self.job(int(made or 0))

    def add_steps(self, game: str, film: str, steps: Iterable[Step]) -> None:
        """Ask for work on a film; what is asked for already is not asked for twice.

        Parameters
        ----------
        game, film : str
            The film, and its game.
        steps : iterable of Step
            What has to be made.
        """
        with self.store.writing() as db:
            held = {str(kind) for (kind,) in db.execute("SELECT kind FROM jobs WHERE film = ?", (film,))}
            for step in steps:
                if step.kind not in held:
                    db.execute(
                        "INSERT INTO jobs (kind, urgency, game, film, need_bytes) VALUES (?, ?, ?, ?, ?)",
                        (step.kind, step.urgency, game, film, step.need_bytes),
                    )

    def all(self) -> list[Job]:
        """Everything in the list.

        Returns
        -------
        list of Job
            In the order of work; dropped ones left out.
        """
        sql = "SELECT * FROM jobs WHERE state != ? ORDER BY urgency, id"
        return [job_of(row) for row in self.store.connection().execute(sql, (DROPPED,))]

    def of_film(self, film: str) -> list[Job]:
        """The jobs of one film.

        Parameters
        ----------
        film : str
            Its id.

        Returns
        -------
        list of Job
            In the order of work.
        """
        return [job for job in self.all() if job.film == film]

    def job(self, id_: int) -> Job:
        """One job.

        Parameters
        ----------
        id_ : int
            Its number.

        Returns
        -------
        Job
            As it stands.

        Raises
        ------
        NoJob
            There is none such; perhaps it is done.
        """
        row = self.store.connection().execute("SELECT * FROM jobs WHERE id = ?", (id_,)).fetchone()
        if row is None or row["state"] == DROPPED:
            raise NoJob("this work is not in the list any more: it is done, or was given up")
        return job_of(row)

    def pause(self, id_: int) -> None:
        """Let a job rest.

        Parameters
        ----------
        id_ : int
            Its number.

        Raises
        ------
        NoJob
            There is none such.
        """
        self.job(id_)
        self._change(PAUSED, "id = ? AND state IN (?, ?, ?)", (id_, WAITING, RUNNING, COMING))

    def resume(self, id_: int) -> None:
        """Let a job go on that rested or failed.

        Parameters
        ----------
        id_ : int
            Its number.

        Raises
        ------
        NoJob
            There is none such.
        """
        self.job(id_)
        self._change(WAITING, "id = ? AND state IN (?, ?)", (id_, PAUSED, FAILED))

    def drop(self, id_: int) -> None:
        """Give a job up; what was begun for it is thrown away by the queue.

        Parameters
        ----------
        id_ : int
            Its number.

        Raises
        ------
        NoJob
            There is none such.
        """
        self.job(id_)
        self._change(DROPPED, "id = ?", (id_,))

    def pause_all(self) -> None:
        """Let everything rest."""
        self._change(PAUSED, "state IN (?, ?, ?)", (WAITING, RUNNING, COMING))

    def resume_all(self) -> None:
        """Let everything go on that rested."""
        self._change(WAITING, "state = ?", (PAUSED,))

    def try_again(self, film: str) -> None:
        """Let everything go on that failed for a film; its file is back.

        Parameters
        ----------
        film : str
            The film's id.
        """
        self._change(WAITING, "film = ? AND state = ?", (film, FAILED))

    # For the queue ------------------------------------------------------------------------------------------------

    def next(self, films: Sequence[str] | None = None) -> Job | None:
        """The job to do now.

        Parameters
        ----------
        films : sequence of str, optional
            Only work on these.

        Returns
        -------
        Job or None
            The most urgent that waits.
        """
        waiting = [job for job in self.all() if job.state == WAITING and (films is None or job.film in films)]
        return waiting[0] if waiting else None

    def begin(self, job: Job) -> None:
        """Note that a job is at work.

        Parameters
        ----------
        job : Job
            It.
        """
        with self.store.writing() as db:
            sql = "UPDATE jobs SET state = ?, why = '', told = ? WHERE id = ? AND state = ?"
            db.execute(sql, (RUNNING, job.told or BEGUN, job.id, WAITING))

    def wants_to_go_on(self, job: Job) -> bool:
        """Whether a job at work is to go on: not paused or given up, and nothing urgent waits behind something long.

        Parameters
        ----------
        job : Job
            It.

        Returns
        -------
        bool
            False: stop soon.
        """
        row = self.store.connection().execute("SELECT state FROM jobs WHERE id = ?", (job.id,)).fetchone()
        if row is None or row["state"] != RUNNING:
            return False
        if job.urgency <= URGENT_VIEWING:
            return True
        sql = "SELECT 1 FROM jobs WHERE state = ? AND urgency <= ? LIMIT 1"
        return self.store.connection().execute(sql, (WAITING, URGENT_VIEWING)).fetchone() is None

    def report(self, job: Job, share: float, told: str, left_s: float | None) -> None:
        """Write down how far a job is. Not worth waiting for the disk: the next report replaces it.

        Parameters
        ----------
        job : Job
            It.
        share : float
            0 to 1.
        told : str
            What is being done.
        left_s : float or None
            How long it still takes, s.
        """
        db = self.store.connection()
        db.execute("PRAGMA synchronous = NORMAL")
        try:
            with self.store.writing() as db:
                db.execute(
                    "UPDATE jobs SET share = ?, told = ?, left_s = ? WHERE id = ?", (share, told, left_s, job.id)
                )
        finally:
            db.execute("PRAGMA synchronous = FULL")

    def rest(self, job: Job) -> None:
        """A stopped job waits again, unless somebody paused it or gave it up.

        Parameters
        ----------
        job : Job
            It.
        """
        self._change(WAITING, "id = ? AND state = ?", (job.id, RUNNING))

    def fail(self, job: Job, why: str) -> None:
        """Note that a job failed.

        Parameters
        ----------
        job : Job
            It.
        why : str
            One line: what, where, what to do.
        """
        with self.store.writing() as db:
            db.execute(
                "UPDATE jobs SET state = ?, why = ?, left_s = NULL WHERE id = ? AND state != ?",
                (FAILED, why, job.id, DROPPED),
            )

    def wait_for_file(self, job: Job, line: str) -> None:
        """Note that a job's file is still being copied; a job that was paused or given up meanwhile stays so.

        Parameters
        ----------
        job : Job
            It.
        line : str
            What is said of the file.
        """
        with self.store.writing() as db:
            sql = "UPDATE jobs SET state = ?, why = ?, left_s = NULL, share = 0 WHERE id = ? AND state IN (?, ?)"
            db.execute(sql, (COMING, line, job.id, RUNNING, COMING))

    def file_is_still(self, id_: int) -> None:
        """Let a job whose file was being copied be done next; nobody writes into that any more.

        Parameters
        ----------
        id_ : int
            Its number.
        """
        self._change(WAITING, "id = ? AND state = ?", (id_, COMING))

    def finish(self, job: Job) -> None:
        """Take a job that is done out of the list.

        Parameters
        ----------
        job : Job
            It.
        """
        with self.store.writing() as db:
            db.execute("DELETE FROM jobs WHERE id = ?", (job.id,))

    def requeue(self) -> None:
        """What was at work when a process ended waits again."""
        self._change(WAITING, "state = ?", (RUNNING,))

    def dropped(self) -> list[Job]:
        """Jobs that were given up and whose leavings are still there.

        Returns
        -------
        list of Job
            To be cleaned up and finished.
        """
        rows = self.store.connection().execute("SELECT * FROM jobs WHERE state = ?", (DROPPED,))
        return [job_of(row) for row in rows]

    def _change(self, state: str, where: str, values: tuple[Any, ...]) -> None:
        with self.store.writing() as db:
            db.execute(f"UPDATE jobs SET state = ?, left_s = NULL WHERE {where}", (state, *values))

"""One piece of work on film, as it stands in the list of jobs."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import dataclass, field
from typing import Any

BRING = "bring"
BEGUN = "begun"
WAITING, RUNNING, PAUSED, FAILED, DROPPED = "waiting", "running", "paused", "failed", "dropped"
COMING = "coming"


@dataclass(frozen=True)
class Job:
    """One piece of work on film.

    Attributes
    ----------
    id : int
        Its number.
    kind : str
        "bring", or a step's kind; see `tagger.work.plan`.
    urgency : int
        Smaller is sooner.
    game, film : str
        What it is about; empty where that is not known yet.
    body : dict
        What to do, beside kind and film.
    state : str
        "waiting", "running", "coming" (a file is still being copied; it waits again once that stands still), "paused",
        "failed" or "dropped". What is done is no longer in the list.
    share : float
        How much of it is done, 0 to 1.
    left_s : float or None
        How long it still takes, s, as far as can be told.
    told : str
        What is being done right now.
    why : str
        Why it failed, or what is being copied: one line.
    need_bytes : int
        Room that it takes at most.
    """

    id: int
    kind: str
    urgency: int
    game: str
    film: str
    state: str
    share: float = 0.0
    left_s: float | None = None
    told: str = ""
    why: str = ""
    need_bytes: int = 0
    body: dict[str, Any] = field(default_factory=dict)


def job_of(row: sqlite3.Row) -> Job:
    """A job from its row in the database."""
    return Job(
        row["id"],
        row["kind"],
        row["urgency"],
        game=row["game"] or "",
        film=row["film"] or "",
        state=row["state"],
        share=row["share"],
        left_s=row["left_s"],
        told=row["told"],
        why=row["why"],
        need_bytes=row["need_bytes"],
        body=_read(row["body"]),
    )


def _read(text: object) -> dict[str, Any]:
    """What a job has to do; nothing when that can't be read any more: the queue then says that it can't be done."""
    try:
        told = json.loads(text) if isinstance(text, str | bytes) else None
    except (ValueError, TypeError, RecursionError):
        return {}
    return told if isinstance(told, dict) else {}

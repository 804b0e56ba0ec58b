"""Periods, possessions and runs while they are being put together.

A possession is cut into stretches without gaps: from its start, or from the mark that ended the stretch before, to the
mark that ends it. A set mark names the stretch it falls in, backwards. A stretch takes its id from the mark that begins
it, so naming it, or adding marks elsewhere, never changes it.

A run's id is its beginning mark's id with `/2`, whether or not a set mark names it later, so links to film and notes
on runs hold.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any


@dataclass
class Period:
    """A period being put together."""

    id: str
    number: int
    start_ms: int
    marks: list[str]
    end_ms: int | None = None


@dataclass
class Stretch:
    """One stretch of a possession; becomes a run.

    A `tentative` stretch is one that may not be there at all (the ball after a shot whose rebound nobody marked): any
    mark in it makes it firm; when the possession ends before, it is dropped.
    """

    begun_by: str
    start_ms: int
    base: str
    strength: str | None
    parent: str | None = None
    tentative: bool = False
    phase: str | None = None
    name: str | None = None
    side: str | None = None
    between: str | None = None
    """Codes of two sets, space between, where whoever tagged was unsure which it was: it is named by neither."""
    end_ms: int | None = None
    ended: str | None = None
    look: str | None = None
    look_open: str | None = None
    look_mark: str | None = None
    penalty_drawn: bool | None = None
    marks: list[str] = field(default_factory=list)

    @property
    def id(self) -> str:
        """The run's id: the beginning mark's, and /2, since /1 would be that mark's own row."""
        return f"{self.begun_by}/2"


@dataclass
class Possession:
    """A possession being put together, with its stretches in order."""

    id: str
    period: int | None
    team: str | None
    strength: str | None
    gained: str | None
    start_ms: int
    marks: list[str]
    level_has_penalties: bool
    settled_ms: int | None = None
    crossed: bool | None = None
    end_ms: int | None = None
    ended: str | None = None
    pending: str | None = None
    unseen: bool = False
    won: bool = False
    """Whether it began with a ball that was won, so that saying whose it is says nothing new."""
    stretches: list[Stretch] = field(default_factory=list)

    @property
    def stretch(self) -> Stretch:
        """The stretch that is on."""
        return self.stretches[-1]

    @property
    def untouched(self) -> bool:
        """Whether nothing was said of it since it began."""
        return len(self.stretches) == 1 and not self.stretch.marks and self.settled_ms is None

    def touch(self, mark: str) -> Stretch:
        """A mark falls into the stretch that is on: it is there for good."""
        self.firm()
        self.stretch.marks.append(mark)
        return self.stretch

    def firm(self) -> None:
        """The side still has the ball: the stretch that is on is there for good."""
        self.stretch.tentative = False
        self.pending = None
        self.unseen = False

    def begin(self, mark: str, at_ms: int, base: str, strength: str | None, **more: Any) -> Stretch:
        """Begin the next stretch."""
        drawn = False if self.level_has_penalties else None
        made = Stretch(mark, at_ms, base, strength, penalty_drawn=drawn, **more)
        self.stretches.append(made)
        return made

    def end_stretch(self, at_ms: int, ended: str | None, mark: str) -> None:
        """End the stretch that is on."""
        self.stretch.end_ms = at_ms
        self.stretch.ended = ended
        if mark not in self.stretch.marks:
            self.stretch.marks.append(mark)

    def close(self, at_ms: int, ended: str | None, mark: str) -> None:
        """End the possession, its last stretch with it."""
        self.end_ms = at_ms
        self.ended = ended
        self.marks.append(mark)
        last = self.stretch
        if last.tentative and len(self.stretches) > 1:
            self.stretches.pop()
        elif last.end_ms is None:
            last.end_ms = at_ms
            last.ended = ended if ended in ("whistle", "period_end") else None

    def row(self) -> dict[str, Any]:
        """Its row, without game and book."""
        return {
            "id": self.id,
            "period": self.period,
            "team": self.team,
            "strength": self.strength,
            "gained": self.gained,
            "crossed": self.crossed,
            "settled_ms": self.settled_ms,
            "start_ms": self.start_ms,
            "end_ms": self.end_ms,
            "ended": self.ended,
            "marks": tuple(dict.fromkeys(self.marks)),
        }

    def run_rows(self) -> list[dict[str, Any]]:
        """The rows of its runs, without game and book."""
        return [
            {
                "id": one.id,
                "possession": self.id,
                "period": self.period,
                "team": self.team,
                "strength": one.strength,
                "order": order,
                "set": one.name,
                "side": one.side,
                "between": one.between,
                "phase": one.phase or one.base,
                "parent": one.parent,
                "settled_ms": self.settled_ms,
                "start_ms": one.start_ms,
                "end_ms": one.end_ms,
                "look": one.look,
                "look_open": one.look_open,
                "ended": one.ended,
                "penalty_drawn": one.penalty_drawn,
                "marks": tuple(dict.fromkeys([one.begun_by, *one.marks])),
            }
            for order, one in enumerate(self.stretches, 1)
        ]

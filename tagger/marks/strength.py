"""How many runners a side, worked out from penalties and pulled goalkeepers, corrected where a person says so."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from tagger.marks.context import other

RUNNERS = 5
MOST_DOWN = 2
"""Never more than two down [F12]."""
LENGTHS_MS = {"minor": 120_000, "bench": 120_000, "major": 300_000}
"""Minor 2 minutes, major 5 [F12]; a bench minor as a minor, from memory."""
_SAID = re.compile(r"(\d)(e?)v(\d)(e?)\Z")


@dataclass
class Penalty:
    """A penalty being served; `until_ms` is play time, None while the arm is up."""

    team: str
    kind: str
    until_ms: int | None


@dataclass
class Strength:
    """The strength as it changes.

    All times are play time in ms, so that a penalty is served while the ball is in play.
    """

    runners: dict[str, int] = field(default_factory=lambda: {"ours": RUNNERS, "theirs": RUNNERS})
    net_empty: dict[str, bool] = field(default_factory=lambda: {"ours": False, "theirs": False})
    penalties: list[Penalty] = field(default_factory=list)

    def pass_to(self, play_ms: int) -> None:
        """Penalties that are over by then are over."""
        self.penalties = [one for one in self.penalties if one.until_ms is None or one.until_ms > play_ms]

    def penalty(self, team: object, kind: object, delayed: bool, play_ms: int) -> None:
        """A penalty is called; one whose team or kind was not said changes nothing."""
        if team in ("ours", "theirs") and kind in LENGTHS_MS:
            until = None if delayed else play_ms + LENGTHS_MS[str(kind)]
            self.penalties.append(Penalty(str(team), str(kind), until))

    def halt(self, play_ms: int) -> None:
        """Play stops: a delayed penalty begins to be served."""
        for one in self.penalties:
            if one.until_ms is None:
                one.until_ms = play_ms + LENGTHS_MS[one.kind]

    def goal(self, by: str | None, play_ms: int) -> None:
        """A goal ends the other side's oldest minor when that side is short [F12], or a delayed one (from memory)."""
        against = other(by or "")
        for one in sorted(self.penalties, key=lambda held: (held.until_ms is not None, held.until_ms or 0)):
            if one.team == against and one.kind in ("minor", "bench"):
                if one.until_ms is None or self._on_floor(against) < self._on_floor(by or ""):
                    self.penalties.remove(one)
                break
        self.halt(play_ms)

    def goalkeeper(self, team: object, what: object) -> None:
        """A goalkeeper is pulled for a sixth runner, or goes back in."""
        if team in ("ours", "theirs") and what in ("in", "out"):
            self.net_empty[str(team)] = what == "out"

    def told(self, text: object) -> None:
        """A person says what it is; what was worked out stands when it agrees, and gives way when it does not."""
        found = _SAID.match(text) if isinstance(text, str) else None
        if found is None or text == self.seen_by("ours"):
            return
        self.penalties = [one for one in self.penalties if one.until_ms is None]
        for team, count, empty in (("ours", found[1], found[2]), ("theirs", found[3], found[4])):
            self.net_empty[team] = bool(empty)
            self.runners[team] = int(count) - (1 if empty else 0)

    def seen_by(self, team: str | None) -> str | None:
        """The strength as the team with the ball has it.

        Parameters
        ----------
        team : str or None
            ours, theirs; None when nobody knows.

        Returns
        -------
        str or None
            Own runners, "v", the others'; "e" after a side whose net is empty.
        """
        if team not in ("ours", "theirs"):
            return None
        return f"{self._text(team)}v{self._text(other(team))}"

    def _text(self, team: str) -> str:
        return f"{self._on_floor(team)}{'e' if self.net_empty[team] else ''}"

    def _on_floor(self, team: str) -> int:
        serving = sum(one.team == team and one.until_ms is not None for one in self.penalties)
        least = RUNNERS - MOST_DOWN
        return max(self.runners[team] - serving, min(self.runners[team], least)) + (
            1 if self.net_empty.get(team) else 0
        )

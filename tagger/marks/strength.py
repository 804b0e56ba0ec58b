"""How many runners a side, worked out from penalties and pulled goalkeepers, corrected where a person says so.

What a person says stands: a strength mark that agrees changes nothing (the penalty still runs out by itself), one
that disagrees replaces what was worked out. Which goals end which penalty is a number, not a yes: minor 1, major 0 by
default, a season may say 2; what the Canadian code says was not verified.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from tagger.floor.rules import RUNNERS, PenaltyRules
from tagger.marks.context import other

SERVED = {"minor": "minor", "bench": "minor", "major": "major"}
"""Kinds that make a side short, and the length they have; a bench minor as a minor, from memory."""
_SAID = re.compile(r"(\d)(e?)v(\d)(e?)\Z")


@dataclass
class Penalty:
    """A penalty being served; `until_ms` is play time, None while the arm is up; `goals` fell against it so far."""

    team: str
    kind: str
    until_ms: int | None
    goals: int = 0


@dataclass
class Strength:
    """The strength as it changes.

    All times are play time in ms, so that a penalty is served while the ball is in play.
    """

    rules: PenaltyRules = field(default_factory=PenaltyRules)
    runners: dict[str, int] = field(default_factory=lambda: {"ours": RUNNERS, "theirs": RUNNERS})
    net_empty: dict[str, bool] = field(default_factory=lambda: {"ours": False, "theirs": False})
    penalties: list[Penalty] = field(default_factory=list)

    def pass_to(self, play_ms: int) -> None:
        """Penalties that are over by then are over."""
        self.penalties = [one for one in self.penalties if one.until_ms is None or one.until_ms > play_ms]

    def penalty(self, team: object, kind: object, delayed: bool, play_ms: int) -> None:
        """A penalty is called; one whose team or kind was not said changes nothing."""
        if team in ("ours", "theirs") and kind in SERVED:
            until = None if delayed else play_ms + self._length_ms(str(kind))
            self.penalties.append(Penalty(str(team), str(kind), until))

    def halt(self, play_ms: int) -> None:
        """Play stops: a delayed penalty begins to be served."""
        for one in self.penalties:
            if one.until_ms is None:
                one.until_ms = play_ms + self._length_ms(one.kind)

    def goal(self, by: str | None, play_ms: int) -> None:
        """A goal counts against the other side's oldest penalty that a goal can end, when that side is short for it."""
        against = other(by or "")
        short = self._on_floor(against) < self._on_floor(by or "")
        for one in sorted(self.penalties, key=lambda held: (held.until_ms is not None, held.until_ms or 0)):
            most = self.rules.goals_end_minor if SERVED[one.kind] == "minor" else self.rules.goals_end_major
            delayed = one.until_ms is None
            if one.team != against or not most or (delayed and SERVED[one.kind] == "major"):
                continue
            if delayed and not self.rules.goal_ends_delayed:
                continue
            if delayed or short:
                one.goals += 1
                if delayed or one.goals >= most:
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

    def _length_ms(self, kind: str) -> int:
        return self.rules.minor_ms if SERVED[kind] == "minor" else self.rules.major_ms

    def _on_floor(self, team: str) -> int:
        serving = sum(one.team == team and one.until_ms is not None for one in self.penalties)
        least = RUNNERS - self.rules.most_down
        return max(self.runners[team] - serving, min(self.runners[team], least)) + (
            1 if self.net_empty.get(team) else 0
        )

"""The machine of possessions: what is on, and what each mark that only code can explain does to it.

`walk.py` says which mark comes here. A method takes a mark and its game time, and changes what is on: the period, the
possession with the stretch that is on in it, the strength, the play clock.

A rebound nobody marked makes no run: after a shot whose recovery was not answered the stretch that follows is
tentative. A mark of the same side makes it firm (a second chance), also one that only settles or refreshes the shot
clock; a change of ball drops it, and the possession ended with that shot. A second chance that settles ends there,
and the set run after it has no parent.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tagger.marks.between import two_of
from tagger.marks.context import other
from tagger.marks.ledger import Ledger
from tagger.marks.playtime import PeriodClock, PlayTime
from tagger.marks.problems import Problem
from tagger.marks.resolve import Mark
from tagger.marks.strength import Strength
from tagger.marks.stretches import Period, Possession, Stretch
from tagger.marks.traits import Traits
from tagger.marks.vocabulary import Language
from tagger.tables import UNSEEN

Place = tuple[str | None, str | None]
"""Ids of the possession and the run that a mark falls in."""


class Possessions:
    """What is on in a game, and what was.

    Parameters
    ----------
    language : Language
        Vocabulary and playbook.
    ledger : Ledger
        Where problems are listed.
    strength : Strength
        At the beginning.
    play : PlayTime
        At the beginning.
    period_s, n_periods : int
        What the clock says when a period begins, and how many begin so; 0: all.
    """

    def __init__(
        self, language: Language, ledger: Ledger, strength: Strength, play: PlayTime, *, period_s: int, n_periods: int
    ) -> None:
        self.language, self.ledger = language, ledger
        self.strength, self.play = strength, play
        self.period_s, self.n_periods = period_s, n_periods
        self.periods: list[Period] = []
        self.period: Period | None = None
        self.held: list[Possession] = []
        self.on: Possession | None = None
        self.clocks: dict[str, PeriodClock] = {}
        self.draw: str | None = None
        """Who won the face-off of which no possession came yet; empty where that is not said, None after one came."""

    @property
    def team(self) -> str | None:
        """Whose ball it is."""
        return self.on.team if self.on is not None else None

    @property
    def here(self) -> Place:
        """What a mark falls in that touches nothing: no run while one may not be there at all."""
        if self.on is None:
            return None, None
        return self.on.id, None if self.on.stretch.tentative else self.on.stretch.id

    def strength_of(self, team: str | None) -> str | None:
        """The strength as a team sees it."""
        return self.strength.seen_by(team)

    def halt(self, at_ms: int) -> None:
        """Play stops."""
        self.play.halt(at_ms)
        self.strength.halt(self.play.until(at_ms))

    def finish(self) -> list[Possession]:
        """All possessions; one that is on stays open-ended."""
        if self.on is not None and self.on.stretch.tentative and len(self.on.stretches) > 1:
            self.on.stretches.pop()
        return self.held

    # Periods ------------------------------------------------------------------------------------------------------

    def begin_period(self, mark: Mark, at_ms: int) -> None:
        """The clock starts a period."""
        if self.period is not None:
            words = "a period begins while one is on; put in the end of the one before"
            self.ledger.problem("period_open", words, mark, at_ms)
            self._close(at_ms, None, mark.id)
            self.period.end_ms = at_ms
        number = str(mark.answers.get("number", ""))
        last = self.periods[-1].number if self.periods else 0
        self.period = Period(mark.id, int(number) if number.isdigit() else last + 1, at_ms, [mark.id])
        self.periods.append(self.period)
        full_s = self.period_s if not self.n_periods or self.period.number <= self.n_periods else None
        self.clocks[mark.id] = PeriodClock(self.play, at_ms, full_s)
        self.play.start(at_ms)
        self.ledger.begin_period()
        self.draw = None

    def end_period(self, mark: Mark, at_ms: int, ended: str | None) -> None:
        """The clock runs out, or the officials end the period."""
        if self.period is None:
            words = "a period ends that never began; put in its beginning, or remove this"
            self.ledger.problem("no_period", words, mark, at_ms)
            return
        self._close(at_ms, ended, mark.id)
        self.play.halt(at_ms, period_over=True)
        self.strength.halt(self.play.until(at_ms))  # an arm that is up at the buzzer is served from the next period on
        self.period.end_ms = at_ms
        self.period.marks.append(mark.id)
        self.period = None

    # Possessions --------------------------------------------------------------------------------------------------

    def begin_possession(self, mark: Mark, at_ms: int, won: str | None = None) -> Place:
        """A team has the ball, by a mark of its own or, `won`, a ball it picked up. Said again at once it is the same.

        What the ball came loose from goes before that it was picked up: a shot that missed, a save, a lost ball, a
        whistle, a face-off that the others did not win.
        """
        team, on = mark.answers.get("team"), self.on
        if on is not None and on.won and on.untouched and team == on.team:
            on.gained = mark.answers.get("gained") or on.gained
            on.marks.append(mark.id)
            return on.id, on.stretch.id
        if team not in ("ours", "theirs"):
            team = None
            self.ledger.problem("no_team", "whose possession is not said; answer it", mark, at_ms)
        if self.period is None:
            words = "a possession outside any period; put in where the period begins"
            self.ledger.problem("outside_period", words, mark, at_ms)
        if self.on is not None:
            self._close(at_ms, self._ended_by(self.on, team, mark, at_ms), mark.id)
        made = Possession(
            mark.id,
            self.period.number if self.period else None,
            team,
            strength=self.strength_of(team),
            gained=mark.answers.get("gained") or self._how_gained(team, won),
            won=won is not None,
            start_ms=at_ms,
            marks=[mark.id],
            level_has_penalties=self.ledger.looked_for("penalty"),
        )
        made.begin(mark.id, at_ms, "not_tagged", made.strength)
        self.held.append(made)
        self.on = made
        self.draw = None
        return made.id, made.stretch.id

    def _ended_by(self, before: Possession, team: str | None, mark: Mark, at_ms: int) -> str | None:
        """How a possession ended whose end nobody marked: with the shot or the whistle before, or nobody knows."""
        whose = "our" if before.team == "ours" else "their"
        if team is not None and team == before.team:
            words = f"{whose} ball follows {whose} ball; say how the first one ended, or remove one"
            self.ledger.problem("same_team", words, mark, at_ms)
            return None
        if before.pending is None and before.stretch.ended is None and not before.unseen:
            words = f"how {whose} possession ended is not marked; put in the lost ball, shot or whistle"
            self.ledger.problems.append(Problem("no_end", words, before.id, before.start_ms))
        return before.pending

    def _how_gained(self, team: str | None, won: str | None) -> str | None:
        if self.draw is not None:
            return won if won and team == other(self.draw) else "faceoff"
        last = self.held[-1] if self.held else None
        if last is None or self.period is None or last.start_ms < self.period.start_ms or not last.ended:
            return won
        ending = self.language.endings[last.ended]
        if won and team == last.team and not ending.get("scores"):
            return won  # nobody gains a ball by his own team's shot or loss
        gained: str | None = ending.get("gained")
        return gained or won

    def settle(self, on: Possession, mark: Mark, at_ms: int) -> Place:
        """The offence is in place: the stretch before was transition, or what came after a second chance."""
        if on.settled_ms is not None:
            self.ledger.problem("settled_twice", "this possession settled before; remove one of the two", mark, at_ms)
            return self.here
        on.settled_ms = at_ms
        on.marks.append(mark.id)
        on.firm()
        stretch = on.stretch
        first = len(on.stretches) == 1 and stretch.phase in (None, "transition")
        again = stretch.base == "second_chance" and stretch.phase is None
        if (first or again) and stretch.start_ms < at_ms:
            if first:
                stretch.base = "transition"
            on.end_stretch(at_ms, "settled", mark.id)
            on.begin(mark.id, at_ms, "not_tagged", self.strength_of(on.team))
        return self.here

    # Runs ---------------------------------------------------------------------------------------------------------

    def name(self, on: Possession, traits: Traits, mark: Mark, at_ms: int) -> Place:
        """The stretch that is on is named, backwards; one that has its name flowed into the next."""
        if on.team is not None and traits.balls and on.team not in traits.balls:
            words = "names the offence of the side without the ball; put in the change of ball, or remove it"
            self.ledger.problem("wrong_side", f"{self.language.kinds[mark.kind]['name']} {words}", mark, at_ms)
            return self.here
        if traits.does == "set" and mark.answers.get("flows") == "instead" and (on.stretch.name or on.stretch.between):
            self.ledger.roles_anew(on.stretch.id)
        elif on.stretch.phase is not None:
            on.end_stretch(at_ms, "flowed", mark.id)
            on.begin(mark.id, at_ms, "not_tagged", self.strength_of(on.team))
        stretch = on.touch(mark.id)
        stretch.phase = traits.phase
        stretch.side = mark.answers.get("side")
        stretch.name = mark.answers.get(traits.named_by)
        stretch.between = " ".join(two_of(mark.answers, traits.named_by)) or None
        if stretch.between:
            stretch.phase = "not_tagged"
        if traits.does == "set":
            self._set_named(on, stretch, mark, at_ms)
        return on.id, stretch.id

    def _set_named(self, on: Possession, stretch: Stretch, mark: Mark, at_ms: int) -> None:
        if stretch.name is None and not stretch.between:
            self.ledger.problem("no_set", "which set it was is not said; answer it", mark, at_ms)
        elif stretch.name is not None and stretch.name not in self.language.sets:
            words = f"the playbook has no set “{stretch.name}”; retire sets instead of deleting them"
            self.ledger.problem("unknown_set", words, mark, at_ms)
        self.ledger.roles(mark, at_ms, on.id, stretch.id)

    def end_run(self, on: Possession, traits: Traits, mark: Mark, at_ms: int) -> None:
        """The run ends and the same team goes on."""
        on.end_stretch(at_ms, traits.ended, mark.id)
        on.begin(mark.id, at_ms, traits.leaves, self.strength_of(on.team))

    def shoot(self, on: Possession, run: Stretch, mark: Mark, at_ms: int, told: str | None) -> None:
        """A shot: it ends the run, and a goal or a lost rebound the possession; else there may be a second chance."""
        recovered = mark.answers.get("recovered")
        on.end_stretch(at_ms, "shot", mark.id)
        if told is not None and self.language.endings[told].get("scores"):
            self._close(at_ms, told, mark.id)
            self.strength.goal(on.team, self.play.until(at_ms))
            self.play.halt(at_ms)
        elif recovered == "no":
            self._close(at_ms, told, mark.id)
        elif recovered == "dead":
            on.begin(mark.id, at_ms, "not_tagged", self.strength_of(on.team), tentative=True)
            on.pending = told
        else:
            sure, strength = recovered == "yes", self.strength_of(on.team)
            on.begin(mark.id, at_ms, "second_chance", strength, parent=run.id, tentative=not sure)
            on.pending = None if sure else told
            on.unseen = not sure and mark.answers.get("result") == UNSEEN  # its end is answered: nobody could see it

    def lose_ball(self, on: Possession, mark: Mark, at_ms: int, told: str | None) -> None:
        """A turnover: before centre it is a failed clear, which never settled unless somebody said so."""
        where = mark.answers.get("where")
        if on.crossed is None and (where == "own_end" or mark.answers.get("kind") == "advance"):
            on.crossed = False
            said = (
                mark.answers.get("never_settled") == "yes"
            )  # since the page enters it: what was marked before keeps its rows
            if said and len(on.stretches) == 1 and on.settled_ms is None:
                on.stretch.base = "transition"
        elif where == "far_end":
            on.crossed = True
        on.end_stretch(at_ms, "turnover", mark.id)
        self._close(at_ms, told, mark.id)

    def whistle(self, on: Possession, mark: Mark, at_ms: int, told: str | None) -> None:
        """Play stopped: the possession goes on where the same team has the ball next."""
        to = mark.answers.get("to")
        on.end_stretch(at_ms, "whistle", mark.id)
        if to == "faceoff" or (to is not None and to == other(on.team or "")):
            self._close(at_ms, told, mark.id)
            return
        sure = to is not None and to == on.team
        on.begin(mark.id, at_ms, "not_tagged", self.strength_of(on.team), tentative=not sure)
        on.pending = None if sure else told

    def last_set(self) -> tuple[Possession, Stretch] | None:
        """The last set that was named in this period."""
        for possession in reversed(self.held):
            if self.period is not None and possession.start_ms < self.period.start_ms:
                return None
            for stretch in reversed(possession.stretches):
                if stretch.phase == "set":
                    return possession, stretch
        return None

    def look(self, stretch: Stretch, mark: Mark, at_ms: int) -> None:
        """Which of the set's looks it was."""
        if stretch.look_mark is not None:
            words = "this run has its look already; answer that one anew, or remove one"
            self.ledger.problem("look_twice", words, mark, at_ms)
            return
        stretch.look_mark, stretch.look, stretch.look_open = mark.id, mark.answers.get("look"), mark.answers.get("open")
        stretch.marks.append(mark.id)

    def say_strength(self, mark: Mark) -> Place:
        """A person says what the strength is; at once after a change of ball it was so from there."""
        self.strength.told(mark.answers.get("strength"))
        on, now = self.on, self.strength_of(self.team)
        if on is not None and len(on.stretches) == 1 and not on.stretch.marks and on.strength != now:
            on.stretch.strength = on.strength = now
            on.marks.append(mark.id)
        return self.here

    def penalise(self, answers: Mapping[str, Any], at_ms: int) -> None:
        """A penalty is called; unless the arm is up, play stops."""
        if answers.get("delayed") == "no":
            self.halt(at_ms)
        up, now = answers.get("delayed") == "yes", self.play.until(at_ms)
        self.strength.penalty(answers.get("team"), answers.get("kind"), up, now)

    def _close(self, at_ms: int, ended: str | None, mark: str) -> None:
        if self.on is not None:
            self.on.close(at_ms, ended, mark)
            self.on = None

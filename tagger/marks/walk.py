"""One walk over a game's marks in their order: what each means where it stands.

`Walk.step` takes one mark after the other; `finish` closes what is open and gives the rows. One method per kind that
changes what is on; every other kind is a plain row, by its table's columns.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tagger.marks import context as contexts
from tagger.marks.ledger import Ledger
from tagger.marks.playtime import PeriodClock, PlayTime
from tagger.marks.problems import Problem
from tagger.marks.resolve import Mark
from tagger.marks.rows import TABLE_OF, event_row
from tagger.marks.sentences import sentence
from tagger.marks.strength import PenaltyRules, Strength
from tagger.marks.stretches import MISSED, Period, Possession, Stretch
from tagger.marks.vocabulary import Language
from tagger.tables import UNSEEN

_PHASES = {"set": "set", "family": "family", "freelance": "freelance", "transition": "transition"}
_GAINED_AFTER = {
    "goal": "faceoff",
    "save": "save",
    "missed_shot": "missed_shot",
    "turnover": "turnover",
    "violation": "turnover",
    "whistle": "whistle",
}
_PLAY = frozenset(
    {"faceoff", "possession", "loose_ball", "settled", "set", "family", "freelance", "transition", "screen", "shot"}
    | {"turnover", "pull_out", "broken"}
)
_EVIDENCE = frozenset({"settled", "set", "family", "freelance", "screen", "shot", "pull_out", "broken"})


@dataclass(frozen=True)
class Seen:
    """Where a mark fell."""

    possession: str | None
    run: str | None
    text: str


class Walk:
    """The state of the walk.

    Parameters
    ----------
    language : Language
        Vocabulary and playbook.
    roster : frozenset of str
        Our players' numbers; empty: not checked.
    period_s, n_periods : int
        What the clock says when a period begins, and how many begin so; 0: all.
    stop_clock : bool
        Whether it stands at whistles.
    penalties : PenaltyRules
        How long they are, and what ends them.
    """

    def __init__(
        self,
        language: Language,
        roster: frozenset[str],
        period_s: int,
        stop_clock: bool,
        penalties: PenaltyRules,
        n_periods: int = 0,
    ) -> None:
        self.language = language
        self.ledger = Ledger(language, roster)
        self.context = contexts.start(language)
        self.periods: list[Period] = []
        self.period: Period | None = None
        self.possessions: list[Possession] = []
        self.on: Possession | None = None
        self.strength = Strength(penalties)
        self.play = PlayTime(stop_clock)
        self.period_s, self.n_periods = period_s, n_periods
        self.clocks: dict[str, PeriodClock] = {}
        self.faced_off = False
        self.ledger.detail("detail/0", 0, self.context["level"], ())

    def step(self, mark: Mark, at_ms: int) -> Seen:
        """Take the next mark.

        Parameters
        ----------
        mark : Mark
            In order.
        at_ms : int
            Its game time.

        Returns
        -------
        Seen
            Ids of the possession and the run it fell in, and its sentence.
        """
        before = self.context
        text = sentence(self.language, mark.kind, mark.answers, before)
        if mark.kind not in self.language.kinds:
            self.ledger.problem(
                "unknown_kind", f"floorbook does not know the kind “{mark.kind}”; a newer version may", mark, at_ms
            )
            return Seen(None, None, text)
        mark = self.ledger.checked(mark, at_ms, self.on.team if self.on is not None else None)
        self.context = contexts.after(self.language, before, mark.kind, mark.answers)
        if mark.kind in _PLAY and self.period is not None:
            self.play.start(at_ms)
        self.strength.pass_to(self.play.until(at_ms))
        on = self.on  # a shot may close it
        possession, run = self._place(mark, at_ms)
        if on is not None and mark.kind in _EVIDENCE:
            on.crossed = True
        return Seen(possession, run, text)

    def finish(self) -> dict[str, list[dict[str, Any]]]:
        """Give the rows of everything, open things open-ended.

        Returns
        -------
        dict of str to list of dict
            Table name → rows.
        """
        if self.on is not None and self.on.stretch.tentative and len(self.on.stretches) > 1:
            self.on.stretches.pop()
        for possession in self.possessions:
            self.ledger.rows["possessions"].append(possession.row())
            self.ledger.rows["runs"].extend(possession.run_rows())
        self.ledger.periods(self.periods, self.clocks)
        return self.ledger.rows

    # What each kind does ------------------------------------------------------------------------------------------

    def _place(self, mark: Mark, at_ms: int) -> tuple[str | None, str | None]:
        kind = mark.kind
        if kind in ("period_start", "period_end"):
            (self._period_start if kind == "period_start" else self._period_end)(mark, at_ms)
            return None, None
        if kind == "possession":
            return self._possession(mark, at_ms)
        if kind == "detail":
            level = str(mark.answers.get("level", self.context["level"]))
            self.ledger.detail(mark.id, at_ms, level, (mark.id,), str(mark.answers.get("asked", "")))
            return self._here()
        if kind == "strength":
            return self._strength(mark)
        if kind == "faceoff":
            self.faced_off = True
        elif kind == "whistle":
            self._halt(at_ms)
        elif kind == "penalty":
            said = mark.answers
            delayed = said.get("delayed") == "yes"
            if said.get("delayed") == "no":
                self._halt(at_ms)
            self.strength.penalty(said.get("team"), said.get("kind"), delayed, self.play.until(at_ms))
        elif kind == "goalie":
            self.strength.goalkeeper(mark.answers.get("team"), mark.answers.get("what"))
        elif kind == "clock" and self.period is not None and "clock" in mark.answers:
            self.clocks[self.period.id].readings.append((at_ms, mark.answers["clock"]))
        if kind in ("look", "grade"):
            return self._of_a_run(mark, at_ms)
        if self.on is None:
            return self._outside(mark, at_ms)
        return self._inside(self.on, mark, at_ms)

    def _outside(self, mark: Mark, at_ms: int) -> tuple[None, None]:
        if "ball" in self.language.kinds[mark.kind]["needs"]:
            words = "outside any possession; put in the possession it belongs to, or remove it"
            self.ledger.problem("outside_possession", f"{self.language.kinds[mark.kind]['name']} {words}", mark, at_ms)
        if mark.kind in TABLE_OF:
            self._row(mark, at_ms, None, None)
        return None, None

    def _inside(self, on: Possession, mark: Mark, at_ms: int) -> tuple[str | None, str | None]:
        kind = mark.kind
        if kind == "settled":
            return self._settled(on, mark, at_ms)
        if kind in _PHASES:
            return self._name(on, mark, at_ms)
        if kind in ("faceoff", "loose_ball", "clock", "goalie", "line", "note", "fresh_clock"):
            if kind == "fresh_clock":
                on.firm()
            possession, run_id = self._here()
            self._row(mark, at_ms, possession, run_id)
            return possession, run_id
        run = on.touch(mark.id)
        if kind == "penalty":
            against = mark.answers.get("team")
            if against is not None and on.team is not None and against != on.team:
                run.penalty_drawn = True
        if kind in TABLE_OF:
            self._row(mark, at_ms, on.id, run.id)
        if kind == "shot":
            self._shot(on, run, mark, at_ms)
        elif kind == "turnover":
            self._turnover(on, mark, at_ms)
        elif kind == "whistle":
            self._whistle(on, mark, at_ms)
        elif kind in ("pull_out", "broken"):
            on.end_stretch(at_ms, kind, mark.id)
            on.begin(mark.id, at_ms, "broken" if kind == "broken" else "not_tagged", self._strength_of(on.team))
        return on.id, run.id

    def _period_start(self, mark: Mark, at_ms: int) -> None:
        if self.period is not None:
            self.ledger.problem(
                "period_open", "a period begins while one is on; put in the end of the one before", mark, at_ms
            )
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
        self.faced_off = False

    def _period_end(self, mark: Mark, at_ms: int) -> None:
        if self.period is None:
            self.ledger.problem(
                "no_period", "a period ends that never began; put in its beginning, or remove this", mark, at_ms
            )
            return
        self._close(at_ms, "period_end", mark.id)
        self.play.halt(at_ms, period_over=True)
        self.strength.halt(self.play.until(at_ms))  # an arm that is up at the buzzer is served from the next period on
        self.period.end_ms = at_ms
        self.period.marks.append(mark.id)
        self.period = None

    def _possession(self, mark: Mark, at_ms: int) -> tuple[str, str]:
        team = mark.answers.get("team")
        if team not in ("ours", "theirs"):
            team = None
            self.ledger.problem("no_team", "whose possession is not said; answer it", mark, at_ms)
        if self.period is None:
            self.ledger.problem(
                "outside_period", "a possession outside any period; put in where the period begins", mark, at_ms
            )
        before = self.on
        if before is not None:
            ended = before.pending
            whose = "our" if before.team == "ours" else "their"
            if team is not None and team == before.team:
                ended = None
                words = f"{whose} ball follows {whose} ball; say how the first one ended, or remove one"
                self.ledger.problem("same_team", words, mark, at_ms)
            elif ended is None and before.stretch.ended is None and not before.unseen:
                words = f"how {whose} possession ended is not marked; put in the turnover, shot or whistle"
                self.ledger.problems.append(Problem("no_end", words, before.id, before.start_ms))
            self._close(at_ms, ended, mark.id)
        gained = mark.answers.get("gained")
        if gained is None:
            gained = self._how_gained(at_ms)
        made = Possession(
            mark.id,
            self.period.number if self.period else None,
            team,
            self._strength_of(team),
            gained,
            at_ms,
            [mark.id],
            self.ledger.looked_for("penalty"),
        )
        made.begin(mark.id, at_ms, "not_tagged", made.strength)
        self.possessions.append(made)
        self.on = made
        self.faced_off = False
        return made.id, made.stretch.id

    def _how_gained(self, at_ms: int) -> str | None:
        if self.faced_off:
            return "faceoff"
        last = self.possessions[-1] if self.possessions else None
        if last is None or self.period is None or last.start_ms < self.period.start_ms:
            return None
        return _GAINED_AFTER.get(last.ended or "")

    def _settled(self, on: Possession, mark: Mark, at_ms: int) -> tuple[str | None, str | None]:
        if on.settled_ms is not None:
            self.ledger.problem("settled_twice", "this possession settled before; remove one of the two", mark, at_ms)
            return self._here()
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
            on.begin(mark.id, at_ms, "not_tagged", self._strength_of(on.team))
        return self._here()

    def _name(self, on: Possession, mark: Mark, at_ms: int) -> tuple[str | None, str | None]:
        wrong = (
            on.team == "theirs" if mark.kind in ("set", "freelance") else mark.kind == "family" and on.team == "ours"
        )
        if wrong:
            words = "names the offence of the side without the ball; put in the change of ball, or remove it"
            self.ledger.problem("wrong_side", f"{self.language.kinds[mark.kind]['name']} {words}", mark, at_ms)
            return self._here()
        if on.stretch.phase is not None:
            on.end_stretch(at_ms, "flowed", mark.id)
            on.begin(mark.id, at_ms, "not_tagged", self._strength_of(on.team))
        stretch = on.touch(mark.id)
        stretch.phase = _PHASES[mark.kind]
        stretch.side = mark.answers.get("side")
        stretch.name = mark.answers.get("set" if mark.kind == "set" else "family")
        if mark.kind == "set":
            self._set_named(on, stretch, mark, at_ms)
        return on.id, stretch.id

    def _set_named(self, on: Possession, stretch: Stretch, mark: Mark, at_ms: int) -> None:
        if stretch.name is None:
            self.ledger.problem("no_set", "which set it was is not said; answer it", mark, at_ms)
        elif stretch.name not in self.language.sets:
            words = f"the playbook has no set “{stretch.name}”; retire sets instead of deleting them"
            self.ledger.problem("unknown_set", words, mark, at_ms)
        self.ledger.roles(mark, on.id, stretch.id)

    def _shot(self, on: Possession, run: Stretch, mark: Mark, at_ms: int) -> None:
        result = mark.answers.get("result")
        recovered = mark.answers.get("recovered")
        on.end_stretch(at_ms, "shot", mark.id)
        told = "save" if result == "saved" else "missed_shot" if result in MISSED else None
        if result == "goal":
            self._close(at_ms, "goal", mark.id)
            self.strength.goal(on.team, self.play.until(at_ms))
            self.play.halt(at_ms)
        elif recovered == "no":
            self._close(at_ms, told, mark.id)
        elif recovered == "dead":
            on.begin(mark.id, at_ms, "not_tagged", self._strength_of(on.team), tentative=True)
            on.pending = told
        else:
            strength = self._strength_of(on.team)
            sure = recovered == "yes"
            on.begin(mark.id, at_ms, "second_chance", strength, parent=run.id, tentative=not sure)
            on.pending = None if sure else told
            on.unseen = not sure and result == UNSEEN  # how it ended is answered: nobody could see it

    def _turnover(self, on: Possession, mark: Mark, at_ms: int) -> None:
        kind = mark.answers.get("kind")
        where = mark.answers.get("where")
        if on.crossed is None and (where == "own_end" or kind == "advance"):
            on.crossed = False
        elif where == "far_end":
            on.crossed = True
        on.end_stretch(at_ms, "turnover", mark.id)
        question = self.language.question("turnover", "kind") or {"choices": []}
        broke = any(choice["code"] == kind and choice.get("violation") for choice in question["choices"])
        self._close(at_ms, "violation" if broke else "turnover", mark.id)

    def _whistle(self, on: Possession, mark: Mark, at_ms: int) -> None:
        to = mark.answers.get("to")
        on.end_stretch(at_ms, "whistle", mark.id)
        if to == "faceoff" or (to is not None and to == contexts.other(on.team or "")):
            self._close(at_ms, "whistle", mark.id)
            return
        sure = to is not None and to == on.team
        on.begin(mark.id, at_ms, "not_tagged", self._strength_of(on.team), tentative=not sure)
        on.pending = None if sure else "whistle"

    def _of_a_run(self, mark: Mark, at_ms: int) -> tuple[str | None, str | None]:
        """A look or a grade belongs to the last named set of the period at or before it."""
        for possession in reversed(self.possessions):
            if self.period is not None and possession.start_ms < self.period.start_ms:
                break
            for stretch in reversed(possession.stretches):
                if stretch.phase == "set":
                    self._give(possession, stretch, mark, at_ms)
                    return possession.id, stretch.id
        words = "belongs to no set; name the set it was, or remove it"
        self.ledger.problem("no_set_before", f"{self.language.kinds[mark.kind]['name']} {words}", mark, at_ms)
        if mark.kind == "grade":
            self._row(mark, at_ms, None, None)
        return None, None

    def _give(self, possession: Possession, stretch: Stretch, mark: Mark, at_ms: int) -> None:
        if mark.kind == "grade":
            self._row(mark, at_ms, possession.id, stretch.id)
            return
        if stretch.look_mark is not None:
            self.ledger.problem(
                "look_twice", "this run has its look already; answer that one anew, or remove one", mark, at_ms
            )
            return
        stretch.look_mark = mark.id
        stretch.look = mark.answers.get("look")
        stretch.look_open = mark.answers.get("open")
        stretch.marks.append(mark.id)

    def _strength(self, mark: Mark) -> tuple[str | None, str | None]:
        self.strength.told(mark.answers.get("strength"))
        on = self.on
        now = self._strength_of(on.team) if on is not None else None
        if on is not None and len(on.stretches) == 1 and not on.stretch.marks and on.strength != now:
            on.stretch.strength = on.strength = now
            on.marks.append(mark.id)
        return self._here()

    # Small things -------------------------------------------------------------------------------------------------

    def _halt(self, at_ms: int) -> None:
        self.play.halt(at_ms)
        self.strength.halt(self.play.until(at_ms))

    def _close(self, at_ms: int, ended: str | None, mark: str) -> None:
        if self.on is not None:
            self.on.close(at_ms, ended, mark)
            self.on = None

    def _here(self) -> tuple[str | None, str | None]:
        if self.on is None:
            return None, None
        return self.on.id, None if self.on.stretch.tentative else self.on.stretch.id

    def _strength_of(self, team: str | None) -> str | None:
        return self.strength.seen_by(team)

    def _row(self, mark: Mark, at_ms: int, possession: str | None, run: str | None) -> None:
        team = self.on.team if self.on is not None else None
        period = self.period.number if self.period else None
        strength = self._strength_of(team)
        table, row = event_row(mark, at_ms, period=period, possession=possession, run=run, team=team, strength=strength)
        self.ledger.enter(table, row, mark, at_ms)

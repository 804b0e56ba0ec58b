"""One walk over a game's marks in their order: what each means where it stands, by what its kind says of itself.

`Walk.step` takes one mark after the other; `finish` closes what is open and gives the rows. Here is only which mark
goes where; what a shot or a whistle does to what is on stands in `possessions.py`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from tagger.floor.rules import PenaltyRules
from tagger.marks import context as contexts
from tagger.marks.endings import ending_of, gained_by
from tagger.marks.ledger import Ledger
from tagger.marks.playtime import PlayTime
from tagger.marks.possessions import Place, Possessions
from tagger.marks.resolve import Mark
from tagger.marks.sentences import sentence
from tagger.marks.strength import Strength
from tagger.marks.stretches import Possession
from tagger.marks.traits import BESIDE, ENDS, FIRMS, NAMES, OF_SET, Traits
from tagger.marks.vocabulary import Language
from tagger.tables import OURS, THEIRS


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
        strength, play = Strength(penalties), PlayTime(stop_clock)
        self.game = Possessions(language, self.ledger, strength, play, period_s=period_s, n_periods=n_periods)
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
        before, game = self.context, self.game
        text = sentence(self.language, mark.kind, mark.answers, before)
        traits = self.language.traits.get(mark.kind)
        if traits is None:
            words = f"floorbook does not know the kind “{mark.kind}”; a newer version may"
            self.ledger.problem("unknown_kind", words, mark, at_ms)
            return Seen(None, None, text)
        mark = self.ledger.checked(mark, at_ms, game.team)
        self.context = contexts.after(self.language, before, mark.kind, mark.answers)
        if traits.starts_play and game.period is not None:
            game.play.start(at_ms)
        game.strength.pass_to(game.play.until(at_ms))
        on = game.on  # a shot may close it
        possession, run = self._place(traits, mark, at_ms, before)
        if on is not None and traits.past_centre:
            on.crossed = True
        return Seen(possession, run, text)

    def finish(self) -> dict[str, list[dict[str, Any]]]:
        """Give the rows of everything, open things open-ended.

        Returns
        -------
        dict of str to list of dict
            Table name → rows.
        """
        for possession in self.game.finish():
            self.ledger.rows["possessions"].append(possession.row())
            self.ledger.rows["runs"].extend(possession.run_rows())
        self.ledger.claim_no_more()
        self.ledger.periods_and_clocks(self.game.periods, self.game.clocks)
        return self.ledger.rows

    def _place(self, traits: Traits, mark: Mark, at_ms: int, before: Mapping[str, str]) -> Place:
        """Put a mark where it belongs: in no possession, in one, in a set's run, in the run that is on."""
        game, does = self.game, traits.does
        if does == "period_start":
            game.begin_period(mark, at_ms)
            return None, None
        if does == "period_end":
            game.end_period(mark, at_ms, ending_of(traits, mark.answers, before))
            return None, None
        if does == "possession":
            return game.begin_possession(mark, at_ms)
        if does == "strength":
            return game.say_strength(mark)
        if does == "detail":
            level = str(mark.answers.get("level", self.context["level"]))
            self.ledger.detail(mark.id, at_ms, level, (mark.id,), str(mark.answers.get("asked", "")))
            return game.here
        if traits.stops_play:
            game.halt(at_ms)
        if does:
            self._before_all(does, mark, at_ms)
        if traits.run == OF_SET:
            return self._of_set(traits, mark, at_ms)
        on = game.on
        place = self._outside(traits, mark, at_ms) if on is None else self._inside(on, traits, mark, at_ms, before)
        gained, team = gained_by(traits, mark.answers, before), mark.answers.get("team")
        if gained is not None and game.period is not None and team in (OURS, THEIRS) and team != game.team:
            return game.begin_possession(mark, at_ms, gained)
        return place

    def _before_all(self, does: str, mark: Mark, at_ms: int) -> None:
        """What a mark does to clock and strength, whether or not anybody has the ball."""
        game = self.game
        if does == "faceoff":
            game.draw = str(mark.answers.get("won", ""))
        elif does == "penalty":
            game.penalise(mark.answers, at_ms)
        elif does == "goalie":
            game.strength.goalkeeper(mark.answers.get("team"), mark.answers.get("what"))
        elif does == "clock" and game.period is not None and "clock" in mark.answers:
            game.clocks[game.period.id].readings.append((at_ms, mark.answers["clock"]))

    def _outside(self, traits: Traits, mark: Mark, at_ms: int) -> Place:
        if traits.balls:
            words = "outside any possession; put in the possession it belongs to, or remove it"
            self.ledger.problem("outside_possession", f"{self._name(mark)} {words}", mark, at_ms)
        self._row(traits, mark, at_ms, None, None)
        return None, None

    def _inside(self, on: Possession, traits: Traits, mark: Mark, at_ms: int, before: Mapping[str, str]) -> Place:
        game, does = self.game, traits.does
        if does == "settled":
            return game.settle(on, mark, at_ms)
        if traits.run in (BESIDE, FIRMS, NAMES):
            if traits.run == FIRMS:
                on.firm()
            place = game.name(on, traits, mark, at_ms) if traits.run == NAMES else game.here
            self._row(traits, mark, at_ms, *place)
            return place
        run = on.touch(mark.id)
        if does == "penalty" and on.team is not None and mark.answers.get("team") not in (None, on.team):
            run.penalty_drawn = True
        self._row(traits, mark, at_ms, on.id, run.id)
        for one in traits.also:
            if contexts.holds(one.get("when", {}), mark.answers, before):
                self._also(one, mark, at_ms, on.id, run.id)
        told = ending_of(traits, mark.answers, before)
        if does == "shot":
            game.shoot(on, run, mark, at_ms, told)
        elif does == "turnover":
            game.lose_ball(on, mark, at_ms, told)
        elif does == "whistle":
            game.whistle(on, mark, at_ms, told)
        elif traits.run == ENDS:
            game.end_run(on, traits, mark, at_ms)
        return on.id, run.id

    def _of_set(self, traits: Traits, mark: Mark, at_ms: int) -> Place:
        """A look or a grade belongs to the last named set of the period at or before it."""
        found = self.game.last_set()
        if found is None:
            words = "belongs to no set; name the set it was, or remove it"
            self.ledger.problem("no_set_before", f"{self._name(mark)} {words}", mark, at_ms)
            self._row(traits, mark, at_ms, None, None)
            return None, None
        possession, stretch = found
        if traits.does == "look":
            self.game.look(stretch, mark, at_ms)
        self._row(traits, mark, at_ms, possession.id, stretch.id)
        return possession.id, stretch.id

    def _row(self, traits: Traits, mark: Mark, at_ms: int, possession: str | None, run: str | None) -> None:
        if traits.table:
            game = self.game
            period = game.period.number if game.period else None
            now = {"period": period, "team": game.team, "strength": game.strength_of(game.team)}
            self.ledger.enter(mark, at_ms, possession=possession, run=run, **now)

    def _also(self, said: Mapping[str, Any], mark: Mark, at_ms: int, possession: str, run: str) -> None:
        """A mark says as much as one of another kind would, unless that one was made."""
        answers = {
            name: mark.answers.get(value[1:]) if value[:1] == "$" else value for name, value in said["answers"].items()
        }
        fixed = {name: value for name, value in said["answers"].items() if value[:1] != "$"}
        own = [row for row in self.ledger.rows[self.language.traits[said["kind"]].table] if row["run"] == run]
        made = any(all(row.get(name) in (None, value) for name, value in fixed.items()) for row in own)
        if not made and self.ledger.looks_for(said["kind"]):
            told = {name: value for name, value in answers.items() if value is not None}
            one = replace(mark, id=f"{mark.id}/{said['kind']}", kind=said["kind"], answers=told)
            self._row(self.language.traits[one.kind], one, at_ms, possession, run)
            self.ledger.rows[self.language.traits[one.kind].table][-1]["marks"] = (mark.id,)

    def _name(self, mark: Mark) -> str:
        return str(self.language.kinds[mark.kind]["name"])

"""What a walk writes down: rows of the event tables, problems, and what was being looked for.

A re-pick is a fact, its pair is worked out: the key enters `again` and the pair as far as it is known then; named
later at the first screen, the re-pick has it too.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from tagger.marks.checks import clean_answers, looks_for, strangers
from tagger.marks.keyboard import NO_KEYS
from tagger.marks.onfloor import OnFloor, whose
from tagger.marks.playtime import PeriodClock
from tagger.marks.problems import Problem
from tagger.marks.resolve import Mark
from tagger.marks.rows import event_row, forms_of
from tagger.marks.stretches import Period
from tagger.marks.vocabulary import Language
from tagger.tables import SOMEBODY


class Ledger:
    """Rows and problems as they come.

    Parameters
    ----------
    language : Language
        Vocabulary and playbook.
    roster : frozenset of str
        Our players' numbers; empty: not checked.
    """

    def __init__(self, language: Language, roster: frozenset[str]) -> None:
        self.language = language
        self.roster = roster
        self.rows: dict[str, list[dict[str, Any]]] = {name: [] for name in language.tables}
        self.forms = forms_of(language)
        self.problems: list[Problem] = []
        self.placed: set[str] = set()
        """Questions that no key answers and that are answered all the same, as `shot.place`."""
        lines = {code: tuple(line["players"]) for code, line in language.lines.items()}
        self.on_floor = {"ours": OnFloor(lines), "theirs": OnFloor()}

    def problem(self, code: str, text: str, mark: Mark, at_ms: int) -> None:
        """List a problem at a mark.

        Parameters
        ----------
        code, text : str
            Which, and what would resolve it.
        mark : Mark
            Where.
        at_ms : int
            Its game time.
        """
        self.problems.append(Problem(code, text[:1].upper() + text[1:], mark.id, at_ms))

    def checked(self, mark: Mark, at_ms: int, team: str | None) -> Mark:
        """A mark with only those answers that can mean something; the others are listed.

        Parameters
        ----------
        mark : Mark
            Of a known kind.
        at_ms : int
            Its game time.
        team : str or None
            Whose ball it is.

        Returns
        -------
        Mark
            With cleaned answers.
        """
        answers, faults = clean_answers(self.language, mark)
        for code, text in faults:
            self.problem(code, text, mark, at_ms)
        for question in self.language.kinds[mark.kind]["questions"]:
            if question["type"] in NO_KEYS and question["code"] in answers:
                self.placed.add(f"{mark.kind}.{question['code']}")
        if self.language.traits[mark.kind].does == "line":
            answers = whose(answers)
        for number in strangers(self.language, mark.kind, answers, team, self.roster):
            words = f"no {number} on the roster; correct the number, or add the player"
            self.problem("not_on_roster", words, mark, at_ms)
        return replace(mark, answers=answers)

    def enter(self, mark: Mark, at_ms: int, **now: Any) -> None:
        """Write down a mark's own row; a line change with who is on the floor then, a re-pick with its pair.

        Parameters
        ----------
        mark : Mark
            With cleaned answers, of a kind that has a table.
        at_ms : int
            Its game time.
        **now
            What it falls in, as `event_row` takes it.
        """
        traits, form = self.language.traits[mark.kind], self.forms[mark.kind]
        row, rows = event_row(form, mark, at_ms, **now), self.rows[form.table]
        if traits.does == "grade" and row.get("player") == SOMEBODY:
            return  # a grade of one who was erased: it says nothing any more
        if traits.does == "line" and mark.answers.get("team") in self.on_floor:
            men = self.on_floor[mark.answers["team"]]
            for code, text in men.change(mark.answers):
                self.problem(code, text, mark, at_ms)
            row |= men.row()
        elif row.get("again") and rows and rows[-1]["possession"] == row["possession"] is not None:
            before = rows[-1]
            missing = [name for name in traits.again if row.get(name) is None and before.get(name) is not None]
            row |= {name: before[name] for name in missing}
            row["marks"] = (mark.id, *(before["marks"] if missing else ()))
        rows.append(row)

    def roles_anew(self, run: str) -> None:
        """Another set is named in place of a run's first: who filled that one's roles says nothing of this one."""
        self.rows["roles"] = [row for row in self.rows["roles"] if row["run"] != run]

    def roles(self, mark: Mark, at_ms: int, possession: str, run: str) -> None:
        """Write down who filled which role of a set; roles of another set are listed.

        Parameters
        ----------
        mark : Mark
            The set's.
        at_ms : int
            Its game time.
        possession, run : str
            Ids of what it names.
        """
        play = self.language.sets.get(str(mark.answers.get("set")))
        elsewhere = {f"role.{one['code']}" for each in self.language.sets.values() for one in each["roles"]}
        own = {f"role.{one['code']}" for one in play["roles"]} if play else elsewhere
        own |= set(mark.answers) - elsewhere  # a role that the playbook has no more was this set's when it was said
        if others := [name for name in mark.answers if name.startswith("role.") and name not in own]:
            words = f"{len(others)} role{'s' * (len(others) > 1)} of another set; answer again who filled this one’s"
            self.problem("role_of_another_set", words, mark, at_ms)
        for question, player in sorted(mark.answers.items()):
            if question.startswith("role.") and question in own:
                role = question.removeprefix("role.")
                head = {"id": f"{mark.id}/{role}", "possession": possession, "run": run, "marks": (mark.id,)}
                self.rows["roles"].append({**head, "role": role, "player": player})

    def begin_period(self) -> None:
        """A period begins: who is on the floor is not known."""
        for men in self.on_floor.values():
            men.forget()

    def detail(self, id_: str, at_ms: int, level: str, marks: tuple[str, ...], asked: str = "") -> None:
        """From here on something else is looked for.

        Parameters
        ----------
        id_ : str
            The row's id.
        at_ms : int
            From when.
        level : str
            basic, main, whole or question.
        marks : tuple of str
            The mark that says so; empty for the season's setting.
        asked : str
            What the stated question needs, at level question.
        """
        rows = self.rows["detail"]
        if rows:
            rows[-1]["end_ms"] = at_ms
        wanted = looks_for(self.language, level, asked if level == "question" else "")
        row = {"id": id_, "start_ms": at_ms, "end_ms": None, "level": level, "looks_for": wanted, "marks": marks}
        rows.append(row)

    def looked_for(self, does: str) -> bool:
        """Whether what does something is being looked for now.

        Parameters
        ----------
        does : str
            As a kind says it.

        Returns
        -------
        bool
            By the last word on it.
        """
        kind = self.language.that(does)
        return kind is not None and self.looks_for(kind["code"])

    def looks_for(self, kind: str) -> bool:
        """Whether a kind is being looked for now.

        Parameters
        ----------
        kind : str
            Its code.

        Returns
        -------
        bool
            By the last word on it.
        """
        return kind in self.rows["detail"][-1]["looks_for"].split()

    def claim_no_more(self) -> None:
        """What no key answers was looked for only in a book that answers it."""
        kinds = self.language.data["kinds"]
        never = {
            f"{kind['code']}.{one['code']}" for kind in kinds for one in kind["questions"] if one["type"] in NO_KEYS
        }
        for row in self.rows["detail"]:
            row["looks_for"] = " ".join(one for one in row["looks_for"].split() if one not in never - self.placed)

    def periods_and_clocks(self, periods: list[Period], clocks: dict[str, PeriodClock]) -> None:
        """Write the periods down, and give every row that falls in one its time left where that is known.

        Parameters
        ----------
        periods : list of Period
            In order.
        clocks : dict of str to PeriodClock
            By the period's id.
        """
        for period in periods:
            self.rows["periods"].append(
                {
                    "id": period.id,
                    "period": period.number,
                    "start_ms": period.start_ms,
                    "end_ms": period.end_ms,
                    "marks": tuple(period.marks),
                }
            )
        for name, rows in self.rows.items():
            if all(column.name != "clock_s" for column in self.language.tables[name]):
                continue
            for row in rows:
                at_ms: int = row["at_ms"] if "at_ms" in row else row["start_ms"]
                for period in periods:
                    if at_ms >= period.start_ms and (period.end_ms is None or at_ms <= period.end_ms):
                        row.setdefault("clock_s", clocks[period.id].left_s(at_ms))
                        break

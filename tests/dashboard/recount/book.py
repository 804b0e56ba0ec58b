"""The event tables as plain rows, and what a person with the rows and a pencil says of them.

Nothing here comes from `analysis`: a run's shots are looked up, one after the other, in the list of shots.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import cached_property
from typing import Any, TypeAlias, TypeVar

import pandas as pd

from tagger.season import Season

T = TypeVar("T")
Row: TypeAlias = Mapping[str, Any]
NO_SHOT = ("waved_off", "dump")
FREED = ("user", "setter", "third_man")
PHASES = {
    "freelance": "Freelance",
    "transition": "Transition",
    "second_chance": "Second chance",
    "broken": "Broken play",
    "not_tagged": "No set named",
}


class Book:
    """The season's rows.

    Parameters
    ----------
    season : Season
        The open season.
    """

    def __init__(self, season: Season) -> None:
        self.season = season
        self.playbook = season.texts.playbook
        self.language = season.texts.language()
        self.games = list(season.games.all())
        self.rows = plain(season.tagged.tables())
        self._kept: dict[Any, Any] = {}
        self.by_id = {name: {row["id"]: row for row in rows} for name, rows in self.rows.items()}

    @cached_property
    def shots_of(self) -> dict[str, list[Row]]:
        """Run → its shots; a goal waved off and a ball dumped are none."""
        return _by("run", (row for row in self.rows["shots"] if is_shot(row)))

    @cached_property
    def turnovers_of(self) -> dict[str, list[Row]]:
        """Run → its turnovers."""
        return _by("run", self.rows["turnovers"])

    @cached_property
    def screens_of(self) -> dict[str, list[Row]]:
        """Run → its screens in order of time."""
        return {
            run: sorted(rows, key=lambda row: row["at_ms"]) for run, rows in _by("run", self.rows["screens"]).items()
        }

    @cached_property
    def runs_of(self) -> dict[str, list[Row]]:
        """Possession → its runs in order."""
        return {
            held: sorted(rows, key=lambda row: row["order"])
            for held, rows in _by("possession", self.rows["runs"]).items()
        }

    @cached_property
    def children(self) -> dict[str, list[Row]]:
        """Run → the runs that went on with a shot of it."""
        return _by("parent", self.rows["runs"])

    def kept(self, key: tuple[Any, ...], make: Callable[[], T]) -> T:
        """What was found before; found now, the first time."""
        if key not in self._kept:
            self._kept[key] = make()
        made: T = self._kept[key]
        return made

    def in_possession(self, table: str, possession: str) -> list[Row]:
        """The rows of a table that stand in a possession."""
        held = self.kept(("possession", table), lambda: _by("possession", self.rows[table]))
        return held.get(possession, [])

    def run_of(self, row: Row) -> Row | None:
        """The run that a row stands in."""
        return self.by_id["runs"].get(row.get("run"))

    def strength(self, row: Row) -> str | None:
        """The class of strength of a row: its own, else its run's, else its possession's."""
        if "strength" in row:
            return klass(row["strength"])
        run, held = self.run_of(row), self.by_id["possessions"].get(row.get("possession"))
        return klass((run or held or {}).get("strength"))

    def name(self, run: Row) -> str:
        """What a run is called on a page."""
        return self.set_name(run["set"]) if run["phase"] in ("set", "family") else PHASES[run["phase"]]

    def set_name(self, code: str) -> str:
        """What a set or a family of action is called."""
        for play in self.playbook.sets:
            if play.code == code:
                return str(play.name)
        return self.answers("family", "family").get(code, code).capitalize()

    def look_name(self, play: str, code: str | None) -> str:
        """What a look of a set is called."""
        named: dict[str | None, str] = {None: "not answered", "unseen": "can’t see", "none": "none of its looks"}
        looks = [look for one in self.playbook.sets if one.code == play for look in one.looks]
        named |= {look.code: look.name for look in looks}
        return named.get(code, str(code))

    def checkpoint_name(self, play: str | None, code: str) -> str:
        """What a checkpoint of a set is called."""
        for one in self.playbook.sets:
            for check in one.checkpoints:
                if one.code == play and check.code == code.rsplit(".", 1)[-1]:
                    return str(check.name)
        return code

    def answers(self, kind: str, question: str) -> dict[str, str]:
        """The answers of a question: code → name."""

        def listed() -> dict[str, str]:
            asked = self.language.question(kind, question)
            return {each["code"]: each["name"] for each in (asked or {}).get("choices") or ()}

        return self.kept(("answers", kind, question), listed)

    def answer_name(self, kind: str, question: str, code: str | None) -> str:
        """What an answer is called at the head of a row."""
        said = "not answered" if code is None else self.answers(kind, question).get(code, code)
        return said[:1].upper() + said[1:]

    def fact(self, run: Row, name: str) -> bool | None:
        """Whether something came of a run; None where nobody knows."""
        return self.kept(("fact", name, run["id"]), lambda: _FACTS[name](self, run))

    def looked_for(self, row: Row, what: str) -> bool:
        """Whether a kind of mark was looked for at a row's time."""
        said = self.kept(("detail",), lambda: _by("game", self.rows["detail"])).get(row["game"])
        at = row["at_ms"] if "at_ms" in row else row["start_ms"]
        return not said or any(
            what in (each["looks_for"] or "").split()
            and each["start_ms"] <= at
            and (each["end_ms"] is None or at < each["end_ms"])
            for each in said
        )


def plain(tables: Mapping[str, pd.DataFrame]) -> dict[str, list[Row]]:
    """Event tables as rows, missing values as None."""
    return {
        name: [
            {
                str(column): None if not isinstance(value, tuple) and pd.isna(value) else value
                for column, value in row.items()
            }
            for row in frame.astype(object).to_dict("records")
        ]
        for name, frame in tables.items()
    }


def _by(column: str, rows: Iterable[Row]) -> dict[str, list[Row]]:
    made: dict[str, list[Row]] = {}
    for row in rows:
        if row[column] is not None:
            made.setdefault(row[column], []).append(row)
    return made


def klass(strength: str | None) -> str | None:
    """The class of a strength as "5v4"."""
    if strength is None:
        return None
    ours, theirs = strength.split("v")
    if "e" in strength:
        return "empty_net"
    return "even" if ours == theirs else "up" if int(ours) > int(theirs) else "down"


def is_shot(row: Row) -> bool:
    """Whether a row of shots is one."""
    return row["result"] not in NO_SHOT


def either(each: Iterable[bool | None]) -> bool | None:
    """Whether any is so; None where none is and one may be."""
    held = list(each)
    return True if True in held else None if None in held else False


def resulted(shot: Row, *results: str) -> bool | None:
    """Whether a shot had one of some results."""
    return None if shot["result"] in (None, "unseen") else shot["result"] in results


def _with(*results: str) -> Callable[[Book, Row], bool | None]:
    def told(book: Book, run: Row) -> bool | None:
        return either(resulted(shot, *results) for shot in book.shots_of.get(run["id"], ()))

    return told


def _chain(book: Book, run: Row) -> list[Row]:
    """A run and the second chances that came of it, one out of the other."""
    made = [run]
    for child in book.children.get(run["id"], ()):
        if child["phase"] == "second_chance":
            made += _chain(book, child)
    return made


def _any(name: str) -> Callable[[Book, Row], bool | None]:
    return lambda book, run: either(book.fact(each, name) for each in _chain(book, run))


def _within(seconds: int) -> Callable[[Book, Row], bool | None]:
    def told(book: Book, run: Row) -> bool | None:
        if run["settled_ms"] is None:
            return None
        start = max(run["settled_ms"], run["start_ms"])
        if run["end_ms"] is not None and start > run["end_ms"]:
            return None
        return any(shot["at_ms"] - start <= seconds * 1000 for shot in book.shots_of.get(run["id"], ()))

    return told


_FACTS: Mapping[str, Callable[[Book, Row], bool | None]] = {
    "shot": lambda book, run: bool(book.shots_of.get(run["id"])),
    "on_goal": _with("goal", "saved"),
    "goal": _with("goal"),
    "turnover": lambda book, run: bool(book.turnovers_of.get(run["id"])),
    "pull_out": lambda book, run: None if run["ended"] is None else run["ended"] == "pull_out",
    "penalty": lambda book, run: run["penalty_drawn"],
    "second_chance": lambda book, run: bool(book.children.get(run["id"])),
    "goal_any": _any("goal"),
    "on_goal_any": _any("on_goal"),
    "turnover_any": _any("turnover"),
    "shot_10s": _within(10),
    "shot_20s": _within(20),
    "shot_30s": _within(30),
}
"""What may come of a run, by the address’ word for it."""

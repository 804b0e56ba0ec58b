"""The question a coach states before tagging: one comparison, kept in the season folder as question.toml.

    text = "Does our down screen free the shooter going left?"
    measure = "user_free"
    stated = 2026-11-20T18:02:11Z     # a day alone can be read too: stated = 2026-11-20

    [one]
    set = "keel"
    set_side = "left"

    [other]                 # left out: compared with all the others
    set = "keel"
    set_side = "right"

`measure` is a fact of runs ("shot", "goal", …) or of screens ("freed", "user_free", …); `one` and `other` say which
runs or screens are meant. What the answer can be counted from is what tagging asks for (`StatedQuestion.needs`); the
rest counts as not looked for. What the page writes carries a mark of what it asks, `as_stated`, so that a file whose
comparison or day was edited by hand afterwards is seen to be one: it no longer says what was asked then. The analysis
answers it with the same names; a test holds that the two agree.

The `detail` mark's answer "question" lists the kinds and questions asked, so a book keeps what was looked for
whatever question.toml says later. An empty book gets that mark at the game's first frame before its first mark; a
kind that is not needed can be marked by its key, is asked as usual, and counts as not looked for.
"""

from __future__ import annotations

import datetime
import hashlib
import json
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from tagger.dates import day
from tagger.texts.toml_file import line_of, told_of

QUESTION_FILE = "question.toml"
MOST_TEXT = 200
_FREE = ("screen", "screen.free")
_CREDIT = ("screen.setter", "screen.user", "shot.shooter", "shot.feeder", "shot.feeder2")
RUN_MEASURES: dict[str, tuple[str, ...]] = {
    **dict.fromkeys(("shot", "on_goal", "goal", "turnover", "pull_out"), ()),
    "penalty": ("penalty", "penalty.team", "penalty.kind", "penalty.delayed"),
    **dict.fromkeys(
        ("second_chance", "on_goal_any", "goal_any", "turnover_any", "shot_10s", "shot_20s", "shot_30s"), ()
    ),
}
SCREEN_MEASURES: dict[str, tuple[str, ...]] = {
    **dict.fromkeys(("freed", "user_free", "setter_free", "third_man_free"), _FREE),
    **dict.fromkeys(("shot_after", "goal_after"), ("screen",)),
    "credited": (*_FREE, *_CREDIT),
}
RUN_COLUMNS: dict[str, tuple[str, ...]] = {"set": (), "side": ("set.side",), "look": ("look", "look.look"), "phase": ()}
SCREEN_COLUMNS: dict[str, tuple[str, ...]] = {
    **{name: ("screen", f"screen.{name}") for name in ("kind", "side", "coverage", "setter", "user", "setter_next")},
    "set": (),
    "set_side": ("set.side",),
}


class StatedError(ValueError):
    """A question that cannot be asked; says which part and what would be right."""


@dataclass(frozen=True)
class StatedQuestion:
    """One comparison, fixed before tagging.

    Attributes
    ----------
    text : str
        In the coach's words.
    measure : str
        What should happen: one of `RUN_MEASURES` or `SCREEN_MEASURES`.
    one : mapping of str to str
        Which runs (`RUN_COLUMNS`) or screens (`SCREEN_COLUMNS`) are meant, column → code.
    other : mapping of str to str or None
        Which they are compared with; None: all the others.
    stated : date
        The day on which it was stated.
    at : datetime or None
        The moment, in UTC, where it is known.
    edited : bool
        Whether what is compared, or when it was stated, was edited by hand after it was stated.

    Raises
    ------
    StatedError
        A measure or a column that does not exist, or nothing that says which are meant.
    """

    text: str
    measure: str
    one: Mapping[str, str]
    other: Mapping[str, str] | None = None
    stated: datetime.date = field(default_factory=datetime.date.today)
    at: datetime.datetime | None = None
    edited: bool = False

    def __post_init__(self) -> None:
        """Refuse what cannot be asked, by name."""
        told = [
            *_faults_of_text(self.text),
            *_faults_of_measure(self.measure),
            *_faults_of_part("one", self.one, self.measure),
            *(_faults_of_part("other", self.other, self.measure) if self.other is not None else ()),
        ]
        if told:
            raise StatedError(told[0][1])

    @property
    def of_screens(self) -> bool:
        """Whether it is about screens; else it is about runs."""
        return self.measure in SCREEN_MEASURES

    def needs(self, kinds: Iterable[Mapping[str, Any]]) -> tuple[str, ...]:
        """Kinds and questions that its answer is counted from.

        Parameters
        ----------
        kinds : iterable of mapping
            The vocabulary's: every question is counted over what cuts a game into runs at a strength (`cuts`).

        Returns
        -------
        tuple of str
            As `screen` and `screen.free`, each once.
        """
        columns = SCREEN_COLUMNS if self.of_screens else RUN_COLUMNS
        cutting = [kind for kind in kinds if "cuts" in kind]
        found = [
            name for kind in cutting for name in (kind["code"], *(f"{kind['code']}.{one}" for one in kind["cuts"]))
        ]
        found += [*(SCREEN_MEASURES | RUN_MEASURES)[self.measure]]
        for name in (*self.one, *(self.other or {})):
            found += columns[name]
        return tuple(dict.fromkeys(found))


def parse_stated(text: str) -> tuple[StatedQuestion | None, list[tuple[int, str]]]:
    """Read a question file's text.

    Parameters
    ----------
    text : str
        TOML.

    Returns
    -------
    tuple of StatedQuestion or None and list of (int, str)
        The question, and each fault with its line (0 for the file as a whole). A question with a fault is not asked at
        all: half of one would be another question.
    """
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        line, what = told_of(fault, text)
        return None, [(line, f'{what}; a value looks like measure = "goal"')]
    day, at = part_of(data.get("stated"))
    told = [(line_of(text, tuple(where.split("."))), what) for where, what in _faults(data)]
    if told or day is None:
        return None, sorted(told)
    read = StatedQuestion(data["text"], data["measure"], data["one"], data.get("other"), stated=day, at=at)
    return replace(read, edited=data.get("as_stated", (own := _own_mark(read))) != own), []


def written(question: StatedQuestion) -> str:
    """A question as the file says it.

    Parameters
    ----------
    question : StatedQuestion
        Any.

    Returns
    -------
    str
        TOML that `parse_stated` reads back as the same question.
    """
    mark = "edited since" if question.edited else _own_mark(question)
    return _worded(question, f"as_stated = {_quoted(mark)}  # of what is asked here; edited by hand, it no longer fits")


def _worded(question: StatedQuestion, *more: str) -> str:
    lines = [
        f"text = {_quoted(question.text)}",
        f"measure = {_quoted(question.measure)}",
        f"stated = {moment_written(question.at) if question.at else question.stated.isoformat()}",
        *more,
    ]
    for name, part in (("one", question.one), ("other", question.other)):
        if part is not None:
            lines += ["", f"[{name}]", *(f"{column} = {_quoted(code)}" for column, code in part.items())]
    return "\n".join(lines) + "\n"


def _own_mark(question: StatedQuestion) -> str:
    """A mark of what is compared and when it was stated; the words may be mended, or somebody's name leave them."""
    return hashlib.sha256(_worded(replace(question, text="?")).encode()).hexdigest()[:16]


def stated_now(text: str, measure: str, one: Mapping[str, str], other: Mapping[str, str] | None) -> StatedQuestion:
    """A question that is stated at this moment.

    Parameters
    ----------
    text, measure, one, other
        As in `StatedQuestion`.

    Returns
    -------
    StatedQuestion
        To the second.

    Raises
    ------
    StatedError
        It cannot be asked.
    """
    at = datetime.datetime.now(datetime.UTC).replace(microsecond=0)
    return StatedQuestion(text, measure, one, other, stated=at.astimezone().date(), at=at)


def part_of(value: Any) -> tuple[datetime.date | None, datetime.datetime | None]:
    """The day and, where it is said, the moment of a statement.

    Parameters
    ----------
    value : object
        As TOML has it.

    Returns
    -------
    tuple of (date or None, datetime or None)
        The day here, and the moment in UTC; a time without a zone is of the clock here.
    """
    at = moment_of(value)
    if at is not None:
        return at.astimezone().date(), at
    return (value, None) if isinstance(value, datetime.date) else (day(value), None)


def moment_of(value: Any) -> datetime.datetime | None:
    """A moment that TOML says.

    Parameters
    ----------
    value : object
        Any.

    Returns
    -------
    datetime or None
        In UTC, to the second; None for what is no moment.
    """
    if not isinstance(value, datetime.datetime):
        return None
    try:
        return value.astimezone(datetime.UTC).replace(microsecond=0)
    except (OverflowError, ValueError, OSError):
        return None


def moment_written(moment: datetime.datetime) -> str:
    """A moment as TOML says it.

    Parameters
    ----------
    moment : datetime
        With a time zone.

    Returns
    -------
    str
        As 2026-11-20T18:02:11Z.
    """
    return f"{moment.astimezone(datetime.UTC).replace(microsecond=0, tzinfo=None).isoformat()}Z"


def _faults(data: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Where each fault stands (`measure`, `one`, `one.side`) and what would be right."""
    names = ("text", "measure", "stated", "as_stated", "one", "other")
    told = [(name, f"“{name}” is not read; a question has {', '.join(names)}") for name in data if name not in names]
    told += _faults_of_text(data.get("text"))
    told += _faults_of_measure(data.get("measure"))
    if part_of(data.get("stated"))[0] is None:
        told.append(("stated", "the day it was stated is missing; write stated = 2026-11-20"))
    told += _faults_of_part("one", data.get("one"), data.get("measure"))
    if "other" in data:
        told += _faults_of_part("other", data["other"], data.get("measure"))
    return told


def _faults_of_text(text: Any) -> list[tuple[str, str]]:
    if isinstance(text, str) and text.strip() and len(text) <= MOST_TEXT and text.isprintable():
        return []
    return [("text", f'the question’s words are missing or too long; write text = "…", {MOST_TEXT} letters at most')]


def _faults_of_measure(measure: Any) -> list[tuple[str, str]]:
    if isinstance(measure, str) and measure in RUN_MEASURES | SCREEN_MEASURES:
        return []
    right = f"of runs: {', '.join(RUN_MEASURES)}; of screens: {', '.join(SCREEN_MEASURES)}"
    return [("measure", f"no measure “{measure}”; {right}" if measure else f"measure is missing; {right}")]


def _faults_of_part(name: str, part: Any, measure: Any) -> list[tuple[str, str]]:
    columns = SCREEN_COLUMNS if measure in SCREEN_MEASURES else RUN_COLUMNS
    which = "screens" if measure in SCREEN_MEASURES else "runs"
    if not isinstance(part, Mapping) or not part:
        return [(name, f'[{name}] must say which {which} are meant, as set = "keel"; any of {", ".join(columns)}')]
    told = []
    for column, code in part.items():
        if column not in columns:
            right = f"“{column}” is not asked of {which}; it is any of {', '.join(columns)}"
            told.append((f"{name}.{column}", f"[{name}] {right}"))
        elif not isinstance(code, str) or not code or not code.isprintable():
            told.append((f"{name}.{column}", f'[{name}] {column} is not a code; write {column} = "left" or the like'))
    return told


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)  # of printable text, JSON's and TOML's strings are the same

"""The questions stated before the one that is stated now: kept in the season's folder as earlier_questions.toml.

Whoever asks again until the answer suits has asked as many questions as he stated. So a question that another takes
the place of, or that is taken back, is written down here with when it was stated and when it ended, and the page says
how many there were. A file that couldn't be asked is kept as it was written.

    [[question]]
    ended = 2026-11-22T20:15:00Z
    text = "Does our down screen free the shooter going left?"
    measure = "user_free"
    stated = 2026-11-20T18:02:11Z

    [question.one]
    set = "keel"
    set_side = "left"
"""

from __future__ import annotations

import datetime
import json
import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from tagger.texts.problem import TextProblem
from tagger.texts.stated import (
    QUESTION_FILE,
    StatedError,
    StatedQuestion,
    moment_of,
    moment_written,
    parse_stated,
    part_of,
    written,
)
from tagger.texts.toml_file import read_toml
from tagger.written import write_whole

EARLIER_FILE = "earlier_questions.toml"
_ABOUT = "# Written by floorbook: the questions that were stated before the one in question.toml.\n"


@dataclass(frozen=True)
class EarlierQuestion:
    """A question that was stated once.

    Attributes
    ----------
    ended : datetime
        When another took its place, or it was taken back; in UTC.
    question : StatedQuestion or None
        None where it couldn't be asked, or was about somebody who was erased.
    as_written : str
        The file as it was where it couldn't be asked, else "".
    """

    ended: datetime.datetime
    question: StatedQuestion | None
    as_written: str = ""


def write_stated(folder: Path, question: StatedQuestion) -> None:
    """State a question; the one stated before is kept among the earlier ones.

    Parameters
    ----------
    folder : Path
        The season's folder.
    question : StatedQuestion
        Whole. The very comparison that is stated already, in the same words, is not stated anew, unless its file was
        edited by hand since.
    """
    text = _text(folder)
    if text is not None:
        now, _ = parse_stated(text)
        if now is not None and not now.edited and _asked(now) == _asked(question):
            return
        _keep(folder, text)
    write_whole(folder / QUESTION_FILE, written(question))


def withdraw_stated(folder: Path) -> None:
    """Ask everything again, and keep the question among the earlier ones; harmless when nothing was stated.

    Parameters
    ----------
    folder : Path
        The season's folder.
    """
    text = _text(folder)
    if text is not None:
        _keep(folder, text)
        (folder / QUESTION_FILE).unlink(missing_ok=True)


def read_earlier(folder: Path, problems: list[TextProblem]) -> tuple[EarlierQuestion, ...]:
    """Read the earlier questions of a season.

    Parameters
    ----------
    folder : Path
        Its folder.
    problems : list of TextProblem
        What is wrong with the file is added.

    Returns
    -------
    tuple of EarlierQuestion
        In the order in which they ended; but for the one that is stated still, where writing broke off in between.
    """
    path = folder / EARLIER_FILE
    if not path.exists():
        return ()
    _, data = read_toml(path, problems)
    now = _text(folder)
    held = parse_stated(now)[0] if now is not None else None
    found = [_entry(each) for each in _entries(data or {})]
    if found and held is not None and found[-1].question == replace(held, edited=False):
        found.pop()
    return tuple(found)


def earlier_without(text: str, about: Callable[[Mapping[str, Any]], bool]) -> str:
    """The file's text without what some questions asked.

    Parameters
    ----------
    text : str
        As it stands.
    about : callable
        Says of a question as the file has it whether it goes; that there was one, and when, stays.

    Returns
    -------
    str
        As it stands where it can't be read or none goes.
    """
    try:
        held = _entries(tomllib.loads(text))
    except tomllib.TOMLDecodeError:
        return text
    if not any(map(about, held)):
        return text
    kept = [{"ended": each.get("ended"), "stated": each.get("stated")} if about(each) else each for each in held]
    return _ABOUT + "".join(_written(each) for each in kept)


def _asked(question: StatedQuestion) -> tuple[Any, ...]:
    return question.text, question.measure, dict(question.one), question.other and dict(question.other)


def _text(folder: Path) -> str | None:
    try:
        return (folder / QUESTION_FILE).read_bytes().decode("utf-8-sig", errors="replace")
    except FileNotFoundError:
        return None


def _keep(folder: Path, text: str) -> None:
    """Write a question down as an earlier one, once."""
    question, _ = parse_stated(text)
    made: dict[str, Any] = {"ended": datetime.datetime.now(datetime.UTC).replace(microsecond=0)}
    if question is None:
        made["as_written"] = text
    else:
        made |= {name: value for name, value in tomllib.loads(written(question)).items() if name != "as_stated"}
    path = folder / EARLIER_FILE
    before = path.read_bytes().decode("utf-8-sig", errors="replace") if path.exists() else _ABOUT
    try:
        last = [{**each, "ended": made["ended"]} for each in _entries(tomllib.loads(before))[-1:]]
    except tomllib.TOMLDecodeError:  # somebody's hand: kept as it is, as remarks
        before, last = _ABOUT + "".join(f"# {line}\n" for line in before.splitlines()), []
    if last != [made]:
        write_whole(path, before.rstrip("\n") + "\n" + _written(made))


def _entries(data: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    held = data.get("question")
    return [each for each in held if isinstance(each, Mapping)] if isinstance(held, list) else []


def _entry(data: Mapping[str, Any]) -> EarlierQuestion:
    ended = moment_of(data.get("ended")) or datetime.datetime.fromtimestamp(0, datetime.UTC)
    try:
        day, at = part_of(data.get("stated"))
        if day is None:
            return EarlierQuestion(ended, None, str(data.get("as_written", "")))
        question = StatedQuestion(data["text"], data["measure"], data["one"], data.get("other"), stated=day, at=at)
    except (StatedError, KeyError, TypeError, ValueError):
        question = None
    return EarlierQuestion(ended, question, str(data.get("as_written", "")))


def _written(entry: Mapping[str, Any]) -> str:
    """One question as the file says it."""
    lines = ["", "[[question]]"]
    for name, value in entry.items():
        if isinstance(value, str):
            lines.append(f"{name} = {json.dumps(value, ensure_ascii=False)}".replace("\x7f", "\\u007f"))
        elif isinstance(value, datetime.datetime):
            lines.append(f"{name} = {moment_written(value)}")
        elif isinstance(value, datetime.date):
            lines.append(f"{name} = {value.isoformat()}")
    for name in ("one", "other"):
        part = entry.get(name)
        if isinstance(part, Mapping):
            lines += ["", f"[question.{name}]", *_pairs(part)]
    return "\n".join(lines) + "\n"


def _pairs(part: Mapping[str, Any]) -> Iterable[str]:
    return (f"{name} = {json.dumps(str(code), ensure_ascii=False)}" for name, code in part.items())

"""The text files of a season: settings, playbook, roster, lines, keys, and the question stated before tagging.

A bad line is named with file, line, what and what would be right; the rest still loads.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tagger.marks.plain import plain_vocabulary
from tagger.marks.rebinding import Binding
from tagger.texts.earlier import EARLIER_FILE, EarlierQuestion, read_earlier
from tagger.texts.keyfile import KEYS, read_keys
from tagger.texts.playbook import PLAYBOOK, Playbook, read_playbook
from tagger.texts.problem import TextProblem
from tagger.texts.roster import ROSTER, Player, read_roster
from tagger.texts.settings import SETTINGS, Settings, read_settings
from tagger.texts.stated import QUESTION_FILE, StatedQuestion, parse_stated
from tagger.texts.toml_file import line_of, read_text, read_toml
from tagger.texts.units import LINES, Unit, read_units

TEXTS = (SETTINGS, PLAYBOOK, ROSTER, LINES, KEYS, QUESTION_FILE, EARLIER_FILE)
"""All of them; a season can do without the last four."""


@dataclass(frozen=True)
class Texts:
    """What the text files say, and what is wrong with them."""

    settings: Settings
    playbook: Playbook = field(default_factory=Playbook)
    roster: tuple[Player, ...] = ()
    lines: tuple[Unit, ...] = ()
    keys: tuple[Binding, ...] = ()
    stated_question: StatedQuestion | None = None
    earlier_questions: tuple[EarlierQuestion, ...] = ()
    problems: tuple[TextProblem, ...] = ()


def read_texts(folder: Path, vocabulary: Mapping[str, Any] | None = None) -> Texts:
    """Read a season's text files.

    Parameters
    ----------
    folder : Path
        The season's folder.
    vocabulary : mapping, optional
        What can be marked; the package's own when left out.

    Returns
    -------
    Texts
        Whatever is sound, with defaults for the rest, and every bad place. Never raises for a file's content.
    """
    problems: list[TextProblem] = []
    kinds = [kind["code"] for kind in (vocabulary or plain_vocabulary())["kinds"]]
    settings = read_settings(folder, kinds, problems)
    text, data = read_toml(folder / PLAYBOOK, problems)
    playbook = Playbook()
    if data is not None:
        playbook, faults = read_playbook(data, text)
        problems += [TextProblem(PLAYBOOK, line, what) for line, what in faults]
    roster = read_roster(folder / ROSTER, problems)
    lines = _lines(folder / LINES, roster, problems)
    keys = _keys(folder / KEYS, problems)
    question = _question(folder / QUESTION_FILE, playbook, problems)
    earlier = read_earlier(folder, problems)
    return Texts(
        settings,
        playbook,
        roster,
        lines=lines,
        keys=keys,
        stated_question=question,
        earlier_questions=earlier,
        problems=tuple(problems),
    )


def _lines(path: Path, roster: tuple[Player, ...], problems: list[TextProblem]) -> tuple[Unit, ...]:
    text, data = read_toml(path, problems) if path.exists() else ("", None)
    units, faults = read_units(data or {}, frozenset(player.number for player in roster), text)
    problems += [TextProblem(path.name, line, what) for line, what in faults]
    return tuple(units)


def _keys(path: Path, problems: list[TextProblem]) -> tuple[Binding, ...]:
    text, data = read_toml(path, problems) if path.exists() else ("", None)
    bindings, faults = read_keys(text, data or {})
    problems += [TextProblem(path.name, line, what) for line, what in faults]
    return tuple(bindings)


def _question(path: Path, playbook: Playbook, problems: list[TextProblem]) -> StatedQuestion | None:
    text = read_text(path, problems) if path.exists() else None
    if text is None:
        return None
    question, faults = parse_stated(text)
    for name in ("one", "other") if question else ():
        code = (getattr(question, name) or {}).get("set")
        if code is not None and code not in playbook.by_code:
            right = ", ".join(playbook.by_code)
            faults.append((line_of(text, (name, "set")), f"[{name}] the playbook has no set “{code}”; it has {right}"))
    problems += [TextProblem(path.name, line, what) for line, what in sorted(faults)]
    return question

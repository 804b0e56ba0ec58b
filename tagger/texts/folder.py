"""The text files of a season: settings, playbook, roster, lines, keys, and the question stated before tagging.

A bad line is named with file, line, what and what would be right; the rest still loads.
"""

from __future__ import annotations

import csv
import io
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from pathlib import Path
from typing import Any

from tagger.care import CHOICES, LEAVE_OUT_CLIP, Care
from tagger.dates import day
from tagger.marks.rebinding import Binding
from tagger.marks.strength import RULES, PenaltyRules
from tagger.marks.vocabulary import plain_vocabulary
from tagger.texts.keyfile import read_keys
from tagger.texts.playbook import Playbook, read_playbook
from tagger.texts.stated import QUESTION, StatedQuestion, parse_question
from tagger.texts.units import Unit, read_units

SETTINGS = "season.toml"
PLAYBOOK = "playbook.toml"
ROSTER = "roster.csv"
LINES = "lines.toml"
KEYS = "keys.toml"
TEXTS = (SETTINGS, PLAYBOOK, ROSTER, LINES, KEYS, QUESTION)
"""All of them; a season can do without the last three."""
LEVELS = ("basic", "main", "whole")
ROSTER_COLUMNS = ("number", "name", "shoots", "position", "consent", "from", "to")
MOST_REACTION_MS = 3000
_NUMBER = re.compile(r"\d{1,2}\Z")
_COLOUR = re.compile(r"#[0-9A-Fa-f]{6}\Z")


@dataclass(frozen=True)
class TextProblem:
    """One bad place in a text file.

    Attributes
    ----------
    file : str
        Its name.
    line : int
        From 1; 0 when it is the file as a whole.
    text : str
        What is wrong and what would be right.
    """

    file: str
    line: int
    text: str

    def __str__(self) -> str:
        where = f"{self.file}, line {self.line}" if self.line else self.file
        return f"{where}: {self.text}"


@dataclass(frozen=True)
class Copies:
    """The copies that a season keeps by itself: how many (0: none), and in which folder (empty: its own `kept`)."""

    keep: int = 10
    folder: str = ""


@dataclass(frozen=True)
class Settings:
    """The settings of a season, each with a default.

    Attributes
    ----------
    id, team, age_group, rule_code : str
        The season's permanent id and what it is about.
    home_colour, away_colour : str
        The team's colours as #rrggbb.
    port : int
        Where the season is served; kept fixed, since a browser's waiting entries are kept per address.
    detail : str
        How much is tagged unless a mark says otherwise: basic, main, whole.
    small_n : int
        Under this many trials a rate is held back.
    n_periods, period_minutes : int
        The game's periods.
    stop_clock : bool
        Whether the clock stops at whistles.
    film_cores : int
        Cores that work on film may take; 0 for half of the machine's.
    send_gb, send_films : int
        How much one sender may send to a season that is served to a network, and how many films he may have begun.
    penalties : PenaltyRules
        How long they are and which goals end them: the rule code's, unless the season says otherwise.
    reaction_ms : tuple of (str, int)
        How much later than it happened a kind of mark is made while the film runs, in ms of real time.
    copies : Copies
        The copies that are kept by themselves.
    care : Care
        What goes out of those without consent, and whether names do.
    """

    id: str
    team: str = "Our team"
    age_group: str = ""
    rule_code: str = "canadian"
    home_colour: str = "#0B6E4F"
    away_colour: str = "#F2EFE6"
    port: int = 8765
    detail: str = "main"
    small_n: int = 10
    n_periods: int = 3
    period_minutes: int = 15
    stop_clock: bool = True
    film_cores: int = 0
    send_gb: int = 40
    send_films: int = 12
    penalties: PenaltyRules = field(default_factory=PenaltyRules)
    reaction_ms: tuple[tuple[str, int], ...] = ()
    copies: Copies = field(default_factory=Copies)
    care: Care = field(default_factory=Care)


@dataclass(frozen=True)
class Player:
    """One line of the roster; number is text."""

    number: str
    name: str
    shoots: str = ""
    position: str = ""
    consent: bool = False
    since: str = ""
    until: str = ""


@dataclass(frozen=True)
class Texts:
    """What the text files say, and what is wrong with them."""

    settings: Settings
    playbook: Playbook = field(default_factory=Playbook)
    roster: tuple[Player, ...] = ()
    lines: tuple[Unit, ...] = ()
    keys: tuple[Binding, ...] = ()
    question: StatedQuestion | None = None
    problems: tuple[TextProblem, ...] = ()


def read_texts(folder: Path) -> Texts:
    """Read a season's text files.

    Parameters
    ----------
    folder : Path
        The season's folder.

    Returns
    -------
    Texts
        Whatever is sound, with defaults for the rest, and every bad place. Never raises for a file's content.
    """
    problems: list[TextProblem] = []
    settings = _settings(folder, problems)
    text, data = _toml(folder / PLAYBOOK, problems)
    playbook = Playbook()
    if data is not None:
        playbook, faults = read_playbook(data)
        problems += [TextProblem(PLAYBOOK, _line_of(text, where), what) for where, what in faults]
    roster = _roster(folder / ROSTER, problems)
    lines = _lines(folder / LINES, roster, problems)
    keys = _keys(folder / KEYS, problems)
    question = _question(folder / QUESTION, playbook, problems)
    return Texts(settings, playbook, roster, lines, keys, question, tuple(problems))


def _lines(path: Path, roster: tuple[Player, ...], problems: list[TextProblem]) -> tuple[Unit, ...]:
    text, data = _toml(path, problems) if path.exists() else ("", None)
    units, faults = read_units(data or {}, frozenset(player.number for player in roster))
    problems += [TextProblem(path.name, _line_of(text, where), what) for where, what in faults]
    return tuple(replace(unit, at_line=_line_of(text, unit.code)) for unit in units)


def _keys(path: Path, problems: list[TextProblem]) -> tuple[Binding, ...]:
    text, data = _toml(path, problems) if path.exists() else ("", None)
    bindings, faults = read_keys(text, data or {})
    problems += [TextProblem(path.name, line, what) for line, what in faults]
    return tuple(bindings)


def _question(path: Path, playbook: Playbook, problems: list[TextProblem]) -> StatedQuestion | None:
    text = _read(path, problems) if path.exists() else None
    if text is None:
        return None
    question, faults = parse_question(text)
    for name in ("one", "other") if question else ():
        code = (getattr(question, name) or {}).get("set")
        if code is not None and code not in playbook.by_code:
            right = ", ".join(playbook.by_code)
            faults.append((_line_of(text, code), f"[{name}] the playbook has no set “{code}”; it has {right}"))
    problems += [TextProblem(path.name, line, what) for line, what in sorted(faults)]
    return question


def _read(path: Path, problems: list[TextProblem]) -> str | None:
    try:
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        problems.append(TextProblem(path.name, 0, "missing; `floorbook new` writes one to start from"))
    except UnicodeDecodeError as fault:
        line = fault.object[: fault.start].count(b"\n") + 1
        problems.append(TextProblem(path.name, line, "not UTF-8 text; save the file as UTF-8"))
    except OSError as fault:
        problems.append(TextProblem(path.name, 0, f"cannot be read ({fault.strerror}); check its rights"))
    return None


def _toml(path: Path, problems: list[TextProblem]) -> tuple[str, dict[str, Any] | None]:
    text = _read(path, problems)
    if text is None:
        return "", None
    try:
        return text, tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        found = re.search(r"\(at line (\d+), column (\d+)\)", str(fault))
        line = int(found.group(1)) if found else len(text.splitlines())
        what = str(fault).split(" (at ")[0]
        problems.append(
            TextProblem(path.name, line, f'not TOML there: {what}; a value looks like name = "text" or n = 3')
        )
        return text, None


def _line_of(text: str, wanted: str, section: str = "") -> int:
    lines = text.splitlines()
    first = next((place for place, line in enumerate(lines) if line.split("#")[0].strip() == f"[{section}]"), 0)
    for number, line in enumerate(lines[first:], first + 1):
        if f'"{wanted}"' in line or line.strip().startswith(wanted):
            return number
    return 0


def _settings(folder: Path, problems: list[TextProblem]) -> Settings:
    fallback = re.sub(r"[^A-Za-z0-9._-]+", "-", folder.resolve().name) or "season"
    text, data = _toml(folder / SETTINGS, problems)
    if data is None:
        return Settings(fallback)
    read = _Reader(text, data, problems)
    id_ = read.text("id", fallback, re.compile(r"[A-Za-z0-9._-]{1,60}\Z"), "letters, digits and . _ -")
    colours = read.table("colours")
    periods = read.table("periods")
    sending = read.table("sending")
    code = read.one_of("rule_code", tuple(sorted(RULES)), "canadian")
    return Settings(
        id=id_,
        team=read.text("team", "Our team"),
        age_group=read.text("age_group", ""),
        rule_code=code,
        home_colour=colours.text("home", "#0B6E4F", _COLOUR, "a colour like #0B6E4F"),
        away_colour=colours.text("away", "#F2EFE6", _COLOUR, "a colour like #F2EFE6"),
        port=read.whole("port", 8765, 1024, 65535),
        detail=read.one_of("detail", LEVELS, "main"),
        small_n=read.whole("small_n", 10, 1, 1000),
        n_periods=periods.whole("n", 3, 1, 6),
        period_minutes=periods.whole("minutes", 15, 1, 60),
        stop_clock=periods.one_of("clock", ("stop", "running"), "stop") == "stop",
        film_cores=read.whole("film_cores", 0, 0, 256),
        send_gb=sending.whole("gb", 40, 1, 10_000),
        send_films=sending.whole("films", 12, 1, 20),
        penalties=_penalties(read.table("penalties"), RULES[code]),
        reaction_ms=_reaction(read.table("reaction")),
        copies=_copies(read.table("copies")),
        care=_care(read.table("care")),
    )


def _copies(read: _Reader) -> Copies:
    return Copies(read.whole("keep", 10, 0, 366), read.text("folder", "", None, "a folder’s name", 1000))


def _penalties(read: _Reader, usual: PenaltyRules) -> PenaltyRules:
    return PenaltyRules(
        minor_ms=read.whole("minor_minutes", usual.minor_ms // 60_000, 1, 10) * 60_000,
        major_ms=read.whole("major_minutes", usual.major_ms // 60_000, 1, 20) * 60_000,
        goals_end_minor=read.whole("goals_end_minor", usual.goals_end_minor, 0, 9),
        goals_end_major=read.whole("goals_end_major", usual.goals_end_major, 0, 9),
        goal_ends_delayed=read.flag("goal_ends_delayed", usual.goal_ends_delayed),
        most_down=read.whole("most_down", usual.most_down, 1, 4),
    )


def _care(read: _Reader) -> Care:
    names = tuple(one.name for one in fields(Care))
    for name in read.data:
        if name not in names:
            read.strange(name, f"no word of care; there are {', '.join(names)}")
    return Care(
        without_consent=read.one_of("without_consent", CHOICES, LEAVE_OUT_CLIP),
        names_outside=read.flag("names_outside", False),
        keep_days=read.whole("keep_days", 0, 0, 36_500),
        film_for_lookers=read.flag("film_for_lookers", True),
    )


def _reaction(read: _Reader) -> tuple[tuple[str, int], ...]:
    kinds = [kind["code"] for kind in plain_vocabulary()["kinds"]] if read.data else []
    for name in read.data:
        if name not in kinds:
            read.strange(name, f"no kind of mark; there are {', '.join(kinds)}")
    return tuple((kind, read.whole(kind, 0, 0, MOST_REACTION_MS)) for kind in kinds if kind in read.data)


class _Reader:
    """Values of a TOML table, each checked, each fault named by its line."""

    def __init__(self, text: str, data: Mapping[str, Any], problems: list[TextProblem], section: str = "") -> None:
        self.section = section
        self.lines = text
        self.data = data
        self.problems = problems

    def _fault(self, name: str, right: str) -> None:
        words = f"{name} = {self.data[name]!r} is not {right}; the usual value is used"
        self.problems.append(TextProblem(SETTINGS, _line_of(self.lines, name, self.section), words))

    def strange(self, name: str, what: str) -> None:
        """List a name that should not stand there."""
        self.problems.append(
            TextProblem(SETTINGS, _line_of(self.lines, name, self.section), f"“{name}” is {what}; it was left out")
        )

    def flag(self, name: str, usual: bool) -> bool:
        value = self.data.get(name, usual)
        if isinstance(value, bool):
            return value
        self._fault(name, "true or false")
        return usual

    def table(self, name: str) -> _Reader:
        held = self.data.get(name, {})
        if not isinstance(held, dict):
            self._fault(name, "a section")
            held = {}
        return _Reader(self.lines, held, self.problems, name)

    def text(
        self, name: str, usual: str, form: re.Pattern[str] | None = None, right: str = "text", most: int = 80
    ) -> str:
        value = self.data.get(name, usual)
        if isinstance(value, str) and len(value) <= most and (form is None or form.match(value)):
            return value
        self._fault(name, right)
        return usual

    def whole(self, name: str, usual: int, least: int, most: int) -> int:
        value = self.data.get(name, usual)
        if isinstance(value, int) and not isinstance(value, bool) and least <= value <= most:
            return value
        self._fault(name, f"a whole number from {least} to {most}")
        return usual

    def one_of(self, name: str, allowed: tuple[str, ...], usual: str) -> str:
        value = self.data.get(name, usual)
        if value in allowed:
            return str(value)
        self._fault(name, "one of " + ", ".join(allowed))
        return usual


def _roster(path: Path, problems: list[TextProblem]) -> tuple[Player, ...]:
    text = _read(path, problems)
    if text is None or not text.strip():
        return ()
    first = text.splitlines()[0]
    between = ";" if first.count(";") > first.count(",") else ","
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=between)
    names = [cell.strip().lower() for cell in next(reader)]
    if "number" not in names or "name" not in names:
        right = ",".join(ROSTER_COLUMNS)
        problems.append(TextProblem(path.name, 1, f"no roster header; the first line is {right}"))
        return ()
    found: dict[str, Player] = {}
    try:
        for cells in reader:
            if not any(cell.strip() for cell in cells):
                continue
            row = dict(zip(names, (cell.strip() for cell in cells), strict=False))
            fault = _player_fault(row, found)
            if fault:
                problems.append(TextProblem(path.name, reader.line_num, fault))
                continue
            number = row["number"]
            found[number] = Player(
                number,
                row.get("name", ""),
                row.get("shoots", "").upper(),
                row.get("position", ""),
                row.get("consent", "").lower() in ("yes", "y", "true", "1"),
                row.get("from", ""),
                row.get("to", ""),
            )
    except csv.Error as fault:
        problems.append(TextProblem(path.name, reader.line_num, f"not CSV there ({fault}); check the quotes"))
    return tuple(found.values())


def _player_fault(row: Mapping[str, str], found: Mapping[str, Player]) -> str:
    number = row.get("number", "")
    if not _NUMBER.match(number):
        return f"number “{number}” is not one or two digits; this line was left out"
    if number in found:
        return f"number {number} is {found[number].name}’s already; this line was left out"
    if not row.get("name"):
        return f"number {number} has no name; this line was left out"
    if row.get("shoots", "").upper() not in ("", "L", "R"):
        return f"shoots “{row['shoots']}” is neither L nor R; this line was left out"
    for name in ("from", "to"):
        if row.get(name) and day(row[name]) is None:
            return f"{name} “{row[name]}” is not a date like 2026-03-14; this line was left out"
    return ""

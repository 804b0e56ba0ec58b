"""The settings of a season: `season.toml`."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, fields
from pathlib import Path

from tagger.care import CHOICES, LEAVE_OUT_CLIP, Care
from tagger.floor.rules import PenaltyRules, floor_rules, rule_codes
from tagger.texts.checked_table import CheckedTable
from tagger.texts.problem import TextProblem
from tagger.texts.toml_file import read_toml

SETTINGS = "season.toml"
USUAL_CODE = "canadian"
LEVELS = ("basic", "main", "whole")
MOST_REACTION_MS = 3000
_MINUTE_MS = 60_000
_USUAL = floor_rules(USUAL_CODE)
_COLOUR = re.compile(r"#[0-9A-Fa-f]{6}\Z")


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
    rule_code: str = USUAL_CODE
    home_colour: str = "#0B6E4F"
    away_colour: str = "#F2EFE6"
    port: int = 8765
    detail: str = "main"
    small_n: int = 10
    n_periods: int = _USUAL.n_periods
    period_minutes: int = _USUAL.period_min
    stop_clock: bool = True
    film_cores: int = 0
    send_gb: int = 40
    send_films: int = 12
    penalties: PenaltyRules = _USUAL.penalties
    reaction_ms: tuple[tuple[str, int], ...] = ()
    copies: Copies = field(default_factory=Copies)
    care: Care = field(default_factory=Care)


def read_settings(folder: Path, kinds: Sequence[str], problems: list[TextProblem]) -> Settings:
    """Read a season's settings.

    Parameters
    ----------
    folder : Path
        The season's folder.
    kinds : sequence of str
        Kinds of mark that there are.
    problems : list of TextProblem
        Each bad value is added.

    Returns
    -------
    Settings
        With the usual value in place of a bad one.
    """
    fallback = re.sub(r"[^A-Za-z0-9._-]+", "-", folder.resolve().name) or "season"
    text, data = read_toml(folder / SETTINGS, problems)
    if data is None:
        return Settings(fallback)
    read = CheckedTable(SETTINGS, text, data, problems)
    id_ = read.text("id", fallback, re.compile(r"[A-Za-z0-9._-]{1,60}\Z"), "letters, digits and . _ -")
    colours = read.table("colours")
    periods = read.table("periods")
    periods.only(("n", "minutes", "clock"), "no word of periods")
    sending = read.table("sending")
    code = read.one_of("rule_code", rule_codes(), USUAL_CODE)
    rules = floor_rules(code)
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
        n_periods=periods.whole("n", rules.n_periods, 1, 6),
        period_minutes=periods.whole("minutes", rules.period_min, 1, 60),
        stop_clock=periods.one_of("clock", ("stop", "running"), "stop") == "stop",
        film_cores=read.whole("film_cores", 0, 0, 256),
        send_gb=sending.whole("gb", 40, 1, 10_000),
        send_films=sending.whole("films", 12, 1, 20),
        penalties=_penalties(read.table("penalties"), rules.penalties),
        reaction_ms=_reaction(read.table("reaction"), kinds),
        copies=_copies(read.table("copies")),
        care=_care(read.table("care")),
    )


def _copies(read: CheckedTable) -> Copies:
    return Copies(read.whole("keep", 10, 0, 366), read.text("folder", "", None, "a folder’s name", 1000))


def _penalties(read: CheckedTable, usual: PenaltyRules) -> PenaltyRules:
    counted = ("goals_end_minor", "goals_end_major", "goal_ends_delayed", "most_down")
    read.only(("minor_minutes", "major_minutes", *counted), "no word of penalties")
    return PenaltyRules(
        minor_ms=_minutes_ms(read, "minor_minutes", usual.minor_ms, 10),
        major_ms=_minutes_ms(read, "major_minutes", usual.major_ms, 20),
        goals_end_minor=read.whole("goals_end_minor", usual.goals_end_minor, 0, 9),
        goals_end_major=read.whole("goals_end_major", usual.goals_end_major, 0, 9),
        goal_ends_delayed=read.flag("goal_ends_delayed", usual.goal_ends_delayed),
        most_down=read.whole("most_down", usual.most_down, 1, 4),
    )


def _minutes_ms(read: CheckedTable, name: str, usual_ms: int, most: int) -> int:
    """Whole minutes in ms; what is usual need not be whole minutes."""
    minutes = read.whole(name, 0, 1, most) if name in read.data else 0
    return minutes * _MINUTE_MS or usual_ms


def _care(read: CheckedTable) -> Care:
    read.only(tuple(one.name for one in fields(Care)), "no word of care")
    return Care(
        without_consent=read.one_of("without_consent", CHOICES, LEAVE_OUT_CLIP),
        names_outside=read.flag("names_outside", False),
        keep_days=read.whole("keep_days", 0, 0, 36_500),
        film_for_lookers=read.flag("film_for_lookers", True),
    )


def _reaction(read: CheckedTable, kinds: Sequence[str]) -> tuple[tuple[str, int], ...]:
    read.only(kinds, "no kind of mark")
    return tuple((kind, read.whole(kind, 0, 0, MOST_REACTION_MS)) for kind in kinds if kind in read.data)

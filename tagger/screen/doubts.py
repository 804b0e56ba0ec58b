"""What is most likely a slip of the fingers, though it could be so: asked in the second look, never listed as wrong.

A number typed the wrong way round or with a slipped finger, a man who is none of the five whom the set's roles name,
one man as two in one mark, two answers of one mark that hardly go together, a team's ball twice running,
a checkpoint graded twice.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from itertools import combinations, pairwise
from typing import Any

from tagger.marks.context import holds, other
from tagger.marks.endings import ending_name
from tagger.marks.fold import Folded
from tagger.marks.vocabulary import Language
from tagger.screen.missing import Missing
from tagger.tables import OTHERS

OFTEN = 4  # so often must the other number be there
VERY_OFTEN, MANY = 12, 100  # and so often that of a slipped finger, where so many numbers of a team are marked
GIVE_AND_GO = {"shooter", "feeder2"}  # who passed before the feeder may well be the shooter
LOOSE = "loose_ball"  # how a ball is gained that came from nowhere
DIGITS = "1234567890"  # as they lie beside each other

Row = Mapping[str, Any]


def doubts(folded: Folded, language: Language) -> Iterator[Missing]:
    """What is most likely a slip.

    Parameters
    ----------
    folded : Folded
        A book.
    language : Language
        The vocabulary.

    Yields
    ------
    Missing
        In no order; each is done once seen.
    """
    said = list(_numbers(folded, language))
    yield from _mistyped(said)
    yield from _none_of_the_five(folded, said)
    yield from _one_man_twice(folded, language)
    yield from _hardly_together(folded, language)
    yield from _twice_running(folded, language)
    yield from _graded_twice(folded)


def _numbers(folded: Folded, language: Language) -> Iterator[tuple[Row, str, str]]:
    """Every number in an event's row, with the row and whose it is."""
    for kind in language.data["kinds"]:
        if "table" not in kind:
            continue
        players = [one for one in kind["questions"] if one["type"] == "player"]
        for row in folded.rows[kind["table"]["name"]]:
            for question in players:
                number = row.get(question["code"])
                if isinstance(number, str) and number.isdigit():
                    side = row.get("team") or "ours"
                    asked = question.get("whose") or side
                    yield row, number, other(side) if asked == OTHERS else asked
    for row in folded.rows["roles"]:
        if str(row["player"]).isdigit():
            yield row, row["player"], "ours"


def _mistyped(said: list[tuple[Row, str, str]]) -> Iterator[Missing]:
    """A number that is there once only, and often the other way round, or with a key beside, where much is marked."""
    times = Counter((whose, number) for _, number, whose in said)
    all_of = Counter(whose for _, _, whose in said)
    for row, number, whose in said:
        if "at_ms" not in row or times[whose, number] != 1:
            continue
        likely = {number[::-1]: OFTEN}
        if all_of[whose] >= MANY:
            likely |= dict.fromkeys(_one_key_beside(number), VERY_OFTEN)
        found = [one for one, least in likely.items() if one != number and times[whose, one] >= least]
        if found:
            other = max(found, key=lambda one: times[whose, one])
            often = times[whose, other]
            why = f"number {number} is marked here only, {other} {often} times: was it {other}?"
            yield Missing(row["marks"][0], row["at_ms"], why, row.get("run"))


def _one_key_beside(number: str) -> Iterator[str]:
    for place, digit in enumerate(number):
        at = DIGITS.index(digit)
        for beside in (*DIGITS[max(0, at - 1) : at], *DIGITS[at + 1 : at + 2]):
            yield number[:place] + beside + number[place + 1 :]


def _none_of_the_five(folded: Folded, said: list[tuple[Row, str, str]]) -> Iterator[Missing]:
    """A man of ours in a run of whose set all five are named, and he is none of them."""
    five: dict[str, set[str]] = {}
    for role in folded.rows["roles"]:
        five.setdefault(role["run"], set()).add(str(role["player"]))
    changes = [row["at_ms"] for row in folded.rows["lines"] if row.get("team") == "ours"]
    runs = {
        run["id"]: run
        for run in folded.rows["runs"]
        if len(five.get(run["id"], ())) >= 5 and not any(run["start_ms"] <= at <= _end(run) for at in changes)
    }
    for row, number, whose in said:
        run = runs.get(row.get("run") or "")
        if whose == "ours" and "at_ms" in row and run is not None and number not in five[run["id"]]:
            why = f"number {number} is none of the five who ran it: right?"
            yield Missing(row["marks"][0], row["at_ms"], why, run["id"])


def _one_man_twice(folded: Folded, language: Language) -> Iterator[Missing]:
    """Nobody sets a screen for himself, or feeds himself."""
    for kind in language.data["kinds"]:
        asked = [one for one in kind["questions"] if one["type"] == "player"]
        for row in folded.rows[kind["table"]["name"]] if "table" in kind else ():
            for one, another in combinations(asked, 2):
                codes, number = (one["code"], another["code"]), row.get(one["code"])
                if not str(number).isdigit() or number != row.get(another["code"]) or set(codes) == GIVE_AND_GO:
                    continue
                if one.get("whose") == another.get("whose"):
                    why = f"{number} is named twice here: {one['ask']} {another['ask']}"
                    yield Missing(row["marks"][0], row["at_ms"], why, row.get("run"))


def _hardly_together(folded: Folded, language: Language) -> Iterator[Missing]:
    """Answers of one mark of which the vocabulary says that they are unlikely beside each other."""
    for kind in language.data["kinds"]:
        choices = {(one["code"], each["code"]): each for one in kind["questions"] for each in one.get("choices", ())}
        unlikely = [(*codes, each) for codes, each in choices.items() if "unlikely" in each]
        for row in folded.rows[kind["table"]["name"]] if "table" in kind and unlikely else ():
            for code, value, each in unlikely:
                if row.get(code) == value and holds(each["unlikely"], row, {}):
                    beside = " and ".join(choices[name, row[name]]["name"] for name in each["unlikely"])
                    yield Missing(
                        row["marks"][0], row["at_ms"], f"{each['name']}, though {beside}: right?", row.get("run")
                    )


def _twice_running(folded: Folded, language: Language) -> Iterator[Missing]:
    """A team has the ball again that had given it away, and neither the others nor a stop of play stand between."""
    stops = [
        each.table for each in language.traits.values() if each.table and (each.stops_play or each.does == "faceoff")
    ]
    stopped = [row["at_ms"] for name in stops for row in folded.rows[name]]
    for before, row in pairwise(folded.rows["possessions"]):
        ending, since = language.endings.get(before["ended"] or "", {}), before["end_ms"]
        if row["team"] is None or row["team"] != before["team"] or row["period"] != before["period"]:
            continue
        gave = "gained" in ending and not ending.get("scores") and row["gained"] in (ending["gained"], LOOSE, None)
        if gave and not any(since <= at <= row["start_ms"] for at in stopped):
            whose = "their" if row["team"] == "theirs" else "our"
            how = ending_name(language, before["ended"])
            why = f"{whose} ball follows {whose} own, which ended “{how}”: right?"
            yield Missing(row["marks"][0], row["start_ms"], why, None)


def _graded_twice(folded: Folded) -> Iterator[Missing]:
    """One man's work on one checkpoint of one run has one grade."""
    seen = set()
    for row in folded.rows["grades"]:
        what = (row.get("run"), row.get("player"), row.get("checkpoint"))
        if None not in what and what in seen:
            why = f"{row['player']} is graded twice here on one checkpoint: which one was meant?"
            yield Missing(row["id"], row["at_ms"], why, row["run"])
        seen.add(what)


def _end(run: Row) -> int:
    return int(run["end_ms"] if run.get("end_ms") is not None else run["start_ms"] + 60_000)

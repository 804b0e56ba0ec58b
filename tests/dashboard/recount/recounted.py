"""What a recount finds, and the recounts that several pages share."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeAlias

from tests.dashboard.recount.book import FREED, Book, Row, either, resulted
from tests.dashboard.recount.reading import Control
from tests.dashboard.recount.view import View


@dataclass(frozen=True)
class Page:
    """A page of a season: its name, what of it, and the words of its address."""

    book: Book
    name: str
    of: str = ""
    chosen: Mapping[str, str] = field(default_factory=dict)

    def view(self, **said: str) -> View:
        """What it shows, as far as the address decides."""
        return View(self.book, self.chosen, **said)


@dataclass(frozen=True)
class Found:
    """What should stand there: the rows behind a number, the number when it is another, and out of how many."""

    ids: tuple[str, ...]
    k: int
    n: int | None = None
    asked: int | None = None
    seconds: float | None = None


Rule: TypeAlias = Callable[[Page, Control], Found]


def all_of(rows: Iterable[Row]) -> Found:
    """A plain count."""
    ids = tuple(row["id"] for row in rows)
    return Found(ids, len(ids))


def share(rows: Iterable[Row], so: Callable[[Row], bool | None]) -> Found:
    """How often something is so, of those where it is known."""
    held = [(row, so(row)) for row in rows]
    yes = tuple(row["id"] for row, came in held if came)
    return Found(yes, len(yes), sum(came is not None for _, came in held), len(held))


def of_runs(book: Book, runs: Iterable[Row], fact: str) -> Found:
    """How many runs brought something."""
    return share(runs, lambda run: book.fact(run, fact))


def wrong(found: Found, control: Control) -> str:
    """In words, where a number is another than the recount's; empty where it is right."""
    said = []
    if sorted(control.ids) != sorted(found.ids):
        more, less = set(control.ids) - set(found.ids), set(found.ids) - set(control.ids)
        said.append(
            f"plays {len(control.ids)} rows, recounted {len(found.ids)} ({len(more)} too many, {len(less)} missing)"
        )
    counted = re.fullmatch(r"(\d+)(?: of (\d+)| runs?)?", control.text)
    if counted and int(counted[1]) != found.k:
        said.append(f"says {counted[1]}, recounted {found.k}")
    of = re.match(rf"{re.escape(control.text)} of (\d+)", control.beside)
    n = counted[2] if counted and counted[2] else of[1] if of else None
    if n is not None and found.n is not None and int(n) != found.n:
        said.append(f"says “of {n}”, recounted {found.n}")
    if found.seconds is not None and control.text != f"{found.seconds:.1f} s":
        said.append(f"says {control.text}, recounted {found.seconds:.1f} s")
    if found.seconds is not None and f"of {len(found.ids)}" not in control.beside:
        said.append(f"says “{control.beside}”, recounted of {len(found.ids)}")
    lasted = re.match(rf"{re.escape(control.text)} in (\d+):(\d\d)", control.beside)
    if lasted and found.n is not None and int(lasted[1]) * 60 + int(lasted[2]) != round(found.n / 1000):
        said.append(f"says “{lasted[0]}”, recounted {found.n} ms")
    games = re.match(rf"{re.escape(control.text)} in (\d+) games?", control.beside)
    if games and found.n is not None and int(games[1]) != found.n:
        said.append(f"says “{games[0]}”, recounted {found.n}")
    answered = re.search(r"answered in (\d+) of (\d+)", control.beside)
    if answered and found.asked is not None and (int(answered[1]), int(answered[2])) != (found.n, found.asked):
        said.append(f"says “{answered[0]}”, recounted {found.n} of {found.asked}")
    return "; ".join(said)


def freed(screen: Row, *who: str) -> bool | None:
    """Whether one of some men came free of a screen."""
    return None if screen["free"] in (None, "unseen") else screen["free"] in who


def followed(book: Book, screen: Row, result: str | None = None) -> bool | None:
    """Whether a shot, or one with a result, came at or after a screen in its run."""
    if screen["run"] is None:
        return None
    after = [shot for shot in book.shots_of.get(screen["run"], ()) if shot["at_ms"] >= screen["at_ms"]]
    return bool(after) if result is None else either(resulted(shot, result) for shot in after)


def had_a_part(book: Book, screen: Row) -> bool | None:
    """Whether the man who came free shot, fed, or passed before the feed, at or after the screen in its run."""
    if screen["run"] is None or screen["free"] in (None, "unseen"):
        return None
    if screen["free"] not in FREED:
        return False
    after = [shot for shot in book.shots_of.get(screen["run"], ()) if shot["at_ms"] >= screen["at_ms"]]
    if not after:
        return False
    man = None if screen["free"] == "third_man" else screen[screen["free"]]
    if man in (None, "unseen"):
        return None
    return either(
        True if man in told else None if {None, "unseen"} & set(told) else False
        for told in ([shot[role] for role in ("shooter", "feeder", "feeder2")] for shot in after)
    )


def screens(book: Book, rows: Sequence[Row], control: Control) -> Found:
    """A cell of a table of screens."""
    tails: Mapping[str, Callable[[Row], bool | None]] = {
        "screens that freed somebody": lambda row: freed(row, *FREED),
        "its user came free": lambda row: freed(row, "user"),
        "its setter came free": lambda row: freed(row, "setter"),
        "a third man came free": lambda row: freed(row, "third_man"),
        "followed by a shot in the run": lambda row: followed(book, row),
        "followed by a goal in the run": lambda row: followed(book, row, "goal"),
        "screens after which the freed man had a part in a shot": lambda row: had_a_part(book, row),
    }
    told = next((so for tail, so in tails.items() if control.what.endswith(f", {tail}")), None)
    if told is None and control.what.endswith(", screens"):
        return all_of(rows)
    if told is None:
        raise LookupError(control.what)
    return share(rows, told)


def screens_by(book: Book, rows: Sequence[Row], control: Control) -> Found:
    """A cell of screens split by what stands over the first column."""
    named: Mapping[str, Callable[[Row], str]] = {
        "How they were covered": lambda row: _answer(book, "coverage", row),
        "Kind of screen": lambda row: _answer(book, "kind", row),
        "What the setter did next": lambda row: _answer(book, "setter_next", row),
        "Where it was set": lambda row: _answer(book, "side", row),
        "In which set": lambda row: _set_of(book, row),
        "Who set it": lambda row: _man(row["setter"]),
        "Who used it": lambda row: _man(row["user"]),
        "Set for": lambda row: f"{row['setter']} for {row['user']}",
    }
    wanted = control.row
    if control.head in ("Who set it", "Who used it"):
        number = wanted.removeprefix("their ").split(" ")[0]
        wanted = number if number.isdigit() else wanted

    def by_name() -> dict[str, list[Row]]:
        made: dict[str, list[Row]] = {}
        for row in rows:
            made.setdefault(named[control.head](row), []).append(row)
        return made

    split = book.kept(("screens", control.head, tuple(row["id"] for row in rows)), by_name)
    return screens(book, split.get(wanted, []), control)


def _answer(book: Book, name: str, row: Row) -> str:
    return "not answered" if row[name] is None else book.answer_name("screen", name, row[name])


def _set_of(book: Book, row: Row) -> str:
    run = book.run_of(row)
    return "outside any set" if run is None or run["set"] is None else book.set_name(run["set"])


def _man(number: str | None) -> str:
    return {None: "not answered", "unseen": "can’t see who"}.get(number, str(number))

"""The page of two books, counted once more from their rows by code of its own: every event, a question’s answers."""

from __future__ import annotations

import random
import re
from functools import cache
from typing import Any

import pytest
from dash import html

from dashboard.loading import Present
from tagger.season import Season
from tagger.shelf.films import NewFilm
from tests.counts import cases
from tests.dashboard.herons import entry, tag
from tests.dashboard.test_pages import page, parts, words

FILM = "m-g3"
WITHIN_MS = 2000
KINDS = {"Possessions": "possessions", "Runs": "runs", "Shots": "shots", "Balls lost": "turnovers"}
RESULTS = ("goal", "saved", "wide")
Row = dict[str, Any]


def evening(seed: int) -> list[tuple[int, str, dict[str, Any]]]:
    """Thirty possessions, each with a set and a shot or a lost ball."""
    rng = random.Random(seed)
    marks: list[tuple[int, str, dict[str, Any]]] = [(0, "period_start", {"number": "1"})]
    for place in range(30):
        at = 3000 + place * 12_000
        team = rng.choice(("ours", "theirs"))
        marks.append((at, "possession", {"team": team}))
        if team == "ours":
            marks.append((at + 2500, "settled", {}))
            marks.append((at + 4000, "set", {"set": rng.choice(("lantern", "keel")), "side": "left"}))
        shooter = rng.choice(("14", "9", "31"))
        if rng.random() < 0.6:
            answers = {"shooter": shooter, "result": rng.choice(RESULTS), "recovered": "no"}
            marks.append(
                (
                    at + 8000,
                    "shot",
                    {k: v for k, v in answers.items() if not (k == "recovered" and answers["result"] == "goal")},
                )
            )
        else:
            marks.append((at + 8000, "turnover", {"player": shooter, "kind": "bad_pass"}))
    return [*marks, (400_000, "period_end", {})]


def seen_otherwise(marks: list[tuple[int, str, dict[str, Any]]], seed: int) -> list[tuple[int, str, dict[str, Any]]]:
    """The same evening as a second person has it: later or sooner, some marks left out, some answers others."""
    rng = random.Random(seed)
    seen = []
    for at_ms, kind, answers in marks:
        if kind in ("shot", "turnover") and rng.random() < 0.2:
            continue
        own = dict(answers)
        if kind == "shot" and rng.random() < 0.3:
            own["shooter"] = "22"
        if kind == "set" and rng.random() < 0.3:
            own["set"] = "ferry"
        seen.append((max(0, at_ms + round(rng.gauss(0, 1200))) if kind in ("shot", "turnover") else at_ms, kind, own))
    return seen


def paired(one: list[Row], other: list[Row]) -> list[tuple[Row, Row]]:
    """As many partners as can be within two seconds, then as near as can be: partners on a line need not cross."""
    first, second = (sorted(rows, key=at) for rows in (one, other))

    @cache
    def best(i: int, j: int) -> tuple[int, int, tuple[tuple[int, int], ...]]:
        if i == len(first) or j == len(second):
            return 0, 0, ()
        found = [best(i + 1, j), best(i, j + 1)]
        apart = abs(at(first[i]) - at(second[j]))
        if apart <= WITHIN_MS:
            n, nearness, pairs = best(i + 1, j + 1)
            found.append((n + 1, nearness - apart, ((i, j), *pairs)))
        return max(found, key=lambda one: one[:2])

    return [(first[i], second[j]) for i, j in best(0, 0)[2]]


def at(row: Row) -> int:
    return int(row["at_ms"] if "at_ms" in row else row["start_ms"])


def lines_of(made: html.Div, begins: str) -> dict[str, list[str]]:
    """Rows of every table: heading of the row → its cells."""
    found = {}
    for row in parts(made, html.Tr):
        cells = [" ".join(words(cell).split()) for cell in row.children]
        if re.match(begins, cells[0]):
            found[cells[0]] = cells[1:]
    return found


@pytest.mark.parametrize("seed", range(cases(2, many=40)))
def test_events_and_answers_of_two_books_are_what_their_rows_say(season: Season, seed: int) -> None:
    season.games.add("g3", "2026-03-28", "Larkspur", True)
    season.shelf.enter("g3", [NewFilm(id=FILM, name="Larkspur, not filmed", duration_ms=420_000)])
    marks = evening(seed)
    tag(season, "g3", FILM, tuple(marks))
    raw = [
        {**entry("ben", place, FILM, *mark), "by": "ben"}
        for place, mark in enumerate(sorted(seen_otherwise(marks, seed + 100), key=lambda mark: mark[0]), 1)
    ]
    assert {one.state for one in season.journal.add("g3", "ben", raw)} == {"stored"}
    made = page(Present(season), "/games/g3/agreement")
    rows = [season.tagged.folded("g3", book).rows for book in ("coach", "ben")]
    told = lines_of(made, "|".join(KINDS))
    drawn = [
        " ".join(words(each).split()) for each in parts(made, html.Div) if getattr(each, "className", None) == "kind"
    ]
    n_differ = 0
    for name, kind in KINDS.items():
        one, other = ([dict(row) for row in each[kind]] for each in rows)
        pairs = paired(one, other)
        counts = [len(one), len(other), len(pairs), len(one) - len(pairs), len(other) - len(pairs)]
        assert told[name][:5] == [str(count) for count in counts], name
        assert told[name][5] == f"{round(200 * len(pairs) / (len(one) + len(other)))} in 100", name
        [line] = [line for line in drawn if line.startswith(name)]
        assert line.endswith(f"{len(pairs)} of {len(one) + len(other) - len(pairs)} in both"), name
        n_differ += len(one) + len(other) - 2 * len(pairs)
    assert n_differ > 0
    shots = paired(*([dict(row) for row in each["shots"]] for each in rows))
    same = sum(a["shooter"] == b["shooter"] for a, b in shots)
    answered = {cells[0]: cells[1] for head, cells in lines_of(made, "Shooter").items() if "Shots" in head}
    assert answered == {str(len(shots)): f"{same} of {len(shots)}"}

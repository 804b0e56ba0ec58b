"""The page and Python agree on keys that nobody thought of: random cases, written by the one, run by the other."""

from __future__ import annotations

import json
import random
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

from tests.counts import cases as many_or_few
from tests.marks.hands import PLAIN
from tests.marks.keyboard import Keyboard
from tests.marks.test_cases import RUNNER, language_at, take

N_CASES = many_or_few(12, many=30)
N_STEPS = 48
LEVELS = ("basic", "main", "whole")


def random_case(seed: int) -> dict[str, Any]:
    """A case of random steps, with everything that Python sees after each of them."""
    chance = random.Random(seed)
    language = language_at(LEVELS[seed % 3], lines=seed % 2 == 1)
    keyboard = Keyboard(language)
    letters = [
        choice["key"]
        for kind in language.data["kinds"]
        for question in kind["questions"]
        for choice in question.get("choices", [])
    ]
    strokes = [*language.keys, *sorted(set(letters)), *(one for one in PLAIN if not one.startswith("="))]
    steps = []
    for _ in range(N_STEPS):
        step = _step(keyboard, chance, strokes)
        take(keyboard, step)
        steps.append({**step, "expect": keyboard.seen()})
    return {"name": f"random {seed}", "language": language.data, "steps": steps}


def _step(keyboard: Keyboard, chance: random.Random, strokes: list[str]) -> dict[str, Any]:
    if keyboard.hand is not None and keyboard.hand.held and chance.random() < 0.9:
        return {"keys": "Escape"}
    marks = keyboard.marks()
    what = chance.random()
    writing = keyboard.hand is not None and keyboard.hand.question == "text"
    if what < 0.05:
        return {"at": chance.randrange(0, 30_000, 100)}
    if writing and what < 0.5:
        return {"text": chance.choice(["late", "see #14", '<b>"{shooter}"'])}
    if marks and what < 0.12:
        place = chance.randrange(len(marks))
        does = chance.choice(["remove", "restore", "retime", "reopen"])
        if does != "reopen":
            return {does: place}
        if not marks[place].removed:
            return {"reopen": [place]}
    shown = [key for key in keyboard.seen()["options"].split() if key]
    return {"keys": " ".join(chance.choice(shown if shown and chance.random() < 0.6 else strokes) for _ in range(3))}


@pytest.fixture(scope="module")
def cases() -> list[dict[str, Any]]:
    return [random_case(seed) for seed in range(N_CASES)]


def test_the_page_and_python_agree_on_random_keys(cases: list[dict[str, Any]], tmp_path: Path) -> None:
    node = shutil.which("node")
    assert node, "node is missing; it comes with npm, which the README asks for"
    given = tmp_path / "cases.json"
    given.write_text(json.dumps({"cases": cases}), encoding="utf-8")
    run = subprocess.run([node, str(RUNNER), str(given)], capture_output=True, text=True, encoding="utf-8")
    assert run.returncode == 0, run.stdout + run.stderr
    assert run.stdout.split()[:1] == [str(N_CASES)], run.stdout


def test_the_random_cases_enter_many_marks_of_most_kinds(cases: list[dict[str, Any]]) -> None:
    kinds = {mark[0] for case in cases for mark in case["steps"][-1]["expect"]["marks"]}
    n_marks = sum(len(case["steps"][-1]["expect"]["marks"]) for case in cases)
    assert n_marks > 13 * N_CASES and len(kinds) > 0.9 * len(language_at("whole").kinds)

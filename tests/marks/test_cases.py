"""The keyboard's language in both its interpreters: one file of cases that Python and the page must both pass."""

from __future__ import annotations

import json
import shutil
import subprocess
from importlib import resources
from pathlib import Path
from typing import Any

import pytest

from tagger.marks.vocabulary import Language, language
from tagger.texts.playbook import read_playbook
from tagger.texts.units import read_units
from tests.marks.keyboard import Keyboard

FILE = json.loads(resources.files("tagger.marks").joinpath("cases.json").read_text(encoding="utf-8"))
CASES = {case["name"]: case for case in FILE["cases"]}
RUNNER = Path(__file__).with_name("run_cases.mjs")


def language_at(level: str, *, lines: bool = False, asked: str = "") -> Language:
    """The cases' vocabulary at a level; the team's lines and a stated question only where a case asks for them."""
    playbook, faults = read_playbook(FILE["playbook"])
    units, more = read_units(FILE["lines"], frozenset())
    assert not faults and not more
    return language(playbook, level=level, lines=units if lines else (), asked=asked.split())


def language_of(case: dict[str, Any]) -> Language:
    """The vocabulary of a case."""
    return language_at(case.get("level", "main"), lines=case.get("lines", False), asked=case.get("asked", ""))


@pytest.mark.parametrize("name", CASES)
def test_python_reads_the_keys_as_the_case_says(name: str) -> None:
    case = CASES[name]
    assert any("expect" in step for step in case["steps"]), "a case that expects nothing can't fail"
    keyboard = Keyboard(language_of(case))
    for number, step in enumerate(case["steps"], 1):
        take(keyboard, step)
        if "expect" in step:
            seen = keyboard.seen()
            seen["context"] = {key: seen["context"][key] for key in step["expect"].get("context", {})}
            assert {key: seen[key] for key in step["expect"]} == step["expect"], f"step {number}"


def take(keyboard: Keyboard, step: dict[str, Any]) -> None:
    """One step of a case: the film to a time, keys, a text, something done to a mark, an entry from elsewhere."""
    if "at" in step:
        keyboard.at_ms = step["at"]
    for stroke in step.get("keys", "").split():
        keyboard.press(stroke)
    if "text" in step:
        keyboard.press("=" + step["text"])
    if "reopen" in step:
        keyboard.reopen(*step["reopen"])
    for does in ("remove", "restore", "retime"):
        if does in step:
            keyboard.act_on(does, step[does])
    if "entry" in step:
        keyboard.add(step["entry"])


def test_the_page_reads_the_keys_as_the_cases_say(tmp_path: Path) -> None:
    node = shutil.which("node")
    assert node, "node is missing; it comes with npm, which the README asks for"
    given = tmp_path / "cases.json"
    cases = [{**case, "language": language_of(case).data} for case in CASES.values()]
    given.write_text(json.dumps({"cases": cases}), encoding="utf-8")
    run = subprocess.run([node, str(RUNNER), str(given)], capture_output=True, text=True, encoding="utf-8")
    assert run.returncode == 0, run.stdout + run.stderr
    assert run.stdout.split()[:1] == [str(len(CASES))], run.stdout


def test_the_cases_press_every_mark_key_and_every_answer_key() -> None:
    """A key that no case presses could differ between the two interpreters unseen."""
    pressed = {
        (case.get("level", "main"), stroke)
        for case in CASES.values()
        for step in case["steps"]
        for stroke in step.get("keys", "").split()
    }
    strokes = {stroke for _, stroke in pressed}
    marks = set(language_at("whole").keys)
    assert marks - strokes == set()

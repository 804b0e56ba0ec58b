"""Keys of the season's own: given where nothing clashes, refused by name where something does."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import tomllib
from pathlib import Path
from typing import Any

import pytest

from tagger.marks.clashes import answer_name, mark_name
from tagger.marks.plain import plain_vocabulary
from tagger.marks.rebinding import Binding, rebound
from tagger.marks.vocabulary import Language, language
from tagger.texts.keyfile import read_keys, usual
from tagger.texts.playbook import read_playbook
from tests.marks.keyboard import Keyboard
from tests.marks.test_cases import CASES, FILE, RUNNER, language_of, take

PLAYBOOK, _ = read_playbook(FILE["playbook"])


def keyed(*bindings: Binding, level: str = "main") -> Language:
    return language(PLAYBOOK, level=level, keys=bindings)


def typed(strokes: str) -> list[str]:
    return strokes.split()


def key_of(made: Language, kind: str, code: str = "") -> str:
    return str(next(key["key"] for key in made.kinds[kind]["keys"] if key.get("code", "") == code))


def told(made: Language) -> list[str]:
    return [one.text for one in made.refused]


def test_an_answer_takes_another_key_and_the_usual_one_answers_no_more() -> None:
    made = keyed(Binding("shot.result.goal", "r"), Binding("turnover", "I"), Binding("screen.again", "x"))
    assert told(made) == []
    keyboard = Keyboard(made)
    for stroke in typed("B d s 1 4 g"):
        keyboard.press(stroke)
    assert keyboard.refusal == "g is no key here; the question stays open"
    for stroke in typed("Escape r d I 9 b"):
        keyboard.press(stroke)
    shot, _, turnover = keyboard.marks()[2:]
    assert shot.answers == {"shooter": "14", "result": "goal"} and turnover.answers == {
        "player": "9",
        "kind": "bad_pass",
    }


def test_two_marks_trade_their_keys() -> None:
    made = keyed(Binding("screen.new", "s"), Binding("shot", "e"))
    assert told(made) == []
    keyboard = Keyboard(made)
    for stroke in typed("B d s u e 1 4 g"):
        keyboard.press(stroke)
    assert [mark.kind for mark in keyboard.marks()] == ["period_start", "possession", "screen", "shot"]
    shown = str(keyboard.seen()["options"])
    assert keyboard.hand is not None and "Y" not in shown


def test_the_strip_and_the_refusals_speak_of_the_new_keys() -> None:
    keyboard = Keyboard(keyed(Binding("detail", "s"), Binding("shot", "D"), level="basic"))
    for stroke in typed("B d e"):
        keyboard.press(stroke)
    assert keyboard.refusal == "screen is not tagged at this detail; s changes what is tagged"
    options = str(keyboard.seen()["options"]).split()
    assert options.index("D") < options.index("s"), "the shot stands where the shot stood"


@pytest.mark.parametrize(
    ("binding", "words"),
    [
        (Binding("shot", "e"), "shot: the key e marks “screen” and “shot”, which can both follow. Its usual"),
        (Binding("shot", "u"), "shot: the key u marks “shot” and answers question “won” of kind “faceoff”. Its"),
        (Binding("shot", "j"), "shot: the key j moves the film. Its usual key s stands"),
        (Binding("shot", "W"), "shot: the key W moves the film. Its usual key s stands"),
        (Binding("shot.result.goal", "s"), "shot.result.goal: the key s marks “shot” and answers question “result”"),
        (Binding("shot.result.goal", "w"), "question “result” of kind “shot” has two answers on the key w"),
        (Binding("shot.result.goal", "z"), "shot.result.goal: the key z moves the film and answers"),
        (Binding("freelance", "1"), "freelance: the key 1 marks “set” and “freelance”, which can both follow"),
        (Binding("possession", "a"), "“possession” has several keys; say which: possession.ours, possession.theirs"),
        (Binding("set", "a"), "the sets’ keys stand in playbook.toml"),
        (Binding("shto", "a"), "floorbook knows no “shto”; there is"),
        (Binding("shot.result.gaol", "a"), "floorbook knows no “shot.result.gaol”; there is shot.result.goal"),
        (Binding("shot", "Enter"), "the key of “shot” is one letter"),
        (Binding("shot", "7"), "the key of “shot” is one letter"),
        (Binding("shot", "é"), "the key of “shot” is one letter"),
        (Binding("family.cut", "c"), "“family.cut” lies on a digit"),
    ],
)  # fmt: skip
def test_a_key_that_would_mean_two_things_is_refused_by_name_and_the_usual_one_stands(
    binding: Binding, words: str
) -> None:
    made = keyed(binding)
    assert len(made.refused) == 1 and words in told(made)[0], told(made)
    usual = language(PLAYBOOK)
    assert made.data == usual.data


def test_a_refusal_that_brings_a_usual_key_back_is_followed_to_its_end() -> None:
    """The shot's new key is the film's, so it keeps s; then the screen cannot have s either."""
    made = keyed(Binding("screen.new", "s", 2), Binding("shot", "j", 3), Binding("broken", "I", 4))
    assert [one.binding.name for one in made.refused] == ["screen.new", "shot", "broken"]
    assert made.data == language(PLAYBOOK).data


def test_of_two_that_want_one_key_the_first_gets_it() -> None:
    made = keyed(Binding("screen.again", "e", 2), Binding("screen.new", "I", 3), Binding("broken", "I", 4))
    assert told(made) == [
        "broken: the key I marks “screen” and “broken”, which can both follow. Its usual key X stands"
    ]
    assert key_of(made, "screen", "again") == "e" and key_of(made, "screen", "new") == "I"


TRADES = {
    "d": "f",
    "f": "d",
    "e": "s",
    "s": "x",
    "x": "e",
    "q": "p",
    "p": "q",
    "N": "G",
    "G": "N",
    "u": "g",
    "g": "u",
    "m": "w",
    "w": "m",
}


def traded(case: dict[str, Any]) -> dict[str, Any]:
    """A case's vocabulary with many keys traded, the answers' throughout."""
    plain = language_of(case).data
    bindings = []
    for kind in plain["kinds"]:
        for key in kind["keys"]:
            if key["key"] in TRADES:
                bindings.append(Binding(mark_name(kind, key), TRADES[key["key"]]))
        for question in kind["questions"]:
            for choice in question.get("choices", []):
                if choice["key"] in TRADES:
                    bindings.append(Binding(answer_name(kind, question, choice), TRADES[choice["key"]]))
    made, refused = rebound(plain, bindings)
    assert len(bindings) > 50 and refused == []
    return made


def traded_cases() -> list[dict[str, Any]]:
    """The shared cases with the traded keys pressed, and those of their expectations that hold no key."""
    made = []
    for case in CASES.values():
        steps = json.loads(json.dumps(case["steps"]))
        for step in steps:
            if "keys" in step:
                step["keys"] = " ".join(TRADES.get(stroke, stroke) for stroke in step["keys"].split())
            for name in ("options", "offer", "refusal", "held"):
                step.get("expect", {}).pop(name, None)
        made.append({**case, "steps": steps, "language": traded(case)})
    return made


def test_every_case_means_the_same_with_its_keys_traded() -> None:
    for case in traded_cases():
        keyboard = Keyboard(Language(case["language"]))
        for number, step in enumerate(case["steps"], 1):
            take(keyboard, step)
            if "expect" in step:
                seen = keyboard.seen()
                seen["context"] = {key: seen["context"][key] for key in step["expect"].get("context", {})}
                assert {key: seen[key] for key in step["expect"]} == step["expect"], f"{case['name']}, step {number}"


def test_the_page_means_the_same_with_its_keys_traded(tmp_path: Path) -> None:
    node = shutil.which("node")
    assert node, "node is missing; it comes with npm, which the README asks for"
    given = tmp_path / "cases.json"
    given.write_text(json.dumps({"cases": traded_cases()}), encoding="utf-8")
    run = subprocess.run([node, str(RUNNER), str(given)], capture_output=True, text=True, encoding="utf-8")
    assert run.returncode == 0, run.stdout + run.stderr
    assert run.stdout.split()[:1] == [str(len(CASES))], run.stdout


# The file --------------------------------------------------------------------------------------------------------

FILE_TEXT = """# keys of our own
[marks]
shot = "E"
possession = { ours = "a", theirs = "b" }   # one line
screen.again = "w"

[answers.shot.result]
goal = "q"
[answers]
screen.free.user = "n"
"""


def read(text: str) -> tuple[list[tuple[str, str, int]], list[tuple[int, str]]]:
    bindings, faults = read_keys(text, tomllib.loads(text))
    return [(one.name, one.key, one.line) for one in bindings], faults


def test_the_key_file_is_read_in_every_way_toml_has_of_writing_it() -> None:
    assert read(FILE_TEXT) == (
        [
            ("shot", "E", 3),
            ("possession.ours", "a", 4),
            ("possession.theirs", "b", 4),
            ("screen.again", "w", 5),
            ("shot.result.goal", "q", 8),
            ("screen.free.user", "n", 10),
        ],
        [],
    )


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ('shot = "w"\n', 1, "“shot” is no section"),
        ('[film]\nplay = "p"\n', 2, "“film” is no section"),
        ('[marks]\nshot.result.goal = "q"\n', 2, "not a kind, or a kind and which of its keys"),
        ('[answers]\nshot = "q"\n', 2, "not kind.question.answer"),
        ("[marks]\n\nshot = 5\n", 3, 'write it as text: "w"'),
    ],
)
def test_a_line_that_is_no_key_is_named(text: str, line: int, words: str) -> None:
    bindings, faults = read(text)
    assert bindings == [] and [number for number, _ in faults] == [line]
    assert words in faults[0][1]


def test_a_new_seasons_key_file_has_every_name_with_its_usual_key_and_changes_nothing() -> None:
    text = usual(plain_vocabulary())
    assert read(text) == ([], [])
    every = re.sub(r"^# (?=[a-z_0-9.]+ = )", "", text, flags=re.M)
    bindings, faults = read_keys(every, tomllib.loads(every))
    assert faults == [] and len(bindings) > 100
    plain = language(PLAYBOOK)
    made = language(PLAYBOOK, keys=bindings)
    assert made.refused == () and made.data == plain.data
    named = {binding.name for binding in bindings}
    for kind in plain.data["kinds"]:
        if kind["code"] != "set":
            assert {mark_name(kind, key) for key in kind["keys"]} <= named

"""On which line of a TOML file a value stands: by what TOML means, not by what looks like the name."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tagger.texts.playbook import read_playbook
from tagger.texts.toml_file import line_of

TEXT = '''# set = "keel" is only said here
settled = true
"set" = "keel"                       # set = 2
 spaced . name = 1
'quoted.name' = "has # no comment"
long = """
set_side = "in a text"
[not.a.table]
"""
list = [
  "[[look]]",   # ]
  "x",
]
after = 1

[one]
sets = 1
side = "left"
set = "sling"
inline = { set = "x", side = { set = 3 } }

[ "odd name" . two ]
set = 4

[[look]]
code = "a"
[[look.step]]
code = "a"
[[look.step]]
name = "b"
[look.about]
code = 1

[[look]]
settled = 1
code = "a"
'''


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("settled",), 2),
        (("set",), 3),
        (("spaced", "name"), 4),
        (("quoted.name",), 5),
        (("long",), 6),
        (("list",), 10),
        (("after",), 14),
        (("one",), 16),
        (("one", "sets"), 17),
        (("one", "set"), 19),
        (("one", "inline", "side", "set"), 20),
        (("one", "missing"), 16),
        (("odd name", "two", "set"), 23),
        (("look",), 25),
        (("look", 0, "code"), 26),
        (("look", 0, "step", 1, "name"), 30),
        (("look", 0, "step", 1, "code"), 29),
        (("look", 0, "about", "code"), 32),
        (("look", 1), 34),
        (("look", 1, "code"), 36),
        (("look", 1, "step"), 34),
        (("set_side",), 0),
        (("not", "a", "table"), 0),
        (("step",), 0),
    ],
)
def test_a_value_is_found_on_the_line_where_toml_has_it(path: tuple[str | int, ...], line: int) -> None:
    tomllib.loads(TEXT)
    assert line_of(TEXT, path) == line


NAME = st.sampled_from(["set", "settled", "set_side", "side", "se", "odd name", "a.b", "a#b", "a]b", 'a"b', "ä"])
VALUE = st.sampled_from(
    ["1", '"set = 1"', "'[set]'", '"""\nset = 2\n[side]\n"""', "'''\nside = 1\n'''", "[\n 1, # ]\n 2]", "{ set = 1 }"]
)


def quoted(name: str) -> str:
    return name if name.isascii() and name.replace("_", "").isalnum() else '"' + name.replace('"', '\\"') + '"'


@given(
    st.dictionaries(NAME, VALUE, max_size=6),
    st.lists(st.tuples(NAME, st.dictionaries(NAME, VALUE, max_size=4)), max_size=4),
)
def test_every_value_of_any_file_is_on_the_line_that_was_written_for_it(
    top: dict[str, str], tables: list[tuple[str, dict[str, str]]]
) -> None:
    text = ""
    wanted: dict[tuple[str | int, ...], int] = {}

    def put(path: tuple[str | int, ...], words: str) -> None:
        nonlocal text
        wanted[path] = text.count("\n") + 1
        text += words + "\n"

    for name, value in top.items():
        put((name,), f"{quoted(name)} = {value} # settled = 1")
    n_of: dict[str, int] = {}
    for name, held in tables:
        if name in top:
            continue
        n_of[name] = n_of.get(name, -1) + 1
        put((name, n_of[name]), f"  [[ {quoted(name)} ]]")
        for own, value in held.items():
            put((name, n_of[name], own), f"\t{quoted(own)}={value}")
    tomllib.loads(text)
    assert {path: line_of(text, path) for path in wanted} == wanted


def test_a_fault_of_a_playbook_stands_at_the_set_that_has_it_even_when_it_repeats_a_code() -> None:
    one = '[[set]]\ncode = "keel"\nname = "Keel"\nkey = "{key}"\n[[set.look]]\ncode = "shot"\n'
    text = one.format(key=1) + one.format(key=2)
    assert [line for line, _ in read_playbook(tomllib.loads(text), text)[1]] == [8]

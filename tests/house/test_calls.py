"""No call gives more than six values by place, in the program and its tests; and the checker can say no."""

import ast

import pytest

from tests.house.calls import crowded, takes_any_number
from tests.house.tree import PACKAGES, modules, parsed


def test_nobody_has_to_count_values_by_their_place():
    paths = modules(*PACKAGES, "tests", ".setup")
    any_number = takes_any_number(parsed(path) for path in paths)
    told = [
        f"{path.as_posix()}, line {line}: {what}" for path in paths for line, what in crowded(parsed(path), any_number)
    ]
    assert not told, "\n" + "\n".join(told)


@pytest.mark.parametrize(
    ("source", "line"),
    [
        ("f(1, 2, 3, 4, 5, 6, 7)", 1),
        ("x\nmade.of(1, 2, 3, 4, 5, 6, 7, key=8)", 2),
        ("f(*a, 1, 2, 3, 4, 5, 6, 7)", 1),
        ("def f(a, b, c, d, e, f, g): ...", 1),
        ("class A:\n    def f(self, a, b, c, d, e, f, g): ...", 2),
    ],
)
def test_a_crowded_call_is_told_with_its_line(source, line):
    assert [at for at, _ in crowded(ast.parse(source))] == [line]


@pytest.mark.parametrize(
    "source",
    [
        "f(1, 2, 3, 4, 5, 6, seventh=7)",
        "f(1, 2, 3, 4, 5, 6, *more)",
        "def f(a, b, c, *, d, e, f, g): ...",
        "class A:\n    def f(self, a, b, c, d, e, f): ...",
    ],
)
def test_six_values_and_named_ones_are_let_through(source):
    assert crowded(ast.parse(source)) == []


def test_what_takes_any_number_of_values_alike_may_be_given_many():
    source = (
        "def play(*marks): ...\n@pytest.fixture\ndef run():\n    def call(*words): ...\n    return call\n"
        "play(1, 2, 3, 4, 5, 6, 7)\nrun(1, 2, 3, 4, 5, 6, 7)\nother(1, 2, 3, 4, 5, 6, 7)\n"
    )
    tree = ast.parse(source)
    assert takes_any_number([tree]) == {"play", "run", "call"}
    assert [line for line, _ in crowded(tree, takes_any_number([tree]))] == [8]


def test_a_row_of_the_database_is_never_just_anything():
    paths = modules("tagger", "dashboard")
    told = [f"{path.as_posix()}, line {line}" for path in paths for line in untyped_rows(parsed(path))]
    assert not told, "\n" + "\n".join(told)


def untyped_rows(tree: ast.Module) -> list[int]:
    """Lines of functions that take or give a row as `Any`."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef):
            taken = [one.annotation for one in node.args.args if one.arg == "row"]
            given = [node.returns] if node.name in ("row", "_row") else []
            found += [node.lineno for one in (*taken, *given) if one is not None and ast.unparse(one) == "Any"]
    return found


def test_a_row_that_is_anything_is_seen():
    source = "def a(row: Any): ...\ndef row() -> Any: ...\ndef b(row: sqlite3.Row, other: Any): ..."
    assert untyped_rows(ast.parse(source)) == [1, 2]

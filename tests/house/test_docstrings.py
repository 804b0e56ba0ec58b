"""Docstrings in numpydoc's form, held against the signatures that they describe."""

import ast
import re

import pytest

from tests.house.tree import PACKAGES, modules, parsed

UNDERLINE = re.compile(r"^-{3,}$")


def test_every_public_function_and_class_says_what_it_is():
    bare = []
    for path in modules(*PACKAGES):
        for node in parsed(path).body:
            if (
                isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef)
                and not node.name.startswith("_")
                and not ast.get_docstring(node)
            ):
                bare.append(f"{path.as_posix()}, line {node.lineno}: {node.name}")
    assert not bare, "\n" + "\n".join(bare)


def test_every_parameter_is_documented_and_every_documented_one_is_there():
    told = []
    for path in modules(*PACKAGES, "tests", ".setup"):
        for node in ast.walk(parsed(path)):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                told += [f"{path.as_posix()}, line {node.lineno}: {node.name}: {what}" for what in mismatches(node)]
    assert not told, "\n" + "\n".join(told)


@pytest.mark.parametrize(
    ("signature", "documented", "n_mismatches"),
    [
        ("a, b", "a : int\n        One.\n    b : int\n        Two.", 0),
        ("a, b", "a, b : int\n        Both.", 0),
        ("self, a, *rest, b=1, **more", "a : int\n        One.\n    *rest, b, **more\n        All.", 0),
        ("a, b", "a : int\n        One: b : int stands inside the text.", 1),
        ("a", "a : int\n        One.\n    c : int\n        Gone long ago.", 1),
        ("a, *, c", "a : int\n        One.\n    d : int\n        Renamed.", 2),
    ],
)
def test_the_check_sees_what_is_missing_and_what_is_too_much(signature, documented, n_mismatches):
    source = f'def f({signature}):\n    """Do it.\n\n    Parameters\n    ----------\n    {documented}\n\n    """'
    function = ast.parse(source).body[0]
    assert isinstance(function, ast.FunctionDef)
    assert len(mismatches(function)) == n_mismatches


def mismatches(function: ast.FunctionDef | ast.AsyncFunctionDef) -> list[str]:
    """Differences between a function's Parameters section, where it has one, and its signature."""
    documented = parameters(ast.get_docstring(function) or "")
    if documented is None:
        return []
    given = function.args
    real = [each.arg for each in (*given.posonlyargs, *given.args, *given.kwonlyargs)]
    real += [each.arg for each in (given.vararg, given.kwarg) if each]
    real = [name for name in real if name not in ("self", "cls")]
    missing = [f"{name} is not documented" for name in real if name not in documented]
    return missing + [f"{name} is documented and does not exist" for name in documented if name not in real]


def parameters(docstring: str) -> list[str] | None:
    """Names in a docstring's Parameters section; None when it has none."""
    lines = docstring.splitlines()
    heads = [number - 1 for number, line in enumerate(lines) if UNDERLINE.match(line.strip())]
    start = next((number for number in heads if lines[number].strip() == "Parameters"), None)
    if start is None:
        return None
    end = min((number for number in heads if number > start), default=len(lines))
    names: list[str] = []
    for line in lines[start + 2 : end]:
        if line and not line[0].isspace():
            names += [name.strip().lstrip("*") for name in line.split(" : ")[0].split(",")]
    return names

"""Calls that nobody can read: more values by place than a reader can count."""

import ast
from collections.abc import Iterable

MOST = 6


def takes_any_number(trees: Iterable[ast.Module]) -> frozenset[str]:
    """Names of functions, and of fixtures that give one, that take any number of values alike (``*marks``)."""
    found = set()
    for tree in trees:
        for node in ast.walk(tree):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                fixture = any("fixture" in ast.unparse(one) for one in node.decorator_list)
                inner = [one for one in ast.walk(node) if isinstance(one, ast.FunctionDef)] if fixture else [node]
                if any(one.args.vararg for one in inner):
                    found.add(node.name)
    return frozenset(found)


def crowded(tree: ast.Module, any_number: frozenset[str] = frozenset()) -> list[tuple[int, str]]:
    """Calls and definitions with more than `MOST` values by place.

    Parameters
    ----------
    tree : ast.Module
        A module's syntax.
    any_number : frozenset of str
        Functions whose values are all alike, as `takes_any_number` gives them.

    Returns
    -------
    list of (int, str)
        Line, and which. What a star spreads is not counted.
    """
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            n = sum(not isinstance(one, ast.Starred) for one in node.args)
            name = ast.unparse(node.func).rpartition(".")[2]
            if n > MOST and name not in any_number:
                found.append((node.lineno, f"{name} is given {n} values by place; name them"))
        elif isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            names = [one.arg for one in (*node.args.posonlyargs, *node.args.args)]
            n = len(names) - (names[:1] in (["self"], ["cls"]))
            if n > MOST:
                found.append((node.lineno, f"{node.name} takes {n} values by place; put a * among them"))
    return found

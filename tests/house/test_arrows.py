"""The import arrows of DEVELOPERS.md hold, and the checker that says so can say no."""

import ast

import pytest

from tests.house.arrows import arrows_of, breaches, circles, handed_to_its_own, imports
from tests.house.tree import PACKAGES, dotted, modules, parsed


def test_every_module_keeps_the_arrows():
    told = []
    for path in modules(*PACKAGES):
        module = dotted(path)
        told += breaches(module, imports(parsed(path), module, is_package=path.name == "__init__.py"))
    assert not told, "\n" + "\n".join(told)


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("analysis.rates", "from tagger import season"),
        ("analysis.rates", "import tagger"),
        ("analysis.rates", "from dashboard.pages import sets"),
        ("analysis.rates", "def f():\n    import sqlite3"),
        ("tagger.season", "import analysis.rates"),
        ("tagger.season", "from sample_data import season"),
        ("tagger.season", "import av"),
        ("tagger.screen.routes", "import cv2"),
        ("tagger.film.cut", "from ..marks import fold"),
        ("tagger.film.cut", "from .. import marks"),
        ("tagger.floor.rules", "from tagger.tables import read"),
        ("tagger.marks.fold", "from flask import request"),
        ("tagger.marks.fold", "from time import time"),
        ("dashboard.server", "import fcntl"),
        ("sample_data.season", "import dashboard.cli"),
    ],
)
def test_a_broken_arrow_is_told_with_its_line(module, source):
    told = breaches(module, imports(ast.parse(source), module))
    line = len(source.splitlines())
    assert told and all(each.startswith(f"{module}, line {line}: ") for each in told)


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("analysis.rates", "from tagger.tables import read\nfrom . import intervals\nimport pandas"),
        ("analysis.rates", "from tagger import tables"),
        ("tagger.film.cut", "import av\nfrom .errors import FilmError"),
        ("dashboard.server", "import tagger.season, analysis.rates, waitress\nfrom sample_data import season"),
        ("dashboard.lock", "def hold():\n    import fcntl"),
        ("dashboard.lock", "try:\n    import fcntl\nexcept ImportError:\n    import msvcrt"),
        ("sample_data.generator", "import cv2\nfrom tagger.floor.rules import FloorRules"),
    ],
)
def test_what_the_arrows_allow_is_let_through(module, source):
    assert breaches(module, imports(ast.parse(source), module)) == []


def test_relative_imports_are_resolved_from_modules_and_from_packages():
    source = ast.parse("from .a import b\nfrom ..c import d")
    assert [each.target for each in imports(source, "tagger.film.cut")] == ["tagger.film.a.b", "tagger.c.d"]
    assert [each.target for each in imports(source, "tagger.film", is_package=True)] == [
        "tagger.film.a.b",
        "tagger.c.d",
    ]


def test_no_module_comes_back_to_itself_by_its_imports():
    sources = {dotted(path): parsed(path) for path in modules(*PACKAGES) if path.name != "__init__.py"}
    told = [" ↔ ".join(circle) for circle in circles(arrows_of(sources))]
    assert not told, "move the noun that they share to where both can see it:\n" + "\n".join(told)


@pytest.mark.parametrize(
    ("sources", "found"),
    [
        ({"tagger.a": "from tagger.b import x", "tagger.b": "from tagger import a"}, [["tagger.a", "tagger.b"]]),
        (
            {"tagger.a": "def f():\n    import tagger.b", "tagger.b": "if TYPE_CHECKING:\n    from tagger.a import A"},
            [["tagger.a", "tagger.b"]],
        ),
        (
            {"tagger.a": "from . import b", "tagger.b": "from .c import d", "tagger.c": "from tagger.a import e"},
            [["tagger.a", "tagger.b", "tagger.c"]],
        ),
        ({"tagger.a": "from tagger.b import x", "tagger.b": "import tagger.c", "tagger.c": "import json"}, []),
        ({"tagger.a": "from tagger.b import x", "tagger.c": "from tagger.b import x", "tagger.b": ""}, []),
    ],
)
def test_a_circle_is_seen_in_functions_and_for_types_alone_too(sources, found):
    assert circles(arrows_of({module: ast.parse(source) for module, source in sources.items()})) == found


def test_nobody_hands_himself_to_what_he_keeps():
    told = [
        f"{path.as_posix()}, line {line}: {name}"
        for path in modules(*PACKAGES)
        for line, name in handed_to_its_own(parsed(path))
    ]
    assert not told, "\n" + "\n".join(told)


def test_a_circle_through_an_attribute_is_seen():
    kept = "class A:\n    def __init__(self, store):\n        self.b = B(store, {})\n"
    assert handed_to_its_own(ast.parse(kept.format("self"))) == [(3, "b")]
    assert handed_to_its_own(ast.parse(kept.format("of=self"))) == [(3, "b")]
    assert handed_to_its_own(ast.parse(kept.format("self.c"))) == []


def test_no_process_is_made_by_forking():
    """Windows has no fork, and one under threads or open film is unsafe everywhere: children are spawned."""
    told = []
    for path in modules(*PACKAGES):
        told += [f"{path.as_posix()}, line {line}: {what}" for line, what in forks(parsed(path))]
    assert not told, "\n" + "\n".join(told)


@pytest.mark.parametrize(
    "source",
    [
        "import os\nos.fork()",
        "import multiprocessing\nmultiprocessing.Process(target=f)",
        "import multiprocessing as mp\nmp.get_context('fork')",
        "from multiprocessing import Pool",
        "from concurrent.futures import ProcessPoolExecutor\nProcessPoolExecutor(2)",
    ],
)
def test_a_fork_is_seen(source):
    assert forks(ast.parse(source))


def test_spawning_is_let_through():
    source = (
        "import multiprocessing\nfrom concurrent.futures import ProcessPoolExecutor\n"
        "context = multiprocessing.get_context('spawn')\ncontext.Process(target=f)\n"
        "ProcessPoolExecutor(2, mp_context=context)"
    )
    assert not forks(ast.parse(source))


def forks(tree: ast.Module) -> list[tuple[int, str]]:
    """Lines on which a process is made by the system's default way, which on Linux before Python 3.14 is a fork."""
    found = []
    aliases = {
        alias.asname or alias.name
        for node in ast.walk(tree)
        if isinstance(node, ast.Import)
        for alias in node.names
        if alias.name == "multiprocessing"
    }
    makers = {"Process", "Pool", "Queue", "Manager", "Pipe", "Event", "Lock", "Value"}
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and node.attr in ("fork", "forkpty"):
            found.append((node.lineno, "forks"))
        elif isinstance(node, ast.ImportFrom) and node.module == "multiprocessing":
            found += [(node.lineno, alias.name) for alias in node.names if alias.name in makers]
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            owner = node.func.value.id if isinstance(node.func.value, ast.Name) else ""
            texts = [argument.value for argument in node.args if isinstance(argument, ast.Constant)]
            if (owner in aliases and node.func.attr in makers) or "fork" in texts or "forkserver" in texts:
                found.append((node.lineno, f"{owner}.{node.func.attr}"))
            if node.func.attr == "ProcessPoolExecutor" and "mp_context" not in {word.arg for word in node.keywords}:
                found.append((node.lineno, "ProcessPoolExecutor without mp_context"))
        elif (
            isinstance(node, ast.Call)
            and isinstance(node.func, ast.Name)
            and node.func.id == "ProcessPoolExecutor"
            and "mp_context" not in {word.arg for word in node.keywords}
        ):
            found.append((node.lineno, "ProcessPoolExecutor without mp_context"))
    return found

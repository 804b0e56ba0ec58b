"""What is written beside its place and renamed goes through `tagger.written` alone, with one way to clean up."""

import ast

import pytest

from tests.house.tree import PACKAGES, modules, parsed

MOVES = {  # what moves a file or a folder that is whole already, and so is no writing
    "tagger/store/exchange.py": "a season's files, put back from a copy",
    "tagger/work/arrivals.py": "a film of which every piece has come",
    "dashboard/copies/restoring.py": "a folder",
    "dashboard/erasing/doing.py": "a film whose name held a player's",
}


def renames(tree: ast.Module) -> list[int]:
    """Lines on which a file gets another name: ``path.rename(x)``, ``path.replace(x)``, ``os.replace(x, y)``."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            of_os = isinstance(node.func.value, ast.Name) and node.func.value.id in ("os", "shutil")
            one = len(node.args) == 1 and not node.keywords  # text's replace takes two, a date's takes names
            if (of_os and node.func.attr in ("rename", "renames", "replace", "move")) or (
                one and node.func.attr in ("rename", "replace")
            ):
                found.append(node.lineno)
    return found


def test_files_are_written_whole_in_one_place():
    told = [
        f"{path.as_posix()}, line {line}"
        for path in modules(*PACKAGES)
        if path.as_posix() != "tagger/written.py" and path.as_posix() not in MOVES
        for line in renames(parsed(path))
    ]
    assert not told, "write it with tagger.written.whole_file:\n" + "\n".join(told)


@pytest.mark.parametrize(
    "source", ["import os\nos.replace(a, b)", "import shutil\nshutil.move(a, b)", "x\nbeside.rename(target)"]
)
def test_a_renaming_is_seen(source):
    assert renames(ast.parse(source)) == [2]


def test_what_only_sounds_like_it_is_let_through():
    assert (
        renames(ast.parse("text.replace('a', 'b')\nnow.replace(hour=3)\nreplace(one, a=2)\nframe.rename(columns=x)"))
        == []
    )

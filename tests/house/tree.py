"""The files of the clone, as the tests about the house itself see them."""

import ast
import subprocess
from functools import cache
from pathlib import Path

CLONE = Path(__file__).resolve().parents[2]
PACKAGES = ("tagger", "analysis", "dashboard", "sample_data")


@cache
def files() -> tuple[Path, ...]:
    """Every file that is committed or would be, relative to the clone, in order of name."""
    command = ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    listed = subprocess.run(command, cwd=CLONE, capture_output=True, check=True).stdout.decode().split("\0")
    return tuple(sorted(Path(name) for name in set(listed) if name and (CLONE / name).is_file()))


def modules(*tops: str) -> list[Path]:
    """The Python files under some top-level folders, relative to the clone."""
    return [path for path in files() if path.suffix == ".py" and path.parts[0] in tops]


def dotted(path: Path) -> str:
    """The name by which a module is imported."""
    parts = path.with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


@cache
def parsed(path: Path) -> ast.Module:
    """The syntax tree of a Python file of the clone."""
    return ast.parse((CLONE / path).read_text(encoding="utf-8"), filename=str(path))

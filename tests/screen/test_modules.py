"""The page's pure modules, tested without a page by node's own runner."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

HERE = Path(__file__).parent
FILES = sorted(HERE.glob("*.test.mjs"))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_module_tests_pass(path: Path) -> None:
    node = shutil.which("node")
    assert node, "node is missing; it comes with npm, which the README asks for"
    run = subprocess.run([node, "--test", str(path)], capture_output=True, text=True, encoding="utf-8")
    assert run.returncode == 0, run.stdout + run.stderr
    assert "# fail 0" in run.stdout or "ℹ fail 0" in run.stdout

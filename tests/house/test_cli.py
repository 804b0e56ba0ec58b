"""The command line answers at once, every word of it is explained, and README.md says the same."""

import argparse
import subprocess
import sys

import pytest

from tests.house.readme import arguments, commands, help_text, rewritten, spelling
from tests.house.tree import CLONE

HEAVY = ("av", "cv2", "dash", "flask", "numpy", "pandas", "plotly", "scipy", "sklearn", "statsmodels", "waitress")

there = pytest.mark.skipif(not (CLONE / "dashboard" / "cli.py").exists(), reason="there is no command line yet")


@there
def test_loading_the_command_line_loads_nothing_heavy():
    """`floorbook --help` has half a second; each of these alone would take a good part of it."""
    code = (
        "import sys, dashboard.cli; dashboard.cli.build_parser(); print(*{name.split('.')[0] for name in sys.modules})"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=CLONE, capture_output=True, text=True, check=True)
    assert set(done.stdout.split()) & set(HEAVY) == set()


@there
def test_every_command_and_every_argument_has_help():
    from dashboard.cli import build_parser

    parser = build_parser()
    assert parser.prog == "floorbook" and parser.description
    bare = [name for name, told, _ in commands(parser) if not told]
    bare += [
        f"{name} {spelling(each)}"
        for name, _, its_parser in commands(parser)
        for each in arguments(its_parser)
        if not each.help
    ]
    assert bare == []
    assert "demo" in [name for name, _, _ in commands(parser)]


@there
def test_the_readme_says_what_the_command_line_says():
    from dashboard.cli import build_parser

    page = (CLONE / "README.md").read_text(encoding="utf-8")
    assert rewritten(page, help_text(build_parser())) == page, "make it again: python -m tests.house.readme"


@pytest.fixture
def parser():
    made = argparse.ArgumentParser(prog="floorbook")
    cut = made.add_subparsers().add_parser("cut", help="cut clips")
    cut.add_argument("folder", help="the season")
    cut.add_argument("files", nargs="+", metavar="FILE", help="film")
    cut.add_argument("game", nargs="?", help="one game")
    cut.add_argument("--to", required=True, metavar="OUT", help="where to")
    cut.add_argument("--as", choices=["csv", "parquet"], help="form")
    cut.add_argument("--port", type=int, default=80, help="port (%(default)s)")
    cut.add_argument("-q", "--quiet", action="store_true", help="say less")
    cut.add_argument("--hidden", help=argparse.SUPPRESS)
    return made


def test_help_is_laid_out_with_every_argument_as_it_is_written(parser):
    lines = help_text(parser).splitlines()
    assert lines[2] == "floorbook cut FOLDER FILE... [GAME] --to OUT [--as csv|parquet] [--port PORT] [--quiet]"
    assert lines[3] == "    cut clips"
    assert "      --port PORT       port (80)" in lines
    assert not any("hidden" in line or "--help" in line for line in lines)


def test_only_the_part_between_the_markers_is_replaced(parser):
    section = help_text(parser)
    begin, *_, end = section.splitlines()
    page = rewritten(f"# top\n{begin}\nold words\n{end}\nbelow\n", section)
    assert page == f"# top\n{section}\nbelow\n"
    assert rewritten(page, section) == page


def test_a_page_without_markers_is_refused(parser):
    with pytest.raises(ValueError, match="marker"):
        rewritten("# top\n", help_text(parser))

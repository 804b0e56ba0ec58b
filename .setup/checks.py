"""Everything a change must pass: format, lint, types of Python and JavaScript, tests in a real browser."""

import hashlib
import os
import shutil
import subprocess
import sys
import threading
import time

import debian
from environment import CLONE, SetupError, program

sys.path.insert(0, str(CLONE))
from tests.chromium import find_browser

HERE = CLONE / ".setup"
WINDOWLESS = "chromium-headless-shell"
NO_TEST = "no test of it was asked for"
NONE_CHOSEN = 5  # pytest's exit code where what was asked for has no test of a kind
IN_THE_ORDER_GIVEN = ("--dist", "loadfile", "--no-loadscope-reorder")  # tests/conftest.py puts what waits first


def run_all(pytest_arguments: list[str]) -> int:
    """Run every check, each even when another failed; what only reads the code beside the tests.

    Parameters
    ----------
    pytest_arguments : list of str
        Passed on to pytest.

    Returns
    -------
    int
        0 when all passed, else 1.
    """
    python = str(program("python"))
    still = [
        ("format", [str(program("ruff")), "format", "--check", "."]),
        ("lint", [str(program("ruff")), "check", "."]),
        ("types", [python, "-m", "mypy"]),
        ("types of JavaScript", [*_typescript(), "--project", str(HERE)]),
    ]
    failed: list[str] = []

    def read_the_code() -> None:
        for name, command in still:
            _run(name, command, failed, kept=True)

    def test_the_rest() -> None:
        _run("tests without a browser", _behind(_tests(python, "not browser", pytest_arguments)), failed, kept=True)

    if _marks_are_chosen(pytest_arguments):
        failed.append(NO_TEST)  # the other kind
        _run("tests", _tests(python, "", pytest_arguments), failed, kept=False)
        read_the_code()
    else:
        beside = [threading.Thread(target=each, daemon=True) for each in (read_the_code, test_the_rest)]
        for each in beside:
            each.start()  # what needs no browser fills the time in which the others wait for their pages
        _run("tests in a browser", _tests(python, "browser", pytest_arguments), failed, kept=False)
        for each in beside:
            each.join()
    if failed.count(NO_TEST) in (1, 0):  # a kind of tests of which none was asked for is no failure, both are
        failed = [name for name in failed if name != NO_TEST]
    if failed:
        print(f"check: failed: {', '.join(failed)}", file=sys.stderr)
    return 1 if failed else 0


def _tests(python: str, which: str, more: list[str]) -> list[str]:
    """The tests of a kind, by as many processes as there are cores: both kinds run at once."""
    marked = ["-m", which] if which else []
    n = _n_workers() + (which == "not browser")  # they wait too, for programs they start
    return [python, "-m", "pytest", "-n", str(n), *IN_THE_ORDER_GIVEN, *marked, *more]


def _marks_are_chosen(pytest_arguments: list[str]) -> bool:
    return any(argument.startswith("-m") for argument in pytest_arguments)


def _behind(command: list[str]) -> list[str]:
    """The command so that it gives way to what a page's test waits for, where the system has a word for that."""
    nice = shutil.which("nice")
    return [nice, "-n", "5", *command] if nice else command


def _run(name: str, command: list[str], failed: list[str], *, kept: bool) -> None:
    """Run a step; what one beside the tests says is kept together until it has ended.

    Python keeps what it compiled, whatever the machine's habit: tests start hundreds of processes, and each would else
    compile all of the house anew, for seconds.
    """
    start = time.monotonic()
    ended = subprocess.run(
        command,
        cwd=CLONE,
        env={name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE if kept else None,
        stderr=subprocess.STDOUT if kept else None,
    )
    none = "tests" in name and ended.returncode == NONE_CHOSEN
    if ended.returncode:
        failed.append(NO_TEST if none else name)
    how = f"== {name}: {NO_TEST if none else 'FAILED' if ended.returncode else 'passed'}"
    how += f" in {time.monotonic() - start:.0f} s"
    print(f"\n{(ended.stdout or b'').decode(errors='replace')}{how}", flush=True)


def see_to_system() -> None:
    """See to what the checks need from the system, before anything slow is begun.

    That is npm, a browser, and ffprobe, which only the tests use: to count frames by another program than ours.

    Raises
    ------
    SetupError
        When something is missing that can't be installed here.
    """
    if shutil.which("npm") is None or shutil.which("node") is None:
        raise SetupError(
            "npm is missing (it brings the check of the pages' JavaScript): Debian, apt-get install npm; "
            "else the installer from nodejs.org"
        )
    if debian.can_install() and not os.environ.get("FLOORBOOK_BROWSER") and shutil.which(WINDOWLESS) is None:
        _windowless_browser()
    if find_browser() is None:
        if named := os.environ.get("FLOORBOOK_BROWSER"):
            raise SetupError(f"FLOORBOOK_BROWSER names {named}, which is not there")
        raise SetupError(
            "no Chrome, Chromium or Edge found: install one (Debian: apt-get install chromium), "
            "or name its program in the environment variable FLOORBOOK_BROWSER"
        )
    if shutil.which("ffprobe") is None:
        if debian.can_install():
            debian.install("ffmpeg", "ffprobe (only the tests use it)")
        else:
            print("No ffprobe here (Debian: apt-get install ffmpeg): the tests that compare with it are skipped.")


def _windowless_browser() -> None:
    """Install Debian's Chromium without windows; where that fails another that is there has to do."""
    try:
        debian.install(WINDOWLESS, "Chromium without windows (a page of it costs a sixth)")
    except SetupError:
        if find_browser() is None:
            raise
        print("Going on with the browser that is here; the tests take longer with it.")


def _typescript() -> list[str]:
    """Command of the locked TypeScript compiler, installed when it isn't there or the lock changed."""
    npm, node = str(shutil.which("npm")), str(shutil.which("node"))
    stamp = HERE / "node_modules" / ".floorbook-stamp"
    wanted = hashlib.sha256((HERE / "package-lock.json").read_bytes()).hexdigest()
    if not stamp.exists() or stamp.read_text(encoding="utf-8") != wanted:
        print("Installing the locked TypeScript", flush=True)
        command = [npm, "ci", "--no-audit", "--no-fund", "--ignore-scripts", "--loglevel=error"]
        if subprocess.run(command, cwd=HERE, stdin=subprocess.DEVNULL).returncode:
            raise SetupError("npm ci failed; its own words are above")
        stamp.write_text(wanted, encoding="utf-8")
    return [node, str(HERE / "node_modules" / "typescript" / "bin" / "tsc")]


def _n_workers() -> int:
    return max(2, min(4, os.cpu_count() or 2))

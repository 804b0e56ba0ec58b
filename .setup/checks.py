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
    tests = [python, "-m", "pytest", "-n", str(_n_workers()), *IN_THE_ORDER_GIVEN, *pytest_arguments]
    failed: list[str] = []

    def read_the_code() -> None:
        for name, command in still:
            _run(name, command, failed, kept=True)

    beside = threading.Thread(target=read_the_code, daemon=True)
    beside.start()  # reading the code takes one core's minute, in which tests wait for their pages anyway
    _run("tests", tests, failed, kept=False)
    beside.join()
    if failed:
        print(f"check: failed: {', '.join(failed)}", file=sys.stderr)
    return 1 if failed else 0


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
    if ended.returncode:
        failed.append(name)
    how = f"== {name}: {'FAILED' if ended.returncode else 'passed'} in {time.monotonic() - start:.0f} s"
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
    return max(3, min(4, os.cpu_count() or 2))  # three on two cores: pages are waited for

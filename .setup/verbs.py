"""The verbs of run.py."""

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import environment
from environment import CLONE, SetupError, program


def run(arguments: list[str], *, usage: str) -> int:
    """Carry out one command line.

    Parameters
    ----------
    arguments : list of str
        The verb and what follows it.
    usage : str
        Printed when there is no such verb.

    Returns
    -------
    int
        Exit code: the last program's own, 1 when something is missing, 2 for wrong usage.
    """
    verbs = {"demo": _demo, "check": _check, "lock": _lock}
    if not arguments or arguments[0] not in verbs:
        print(usage.strip(), file=sys.stderr)
        return 2
    try:
        return verbs[arguments[0]](arguments[1:])
    except SetupError as error:
        print(f"{arguments[0]}: {error}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        return 130


def _demo(arguments: list[str]) -> int:
    environment.make_ready("run")
    return _become([str(program("floorbook")), "demo", *arguments])


def _check(arguments: list[str]) -> int:
    import checks

    checks.see_to_system()
    environment.make_ready("dev")
    return checks.run_all(arguments)


def _lock(arguments: list[str]) -> int:
    """Work both locks out anew: the developers' first, then the program's own as a part of it."""
    if arguments:
        raise SetupError("lock takes no arguments")
    with tempfile.TemporaryDirectory() as place:
        subprocess.run([sys.executable, "-m", "venv", place], check=True)
        scripts = Path(place) / ("Scripts" if os.name == "nt" else "bin")
        subprocess.run([str(scripts / "pip"), "install", "--quiet", "uv"], check=True)
        for level, groups in (("dev", ["--group", "dev"]), ("run", ["--group", "build"])):
            target = environment.LOCKS[level]
            within = [] if level == "dev" else ["--constraint", str(environment.LOCKS["dev"])]
            command = [str(shutil.which("uv", path=str(scripts))), "pip", "compile", "pyproject.toml", *groups, *within]
            command += ["--universal", "--python-version", "3.11", "--fork-strategy", "fewest", "--upgrade"]
            command += ["--no-header", "--no-annotate", "--quiet", "--no-config"]
            done = subprocess.run(command, cwd=CLONE, stdout=subprocess.PIPE, text=True, encoding="utf-8")
            if done.returncode:
                raise SetupError("uv could not work the versions out; its own words are above")
            head = f"# Made by `python3 .setup/run.py lock`; level {level}. For Python 3.11 and newer on any system.\n"
            target.write_text(head + done.stdout, encoding="utf-8", newline="\n")
            print(f"{target.relative_to(CLONE).as_posix()}: {len(done.stdout.splitlines())} packages")
    return 0


def _become(command: list[str]) -> int:
    """Let another program take over: it gets the signals, and its exit code is ours."""
    if os.name == "posix":
        sys.stdout.flush()
        os.execv(command[0], command)
    child = subprocess.Popen(command)
    while True:
        try:
            return child.wait()
        except KeyboardInterrupt:
            continue  # the child has got it too, and closes in its own time

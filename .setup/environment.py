"""The clone's own environment, ``.venv``: made once, filled from a lock, made again when what it rests on changed.

Two levels: ``run`` is what the program needs, ``dev`` adds what its checks need; every pin of the first stands in the
second. A stamp inside the environment holds a digest of the lock, of pyproject.toml, of the place and of the Python;
while it fits, nothing is done.
"""

import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path

CLONE = Path(__file__).resolve().parent.parent
PLACE = CLONE / ".venv"
LOCKS = {"run": CLONE / ".setup" / "lock.txt", "dev": CLONE / ".setup" / "lock-dev.txt"}
MARK = "made-by-floorbook"  # holds the place and the Python that an environment was made for


class SetupError(Exception):
    """What is missing or went wrong, and what to do about it, in one line."""


def program(name: str) -> Path:
    """Path of a program inside the environment, whether or not it is there yet."""
    if os.name == "nt":
        return PLACE / "Scripts" / f"{name}.exe"
    return PLACE / "bin" / name


def make_ready(level: str) -> None:
    """Make sure that ``.venv`` holds everything of a level.

    Parameters
    ----------
    level : str
        ``"run"`` or ``"dev"``.

    Raises
    ------
    SetupError
        When the environment can't be made or filled.
    """
    usable = ["dev"] if level == "dev" else ["run", "dev"]
    if _fits() and any(_stamp(each) == _digest(each) for each in usable):
        return
    if not _fits():
        _make()
    for each in LOCKS:
        _stamp_path(each).unlink(missing_ok=True)
    print(
        f"Installing the locked versions ({LOCKS[level].relative_to(CLONE).as_posix()}); the first time takes minutes."
    )
    _pip("--only-binary=:all:", "--requirement", str(LOCKS[level]))
    _pip("--no-deps", "--no-build-isolation", "--editable", str(CLONE))
    _stamp_path(level).write_text(_digest(level), encoding="utf-8")


def _fits() -> bool:
    try:
        return (PLACE / MARK).read_text(encoding="utf-8") == _made_for() and program("python").exists()
    except OSError:
        return False


def _make() -> None:
    if importlib.util.find_spec("ensurepip") is None:
        raise SetupError("Python's venv module is not complete here: on Debian, apt-get install python3-venv")
    if PLACE.exists() and any(PLACE.iterdir()) and not (PLACE / MARK).exists():
        raise SetupError(f"{PLACE} is there and was not made by this command: move it away, then try again")
    print("Making an environment in .venv")
    try:
        if PLACE.exists():
            shutil.rmtree(PLACE)
        PLACE.mkdir()
        (PLACE / MARK).write_text("unfinished", encoding="utf-8")
        made = subprocess.run([sys.executable, "-m", "venv", str(PLACE)], stdin=subprocess.DEVNULL)
    except OSError as error:
        raise SetupError(f"{PLACE} can't be made anew ({error.strerror}): close floorbook, then try again") from error
    if made.returncode:
        raise SetupError(f"{sys.executable} -m venv failed; on Debian, apt-get install python3-venv")
    (PLACE / MARK).write_text(_made_for(), encoding="utf-8")


def _pip(*arguments: str) -> None:
    """Run pip's install, showing only the larger things that are fetched; its last words when it fails."""
    command = [str(program("python")), "-m", "pip", "install", "--no-input", "--disable-pip-version-check"]
    command += ["--progress-bar", "off", *arguments]
    said = []
    with subprocess.Popen(
        command,
        cwd=CLONE,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        encoding="utf-8",
        errors="replace",
    ) as pip:
        assert pip.stdout is not None
        for line in pip.stdout:
            said.append(line)
            if line.strip().startswith("Downloading ") and line.rstrip().endswith(" MB)"):
                print("  " + line.strip(), flush=True)
    if pip.returncode:
        print("".join(said[-30:]), file=sys.stderr)
        raise SetupError("pip could not install what the lock names; its own words are above")


def _made_for() -> str:
    return f"{CLONE}\n{sys.version}\n"


def _digest(level: str) -> str:
    digest = hashlib.sha256(_made_for().encode())
    for path in (LOCKS["run"], LOCKS[level], CLONE / "pyproject.toml"):
        digest.update(path.read_bytes())
    return digest.hexdigest()


def _stamp_path(level: str) -> Path:
    return PLACE / f"ready-{level}"


def _stamp(level: str) -> str:
    try:
        return _stamp_path(level).read_text(encoding="utf-8")
    except OSError:
        return ""

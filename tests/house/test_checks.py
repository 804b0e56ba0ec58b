"""The one command that runs all checks: what it asks of a system, and that everybody runs the same."""

import platform
import shutil
import subprocess

import checks
import debian
import pytest
from environment import SetupError

from tests.house.tree import CLONE

LINE = "python3 .setup/run.py check"


@pytest.fixture
def bare_system(monkeypatch):
    """A system with npm and nothing else of what the checks need; gives the list of what gets installed."""
    installed: list[str] = []
    monkeypatch.delenv("FLOORBOOK_BROWSER", raising=False)
    monkeypatch.setattr(shutil, "which", lambda name: name if name in ("npm", "node") else None)
    monkeypatch.setattr(checks, "find_browser", lambda: installed[0] if installed else None)
    monkeypatch.setattr(debian, "install", lambda package, what_for: installed.append(package))
    return installed


def test_on_debian_as_root_the_browser_and_ffprobe_are_installed(bare_system, monkeypatch):
    monkeypatch.setattr(debian, "can_install", lambda: True)
    checks.see_to_system()
    assert bare_system == ["chromium-headless-shell", "ffmpeg"]


def test_elsewhere_a_missing_browser_is_told_with_the_way_out(bare_system, monkeypatch):
    monkeypatch.setattr(debian, "can_install", lambda: False)
    with pytest.raises(SetupError, match="apt-get install chromium.*FLOORBOOK_BROWSER"):
        checks.see_to_system()
    assert bare_system == []


def test_a_named_browser_that_is_not_there_is_never_replaced_by_an_installed_one(bare_system, monkeypatch):
    monkeypatch.setattr(debian, "can_install", lambda: True)
    monkeypatch.setenv("FLOORBOOK_BROWSER", "/nowhere/chrome")
    with pytest.raises(SetupError, match="/nowhere/chrome, which is not there"):
        checks.see_to_system()
    assert bare_system == []


def test_where_it_cannot_be_installed_the_browser_that_is_there_has_to_do(monkeypatch, capsys):
    def fails(package: str, what_for: str) -> None:
        raise SetupError(f"apt-get install {package} failed")

    monkeypatch.delenv("FLOORBOOK_BROWSER", raising=False)
    monkeypatch.setattr(shutil, "which", lambda name: None if name == checks.WINDOWLESS else name)
    monkeypatch.setattr(checks, "find_browser", lambda: "/usr/bin/chromium")
    monkeypatch.setattr(debian, "can_install", lambda: True)
    monkeypatch.setattr(debian, "install", fails)
    checks.see_to_system()
    assert "Going on with the browser that is here" in capsys.readouterr().out


def test_a_missing_npm_is_told_before_anything_is_installed(bare_system, monkeypatch):
    monkeypatch.setattr(shutil, "which", lambda name: None)
    monkeypatch.setattr(debian, "can_install", lambda: True)
    with pytest.raises(SetupError, match="apt-get install npm"):
        checks.see_to_system()
    assert bare_system == []


@pytest.mark.parametrize("system", ["ubuntu", "fedora"])
def test_only_debian_itself_is_installed_on(monkeypatch, system):
    """Ubuntu's package of that name is only a pointer to another kind of package."""
    monkeypatch.setattr(platform, "freedesktop_os_release", lambda: {"ID": system})
    assert not debian.can_install()


def test_a_system_without_a_release_file_is_not_installed_on(monkeypatch):
    def none():
        raise OSError

    monkeypatch.setattr(platform, "freedesktop_os_release", none)
    assert not debian.can_install()


def test_readme_developers_page_and_ci_run_the_same_line():
    assert (CLONE / ".ci" / "run").read_text(encoding="utf-8").splitlines()[-1] == f"exec {LINE}"
    for page in ("README.md", "DEVELOPERS.md"):
        assert LINE in (CLONE / page).read_text(encoding="utf-8")


def test_every_test_is_run_by_one_of_the_two_runs(monkeypatch):
    ran: list[list[str]] = []

    def run(command: list[str], **_: object) -> subprocess.CompletedProcess[bytes]:
        ran.append(command)
        return subprocess.CompletedProcess(command, 5 if "not browser" in command else 0, b"")

    monkeypatch.setattr(subprocess, "run", run)
    assert checks.run_all(["tests/film"]) == 0  # where one of the two has nothing to run, nothing failed
    tests = [command for command in ran if "pytest" in command]
    assert sorted(command[command.index("-m", command.index("pytest")) + 1] for command in tests) == [
        "browser",
        "not browser",
    ]
    assert all(command[-1] == "tests/film" for command in tests)


def test_whoever_chooses_by_mark_gets_one_run(monkeypatch):
    ran: list[list[str]] = []

    def run(command: list[str], **_: object) -> subprocess.CompletedProcess[bytes]:
        ran.append(command)
        return subprocess.CompletedProcess(command, int("pytest" in command), b"")

    monkeypatch.setattr(subprocess, "run", run)
    assert checks.run_all(["-m", "browser"]) == 1
    assert [command[-2:] for command in ran if "pytest" in command] == [["-m", "browser"]]


def test_a_choice_that_no_test_meets_is_a_failure(monkeypatch):
    monkeypatch.setattr(
        subprocess,
        "run",
        lambda command, **_: subprocess.CompletedProcess(command, 5 * ("pytest" in command), b""),
    )
    assert checks.run_all(["-k", "nothing"]) == 1
    assert checks.run_all(["-m", "nothing"]) == 1

"""The browser fixture itself: the right program, the switches in force, script errors not lost."""

from collections.abc import Callable
from pathlib import PurePosixPath, PureWindowsPath
from typing import Any

import pytest

from tests.chromium import find_browser, places


def nowhere(name: str) -> None:
    return None


def test_a_named_browser_is_the_only_one_looked_at():
    assert places("linux", {"FLOORBOOK_BROWSER": "/b/chrome"}, lambda name: "/usr/bin/" + name) == [
        PurePosixPath("/b/chrome")
    ]


def test_on_linux_the_search_path_is_asked_and_what_is_not_there_is_left_out():
    found = places("linux", {}, lambda name: f"/usr/bin/{name}" if name.endswith("stable") else None)
    assert found == [PurePosixPath("/usr/bin/google-chrome-stable"), PurePosixPath("/usr/bin/microsoft-edge-stable")]
    assert places("linux", {}, nowhere) == []


def test_on_windows_both_program_folders_and_the_users_own_are_looked_at():
    found = places(
        "win32", {"PROGRAMFILES": r"C:\Program Files", "LOCALAPPDATA": r"C:\Users\ana\AppData\Local"}, nowhere
    )
    assert found[0] == PureWindowsPath(r"C:\Program Files\Google\Chrome\Application\chrome.exe")
    assert PureWindowsPath(r"C:\Users\ana\AppData\Local\Google\Chrome\Application\chrome.exe") in found
    assert found[-2] == PureWindowsPath(r"C:\Program Files\Microsoft\Edge\Application\msedge.exe")


def test_on_a_mac_the_shared_and_the_users_own_applications_are_looked_at():
    found = places("darwin", {"HOME": "/Users/ana"}, nowhere)
    assert found[0] == PurePosixPath("/Applications/Google Chrome.app/Contents/MacOS/Google Chrome")
    assert PurePosixPath("/Users/ana/Applications/Chromium.app/Contents/MacOS/Chromium") in found


def test_a_named_browser_that_is_not_there_is_not_replaced_by_another(monkeypatch, tmp_path):
    monkeypatch.setenv("FLOORBOOK_BROWSER", str(tmp_path / "none"))
    assert find_browser() is None


@pytest.mark.browser
def test_the_page_has_a_small_laptops_size_and_reaches_no_other_machine(page: Any):
    page.set_content("<p>floor</p>")
    assert page.evaluate("[innerWidth, innerHeight]") == [1366, 768]
    refused = "fetch('http://quarryhill.example/').then(() => 'reached', error => 'refused')"
    assert page.evaluate(refused) == "refused"


@pytest.mark.browser
def test_the_browser_plays_h264(page: Any):
    page.set_content("<video></video>")
    kind = 'video/mp4; codecs="avc1.640028, mp4a.40.2"'
    assert page.evaluate("kind => document.querySelector('video').canPlayType(kind)", kind) == "probably"


@pytest.mark.browser
def test_a_script_error_in_a_page_fails_the_test(inner_run: Callable[[str], str]):
    said = inner_run("def test_x(page):\n    page.set_content('<script>nowhere.at.all</script>')\n")
    assert "nowhere is not defined" in said and "1 error" in said


@pytest.fixture
def inner_run(tmp_path) -> Callable[[str], str]:
    """Runs a test file of its own under this project's conftest, and gives back what pytest said."""
    import subprocess
    import sys
    from pathlib import Path

    clone = Path(__file__).resolve().parents[2]

    def run(text: str) -> str:
        (tmp_path / "conftest.py").write_text("from tests.conftest import *\n", encoding="utf-8")
        (tmp_path / "test_inner.py").write_text(text, encoding="utf-8")
        command = [
            sys.executable,
            "-m",
            "pytest",
            "-q",
            "-p",
            "no:cacheprovider",
            str(tmp_path),
            f"--rootdir={tmp_path}",
        ]
        return subprocess.run(command, cwd=clone, capture_output=True, text=True, encoding="utf-8").stdout

    return run

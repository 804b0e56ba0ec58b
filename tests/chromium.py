"""Finding the Chrome, Chromium or Edge that a machine has. The tests drive that one; none is ever downloaded."""

import os
import shutil
import sys
from collections.abc import Callable, Mapping
from pathlib import Path, PurePath, PurePosixPath, PureWindowsPath

NAMES = (  # on the search path of Linux and other Unixes; first the one without windows: a page of it costs a sixth
    "chromium-headless-shell",
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "microsoft-edge",
    "microsoft-edge-stable",
)
MAC_APPLICATIONS = ("Google Chrome", "Chromium", "Microsoft Edge")
WINDOWS_PROGRAMS = (
    PureWindowsPath("Google", "Chrome", "Application", "chrome.exe"),
    PureWindowsPath("Chromium", "Application", "chrome.exe"),
    PureWindowsPath("Microsoft", "Edge", "Application", "msedge.exe"),
)


def find_browser() -> Path | None:
    """Path of the browser to drive: the one named in ``FLOORBOOK_BROWSER``, else the first one found here."""
    for place in places(sys.platform, os.environ, shutil.which):
        if Path(place).is_file():
            return Path(place)
    return None


def places(platform: str, environ: Mapping[str, str], which: Callable[[str], str | None]) -> list[PurePath]:
    """Where a browser may be, in the order in which to look.

    Parameters
    ----------
    platform : str
        As ``sys.platform`` names it.
    environ : mapping of str to str
        The environment's variables.
    which : callable
        Gives the path of a program on the search path, or None.

    Returns
    -------
    list of PurePath
        Candidates, of which some or all may not exist; only the one that ``FLOORBOOK_BROWSER`` names, when it does.
    """
    if named := environ.get("FLOORBOOK_BROWSER"):
        return [PureWindowsPath(named) if platform == "win32" else PurePosixPath(named)]
    if platform == "win32":
        roots = [environ.get(name) for name in ("PROGRAMFILES", "PROGRAMFILES(X86)", "LOCALAPPDATA")]
        return [PureWindowsPath(root) / program for program in WINDOWS_PROGRAMS for root in roots if root]
    if platform == "darwin":
        shared = PurePosixPath("/Applications")
        own = PurePosixPath(environ.get("HOME", "/")) / "Applications"
        inside = [PurePosixPath(f"{name}.app", "Contents", "MacOS", name) for name in MAC_APPLICATIONS]
        return [root / program for program in inside for root in (shared, own)]
    return [PurePosixPath(found) for name in NAMES if (found := which(name))]


def launch_arguments() -> list[str]:
    """Switches for the browser: quiet, no calls home, nothing reachable but this machine."""
    switches = [
        "--autoplay-policy=no-user-gesture-required",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-gpu",
        "--disable-quic",
        "--disable-sync",
        "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost",
        "--mute-audio",
        "--no-first-run",
    ]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        switches.append("--no-sandbox")  # Chromium's sandbox refuses root
    return switches

"""What the checks need from the system, installed by Debian's own means where that is allowed."""

import os
import platform
import shutil
import subprocess

from environment import SetupError


def can_install() -> bool:
    """Whether this is Debian and this user may install its packages."""
    try:
        system = platform.freedesktop_os_release().get("ID", "")
    except OSError:
        return False
    return system == "debian" and os.geteuid() == 0 and shutil.which("apt-get") is not None


def install(package: str, what_for: str) -> None:
    """Install one of Debian's packages, and say so.

    Parameters
    ----------
    package : str
        Its name.
    what_for : str
        What is missing, for the line that is printed.

    Raises
    ------
    SetupError
        When apt-get fails.
    """
    print(f"{what_for} is missing: installing Debian's package {package} (apt-get install {package})", flush=True)
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for command in (
        ["apt-get", "-qq", "update"],
        ["apt-get", "-qq", "--yes", "--no-install-recommends", "install", package],
    ):
        done = subprocess.run(
            command, env=quiet, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
        )
        if done.returncode:
            print(done.stdout[-2000:])
            raise SetupError(f"{' '.join(command)} failed; its own words are above")

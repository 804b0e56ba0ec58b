"""The locked versions are those that pyproject.toml asks for, on every system."""

import json
import tomllib

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests.house.tree import CLONE

PROJECT = tomllib.loads((CLONE / "pyproject.toml").read_text(encoding="utf-8"))


def pins(name: str) -> dict[str, Requirement]:
    """The requirements of one lock, by name."""
    lines = (CLONE / ".setup" / name).read_text(encoding="utf-8").splitlines()
    found = [Requirement(line) for line in lines if line and not line.startswith("#")]
    return {canonicalize_name(each.name): each for each in found}


def version(pin: Requirement) -> str:
    (only,) = pin.specifier
    assert only.operator == "==" and "*" not in only.version, str(pin)
    return only.version


def test_every_dependency_is_locked_within_its_bounds_on_every_system():
    run, dev = pins("lock.txt"), pins("lock-dev.txt")
    asked = [(run, text) for text in PROJECT["project"]["dependencies"]]
    asked += [(dev, text) for text in PROJECT["dependency-groups"]["dev"] if isinstance(text, str)]
    asked += [(lock, text) for lock in (run, dev) for text in PROJECT["dependency-groups"]["build"]]
    for lock, text in asked:
        wanted = Requirement(text)
        pin = lock[canonicalize_name(wanted.name)]
        assert wanted.specifier.contains(version(pin), prereleases=True), f"{text}: locked is {pin}"
        assert pin.marker is None, f"{pin}: only on some systems"


def test_the_programs_own_lock_is_a_part_of_the_developers():
    dev = pins("lock-dev.txt")
    assert {name: str(pin) for name, pin in pins("lock.txt").items()}.items() <= {
        name: str(pin) for name, pin in dev.items()
    }.items()


def test_the_lock_of_what_checks_the_pages_names_versions_and_digests_and_no_host():
    lock = json.loads((CLONE / ".setup" / "package-lock.json").read_text(encoding="utf-8"))
    packages = {name: facts for name, facts in lock["packages"].items() if name}
    assert set(packages) == {"node_modules/axe-core", "node_modules/typescript"}
    assert all(facts["integrity"].startswith("sha512-") and "resolved" not in facts for facts in packages.values())


def test_each_dependency_has_its_reason_in_the_developers_page():
    page = (CLONE / "DEVELOPERS.md").read_text(encoding="utf-8")
    asked = [
        *PROJECT["project"]["dependencies"],
        *PROJECT["dependency-groups"]["dev"],
        *PROJECT["dependency-groups"]["build"],
    ]
    names = [Requirement(text).name for text in asked if isinstance(text, str)]
    assert [name for name in [*names, "axe-core", "typescript"] if f"`{name}`" not in page] == []

"""What an attack and a bad night still break: each part a bench of its own, all of them under one name."""

from __future__ import annotations

import importlib
import pkgutil
from types import ModuleType

from tests.bench.figure import Figure

NAME = "hardening"
ABOUT = (
    "kills, torn and flipped bytes, full disks, malformed requests, crowds, what erasing leaves (all hardening.* parts)"
)


def parts() -> dict[str, ModuleType]:
    """The parts by name, in order of name."""
    names = sorted(each.name for each in pkgutil.iter_modules(__path__) if not each.name.startswith("_"))
    return {f"{NAME}.{name}": importlib.import_module(f"{__name__}.{name}") for name in names}


def run() -> list[Figure]:
    """All parts, one after the other.

    Returns
    -------
    list of Figure
        Each part's.
    """
    return [figure for part in parts().values() for figure in part.run()]

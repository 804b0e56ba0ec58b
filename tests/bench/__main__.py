"""Benches: what the program takes, against its goals.

    python -m tests.bench            list them
    python -m tests.bench NAME...    run some and print their figures; exit 1 when a goal is missed

A bench is a module of this folder with ``NAME``, ``ABOUT`` (one line) and ``run()``, its figures as a list, or one by
one where each takes minutes; those of a folder below (``hardening.kills``) are run alone or, by the folder's name,
together. Run them on a machine that does nothing else.
"""

import importlib
import pkgutil
import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from types import ModuleType
from typing import Any

import tests.bench
from tests.bench.figure import Figure, table

OURS = ("tagger", "analysis", "dashboard", "sample_data", "tests")
SET_UP = "run `python3 .setup/run.py check` once, which makes an environment with them, and use its .venv/bin/python"


@dataclass(frozen=True)
class Whole:
    """All benches of a folder under one name."""

    parts: tuple[ModuleType, ...]

    @property
    def ABOUT(self) -> str:
        """The parts' names."""
        return "all of " + ", ".join(part.NAME for part in self.parts)

    def run(self) -> Iterator[Figure]:
        """Each part's figures, one after the other."""
        for part in self.parts:
            yield from part.run()


def benches() -> dict[str, Any]:
    """All benches by name, in order of name; those of a folder alone and together under the folder's name."""
    found: dict[str, Any] = {}
    for each in pkgutil.iter_modules(tests.bench.__path__):
        if each.name.startswith("_"):
            continue
        module = importlib.import_module(f"tests.bench.{each.name}")
        if each.ispkg:
            names = [f"{module.__name__}.{part.name}" for part in pkgutil.iter_modules(module.__path__)]
            parts = [importlib.import_module(name) for name in names]
            parts = [part for part in parts if hasattr(part, "NAME")]
            found |= {part.NAME: part for part in parts} | {each.name: Whole(tuple(parts))}
        elif hasattr(module, "NAME"):
            found[module.NAME] = module
    return dict(sorted(found.items()))


def main(given: list[str]) -> int:
    """List the benches, or run the named ones.

    Parameters
    ----------
    given : list of str
        Names of benches.

    Returns
    -------
    int
        0 when no goal was missed, 1 when one was, 2 when there is no bench of a name or a package is missing.
    """
    try:
        known = benches()
    except ModuleNotFoundError as fault:
        if fault.name is None or fault.name.partition(".")[0] in OURS:
            raise
        print(f"benches need the checks' packages, and {fault.name} is not there; {SET_UP}", file=sys.stderr)
        return 2
    if not given:
        print("\n".join(f"{name:<12} {module.ABOUT}" for name, module in known.items()))
        return 0
    if unknown := [name for name in given if name not in known]:
        print(f"no bench is called {', '.join(unknown)}; there are {', '.join(known)}", file=sys.stderr)
        return 2
    missed = False
    for name in given:
        print(f"{name}: {known[name].ABOUT}", flush=True)
        figures = list(_told(known[name].run()))
        print(table(figures), flush=True)
        missed |= any(each.ok is False for each in figures)
    return int(missed)


def _told(figures: Iterable[Figure]) -> Iterator[Figure]:
    """Each as it is measured, told beside the table where a bench measures one after the other."""
    for each in figures:
        if not isinstance(figures, list):
            print(f"{each.name}: {each.value:.4g} {each.unit}", file=sys.stderr, flush=True)
        yield each


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

"""Benches: what the program takes, against its goals.

    python -m tests.bench            list them
    python -m tests.bench NAME...    run some and print their figures; exit 1 when a goal is missed

A bench is a module of this folder with ``NAME``, ``ABOUT`` (one line) and ``run() -> list[Figure]``; a package whose
``parts()`` gives such modules by name is run as a whole or part by part. Run them on a machine that does nothing else.
"""

import importlib
import pkgutil
import sys
from types import ModuleType

import tests.bench
from tests.bench.figure import table


def benches() -> dict[str, ModuleType]:
    """All benches by name, in order of name."""
    names = [each.name for each in pkgutil.iter_modules(tests.bench.__path__) if not each.name.startswith("_")]
    modules = [importlib.import_module(f"tests.bench.{name}") for name in names]
    found = {module.NAME: module for module in modules if hasattr(module, "NAME")}
    for module in list(found.values()):  # a bench of several parts, each of which can be run alone
        found |= module.parts() if hasattr(module, "parts") else {}
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
        0 when no goal was missed, 1 when one was, 2 when there is no bench of a name.
    """
    known = benches()
    if not given:
        print("\n".join(f"{name:<12} {module.ABOUT}" for name, module in known.items()))
        return 0
    if unknown := [name for name in given if name not in known]:
        print(f"no bench is called {', '.join(unknown)}; there are {', '.join(known)}", file=sys.stderr)
        return 2
    missed = False
    for name in given:
        print(f"{name}: {known[name].ABOUT}", flush=True)
        figures = known[name].run()
        print(table(figures), flush=True)
        missed |= any(each.ok is False for each in figures)
    return int(missed)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

"""Who imports whom, read from the source: the arrows of DEVELOPERS.md as data, and what breaks them."""

import ast
from collections.abc import Collection, Mapping
from dataclasses import dataclass

from tests.house.tree import PACKAGES

MAY_IMPORT = {  # of the project's own modules
    "tagger": ("tagger",),
    "analysis": ("analysis", "tagger.tables"),
    "dashboard": ("dashboard", "analysis", "tagger", "sample_data"),
    "sample_data": ("sample_data", "tagger"),
}
WEB = ("dash", "flask", "http", "plotly", "socket", "urllib", "waitress", "werkzeug", "tagger.screen")
FILES = ("io", "os", "pathlib", "shutil", "sqlite3", "tempfile")
CHANCE = ("random", "time")
MAY_NOT_IMPORT = {
    "tagger.film": ("tagger.marks", "tagger.screen", "tagger.tables"),
    "tagger.floor": ("tagger.marks", "tagger.screen", "tagger.tables"),
    "tagger.marks": WEB,
    "tagger.marks.fold": (*FILES, *CHANCE),
    "tagger.marks.strokes": (*FILES, *CHANCE),
    "tagger.marks.sentences": (*FILES, *CHANCE),
    "analysis": (*WEB, *FILES, *CHANCE),
}
ONLY_IN = {  # a library, and the places that may touch it
    "av": ("tagger.film", "sample_data.drawn.film"),
    "cv2": ("tagger.film", "sample_data"),
    "dash": ("dashboard",),
    "flask": ("tagger.screen", "dashboard"),
    "waitress": ("dashboard",),
}
NOT_EVERYWHERE = (  # modules that one of Windows, macOS and Linux lacks
    *("crypt", "fcntl", "grp", "posix", "pty", "pwd", "readline", "resource", "spwd", "syslog", "termios", "tty"),
    *("msvcrt", "winreg", "winsound", "_winapi"),
)


@dataclass(frozen=True)
class Import:
    """One imported name, in full; ``at_load`` when it happens as soon as the module loads, whatever the system."""

    target: str
    line: int
    at_load: bool


def imports(tree: ast.Module, module: str, *, is_package: bool = False) -> list[Import]:
    """All names that a module imports, relative ones resolved.

    Parameters
    ----------
    tree : ast.Module
        Its syntax.
    module : str
        Its dotted name.
    is_package : bool
        Whether it is a package's ``__init__``.

    Returns
    -------
    list of Import
        In order of line. ``from a import b`` gives ``a.b``, whether b is a module or not.
    """
    at_load = {id(node) for node in tree.body}
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found += [Import(alias.name, node.lineno, id(node) in at_load) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                above = module.split(".")[: None if is_package and node.level == 1 else is_package - node.level]
                base = ".".join([*above, base] if base else above)
            found += [Import(f"{base}.{alias.name}", node.lineno, id(node) in at_load) for alias in node.names]
    return sorted(found, key=lambda each: each.line)


def breaches(module: str, found: list[Import]) -> list[str]:
    """What in a module's imports breaks an arrow.

    Parameters
    ----------
    module : str
        Dotted name of the module that imports.
    found : list of Import
        What it imports.

    Returns
    -------
    list of str
        One line each, with module, line and reason.
    """
    told = []
    top = module.split(".")[0]
    for each in found:
        reasons = []
        if each.target.split(".")[0] in PACKAGES and not under(each.target, MAY_IMPORT[top]):
            reasons.append(f"{top} may import only {', '.join(MAY_IMPORT[top])}")
        for place, forbidden in MAY_NOT_IMPORT.items():
            if under(module, (place,)) and under(each.target, forbidden):
                reasons.append(f"{place} may not know of it")
        for library, allowed in ONLY_IN.items():
            if under(each.target, (library,)) and not under(module, allowed):
                reasons.append(f"only {', '.join(allowed)} may touch {library}")
        if each.at_load and under(each.target, NOT_EVERYWHERE):
            reasons.append("not every system has it: import it where it is used")
        told += [f"{module}, line {each.line}: imports {each.target}: {reason}" for reason in reasons]
    return told


def under(name: str, places: tuple[str, ...]) -> bool:
    """Whether a dotted name is one of some places or lies inside one."""
    return any(name == place or name.startswith(place + ".") for place in places)


def arrows_of(sources: Mapping[str, ast.Module]) -> dict[str, set[str]]:
    """Which module imports which, wherever in it the import stands: in a function, or for the types alone too.

    Parameters
    ----------
    sources : mapping of str to ast.Module
        Dotted name → syntax, of all modules that are asked about.

    Returns
    -------
    dict of str to set of str
        Only arrows among them.
    """
    found: dict[str, set[str]] = {module: set() for module in sources}
    for module, tree in sources.items():
        for each in imports(tree, module):
            target = each.target if each.target in sources else each.target.rpartition(".")[0]
            if target in sources and target != module:
                found[module].add(target)
    return found


def circles(arrows: Mapping[str, Collection[str]]) -> list[list[str]]:
    """Modules that import each other, directly or round about.

    Parameters
    ----------
    arrows : mapping of str to collection of str
        As `arrows_of` gives them.

    Returns
    -------
    list of list of str
        Each circle's modules by name; each way back from one to itself goes through these alone.
    """
    reached = {module: _reached(module, arrows) for module in arrows}
    found = {frozenset(one for one in ahead if module in reached[one]) for module, ahead in reached.items()}
    return sorted(sorted(circle) for circle in found if circle)


def _reached(module: str, arrows: Mapping[str, Collection[str]]) -> set[str]:
    """Where one comes from a module by its arrows; to itself only round a circle."""
    seen: set[str] = set()
    ahead = list(arrows[module])
    while ahead:
        one = ahead.pop()
        if one not in seen:
            seen.add(one)
            ahead += arrows[one]
    return seen


def handed_to_its_own(tree: ast.Module) -> list[tuple[int, str]]:
    """Where an object hands itself to what it keeps (``self.b = B(self)``): a circle that no import shows.

    Parameters
    ----------
    tree : ast.Module
        A module's syntax.

    Returns
    -------
    list of (int, str)
        Line and attribute.
    """
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Assign) and isinstance(node.value, ast.Call):
            if not ast.unparse(node.value.func).rpartition(".")[2][:1].isupper():
                continue  # a function, which keeps nothing
            given = [*node.value.args, *(word.value for word in node.value.keywords)]
            if any(isinstance(one, ast.Name) and one.id == "self" for one in given):
                found += [(node.lineno, one.attr) for one in node.targets if isinstance(one, ast.Attribute)]
    return found

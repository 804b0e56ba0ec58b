"""Who imports whom, read from the source: the arrows of DEVELOPERS.md as data, and what breaks them."""

import ast
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
    "cv2": ("tagger.film", "tagger.floor", "sample_data"),
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

"""What no way through the program reaches: modules, functions and constants that tests alone use."""

import ast
from collections import Counter
from collections.abc import Collection, Iterator, Mapping

from tests.house.arrows import imports


def begins(trees: Mapping[str, ast.Module]) -> set[str]:
    """Modules that are started by their name: ``python -m …``, and the command line's own."""
    asked = {
        name
        for name, tree in trees.items()
        if any(isinstance(one, ast.If) and "__name__" in ast.unparse(one.test) for one in tree.body)
    }
    return asked | {name for name in trees if name.endswith("__main__")}


def reached(trees: Mapping[str, ast.Module], first: Collection[str]) -> set[str]:
    """Modules to which one comes from some others by imports, wherever they stand in them.

    Parameters
    ----------
    trees : mapping of str to ast.Module
        Dotted name → syntax, of all modules.
    first : collection of str
        Where one begins.

    Returns
    -------
    set of str
        With those.
    """
    found: set[str] = set()
    ahead = list(first)
    while ahead:
        module = ahead.pop()
        if module in found or module not in trees:
            continue
        found.add(module)
        for each in imports(trees[module], module):
            ahead += [each.target, each.target.rpartition(".")[0]]
        ahead += [word for word in _words(trees[module]) if "." in word]  # started by its name in a child
    return found


def idle(trees: Mapping[str, ast.Module], also: str = "") -> list[str]:
    """Names that are defined in some modules and used in none of them.

    Parameters
    ----------
    trees : mapping of str to ast.Module
        Dotted name → syntax, of the modules that are reached.
    also : str
        Texts that may name some: templates, scripts of the pages.

    Returns
    -------
    list of str
        ``module.name`` or ``module.Class.name``. Where one name has several definitions, a use is one of all.
    """
    used: Counter[str] = Counter()
    for tree in trees.values():
        used.update(_uses(tree))
    told = []
    for module, tree in trees.items():
        for path, node in _definitions(tree):
            name = path.rpartition(".")[2]
            within = Counter(_uses(node))[name] if isinstance(node, ast.FunctionDef | ast.ClassDef) else 1
            if used[name] <= within and name not in also:
                told.append(f"{module}.{path}")
    return sorted(told)


def _definitions(tree: ast.Module) -> Iterator[tuple[str, ast.AST]]:
    """Functions, classes and constants of a module, methods and fields of its classes; decorated ones may be routes."""
    for node in tree.body:
        if isinstance(node, ast.FunctionDef) and not _is_taken(node):
            yield node.name, node
        elif isinstance(node, ast.ClassDef):
            yield node.name, node
            overrides = any(ast.unparse(base) not in ("Protocol",) for base in node.bases)
            for one in node.body:
                if isinstance(one, ast.FunctionDef) and not one.name.startswith("__") and not overrides:
                    yield f"{node.name}.{one.name}", one
                elif isinstance(one, ast.AnnAssign) and isinstance(one.target, ast.Name):
                    yield f"{node.name}.{one.target.id}", one
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            for target in node.targets if isinstance(node, ast.Assign) else [node.target]:
                if isinstance(target, ast.Name) and not target.id.startswith("__"):
                    yield target.id, node


def _is_taken(node: ast.FunctionDef) -> bool:
    """Whether a decorator hands a function to somebody who calls it, as a route's does."""
    return any(not ast.unparse(one).endswith(("cache", "contextmanager")) for one in node.decorator_list)


def _uses(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Name):
            yield node.id
        elif isinstance(node, ast.Attribute):
            yield node.attr
        elif isinstance(node, ast.keyword) and node.arg:
            yield node.arg
        elif isinstance(node, ast.alias) and node.asname:
            yield node.name
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value.isidentifier():
            yield node.value


def _words(tree: ast.Module) -> Iterator[str]:
    return (node.value for node in ast.walk(tree) if isinstance(node, ast.Constant) and isinstance(node.value, str))

"""What only tests reach is used by the program or goes; and the search can find something."""

import ast

from tests.house.tree import CLONE, PACKAGES, dotted, files, modules, parsed
from tests.house.wings import begins, idle, reached

ORACLES = ("tagger.marks.offers", "tagger.marks.questions", "tagger.marks.strokes")
"""What the page's own modules are held against; their first lines say so."""
FOR_OTHERS = {
    "tagger.marks.resolve.last_to_redo": "the page's twin is held against it",
    "tagger.marks.resolve.last_to_undo": "the page's twin is held against it",
    "dashboard.table_files.read_csv": "reads back what was written for other programs",
    "dashboard.serving.lanes.Lanes.add_task": "waitress calls it",
    "dashboard.terminal.Shown.writelines": "print and logging may call it",
    "sample_data.rates.SetRates.p_shot": "the truth that estimates are held against",
    "analysis.stats.told_apart.ToldApart.odds_ratio": "the published value is held against it",
}


def program() -> dict[str, ast.Module]:
    return {dotted(path): parsed(path) for path in modules(*PACKAGES)}


def test_every_module_is_reached_by_the_program_or_says_what_it_is_for():
    trees = program()
    packages = {dotted(path) for path in modules(*PACKAGES) if path.name == "__init__.py"}
    left = set(trees) - reached(trees, {"dashboard.cli"} | begins(trees)) - packages
    assert left == set(ORACLES)
    for name in ORACLES:
        assert (ast.get_docstring(trees[name]) or "").startswith("Oracle of the page's `"), name


def test_every_name_is_used_by_the_program_or_says_what_it_is_for():
    trees = program()
    alive = reached(trees, {"dashboard.cli"} | begins(trees))
    pages = [path for path in files() if path.parts[0] in PACKAGES and path.suffix in (".html", ".js")]
    said = "\n".join((CLONE / path).read_text(encoding="utf-8") for path in pages)
    assert idle({name: trees[name] for name in alive}, said) == sorted(FOR_OTHERS)


def test_a_module_and_a_name_that_nobody_uses_are_found():
    trees = {
        "a.start": ast.parse("from a import b\nprint(b.used(), b.One().known)"),
        "a.b": ast.parse(
            "LEFT = 1\ndef used(): ...\ndef idle(n): return idle(n - 1)\n"
            "class One:\n    known: int = 0\n    def lost(self): ..."
        ),
        "a.c": ast.parse("import a.b"),
    }
    alive = reached(trees, {"a.start"})
    assert alive == {"a.start", "a.b"}
    assert idle({name: trees[name] for name in alive}) == ["a.b.LEFT", "a.b.One.lost", "a.b.idle"]
    assert begins({"a": ast.parse("if __name__ == '__main__':\n    main()"), "b": ast.parse("x = 1")}) == {"a"}

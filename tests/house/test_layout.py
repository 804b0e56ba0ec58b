"""The shape of the tree: what may stand where, how long a module may be, and what no file may say."""

import re

from tests.house.tree import CLONE, PACKAGES, files

TOP = {
    "README.md",
    "DEVELOPERS.md",
    "LICENSE",
    "pyproject.toml",
    "tagger",
    "analysis",
    "dashboard",
    "tests",
    "sample_data",
}
LONGEST = 450  # lines; a module above it has a second noun in it
BINARY = {".db", ".gz", ".jpg", ".mp4", ".png", ".woff2"}


def test_the_top_level_holds_only_what_the_map_lists():
    tops = {path.parts[0] for path in files()}
    assert {name for name in tops if not name.startswith(".")} <= TOP


def test_package_init_files_are_empty():
    full = [path.as_posix() for path in files() if path.name == "__init__.py" and (CLONE / path).stat().st_size]
    assert full == []


def test_every_folder_with_modules_is_a_package():
    """Without it, two test files of one name clash, and a folder is missing from an installed copy."""
    folders = {path.parent for path in files() if path.suffix == ".py" and path.parts[0] in (*PACKAGES, "tests")}
    assert [path.as_posix() for path in sorted(folders) if not (CLONE / path / "__init__.py").exists()] == []


def test_no_module_has_grown_past_one_noun():
    long = {}
    for path in files():
        if path.suffix in (".py", ".js"):
            n_lines = len((CLONE / path).read_text(encoding="utf-8").splitlines())
            if n_lines > LONGEST:
                long[path.as_posix()] = n_lines
    assert long == {}


def test_no_module_is_called_by_a_word_that_names_nothing():
    vague = {"utils", "util", "helpers", "helper", "common", "misc", "shared", "base"}
    assert [path.as_posix() for path in files() if path.suffix in (".py", ".js") and path.stem in vague] == []


def test_no_file_names_a_place_of_one_machine_or_a_package_registry():
    told = []
    for path in files():
        if path.suffix not in BINARY:
            for number, line in enumerate((CLONE / path).read_text(encoding="utf-8").splitlines(), start=1):
                told += [f"{path.as_posix()}, line {number}: {found}" for found in foreign(line)]
    assert not told, "\n" + "\n".join(told)


def test_a_foreign_place_is_seen():
    assert foreign("open('" + "/tm" + "p/x.db')") and foreign("https://" + "pypi" + ".org/simple")
    assert not foreign("the work/rest of it, opt/out, static/tmp/x, https://www.w3.org/TR/WCAG22/")


def foreign(line: str) -> list[str]:
    """Places in a line that mean nothing on another machine: absolute folders, hosts of package registries."""
    folders = "|".join(("wo" + "rk", "tm" + "p", "op" + "t", "ro" + "ot", "ho" + "me"))
    hosts = "|".join(("pypi" + r"\.org", "python" + r"hosted\.org", "npm" + r"js\.(?:org|com)", "yarn" + r"pkg\.com"))
    return re.findall(rf"(?<![\w./-])/(?:{folders})/[\w.-]+|(?:{hosts})", line)

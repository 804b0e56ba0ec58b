"""Ten thousand letters in a name widen no page, on a telephone or on a laptop."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from dashboard.pages.registry import PAGES
from tagger.season import Season
from tests.counts import cases
from tests.dashboard.test_browser import settled_width
from tests.served import Served

pytestmark = pytest.mark.browser

LONG = "Wa" * 5000
ADDRESSES = (
    *(page.address.format(set="lantern", player="14", game="g1").lstrip("/") for page in PAGES.values()),
    *("films", "tag/g1"),
)


@pytest.fixture(scope="module")
def long_named(built: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The small season with endless names of everything that has one."""
    folder = Path(shutil.copytree(built, tmp_path_factory.mktemp("long") / "herons"))
    for name, pattern in (
        ("season.toml", r'(?m)^(team = ")[^"]*'),
        ("playbook.toml", r'(?m)^(\s*name = ")[^"]*'),
        ("roster.csv", r"(?m)^(\d+,)[^,]*"),
    ):
        path = folder / name
        text, n = re.subn(pattern, rf"\g<1>{LONG}", path.read_text(encoding="utf-8"))
        assert n
        path.write_text(text, encoding="utf-8")
    season = Season.open(folder)
    with season.store.writing() as db:
        db.execute("UPDATE games SET opponent = ?, about = ?", (LONG, LONG))
        db.execute("UPDATE films SET name = ?", (LONG,))
    last = season.journal.books("g1")[0].last_n
    note = {"v": 1, "id": "long", "n": last + 1, "by": "coach", "wall": "", "does": "mark", "kind": "note"}
    film = season.shelf.films("g1")[0].id
    note |= {"film": film, "at_ms": 8000, "answers": {"text": LONG[:4000]}}
    other = [{**note, "id": f"other{n}", "n": n} for n in (1, 2)]
    assert [
        one.why for one in (*season.journal.add("g1", "coach", [note]), *season.journal.add("g1", "b" * 60, other))
    ] == [""] * 3
    season.close()
    made = Served(folder)
    yield made
    made.stop()


def test_ten_thousand_letters_in_a_name_do_not_widen_a_page(new_page: Any, long_named: Served) -> None:
    page = new_page()
    wide = {}
    for path in ADDRESSES[:: cases(3, many=1)]:  # of the names every third page has all
        page.goto(long_named.address + path)
        page.wait_for_selector("#page h1" if path != "films" and not path.startswith("tag") else "h1, body[data-ready]")
        if path.startswith("tag"):
            page.wait_for_selector('body[data-ready="film"]')
            for key in ("s", "Escape", "?"):
                page.keyboard.press(key)
        for width in (390, 1280):
            page.set_viewport_size({"width": width, "height": 800})
            found = settled_width(page, width)
            if found > width:
                wide[path, width] = found
    assert wide == {}

"""What axe-core finds on a few pages of every sort; `python -m tests.bench accessibility` looks at all."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest

from tests.bench.accessibility import addresses, faults, opened
from tests.counts import cases
from tests.served import Served

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = pytest.mark.browser


def test_nothing_that_axe_knows_is_in_anybodys_way(new_page: Callable[..., Page], served: Served) -> None:
    """Deque Systems, axe-core: WCAG 2.2 A and AA as far as a program can tell, and good practice."""
    page = new_page(390, 844, color_scheme="dark")
    found = {}
    for path in addresses()[:: cases(4, many=1)]:
        opened(page, served, path)
        if told := faults(page):
            found[path] = told
    assert found == {}


def test_what_is_in_the_way_is_found(page: Page) -> None:
    page.set_content("<html lang=en><title>x</title><main><h1>x</h1><button></button></main></html>")
    assert [fault.split(",")[0] for fault in faults(page)] == ["button-name"]

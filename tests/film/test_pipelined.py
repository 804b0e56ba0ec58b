"""Working ahead in another thread."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator

import pytest

from tagger.film.pipelined import pipelined


def test_items_come_in_order_and_are_made_in_another_thread() -> None:
    made_in: set[str] = set()

    def items() -> Iterator[int]:
        for n in range(50):
            made_in.add(threading.current_thread().name)
            yield n

    with pipelined(items()) as ready:
        assert list(ready) == list(range(50))
    assert made_in == {"film-ahead"}


def test_no_more_is_made_than_may_wait() -> None:
    made: list[int] = []

    def items() -> Iterator[int]:
        for n in range(100):
            made.append(n)
            yield n

    with pipelined(items(), depth=3) as ready:
        assert next(ready) == 0
        time.sleep(0.3)
        assert len(made) <= 5
    assert len(made) <= 6
    assert "film-ahead" not in {thread.name for thread in threading.enumerate()}


def test_an_error_comes_where_its_item_would_have_come() -> None:
    def items() -> Iterator[int]:
        yield 1
        raise ValueError("torn")

    with pipelined(items()) as ready:
        assert next(ready) == 1
        with pytest.raises(ValueError, match="torn"):
            next(ready)


def test_leaving_by_an_error_ends_the_thread() -> None:
    with pytest.raises(RuntimeError), pipelined(iter(range(10**9))) as ready:
        next(ready)
        raise RuntimeError
    assert "film-ahead" not in {thread.name for thread in threading.enumerate()}

"""Small cases of what is measured at length in `tests.bench.hardening`: flipped bytes, torn logs, kills, no room."""

from __future__ import annotations

import os

import pytest

from tests.bench.hardening import flipped, full_disk, kills, torn


def test_a_flipped_byte_ends_in_words_and_costs_no_entry_outside_its_page(tmp_path):
    figures = list(flipped.flipped(tmp_path, 6, 40, commands=("check", "tables", "rescue")))
    assert [figure.name for figure in figures if figure.ok is False] == []
    assert {figure.name: figure.value for figure in figures}["entries of the season"] > 40


def test_a_torn_copy_opens_with_a_clean_beginning(tmp_path):
    assert torn.torn(tmp_path, 8, 60) == (8, 8, 0)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="a copy of a process can't be made there")
def test_nothing_acknowledged_is_lost_by_a_kill(tmp_path):
    acknowledged, lost, broken = kills.writers(tmp_path / "herons", 10)
    assert acknowledged and (lost, broken) == (0, 0)


@pytest.mark.skipif(os.name == "nt", reason="no limit on a file's size there")
def test_no_room_is_told_as_no_room_and_leaves_nothing_half(tmp_path):
    figures = list(full_disk.full(tmp_path, (3_000,), 12))
    assert [figure.name for figure in figures if figure.ok is False] == []

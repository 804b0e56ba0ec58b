"""The truth's file: written and read back the same, to the byte; other versions refused."""

from __future__ import annotations

import gzip
import json
from pathlib import Path

import pytest

from sample_data.sim import simulate_game
from sample_data.truth import Truth, read_truth, truth_bytes, write_truth


def test_a_truth_reads_back_as_it_was_written(tmp_path: Path, truth: Truth) -> None:
    for one in (truth, simulate_game(2, "Fernbank").truth):
        write_truth(one, tmp_path / "t.truth.json.gz")
        assert read_truth(tmp_path / "t.truth.json.gz") == one
        assert truth_bytes(read_truth(tmp_path / "t.truth.json.gz")) == truth_bytes(one)


def test_another_version_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "t.truth.json.gz"
    path.write_bytes(gzip.compress(json.dumps({"version": 9}).encode()))
    with pytest.raises(ValueError, match=r"t\.truth\.json\.gz is truth version 9; this program reads 1"):
        read_truth(path)


def test_the_clock_and_the_score_can_be_asked(truth: Truth) -> None:
    assert truth.left_on_clock_s(0) is None
    assert truth.left_on_clock_s(truth.periods[0].start_ms) == 900
    assert sum(truth.score()) == sum(shot.result == "goal" for shot in truth.shots)

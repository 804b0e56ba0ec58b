"""The frame that lists benches and prints their figures."""

import re
import subprocess
import sys
from types import SimpleNamespace

import pytest

from tests.bench import __main__ as frame
from tests.bench.figure import Figure, at_least, at_most, table
from tests.house.tree import CLONE


@pytest.fixture
def two_benches(monkeypatch):
    quick = SimpleNamespace(NAME="quick", ABOUT="a key press", run=lambda: [at_most("p95", 32.0, "ms", 50)])
    slow = SimpleNamespace(
        NAME="slow", ABOUT="a cut", run=lambda: [at_most("p95", 61.0, "ms", 50), Figure("n", 3, "clips")]
    )
    monkeypatch.setattr(frame, "benches", lambda: {"quick": quick, "slow": slow})


def test_without_a_name_the_benches_are_listed(two_benches, capsys):
    assert frame.main([]) == 0
    assert capsys.readouterr().out.splitlines() == ["quick        a key press", "slow         a cut"]


def test_a_missed_goal_is_named_and_is_exit_code_1(two_benches, capsys):
    assert frame.main(["quick"]) == 0
    assert frame.main(["quick", "slow"]) == 1
    assert "p95    61 ms  goal ≤ 50 ms  MISSED\nn    3 clips\n" in capsys.readouterr().out


def test_a_bench_that_does_not_exist_is_wrong_usage(two_benches, capsys):
    assert frame.main(["fast"]) == 2
    assert capsys.readouterr().err == "no bench is called fast; there are quick, slow\n"


def test_a_goal_is_met_at_its_very_value():
    assert at_most("a", 5, "s", 5).ok and not at_most("a", 5.01, "s", 5).ok
    assert at_least("a", 5, "s", 5).ok and not at_least("a", 4.99, "s", 5).ok
    assert Figure("a", 5, "s").ok is None


def test_no_figures_are_an_empty_table():
    assert table([]) == ""


def test_the_real_benches_say_what_they_measure():
    for name, module in frame.benches().items():
        assert name and module.ABOUT and callable(module.run)


def test_without_the_checks_packages_one_line_says_what_to_do():
    hide = "import sys; sys.modules['playwright'] = sys.modules['hypothesis'] = sys.modules['pytest'] = None; "
    command = [sys.executable, "-c", f"{hide}import runpy; runpy.run_module('tests.bench', run_name='__main__')"]
    told = subprocess.run(command, cwd=CLONE, capture_output=True, text=True, check=False)
    assert told.returncode == 2 and told.stdout == ""
    assert re.fullmatch(r"benches need the checks' packages, and [a-z.]+ is not there; run `.*\n", told.stderr), (
        told.stderr
    )


def test_a_module_of_our_own_that_is_missing_is_a_fault_and_no_missing_package(monkeypatch):
    def broken():
        raise ModuleNotFoundError("No module named 'tagger.gone'", name="tagger.gone")

    monkeypatch.setattr(frame, "benches", broken)
    with pytest.raises(ModuleNotFoundError):
        frame.main([])

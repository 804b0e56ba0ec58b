"""The environment of a clone is made when it must be, and left alone when it needn't."""

import importlib.util
import subprocess

import environment
import pytest
import verbs
from environment import SetupError


@pytest.fixture
def clone(tmp_path, monkeypatch):
    """A clone whose environment is made by two stand-ins, which note each time they are called."""
    (tmp_path / ".setup").mkdir()
    (tmp_path / "pyproject.toml").write_text("[project]\n", encoding="utf-8")
    locks = {level: tmp_path / ".setup" / f"{level}.txt" for level in ("run", "dev")}
    for lock in locks.values():
        lock.write_text("numpy==1\n", encoding="utf-8")
    monkeypatch.setattr(environment, "CLONE", tmp_path)
    monkeypatch.setattr(environment, "PLACE", tmp_path / ".venv")
    monkeypatch.setattr(environment, "LOCKS", locks)
    monkeypatch.setattr(environment, "done", done := [], raising=False)

    def make_venv(command, **options):
        done.append("make")
        environment.program("python").parent.mkdir(parents=True)
        environment.program("python").write_text("", encoding="utf-8")
        return type("Done", (), {"returncode": 0})

    monkeypatch.setattr(subprocess, "run", make_venv)
    monkeypatch.setattr(environment, "_pip", lambda *arguments: done.append(arguments[-1]))
    return tmp_path, done


def test_the_second_time_nothing_is_done(clone):
    _, done = clone
    environment.make_ready("run")
    n_first = len(done)
    environment.make_ready("run")
    assert done[0] == "make" and n_first == 3 and len(done) == n_first


def test_a_developers_environment_also_runs_the_program_but_not_the_other_way_round(clone):
    folder, done = clone
    environment.make_ready("dev")
    environment.make_ready("run")
    assert done == ["make", str(folder / ".setup" / "dev.txt"), str(folder)]
    (folder / ".venv" / "ready-dev").unlink()
    environment.make_ready("run")
    environment.make_ready("dev")
    assert done[-2:] == [str(folder / ".setup" / "dev.txt"), str(folder)]


@pytest.mark.parametrize("changed", [".setup/run.txt", "pyproject.toml"])
def test_a_changed_lock_is_installed_into_the_same_environment(clone, changed):
    folder, done = clone
    environment.make_ready("run")
    (folder / changed).write_text("other\n", encoding="utf-8")
    environment.make_ready("run")
    assert done.count("make") == 1 and len(done) == 5


def test_a_moved_clone_or_another_python_gets_a_new_environment(clone, monkeypatch):
    folder, done = clone
    environment.make_ready("run")
    (folder / ".venv" / environment.MARK).write_text("elsewhere\n3.10\n", encoding="utf-8")
    environment.make_ready("run")
    assert done.count("make") == 2


def test_an_interrupted_install_is_done_again(clone, monkeypatch):
    _, done = clone
    pip = environment._pip
    monkeypatch.setattr(environment, "_pip", lambda *arguments: (_ for _ in ()).throw(SetupError("cable out")))
    with pytest.raises(SetupError):
        environment.make_ready("run")
    monkeypatch.setattr(environment, "_pip", pip)
    environment.make_ready("run")
    assert len(done) == 3


def test_an_environment_of_other_origin_is_not_touched(clone):
    folder, done = clone
    (folder / ".venv").mkdir()
    (folder / ".venv" / "pyvenv.cfg").write_text("home = somewhere\n", encoding="utf-8")
    with pytest.raises(SetupError, match="was not made by this command"):
        environment.make_ready("run")
    assert done == [] and (folder / ".venv" / "pyvenv.cfg").exists()


def test_a_python_without_venv_is_told_in_one_line(clone, monkeypatch, capsys):
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    assert verbs.run(["demo"], usage="") == 1
    assert capsys.readouterr().err == (
        "demo: Python's venv module is not complete here: on Debian, apt-get install python3-venv\n"
    )


def test_an_unknown_verb_shows_the_usage(capsys):
    assert verbs.run(["dance"], usage="\nthe usage\n") == 2
    assert verbs.run([], usage="\nthe usage\n") == 2
    assert capsys.readouterr().err == "the usage\nthe usage\n"

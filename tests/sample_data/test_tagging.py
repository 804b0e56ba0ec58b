"""What a careful coach marks folds to what truly happened."""

from __future__ import annotations

from typing import Any

import pytest

from sample_data.journals import HERE, SampleGame, games, sample_game
from sample_data.squad import SEASON
from sample_data.tagging import tag
from sample_data.truth import Truth
from tagger.marks.entries import read_lines
from tagger.marks.fold import FilmSpan, Folded, GameFacts, fold
from tagger.marks.vocabulary import language
from tagger.texts.folder import read_texts

TEXTS = read_texts(SEASON)
LANGUAGE = language(TEXTS.playbook, lines=TEXTS.lines)


def folded(truth: Truth, level: str) -> Folded:
    roster = frozenset(player.number for player in TEXTS.roster)
    facts = GameFacts("g", "anna", LANGUAGE, (FilmSpan("f1", 0, truth.length_ms),), roster)
    return fold(tag(truth, "g", "f1", level=level, lines=TEXTS.lines if level == "whole" else ()), facts)


@pytest.fixture(scope="module")
def season() -> list[SampleGame]:
    return [sample_game(about) for about in games()]


def differences(rows: list[dict[str, Any]], truths: list[Any], names: tuple[str, ...]) -> list[str]:
    assert len(rows) == len(truths)
    found = []
    for row, true in zip(rows, truths, strict=True):
        for name in names:
            if row.get(name) != getattr(true, name):
                found.append(f"{name}: {row.get(name)!r} for {true}")
    return found


POSSESSION = ("period", "team", "strength", "gained", "settled_ms", "start_ms", "end_ms", "ended")
RUN = ("team", "strength", "order", "set", "side", "phase", "start_ms", "end_ms", "look", "ended")
SCREEN = ("at_ms", "team", "free", "setter", "user")
SHOT = ("at_ms", "team", "strength", "shooter", "feeder", "result", "recovered", "cause")
TURNOVER = ("at_ms", "team", "strength", "player", "kind")


@pytest.mark.parametrize("level", ["main", "whole"])
@pytest.mark.parametrize("place", range(8))
def test_the_marks_of_a_game_fold_to_the_truth_s_tables(season: list[SampleGame], place: int, level: str) -> None:
    truth = season[place].truth
    whole = level == "whole"
    made = folded(truth, level)
    rows = made.rows
    assert made.problems == ()
    assert differences(rows["possessions"], list(truth.possessions), POSSESSION) == []
    in_order = sorted(truth.runs, key=lambda run: (run.start_ms, run.order))
    told = sorted(rows["runs"], key=lambda row: (row["start_ms"], row["order"]))
    assert differences(told, in_order, (*RUN, "penalty_drawn", *(("look_open",) if whole else ()))) == []
    more = ("coverage", "kind", "setter_next", "side") if whole else ()
    assert differences(rows["screens"], list(truth.screens), (*SCREEN, *more)) == []
    assert differences(rows["shots"], list(truth.shots), (*SHOT, *(("feeder2", "x_m", "y_m") if whole else ()))) == []
    assert differences(rows["turnovers"], list(truth.turnovers), (*TURNOVER, *(("where",) if whole else ()))) == []
    assert [(row["at_ms"], row["won"]) for row in rows["faceoffs"]] == [(f.at_ms, f.won_by) for f in truth.face_offs]
    assert [row["at_ms"] for row in rows["penalties"]] == [penalty.drawn_ms for penalty in truth.penalties]
    runs_of = {row["id"]: true.id for row, true in zip(told, in_order, strict=True)}
    for table, truths in (("screens", truth.screens), ("shots", truth.shots), ("turnovers", truth.turnovers)):
        assert [runs_of[row["run"]] for row in rows[table]] == [true.run for true in truths]
    parents = [row["parent"] and runs_of[row["parent"]] for row in told]
    assert parents == [run.parent for run in in_order]
    if whole:
        filled = sorted((runs_of[row["run"]], row["role"], row["player"]) for row in rows["roles"])
        assert filled == sorted((run.id, role, number) for run in truth.runs for role, number in run.roles.items())
        graded = [(runs_of[row["run"]], row["player"], row["checkpoint"], row["grade"]) for row in rows["grades"]]
        assert graded == [(grade.run, grade.player, grade.checkpoint, grade.grade) for grade in truth.grades]
        assert len(rows["loose_balls"]) == len(truth.loose_balls)
        changes = {row["at_ms"]: set(row["players"].split()) for row in rows["lines"]}
        assert changes == {line.at_ms: set(line.players) for line in truth.lines if line.team == "ours"}


@pytest.mark.parametrize("place", range(8))
def test_crossing_centre_is_told_wherever_the_possession_was_played_out(season: list[SampleGame], place: int) -> None:
    truth = season[place].truth
    rows = folded(truth, "whole").rows["possessions"]
    for row, true in zip(rows, truth.possessions, strict=True):
        assert row["crossed"] in ((true.crossed,) if true.ended != "period_end" else (true.crossed, None))


@pytest.mark.parametrize("place", range(8))
def test_the_journals_are_those_that_the_truth_gives(season: list[SampleGame], place: int) -> None:
    """``python -m sample_data.journals`` writes them."""
    game = season[place]
    text = (HERE / "journals" / f"{game.id}.jsonl").read_text(encoding="utf-8")
    assert text == game.lines()
    header, entries = read_lines(text.splitlines(), game.id)
    assert (header.game, header.book, header.season) == (game.id, "anna", TEXTS.settings.id)
    assert entries == game.entries()


def test_the_same_truth_gives_the_same_entries_and_ids(season: list[SampleGame]) -> None:
    assert season[2].entries() == season[2].entries()
    ids = [entry.id for game in season for entry in game.entries()]
    assert len(ids) == len(set(ids))


def test_the_first_pass_leaves_out_what_only_the_second_asks(season: list[SampleGame]) -> None:
    first = tag(season[2].truth, "g3", "f", level="main")
    assert {entry.kind for entry in first}.isdisjoint({"loose_ball", "grade"})
    assert not any(name.startswith("role.") for entry in first for name in entry.answers)
    with pytest.raises(ValueError, match="level is deep; give one of main, whole"):
        tag(season[2].truth, "g3", "f", level="deep")

"""Random keys through vocabulary and fold; `python -m tests.bench random-keys` presses a million."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tagger.marks.fold import FilmSpan, GameFacts, fold
from tests.bench import random_keys
from tests.marks import random_games
from tests.marks.hands import FILMS, RandomHands
from tests.marks.invariants import broken
from tests.marks.random_games import random_game
from tests.marks.test_cases import language_at

N_GAMES = 40
N_KEYS = 500


@pytest.mark.parametrize("ten", range(N_GAMES // 10))
def test_whatever_is_pressed_nothing_raises_and_every_mark_has_its_place(ten: int) -> None:
    played = [random_game(seed, N_KEYS) for seed in range(10 * ten, 10 * ten + 10)]
    assert [miss for game in played for miss in game.misses] == []
    assert sum(game.n_keys for game in played) == 10 * N_KEYS
    assert sum(game.n_marks for game in played) > 500, "hands that enter nothing would prove nothing"


def test_random_hands_reach_every_kind_and_every_table() -> None:
    language = language_at("whole", lines=True)
    facts = GameFacts("g1", "anna", language, tuple(FilmSpan(one, at, 1_800_001) for one, at in FILMS.items()))
    kinds, filled = set(), set()
    for seed in range(12):
        hands = RandomHands(language, seed)
        for _ in range(N_KEYS):
            hands.press()
        found = fold(hands.entries, facts)
        kinds |= {line.mark.kind for line in found.log}
        filled |= {name for name, rows in found.rows.items() if rows}
    assert kinds == set(language.kinds)
    assert filled == set(found.rows)


def test_the_invariants_see_what_is_wrong() -> None:
    """A check that passes everything would be worth nothing: spoil a sound fold in one place after the other."""
    language = language_at("whole", lines=True)
    facts = GameFacts("g1", "anna", language, tuple(FilmSpan(one, at, 1_800_001) for one, at in FILMS.items()))
    hands = RandomHands(language, 5)
    for _ in range(4 * N_KEYS):
        hands.press()
    sound = fold(hands.entries, facts)
    assert broken(language, hands.entries, sound) == []

    def spoiled(table: str, **wrong: object) -> list[str]:
        rows = {name: [dict(row) for row in held] for name, held in sound.rows.items()}
        place = next(place for place, row in enumerate(rows[table]) if table == "runs" or row["run"] is not None)
        rows[table][place] |= wrong
        return broken(language, hands.entries, replace(sound, rows=rows))

    assert any("outside its possession" in miss for miss in spoiled("runs", start_ms=-1))
    assert any("outside its run" in miss for miss in spoiled("shots", at_ms=-1))
    assert any("not there" in miss for miss in spoiled("shots", run="nowhere"))
    assert any("is the id of 2 rows" in miss for miss in spoiled("shots", id=sound.rows["periods"][0]["id"]))
    assert any("0 rows" in miss for miss in spoiled("shots", id="another"))
    assert any("exactly once" in miss for miss in broken(language, hands.entries, replace(sound, log=sound.log[1:])))


def test_the_bench_counts_what_was_missed(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    told = {figure.name: figure for figure in random_keys.run(2)}
    assert told["keys pressed"].value == 2 * random_keys.N_KEYS and told["folds"].value > 10
    assert told["exceptions"].ok and told["invariants missed"].ok

    def spoiled(seed: int, n_keys: int) -> random_games.Played:
        if seed == 0:
            raise ValueError("a key raised")
        return random_games.Played(n_keys, 1, 1, 1, ("a mark is not exactly once in the log",))

    monkeypatch.setattr(random_games, "random_game", spoiled)
    told = {figure.name: figure for figure in random_keys.run(3)}
    assert (told["exceptions"].value, told["exceptions"].ok) == (1, False)
    assert (told["invariants missed"].value, told["invariants missed"].ok) == (2, False)
    assert "game 0: ValueError: a key raised" in capsys.readouterr().err

"""A million random keys through vocabulary and fold: what the keyboard and the tables hold, whatever is pressed."""

import sys
import time

from tests.bench.figure import Figure, at_most

NAME = "random-keys"
ABOUT = "2,000 games of 500 random keys: no exception, every mark in one place, undo all leaves nothing"
N_GAMES = 2000
N_KEYS = 500


def run(n_games: int = N_GAMES) -> list[Figure]:
    """Press, fold at random points, check.

    Parameters
    ----------
    n_games : int
        How many games.

    Returns
    -------
    list of Figure
        How much was pressed and folded, what was missed, and how long it took.
    """
    from tests.marks.random_games import random_game

    began = time.perf_counter()
    n_keys = n_entries = n_marks = n_folds = n_raised = 0
    misses: list[str] = []
    for seed in range(n_games):
        try:
            played = random_game(seed, N_KEYS)
        except Exception as fault:  # what must never happen is counted, and the next game pressed
            n_raised += 1
            misses.append(f"game {seed}: {type(fault).__name__}: {fault}")
            continue
        n_keys += played.n_keys
        n_entries += played.n_entries
        n_marks += played.n_marks
        n_folds += played.n_folds
        misses += played.misses
        if (seed + 1) % 100 == 0:
            print(f"  {seed + 1} games, {len(misses)} misses, {time.perf_counter() - began:.0f} s", flush=True)
    for miss in misses[:20]:
        print(f"  {miss}", file=sys.stderr)
    return [
        Figure("keys pressed", n_keys, "keys"),
        Figure("entries made", n_entries, "entries"),
        Figure("marks standing at the end", n_marks, "marks"),
        Figure("folds", n_folds, "folds"),
        at_most("exceptions", n_raised, "games", 0),
        at_most("invariants missed", len(misses) - n_raised, "times", 0),
        Figure("time", time.perf_counter() - began, "s"),
    ]

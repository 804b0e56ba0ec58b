"""Sentences that single something out, in seasons in which nothing is to be singled out: how often a page has any.

A page is asked as it decides itself: `dashboard.pages.found` for what it may say, the front for its list, the
question's page for its answer. Two hundred seasons know a share of 5 % to within 3 of 100 (two standard errors): a
figure of 6 or 7 of 100 may be luck, one of 9 is none.
"""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from datetime import date
from multiprocessing import get_context
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any

import numpy as np

from tests.bench.figure import Figure, at_most
from tests.bench.honesty.quiet import SETS, Scenario, quiet
from tests.bench.honesty.still import Kind

if TYPE_CHECKING:
    from dashboard.moment import Moment

NAME = "honesty.sentences"
ABOUT = "200 still seasons a scenario: share in which a page singles something out; how often what is planted is said"
N_SEASONS = 200
N_PROCESSES = 2
ALIKE = Kind("games alike", 0.0)
DIFFER, FAR = Kind("games differ .11", 0.11), Kind("games differ .15", 0.15)
OWN = Kind("sets have games of their own .15", 0.15, together=False)
STILL = (
    Scenario(DIFFER),
    Scenario(FAR),
    Scenario(Kind("few runs, .11", 0.11, per_game=6)),
    Scenario(Kind("sets have games of their own .11", 0.11, together=False)),
    Scenario(OWN),
    Scenario(replace(FAR, name="sets kept for some opponents"), kept=True),
    Scenario(replace(DIFFER, name="opponents cover differently"), covered=True),
    Scenario(replace(DIFFER, name="an answer frees by definition"), frees=True, covered=True),
    Scenario(replace(FAR, name="fourteen games", n_games=14)),
    Scenario(replace(DIFFER, name="a question is stated"), asked=True),
)
PLANTED = tuple(
    Scenario(replace(kind, name=f"one set of .70 among .42, {kind.name}"), better=0.70) for kind in (ALIKE, DIFFER, OWN)
)


def run() -> Iterator[Figure]:
    """Every scenario, page by page; then what is planted."""
    yield from _still()
    yield from _planted()


def _still() -> Iterator[Figure]:
    with ProcessPoolExecutor(N_PROCESSES, mp_context=get_context("spawn")) as pool:
        for how in STILL:
            found = list(pool.map(says, range(1, N_SEASONS + 1), [how] * N_SEASONS, chunksize=10))
            for page in found[0]:
                share = float(np.mean([each[page] for each in found])) * 100
                yield at_most(f"{how.kind.name}: {page}", share, "of 100 seasons", 5)


def _planted() -> Iterator[Figure]:
    with ProcessPoolExecutor(N_PROCESSES, mp_context=get_context("spawn")) as pool:
        for how in PLANTED:
            found = list(pool.map(said_of_planted, range(1, N_SEASONS + 1), [how] * N_SEASONS, chunksize=10))
            yield Figure(f"{how.kind.name}: said", float(np.mean(found)) * 100, "of 100 seasons")


def says(seed: int, how: Scenario) -> dict[str, bool]:
    """Whether each page of a still season singles anything out.

    Parameters
    ----------
    seed : int
        The season's.
    how : Scenario
        What varies.

    Returns
    -------
    dict of str to bool
        Page → whether it has such a sentence.
    """
    warnings.simplefilter("error")
    from analysis.findings import EVEN_OURS
    from analysis.slice import Slice
    from analysis.stated import answer
    from analysis.trend import DONE
    from dashboard.pages.dots import moving
    from dashboard.pages.found import findings_of, of_checkpoints, of_kind, of_runs, of_sets, speaking
    from dashboard.pages.season import practice
    from dashboard.pages.stated import _noticed, analysed
    from tests.dashboard.recount.reading import words

    moment = moment_of(seed, how)
    filmed: Any = SimpleNamespace(moment=moment, count=lambda *_: 0)
    found = findings_of(moment, EVEN_OURS)
    theirs = findings_of(moment, Slice(team="theirs", strengths=("even",)))
    slopes = [row for what in ("shot", DONE) for row in moving(found, what) if bool(row["moves"])]
    checkpoints = {name: bool(speaking(found, of_checkpoints({name}))) for name in SETS}
    one = [
        checkpoints[name] or bool(speaking(found, of_runs(name))) or any(row["set"] == name for row in slopes)
        for name in SETS
    ]
    question = analysed(moment)
    said = "" if question is None else str(answer(moment.tables, question)["said"].iloc[0])
    answered = said.startswith(("Yes", "No"))
    return {
        "front": answered or "stood out" in words(practice(moment, filmed)),
        "sets": bool(speaking(found, of_sets("shot"))),
        "sets, by lost balls": bool(speaking(findings_of(moment, EVEN_OURS, "turnover"), of_sets("turnover"))),
        "a set, any of six": any(one),
        "screens": bool(speaking(found, of_kind("coverage"))),
        "work": any(checkpoints.values()) or bool(speaking(found, of_kind("safety"))) or bool(slopes),
        "question": answered or "stood out" in words(_noticed(moment, filmed)),
        "opponents": bool(speaking(theirs, of_sets("shot"))),
    }


def said_of_planted(seed: int, how: Scenario) -> bool:
    """Whether the set that is better is said to be.

    Parameters
    ----------
    seed, how
        As of `says`.

    Returns
    -------
    bool
        That it brings more shots than the other sets.
    """
    warnings.simplefilter("error")
    from analysis.findings import EVEN_OURS
    from dashboard.pages.found import findings_of, of_sets, speaking

    rows = speaking(findings_of(moment_of(seed, how), EVEN_OURS), of_sets("shot"))
    return any(row["kind"] == "set" and row["set"] == SETS[0] and bool(row["more"]) for row in rows)


def moment_of(seed: int, how: Scenario) -> Moment:
    """A season as the pages have it.

    Parameters
    ----------
    seed, how
        As of `says`.

    Returns
    -------
    Moment
        Its tables and games, without film, roster or playbook.
    """
    from analysis.codes import coded
    from dashboard.moment import Moment
    from tagger.game import Game
    from tagger.marks.vocabulary import language
    from tagger.texts.playbook import Playbook
    from tagger.texts.settings import Settings
    from tagger.texts.stated import StatedQuestion

    games = tuple(
        Game(f"g{at:02d}", f"2026-03-{at:02d}", f"Opponent {at}", home=True) for at in range(1, how.kind.n_games + 1)
    )
    asked = (
        StatedQuestion("Does it bring more?", "shot", {"set": SETS[1]}, None, date(2026, 3, 1)) if how.asked else None
    )
    return Moment(
        Settings("still"), Playbook(), (), (), language=language(Playbook()), games=games, folded={},
        tables=coded(quiet(seed, how)), stated_question=asked,
    )  # fmt: skip

"""Screens: who came free of which, what the run brought after, and what a screen that freed somebody was worth.

Who came free is judged a second after contact and never from the shot. Credit reaches past the first pass: a screen
is credited with a shot when the man it freed shot, fed, or made the pass before the feed.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis import rate
from analysis.answered import uneven
from analysis.codes import among, known, places, whole, words
from analysis.errors import QuestionError
from analysis.groups import Groups, games_of, group
from analysis.outcome import any_of
from analysis.shots import GOAL, NO, UNKNOWN, YES, attempts, resulted
from analysis.slice import EVERYTHING, Slice, cut
from analysis.stats.cluster import DIFFERENCE, WIDENED, difference
from analysis.stats.proportion import Interval
from analysis.strength import classes

if TYPE_CHECKING:
    from numpy.typing import NDArray

FREED = ("user", "setter", "third_man")
BY = ("kind", "side", "coverage", "setter", "user", "setter_next", "set", "set_side")
SELECTION = (
    "A man is fed when he is open: this says what followed when somebody came free, not what more feeding would bring."
)


def screens(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    by: tuple[str, ...] = ("kind",),
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say who came free of the screens and what followed within the run.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        Which screens are looked at.
    by : tuple of str
        Any of `BY`, as `("setter", "user")` for pairs; `set` and `set_side` are of the run. `()` for all in one row.
    small_n : int
        Under this n a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per team, class of strength and combination (missing where not answered; ids of screens):

        * `team`, `strength`, the columns of `by`: string
        * count `screens`
        * rates `user_free`, `setter_free`, `third_man_free`, `nobody_free`, `illegal`, and `freed` (any of the first
          three), of those where it is known; withheld where the answers of `by` lean on somebody's coming free
        * rates `shot` and `goal`: the run brought one at or after the screen; `credited`: with the freed man in it as
          shooter, feeder or second feeder. It is not known for a third man, whose number is not asked, nor where
          shooters and feeders are not named. All three are withheld where the answers of `by` lean on the shot.
        * `method`, `level`, `width`

    Raises
    ------
    QuestionError
        A column that screens cannot be split by.

    Notes
    -----
    In basketball the best ending of a pick was a shot two passes after it (Journal of Human Kinetics, PMC5260556):
    hence the second feeder.
    """
    _check(by)
    own, facts = with_facts(tables, part)
    groups = group({name: own[name] for name in ("team", "class", *by)})
    ids, game = words(own["id"]), games_of(own)
    free_known = known(own["free"])
    how: dict[str, Any] = {"small_n": small_n, "level": level}
    columns = [rate.count("screens", groups.count(), groups.ids(ids))]
    hidden_free = _leans(tables, own, among(own["free"], FREED), by, groups)
    for name, answers in (
        ("user_free", ("user",)),
        ("setter_free", ("setter",)),
        ("third_man_free", ("third_man",)),
        ("nobody_free", ("nobody",)),
        ("illegal", ("illegal",)),
        ("freed", FREED),
    ):
        fact = np.where(among(own["free"], answers), YES, NO)
        fact[~free_known] = UNKNOWN
        columns.append(rate.of_fact(name, fact.astype(np.int8), groups, game, ids, withheld=hidden_free, **how))
    hidden = _leans(tables, own, facts["shot"] == YES, by, groups)
    for name in ("shot", "goal", "credited"):
        columns.append(rate.of_fact(name, facts[name], groups, game, ids, withheld=hidden, **how))
    return rate.table(_labels(groups), *columns, level=level)


def lift(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    by: tuple[str, ...] = (),
    fact: str = "shot",
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Compare screens that freed somebody with those that freed nobody.

    Parameters
    ----------
    tables, part, by, small_n, level
        As in `screens`.
    fact : str
        "shot" or "goal": what should have followed within the run.

    Returns
    -------
    DataFrame
        One row per team, class of strength and combination: `team`, `strength`, the columns of `by`; rates `freed`
        and `held` (screens followed by the fact, when somebody came free and when nobody did; illegal screens are
        left out), withheld where who came free, or an answer of `by`, is given at another rate when the fact
        followed; measure `lift`: their difference, −1 to 1, Newcombe's interval, resting on as many screens as the
        smaller side, missing where they are withheld; `caution` string: what it does not say; `method`,
        `level`, `width`.

    Raises
    ------
    QuestionError
        A column that screens cannot be split by, or no such fact.
    """
    _check(by)
    if fact not in {"shot", "goal"}:
        raise QuestionError(f"lift: no fact “{fact}”; it is shot or goal")
    own, facts = with_facts(tables, part)
    groups = group({name: own[name] for name in ("team", "class", *by)})
    ids, game = words(own["id"]), games_of(own)
    yes, sure = facts[fact] == YES, facts[fact] >= 0
    came, stayed = among(own["free"], FREED), among(own["free"], ("nobody",))
    how: dict[str, Any] = {"small_n": small_n, "level": level}
    numbers = [(groups.cells(game, yes & which), groups.cells(game, sure & which)) for which in (came, stayed)]
    gap = difference(*numbers[0], *numbers[1], level=level)
    smaller = np.minimum(numbers[0][1].sum(axis=1), numbers[1][1].sum(axis=1))
    hidden = _leans(tables, own, yes, (*by, "free"), groups)
    gap = Interval(*(np.where(hidden, np.nan, bound) for bound in gap))
    how["withheld"] = hidden
    return rate.table(
        _labels(groups),
        rate.share("freed", *numbers[0], groups.ids(ids, yes & came), n_ids=groups.ids(ids, sure & came), **how),
        rate.share("held", *numbers[1], groups.ids(ids, yes & stayed), n_ids=groups.ids(ids, sure & stayed), **how),
        rate.measure("lift", smaller, gap, groups.ids(ids, sure & (came | stayed)), small_n=small_n),
        {"caution": pd.array([SELECTION] * groups.size, dtype="string")},
        method=f"{WIDENED}; lift: {DIFFERENCE}",
        level=level,
    )


def _check(by: tuple[str, ...]) -> None:
    for name in by:
        if name not in BY:
            raise QuestionError(f"screens: cannot be split by “{name}”; it is any of {', '.join(BY)}")


def _labels(groups: Groups) -> dict[str, list[Any]]:
    return {"strength" if name == "class" else name: values for name, values in groups.labels.items()}


def with_facts(tables: Mapping[str, pd.DataFrame], part: Slice) -> tuple[pd.DataFrame, dict[str, NDArray[np.int8]]]:
    """Return the screens of a slice with what followed each.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        Which screens.

    Returns
    -------
    tuple of (DataFrame, dict of str to int8 array)
        The screens, with `class` (of strength), `set`, `set_side` and `phase` of their run beside their own columns;
        and `shot`, `goal`, `credited`: 1 yes, 0 no, −1 not known, one per screen.
    """
    own = cut(tables, part, "screens")["screens"]
    runs = tables["runs"]
    at = places(runs["id"], own["run"])
    held = places(tables["possessions"]["id"], own["possession"])
    strength = np.where(at >= 0, _looked_up(runs["strength"], at), _looked_up(tables["possessions"]["strength"], held))
    extra = {
        "class": classes(pd.Series(pd.array([word or None for word in strength], dtype="string"), index=own.index)),
        "set": pd.Series(
            pd.array([word or None for word in _looked_up(runs["set"], at)], dtype="string"), index=own.index
        ),
        "set_side": pd.Series(
            pd.array([word or None for word in _looked_up(runs["side"], at)], dtype="string"), index=own.index
        ),
        "phase": pd.Series(
            pd.array([word or None for word in _looked_up(runs["phase"], at)], dtype="string"), index=own.index
        ),
    }
    return own.assign(**extra), _what_followed(tables, own, at)


def _looked_up(column: pd.Series, at: NDArray[np.intp]) -> NDArray[np.object_]:
    return np.append(words(column), "")[at]


def _what_followed(
    tables: Mapping[str, pd.DataFrame], own: pd.DataFrame, run_of_screen: NDArray[np.intp]
) -> dict[str, NDArray[np.int8]]:
    """Say of every screen whether a shot, a goal, and a shot of the freed man followed within its run."""
    shots = tables["shots"][attempts(tables["shots"])]
    run_of_shot = places(tables["runs"]["id"], shots["run"])
    left = pd.DataFrame({"run": run_of_screen, "screen": np.arange(len(own)), "screen_ms": whole(own["at_ms"])})
    right = pd.DataFrame({"run": run_of_shot, "shot": np.arange(len(shots)), "shot_ms": whole(shots["at_ms"])})
    pairs = left[left["run"] >= 0].merge(right[right["run"] >= 0], on="run")
    pairs = pairs[pairs["shot_ms"] >= pairs["screen_ms"]]
    screen, shot = pairs["screen"].to_numpy(dtype=np.intp), pairs["shot"].to_numpy(dtype=np.intp)
    goal = resulted(shots, (GOAL,))[shot]
    made = {
        "shot": any_of(np.full(len(screen), YES), screen, len(own)),
        "goal": any_of(goal, screen, len(own)),
        "credited": any_of(_took_part(own, shots, screen, shot), screen, len(own)),
    }
    for fact in made.values():
        fact[run_of_screen < 0] = UNKNOWN
    third = among(own["free"], ("third_man",)) & (made["shot"] == YES)
    made["credited"][third | ~known(own["free"])] = UNKNOWN
    return made


def _took_part(
    own: pd.DataFrame, shots: pd.DataFrame, screen: NDArray[np.intp], shot: NDArray[np.intp]
) -> NDArray[np.int8]:
    """Say for each pair of a screen and a shot after it whether the freed man shot, fed, or passed before the feed."""
    free = words(own["free"])
    freed = np.where(free == "user", words(own["user"]), np.where(free == "setter", words(own["setter"]), ""))[screen]
    made = np.full(len(screen), NO, dtype=np.int8)
    someone = among(own["free"], ("user", "setter"))[screen]
    for column in ("shooter", "feeder", "feeder2"):
        told = words(shots[column])[shot]
        made[someone & (made != YES) & ((told == "") | (told == "unseen"))] = UNKNOWN
        made[someone & (told == freed) & (freed != "") & (freed != "unseen")] = YES
    made[someone & ((freed == "") | (freed == "unseen"))] = UNKNOWN
    return made


def _leans(
    tables: Mapping[str, pd.DataFrame],
    own: pd.DataFrame,
    came: NDArray[np.bool_],
    by: tuple[str, ...],
    groups: Groups,
) -> NDArray[np.bool_]:
    """Say for each row whether the answers it is split by were given at another rate where the outcome came."""
    hidden = np.zeros(groups.size, dtype=bool)
    families = group({name: own[name] for name in ("team", "class")})
    at = {key: place for place, key in enumerate(zip(*families.labels.values(), strict=True))}
    family_of = np.array(
        [at[key] for key in zip(groups.labels["team"], groups.labels["class"], strict=True)], dtype=np.intp
    )
    for name in by:
        if name in {"set", "set_side"}:
            continue
        hidden |= uneven(tables, own, f"screen.{name}", known(own[name]), came, families)[family_of]
    return hidden

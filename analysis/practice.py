"""The practice list: at most five sentences for the next practice, each with its numbers and its film, by written
rules.

The rules, in order:

1. The stated question comes first, whatever its answer.
2. Everything else is a candidate with a chance (p) of being nothing: for each set, more or fewer runs with a shot, or
   more lost balls, than the other sets; for each checkpoint, fewer runs with a shot where it was missed; for each
   coverage, fewer of our men coming free than against the others (unless coverage is named at another rate where
   they did); for our lost balls, more shots against where the safety was missed. A look left open is no candidate:
   it is no fault in itself.
3. All candidates together are one family: a candidate speaks only if it clears Holm's bar for the family at one in
   twenty. Beside a set's own count stands its rate drawn towards the others', beside other counts their intervals.
4. Among those that speak, at least one "keep" is said if there is one, before the second "fix"; else by how
   surprising they are.
5. When nothing speaks, the list says so. It never fills up.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from analysis import rate
from analysis.answered import uneven
from analysis.codes import among, known, words
from analysis.execution import met, worth
from analysis.groups import Groups, games_of, group
from analysis.lost_ball import lost_balls
from analysis.outcome import outcomes, run_ids
from analysis.saying import span
from analysis.shots import YES
from analysis.slice import Slice, cut, keep
from analysis.stated import NOTICED, STATED, Comparison, answer
from analysis.stats.cluster import widened
from analysis.stats.multiplicity import family_wise, fisher
from analysis.stats.proportion import wilson
from analysis.stats.together import of_games

MOST = 5
FAMILY = 0.05
KEEP, FIX, QUESTION, NOTHING = "keep", "fix", "question", "nothing"
NOTHING_SAID = "Nothing can be told apart yet: practise what you meant to, and tag on."
NOTHING_ELSE = "Beyond the question nothing can be told apart yet: practise what you meant to, and tag on."
COVERAGES = {"stayed": "stayed over the top", "under": "went under", "shown": "showed and recovered"}
EVEN_OURS = Slice(strengths=("even",), team="ours")


@dataclass(frozen=True)
class _Candidate:
    kind: str
    subject: str
    text: str
    k: tuple[int, int]
    n: tuple[int, int]
    ids: tuple[str, ...]
    plausible: tuple[float, float]

    @property
    def p(self) -> float:
        return fisher(self.k[0], self.n[0], self.k[1], self.n[1])


def practice_list(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVEN_OURS,
    *,
    question: Comparison | None = None,
    names: Mapping[str, str] | None = None,
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Write the list for the next practice.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        What is looked at: one team and one class of strength, ours at even strength unless told otherwise.
    question : Comparison, optional
        The stated one.
    names : mapping of str to str, optional
        Code → name, of sets and checkpoints ("keel.wall" or "wall").
    small_n : int
        A side with fewer runs says nothing.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        At most five rows, in order: `kind` string ("question", "keep", "fix", "nothing"), `label` string ("stated
        before tagging" or "noticed, not proven", missing for "nothing"), `subject` string (code), `said` string: the
        sentence; `k`, `n`, `other_k`, `other_n` Int64; `lo`, `hi` Float64: interval of the first rate (Wilson); `p`
        Float64; `comparisons` Int64: how many candidates were looked at; `ids`: the rows to watch; `method`, `level`,
        `width`.

    Notes
    -----
    Holm's family-wise bar at .05, Fisher's exact p. "Keep" and "fix" say where to look on film, not what caused what.
    """
    called = dict(names or {})
    rows: list[dict[str, Any]] = []
    found = [one for one in _candidates(tables, part, called) if min(one.n) >= small_n]
    p = np.array([one.p for one in found])
    if question is not None:
        rows.append(_asked(tables, question, small_n, level, len(found)))
    speaks = family_wise(p, FAMILY)
    chosen = _in_turn([found[at] for at in np.argsort(p, kind="stable") if speaks[at]])
    for one in chosen[: MOST - len(rows)]:
        rows.append(_row(one, len(found)))
    if not chosen:
        rows.append(_nothing(len(found), NOTHING_SAID if question is None else NOTHING_ELSE))
    return _frame(rows, level)


def _in_turn(candidates: list[_Candidate]) -> list[_Candidate]:
    """Put the most surprising first, but a "keep" among the first two if there is one."""
    keeps = [one for one in candidates if one.kind == KEEP]
    if len(candidates) > 1 and keeps and KEEP not in {one.kind for one in candidates[:2]}:
        rest = [one for one in candidates if one is not keeps[0]]
        return [rest[0], keeps[0], *rest[1:]]
    return candidates


def _candidates(tables: Mapping[str, pd.DataFrame], part: Slice, names: Mapping[str, str]) -> Iterator[_Candidate]:
    yield from _of_sets(tables, part, names)
    yield from _of_checkpoints(tables, part, names)
    yield from _of_coverage(tables, part)
    yield from _of_safety(tables, part)


def _of_sets(tables: Mapping[str, pd.DataFrame], part: Slice, names: Mapping[str, str]) -> Iterator[_Candidate]:
    runs = tables["runs"]
    kept = keep(runs, part) & among(runs["phase"], ("set",))
    facts = outcomes(tables).facts
    groups = group({"set": runs["set"][kept]})
    ids, game = run_ids(runs)[kept], games_of(runs[kept])
    for fact, good in (("shot", True), ("turnover", False)):
        came = facts[fact][kept]
        yes, sure = came == YES, came >= 0
        k, n, yes_ids = groups.count(yes), groups.count(sure), groups.ids(ids, yes)
        bounds = widened(groups.cells(game, yes), groups.cells(game, sure)).interval
        drawn = of_games(groups.cells(game, yes), groups.cells(game, sure)).interval()
        for row, code in enumerate(groups.labels["set"]):
            if code is None or n[row] == 0:
                continue
            others = int(k.sum() - k[row]), int(n.sum() - n[row])
            more = others[1] > 0 and k[row] / n[row] > others[0] / others[1]
            if not good and not more:
                continue  # fewer lost balls than the others is no advice
            name = names.get(code, code)
            if good and more:
                text = f"Keep {name}: {_many(k[row], n[row])} runs brought a shot"
            elif good:
                text = f"Look at {name}: only {_many(k[row], n[row])} runs brought a shot"
            else:
                text = f"Look at {name}: {_many(k[row], n[row])} runs lost the ball"
            text += f", against {others[0]} of {others[1]} of the other sets"
            text += f"; drawn together, plausibly {span(float(drawn.lo[row]), float(drawn.hi[row]))} in 100."
            both = (int(k[row]), others[0]), (int(n[row]), others[1])
            span_of = (float(bounds.lo[row]), float(bounds.hi[row]))
            yield _Candidate(KEEP if good and more else FIX, code, text, *both, ids=yes_ids[row], plausible=span_of)


def _of_checkpoints(tables: Mapping[str, pd.DataFrame], part: Slice, names: Mapping[str, str]) -> Iterator[_Candidate]:
    made = worth(tables, part)
    for row in made.to_dict("records"):
        k, n = (int(row["missed_k"]), int(row["met_k"])), (int(row["missed_n"]), int(row["met_n"]))
        if min(n) == 0 or k[0] / n[0] >= k[1] / n[1]:
            continue
        bounds = [(row[f"{side}_lo"], row[f"{side}_hi"]) for side in ("missed", "met")]
        code = str(row["checkpoint"])
        of_set = str(row["set"])
        name = names.get(f"{of_set}.{code.rsplit('.', 1)[-1]}", names.get(code, code))
        of = names.get(of_set, of_set)
        where = f"where it was missed, {_many(k[0], n[0])} runs brought a shot; where it was met, {_many(k[1], n[1])}"
        text = f"Practise “{name}” of {of}: {where}; {_spans(bounds)}."
        yield _Candidate(FIX, code, text, k, n, ids=tuple(row["cost_ids"]), plausible=bounds[0])


def _of_coverage(tables: Mapping[str, pd.DataFrame], part: Slice) -> Iterator[_Candidate]:
    screens = cut(tables, part, "screens")["screens"]
    told = screens["free"].notna().to_numpy(dtype=bool) & ~among(screens["free"], ("unseen",))
    freed = among(screens["free"], ("user", "setter", "third_man"))
    if uneven(tables, screens, "screen.coverage", known(screens["coverage"]), freed, _all_in_one(screens))[0]:
        return
    groups = group({"coverage": screens["coverage"]})
    ids = words(screens["id"])
    game = games_of(screens)
    k_in, n_in = groups.cells(game, freed & told), groups.cells(game, told)
    k, n = k_in.sum(axis=1), n_in.sum(axis=1)
    held = groups.ids(ids, told & ~freed)
    answered = [row for row, name in enumerate(groups.labels["coverage"]) if name not in {None, "unseen", "blown"}]
    for row in answered:
        rest = [other for other in answered if other != row]
        others = int(k[rest].sum()), int(n[rest].sum())
        if n[row] == 0 or others[1] == 0 or k[row] / n[row] >= others[0] / others[1]:
            continue
        code = groups.labels["coverage"][row]
        counts = f"{_many(k[row], n[row])} screens freed somebody, against {_many(*others)}"
        text = f"Find an answer for when they {COVERAGES.get(code, code)}: {counts}; "
        both = [np.array([counted[row], counted[rest].sum(axis=0)]) for counted in (k_in, n_in)]
        bounds = list(zip(*(bound.tolist() for bound in widened(both[0], both[1]).interval[1:]), strict=True))
        text += f"{_spans(bounds)}."
        counts_k, counts_n = (int(k[row]), others[0]), (int(n[row]), others[1])
        yield _Candidate(FIX, code, text, counts_k, counts_n, ids=held[row], plausible=bounds[0])


def _all_in_one(frame: pd.DataFrame) -> Groups:
    return Groups(np.zeros(len(frame), dtype=np.intp), {}, 1)


def _of_safety(tables: Mapping[str, pd.DataFrame], part: Slice) -> Iterator[_Candidate]:
    if not np.any(met(tables, "safety") >= 0):
        return
    made = lost_balls(tables, part, by=("safety",))
    sides: dict[str, tuple[int, int, tuple[str, ...]]] = {}
    worth_of: dict[str, float] = {"met": 0.0, "missed": 0.0}  # runs' worth, where games differ
    for row in made.to_dict("records"):
        k, n, ids = sides.get(row["safety"], (0, 0, ()))
        counted = int(row["shot_against_k"]), int(row["shot_against_n"])
        effect = row["shot_against_effect"]
        worth_of[row["safety"]] = worth_of.get(row["safety"], 0.0) + counted[1] / (1 if pd.isna(effect) else effect)
        sides[row["safety"]] = (k + counted[0], n + counted[1], (*ids, *row["shot_against_ids"]))
    if {"met", "missed"} <= set(sides):
        missed, held = sides["missed"], sides["met"]
        if min(missed[1], held[1]) > 0 and missed[0] / missed[1] > held[0] / held[1]:
            counts = (
                f"with the safety missing, {_many(missed[0], missed[1])} balls that went to them brought a shot at once"
            )
            text = f"Practise getting back: {counts}; with him back, {_many(held[0], held[1])}; "
            found = [
                wilson(worth_of[name] * sides[name][0] / sides[name][1], worth_of[name]) for name in ("missed", "met")
            ]
            bounds = [(float(one.lo), float(one.hi)) for one in found]
            text += f"{_spans(bounds)}."
            counts_k, counts_n = (missed[0], held[0]), (missed[1], held[1])
            yield _Candidate(FIX, "safety", text, counts_k, counts_n, ids=missed[2], plausible=bounds[0])


def _many(k: int, n: int) -> str:
    return f"{int(k)} of {int(n)}"


def _spans(bounds: Iterable[tuple[float, float]]) -> str:
    one, other = (span(float(lo), float(hi)) for lo, hi in bounds)
    return f"plausibly {one} against {other} in 100"


def _asked(
    tables: Mapping[str, pd.DataFrame], question: Comparison, small_n: int, level: float, n_candidates: int
) -> dict[str, Any]:
    made = answer(tables, question, small_n=small_n, level=level).iloc[0]
    k, n, other_k, other_n = (int(made[name]) for name in ("one_k", "one_n", "other_k", "other_n"))
    return {
        "kind": QUESTION,
        "label": STATED,
        "subject": question.measure,
        "said": f"{question.text} {made['said']}",
        "k": k,
        "n": n,
        "other_k": other_k,
        "other_n": other_n,
        "lo": made["one_lo"],
        "hi": made["one_hi"],
        "p": fisher(k, n, other_k, other_n),
        "comparisons": n_candidates + 1,
        "ids": tuple(made["difference_ids"]),
    }


def _row(one: _Candidate, n_candidates: int) -> dict[str, Any]:
    return {
        "kind": one.kind,
        "label": NOTICED,
        "subject": one.subject,
        "said": one.text,
        "k": one.k[0],
        "n": one.n[0],
        "other_k": one.k[1],
        "other_n": one.n[1],
        "lo": one.plausible[0],
        "hi": one.plausible[1],
        "p": one.p,
        "comparisons": n_candidates,
        "ids": one.ids,
    }


def _nothing(n_candidates: int, said: str) -> dict[str, Any]:
    return {"kind": NOTHING, "said": said, "comparisons": n_candidates, "ids": ()}


def _frame(rows: list[dict[str, Any]], level: float) -> pd.DataFrame:
    made: dict[str, Any] = {
        name: pd.array([row.get(name) for row in rows], dtype="string") for name in ("kind", "label", "subject", "said")
    }
    for name in ("k", "n", "other_k", "other_n", "comparisons"):
        made[name] = pd.array([row.get(name) for row in rows], dtype="Int64")
    for name in ("lo", "hi", "p"):
        made[name] = pd.array([row.get(name) for row in rows], dtype="Float64")
    made["ids"] = rate.tuples([row["ids"] for row in rows])
    order = ("kind", "label", "subject", "said", "k", "n", "other_k", "other_n", "lo", "hi", "p", "comparisons", "ids")
    return rate.table({}, {name: made[name] for name in order}, level=level, width=rate.ALLOWED_FOR)

"""The practice list: at most five sentences for the next practice, each with its numbers and its film, by written
rules.

The rules, in order:

1. The stated question comes first, whatever its answer.
2. Everything else is one of `analysis.findings`, the one family of comparisons that all pages speak from, and speaks
   only if that says so.
3. What went better than what it is compared with is to be kept, what went worse is to be looked at. A look left open
   is no fault in itself.
4. Beside a set's own count stands its rate drawn towards the others', beside other counts their intervals.
5. Among those that speak, at least one "keep" is said if there is one, before the second "fix"; else by how
   surprising they are.
6. When nothing speaks, the list says so. It never fills up.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd

from analysis import rate
from analysis.compared import CHECKPOINT, COVERAGE, FREELANCE, SAFETY, SET, SIDE
from analysis.findings import NOTICED, Findings
from analysis.saying import span
from analysis.stated import STATED, Comparison, answer
from analysis.trend import DONE

MOST = 5
KEEP, FIX, QUESTION, NOTHING = "keep", "fix", "question", "nothing"
NOTHING_SAID = "Nothing can be told apart yet: practise what you meant to, and tag on."
NOTHING_ELSE = "Beyond the question nothing can be told apart yet: practise what you meant to, and tag on."
COVERAGES = {"stayed": "stayed over the top", "under": "went under", "shown": "showed and recovered"}
ONE_GLANCE = "partly one judgement, for coverage and who came free are told at one glance"


@dataclass(frozen=True)
class _Advice:
    kind: str
    subject: str
    text: str
    ids: tuple[str, ...]
    row: Mapping[str, Any]


def practice_list(
    tables: Mapping[str, pd.DataFrame],
    found: Findings,
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
    found : Findings
        What may be said, of ours at one class of strength; where a question is stated, `asked`.
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
        Float64; `comparisons` Int64: how many comparisons were looked at; `ids`: the rows to watch; `method`, `level`,
        `width`.

    Notes
    -----
    What speaks and how sure it must be is `analysis.findings`' to say. "Keep" and "fix" say where to look on film, not
    what caused what.
    """
    called = dict(names or {})
    rows: list[dict[str, Any]] = []
    if question is not None:
        rows.append(_asked(tables, question, small_n, level, found.looked_at))
    chosen = _in_turn(_advice(found, called))
    for one in chosen[: MOST - len(rows)]:
        rows.append(_row(one, found.looked_at))
    if not chosen:
        rows.append(_nothing(found.looked_at, NOTHING_SAID if question is None else NOTHING_ELSE))
    return _frame(rows, level)


def _in_turn(candidates: list[_Advice]) -> list[_Advice]:
    """Put the most surprising first, but a "keep" among the first two if there is one."""
    keeps = [one for one in candidates if one.kind == KEEP]
    if len(candidates) > 1 and keeps and KEEP not in {one.kind for one in candidates[:2]}:
        rest = [one for one in candidates if one is not keeps[0]]
        return [rest[0], keeps[0], *rest[1:]]
    return candidates


def _advice(found: Findings, names: Mapping[str, str]) -> list[_Advice]:
    """What the findings are good for at practice, most surprising first."""
    made = [_of_pair(row, names) for row in _rows(found.compared, "speaks")]
    for what, frame in found.slopes.items():
        made += [_of_slope(what, row, names) for row in _rows(frame, "moves")]
    return sorted(made, key=lambda one: float(one.row["p"]))


def _rows(frame: pd.DataFrame, which: str) -> list[dict[str, Any]]:
    kept = frame[frame[which].to_numpy(dtype=bool)]
    return [{str(name): value for name, value in row.items()} for row in kept.to_dict("records")]


def _of_pair(row: Mapping[str, Any], names: Mapping[str, str]) -> _Advice:
    if row["kind"] in {SET, FREELANCE, SIDE}:
        return _of_runs(row, names)
    more = bool(row["more"])
    one, other = (_many(row, side) for side in ("one", "other"))
    both = _spans([(row[f"{side}_lo"], row[f"{side}_hi"]) for side in ("one", "other")])
    if row["kind"] == CHECKPOINT:
        where = f"where it was missed, {one} runs brought a shot; where it was met, {other}"
        text = f"{'Look at' if more else 'Practise'} {_habit(row['set'], row['subject'], names)}: {where}; {both}."
        return _Advice(FIX, str(row["subject"]), text, tuple(row["one_n_ids"]), row)
    if row["kind"] == COVERAGE:
        code = str(row["subject"])
        what = "Keep your answer" if more else "Find an answer"
        text = f"{what} for when they {COVERAGES.get(code, code)}: {one} screens freed somebody, against {other}"
        held = tuple(id_ for id_ in row["one_n_ids"] if id_ not in set(row["one_ids"]))
        ids = tuple(row["one_ids"]) if more else held
        return _Advice(KEEP if more else FIX, code, f"{text}; {both}; {ONE_GLANCE}.", ids, row)
    counts = f"with the safety missing, {one} balls that went to them brought a shot at once"
    what = "Practise getting back" if more else "Look at the safety"
    return _Advice(FIX, SAFETY, f"{what}: {counts}; with him back, {other}; {both}.", tuple(row["one_ids"]), row)


def _of_runs(row: Mapping[str, Any], names: Mapping[str, str]) -> _Advice:
    more, code, shot = bool(row["more"]), str(row["set"]), row["fact"] == "shot"
    one, other = (_many(row, side) for side in ("one", "other"))
    good = more == shot
    to = f" to the {row['subject']}" if row["kind"] == SIDE else ""
    against = {SET: "of the other sets", FREELANCE: "of freelance play", SIDE: "to the other side"}[row["kind"]]
    did = "brought a shot" if shot else "lost the ball"
    text = f"{'Keep' if good else 'Look at'} {names.get(code, code)}{to}: {'' if more else 'only '}{one} runs {did}"
    text += f", against {other} {against}; "
    if row["kind"] == SET:
        text += f"drawn together, plausibly {span(float(row['drawn_lo']), float(row['drawn_hi']))} in 100."
    else:
        text += f"{_spans([(row[f'{side}_lo'], row[f'{side}_hi']) for side in ('one', 'other')])}."
    return _Advice(KEEP if good else FIX, code, text, tuple(row["one_ids" if more else "one_n_ids"]), row)


def _of_slope(what: str, row: Mapping[str, Any], names: Mapping[str, str]) -> _Advice:
    good = float(row["slope"]) > 0
    code = str(row["set"])
    subject = _habit(code, row["checkpoint"], names) if what == DONE else names.get(code, code)
    did = "how often it is met" if what == DONE else "runs with a shot"
    first, last = (round(float(row[name]) * 100) for name in ("first", "last"))
    text = f"{'Keep' if good else 'Look at'} {subject}: {did}, from {first} to {last} in 100 over {row['games']} games."
    return _Advice(KEEP if good else FIX, code, text, tuple(row["slope_ids"]), row)


def _habit(of_set: Any, code: Any, names: Mapping[str, str]) -> str:
    plain = str(code)
    name = names.get(f"{of_set}.{plain.rsplit('.', 1)[-1]}", names.get(plain, plain))
    return f"“{name}” of {names.get(str(of_set), str(of_set))}"


def _many(row: Mapping[str, Any], side: str) -> str:
    return f"{int(row[f'{side}_k'])} of {int(row[f'{side}_n'])}"


def _spans(bounds: Iterable[tuple[float, float]]) -> str:
    one, other = (span(float(lo), float(hi)) for lo, hi in bounds)
    return f"plausibly {one} against {other} in 100"


def _asked(
    tables: Mapping[str, pd.DataFrame], question: Comparison, small_n: int, level: float, n_compared: int
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
        "p": made["p"],
        "comparisons": n_compared + 1,
        "ids": tuple(made["difference_ids"]),
    }


def _row(one: _Advice, n_compared: int) -> dict[str, Any]:
    numbers = {
        name: one.row.get(column)
        for name, column in (
            ("k", "one_k"),
            ("n", "one_n"),
            ("other_k", "other_k"),
            ("other_n", "other_n"),
            ("lo", "one_lo"),
            ("hi", "one_hi"),
            ("p", "p"),
        )
    }
    said = {"kind": one.kind, "label": NOTICED, "subject": one.subject, "said": one.text}
    return said | numbers | {"comparisons": n_compared, "ids": one.ids}


def _nothing(n_compared: int, said: str) -> dict[str, Any]:
    return {"kind": NOTHING, "said": said, "comparisons": n_compared, "ids": ()}


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

"""Recounts of possessions and games, of the work, and of the sentences of the front and of the question."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from itertools import pairwise

from tagger.screen.opening import day_of
from tests.dashboard.recount.book import Row, either, is_shot, resulted
from tests.dashboard.recount.of_findings import practice
from tests.dashboard.recount.of_runs import dots, fate
from tests.dashboard.recount.reading import Control
from tests.dashboard.recount.recounted import Found, Page, Rule, all_of, of_runs, share
from tests.dashboard.recount.view import View

OTHER = {"ours": "theirs", "theirs": "ours"}
WITHIN_MS = 15_000


def box(view: View, team: str, title: str) -> Found:
    """A number of a box score."""
    shots = [row for row in view.rows("shots", team) if is_shot(row)]
    runs = [row for row in view.book.rows["runs"] if view.here(row) and row["team"] == team]
    held = view.possessions(team)
    rows: Mapping[str, list[Row]] = {
        "goals": [row for row in shots if row["result"] == "goal"],
        "shots": shots,
        "on goal": [row for row in shots if row["result"] in ("goal", "saved")],
        "possessions": held,
        "balls lost": view.rows("turnovers", team),
        "settled": [row for row in held if row["settled_ms"] is not None],
        "pulled out": [row for row in runs if row["ended"] == "pull_out"],
        "second chances": [row for row in runs if row["phase"] == "second_chance"],
        "penalties": view.rows("penalties", team),
    }
    return all_of(rows[title])


def of_the_games(page: Page, control: Control) -> Found:
    """Us and them in one game of the list."""
    title, who = control.what.rsplit(", ", 2)[1:]
    [game] = [
        one.id for one in page.book.games if one.opponent == control.row and control.about.startswith(day_of(one.date))
    ]
    return box(View(page.book, {"games": game}, strength=""), who, title)


def of_all_games(page: Page, control: Control) -> Found:
    """We and they over everything."""
    who, title = control.what.split(", ")
    return box(View(page.book, {}, strength=""), "ours" if who == "We" else "theirs", title)


def of_the_game(page: Page, control: Control) -> Found:
    """A game's box score."""
    team = "ours" if control.row == page.book.season.texts.settings.team else "theirs"
    return box(View(page.book, {"games": page.of}, strength=""), team, control.column.lower())


def told(page: Page, control: Control) -> Found:
    """A sentence of a game's story: rows of that game."""
    rows = [page.book.by_id[control.table][id_] for id_ in control.ids]
    if {row["game"] for row in rows} != {page.of}:
        raise LookupError(f"not of {page.of}")
    graded = re.match(r"Graded plus (\d+) of (\d+)", control.text)
    if graded and (int(graded[1]), int(graded[2])) != (
        sum(row["grade"] == "plus" for row in rows),
        sum(row["grade"] in ("plus", "minus") for row in rows),
    ):
        raise LookupError(control.text)
    return Found(control.ids, len(rows))


def grades(page: Page, own: list[Row], control: Control) -> Found:
    """Grades given, and how many of the gradable were plus."""
    if control.column == "Graded":
        return all_of(own)
    if control.column == "Not gradable":
        return all_of(row for row in own if row["grade"] == "not_gradable")
    return share(own, lambda row: {"plus": True, "minus": False}.get(row["grade"]))


def work_view(page: Page) -> View:
    """What the page of the work shows; a set's page shows its runs alone."""
    if page.name == "work":
        return page.view(team="ours", phase="all")
    [play] = [one for one in page.book.playbook.sets if one.code == page.of]
    ours, theirs = play.strength.split("v")
    usual = "even" if ours == theirs else "up" if ours > theirs else "down"
    return View(page.book, {"strength": usual, **page.chosen}, team="ours")


def _grades(page: Page) -> list[tuple[Row, Row | None]]:
    """The grades shown, each with its run."""
    book = page.book
    held = [(row, book.run_of(row)) for row in work_view(page).rows("grades")]
    if page.name == "set":
        return [(row, run) for row, run in held if run and run["phase"] == "set" and run["set"] == page.of]
    return held


def _called(page: Page, row: Row, run: Row | None) -> str:
    return page.book.checkpoint_name(run["set"] if run else None, row["checkpoint"])


def checkpoint(page: Page, control: Control) -> Found:
    """Grades of one checkpoint of one set."""
    own = [
        row
        for row, run in _grades(page)
        if row["checkpoint"] and _called(page, row, run) == control.row and _of_set(page, run, control.about)
    ]
    return grades(page, own, control)


def checkpoint_by_man(page: Page, control: Control) -> Found:
    """One man's grades of one checkpoint: a mark, or how many of the gradable were done, of which all play."""
    own = [
        row
        for row, run in _grades(page)
        if row["checkpoint"]
        and _called(page, row, run) == control.row
        and _of_set(page, run, control.about)
        and row["player"] == control.column
    ]
    if control.what.endswith(f"{control.column}, done"):
        told = [row for row in own if row["grade"] in ("plus", "minus")]
        return Found(tuple(row["id"] for row in told), sum(row["grade"] == "plus" for row in told), len(told))
    [row] = [row for row in own if row["id"] in control.ids]
    said = {"plus": "done", "minus": "not done"}.get(row["grade"], "not made out")
    return all_of([row] if control.what.endswith(f": {said}") else [])


def _of_set(page: Page, run: Row | None, about: str) -> bool:
    if page.name == "set":
        return True
    return about == ("No set" if run is None or run["set"] is None else page.book.set_name(run["set"]))


def went_with_shots(page: Page, control: Control) -> Found:
    """Runs in which a checkpoint was met, or missed at least once, and those that brought a shot."""
    graded: dict[str, list[str]] = {}
    for row, run in _grades(page):
        named = row["checkpoint"] and _called(page, row, run) == control.row
        if run and named and _of_set(page, run, control.about) and row["grade"] in ("plus", "minus"):
            graded.setdefault(run["id"], []).append(row["grade"])
    missed = control.column == "missed"
    runs = [page.book.by_id["runs"][id_] for id_, given in graded.items() if ("minus" in given) is missed]
    return of_runs(page.book, runs, "shot")


def by_man(page: Page, control: Control) -> Found:
    """Grades by man."""
    number = control.row.split(" ")[0]
    return grades(page, [row for row, _ in _grades(page) if row["player"] == number], control)


def given_up(page: Page, control: Control) -> Found:
    """Our possessions after which they had the ball by our doing, split, and theirs right after."""
    book = page.book
    view = page.view(team="ours", phase="all", **({} if page.name == "work" else {"side": ""}))
    ends = ("turnover", "violation", "save", "missed_shot")
    own = [
        row
        for row in view.possessions()
        if row["ended"] in ends and control.row in ("All of these", _split_name(page, row, control.head))
    ]
    if control.column == "Ball to them":
        return all_of(own)
    result = "goal" if control.column.startswith(("Scored", "Goal")) else None
    within = re.search(r"within (\d+) s", control.column)
    within_ms = int(within[1]) * 1000 if within else WITHIN_MS
    after = [(row, _right_after(page, row)) for row in own]
    known = [other for _, other in after if other is not None]

    def soon(other: Row) -> bool | None:
        shots = [shot for shot in book.in_possession("shots", other["id"]) if is_shot(shot)]
        early = [shot for shot in shots if shot["at_ms"] - other["start_ms"] <= within_ms]
        return bool(early) if result is None else either(resulted(shot, result) for shot in early)

    found = share(known, soon)
    return Found(found.ids, found.k, found.n, len(own))


def _right_after(page: Page, row: Row) -> Row | None:
    def found() -> dict[str, Row]:
        ordered = sorted(page.book.rows["possessions"], key=lambda one: (one["game"], one["start_ms"]))
        return {
            one["id"]: other
            for one, other in pairwise(ordered)
            if (one["game"], one["period"]) == (other["game"], other["period"]) and other["team"] == OTHER[one["team"]]
        }

    return page.book.kept(("right after",), found).get(row["id"])


def _split_name(page: Page, row: Row, head: str) -> str | None:
    return page.book.kept(("split", head, row["id"]), lambda: _split(page, row, head))


def _split(page: Page, row: Row, head: str) -> str | None:
    book = page.book
    runs = book.runs_of.get(row["id"], [])
    last = runs[-1] if runs else None
    if head == "How they got it":
        words = {"turnover": "Ball lost", "save": "Shot saved", "missed_shot": "Shot missed", "violation": "Violation"}
        return words[row["ended"]]
    if head == "Out of which set":
        return book.set_name(last["set"]) if last and last["set"] else None
    if head == "On which look":
        if last is None or last["look"] is None:
            return None
        look = book.look_name(last["set"], last["look"])
        return f"{book.set_name(last['set'])}: {look}" if last["set"] else look
    if head == "Where":
        lost = book.in_possession("turnovers", row["id"])
        return book.answer_name("turnover", "where", lost[-1]["where"]) if lost and lost[-1]["where"] else None
    given = [
        grade["grade"]
        for run in runs
        for grade in book.in_possession("grades", row["id"])
        if grade["run"] == run["id"] and (grade["checkpoint"] or "").rsplit(".", 1)[-1] == "safety"
    ]
    if "minus" in given:
        return "Not back"
    return "Back" if "plus" in given else "Not graded"


def moves(page: Page, control: Control) -> list[Row]:
    """The runs of the set that a line of the work's page follows."""
    return [run for run in work_view(page).runs(control.under[-1]) if run["phase"] == "set"]


def habit(page: Page, control: Control) -> Found:
    """A game of a habit's line."""
    name, play = re.match(r"(.+) \((.+)\)$", control.under[-1]).groups()  # type: ignore[union-attr]
    played = {page.book.by_id["grades"][id_]["game"] for id_ in control.ids}
    own = [
        row
        for row, run in _grades(page)
        if row["game"] in played
        and run
        and run["set"]
        and page.book.set_name(run["set"]) == play
        and row["checkpoint"]
        and _called(page, row, run) == name
        and row["grade"] in ("plus", "minus")
    ]
    return Found(tuple(row["id"] for row in own), sum(row["grade"] == "plus" for row in own), len(own))


def asked(page: Page, control: Control) -> Found:
    """The stated question, of two sets and a shot on goal: a side, or all runs where it is known."""
    view = View(page.book, {}, team="ours", phase="all")
    if control.row and ": " in control.what:  # a mark of its line
        [run] = [run for run in view.runs(control.row) if run["id"] in control.ids]
        told = page.book.fact(run, "on_goal") is not None and control.what.endswith(f": {fate(page.book, run)}")
        return all_of([run] if told else [])
    if control.row:
        return of_runs(page.book, view.runs(control.row), "on_goal")
    both = [run for name in ("Lantern", "Ferry") for run in view.runs(name)]
    return all_of(run for run in both if page.book.fact(run, "on_goal") is not None)


def listed(page: Page, control: Control) -> Found:
    """A sentence of the front."""
    of_question = control.what == "The stated question" or control.what.startswith("Tagged ")
    return asked(page, control) if of_question else practice(page, control.text)


def in_playbook(page: Page, control: Control) -> Found:
    """All runs of a set, at every strength, as it says."""
    name = control.what.removesuffix(", all runs")
    return all_of(
        run
        for run in page.book.rows["runs"]
        if run["team"] == "ours" and run["set"] and page.book.set_name(run["set"]) == name
    )


def jobs_done(page: Page, _: Sequence[str]) -> Sequence[int]:
    """Grades that were plus, of those that could be given."""
    told = [row["grade"] for row, _ in _grades(page) if row["grade"] in ("plus", "minus")]
    return [told.count("plus"), len(told)]


def men_graded(page: Page, _: Sequence[str]) -> Sequence[int]:
    """Players with a grade."""
    return [len({row["player"] for row, _ in _grades(page) if row["player"]})]


def shot_at_once(page: Page, _: Sequence[str]) -> Sequence[int]:
    """Their possessions after a ball that they got from us that brought a shot at once."""
    nothing = dict.fromkeys(("about", "what", "text", "beside", "table"), "")
    found = given_up(page, Control((), head="", column="They shot at once", row="All of these", ids=(), **nothing))
    return [found.k, found.n or 0]


LOST = "What do they make of the ball they get from us?"
RULES: Mapping[str, Rule] = {
    "all_games / What is that in 100 possessions? / *": of_all_games,
    "all_games / *": of_the_games,
    "front / *": listed,
    "set / Was the job done? / Does doing it go with shots? / *": went_with_shots,
    "set / Was the job done? / *": checkpoint,
    "work / Does doing it go with shots? / *": went_with_shots,
    "work / Done": checkpoint,
    "work / [0-9]*": checkpoint_by_man,
    "work / Which checkpoints were met? / *": checkpoint,
    "work / By whom? / *": by_man,
    f"work / {LOST} / *": given_up,
    "work / How soon does it cost us? / *": given_up,
    "work / Was the safety back? / *": given_up,
    "work / Is it getting better? / Checkpoints met / *": habit,
    "work / Is it getting better? / Runs with * / *": dots(None, moves),
    "question / The answer / *": asked,
    "playbook / *, all runs": in_playbook,
}

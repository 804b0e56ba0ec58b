"""Recounts of what is counted in runs: the pages of all sets, of one, and of the opponents' actions."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from tests.dashboard.recount.book import Book, Row, either, is_shot, resulted
from tests.dashboard.recount.reading import Control
from tests.dashboard.recount.recounted import Found, Page, Rule, all_of, of_runs, screens_by, share
from tests.dashboard.recount.view import View

WORDS = {
    "brought a shot": "shot",
    "a shot on goal": "on_goal",
    "a goal": "goal",
    "a goal, second chances too": "goal_any",
    "lost the ball": "turnover",
    "were pulled out": "pull_out",
    "drew a penalty": "penalty",
    "a shot within 10 s of starting, once settled": "shot_10s",
    "a shot within 20 s of starting, once settled": "shot_20s",
    "a shot within 30 s of starting, once settled": "shot_30s",
}
FREE = {
    "no screen marked": "no_screen",
    "screens not tagged": "not_looked_for",
}
ENDED = {
    "a shot": "shot",
    "ball lost": "turnover",
    "a whistle": "whistle",
    "pulled out": "pull_out",
    "the set came apart": "broken",
    "flowed into another set": "flowed",
    "the period’s end": "period_end",
    "not answered": None,
}


def counted(fact: str) -> Rule:
    """A column of runs by name: how many brought it."""
    return lambda page, control: of_runs(page.book, page.view().runs(control.row), fact)


def sides(page: Page, control: Control) -> Found:
    """Left and right, drawn and in numbers."""
    told = re.match(r"(.+) to the (left|right), (runs|runs with a shot|with a shot)$", control.what)
    if told is None:
        raise LookupError(control.what)
    runs = page.view(side=told[2]).runs(told[1])
    return all_of(runs) if told[3] == "runs" else of_runs(page.book, runs, "shot")


FINDING = {
    "shot": "brought a shot",
    "on_goal": "brought a shot on goal",
    "goal": "brought a goal",
    "goal_any": "brought a goal, second chances too,",
    "on_goal_any": "brought a shot on goal, second chances too,",
    "shot_10s": "brought a shot within 10 s",
    "shot_20s": "brought a shot within 20 s",
    "shot_30s": "brought a shot within 30 s",
    "turnover": "lost the ball",
    "pull_out": "were pulled out",
    "penalty": "drew a penalty",
}


def own_view(page: Page) -> tuple[View, list[Row]]:
    """A set's page: what it shows, and its runs there."""
    [play] = [one for one in page.book.playbook.sets if one.code == page.of]
    ours, theirs = play.strength.split("v")
    usual = "even" if ours == theirs else "up" if ours > theirs else "down"
    view = View(page.book, {"strength": usual, **page.chosen}, team="ours")
    return view, [run for run in view.runs() if run["phase"] == "set" and run["set"] == page.of]


def came(page: Page, control: Control) -> Found:
    """What came of a set's runs."""
    return of_runs(page.book, own_view(page)[1], WORDS[control.row.removeprefix("… ")])


def look(page: Page, control: Control) -> Found:
    """A cell of the table of looks."""
    runs = own_view(page)[1]
    name = re.sub(r"^\d+ ", "", control.row)
    its = [run for run in runs if page.book.look_name(page.of, run["look"]) == name]
    facts = {"Shot": "shot", "Goal": "goal", "Ball lost": "turnover", "Pulled out": "pull_out"}
    if control.column == "Runs":
        return all_of(its)
    if control.column in facts:
        return of_runs(page.book, its, facts[control.column])
    question, column = ("look.look", "look") if control.column == "Taken" else ("look.open", "look_open")
    told = [run for run in runs if run[column] not in (None, "unseen")]
    asked = [run for run in runs if run in told or page.book.looked_for(run, question)]
    yes = tuple(run["id"] for run in told if page.book.look_name(page.of, run[column]) == name)
    return Found(yes, len(yes), len(told), len(asked))


def way(page: Page, control: Control) -> Found:
    """The runs of one way: who came free, which look, how it ended."""
    free, name, ended = control.what.split(" → ")
    names = {**page.book.answers("screen", "free"), **{code: words for words, code in FREE.items()}}
    return all_of(
        run
        for run in own_view(page)[1]
        if names.get(who_came_free(page.book, run) or "", "not answered") == free
        and page.book.look_name(page.of, run["look"]) == name
        and run["ended"] == ENDED[ended]
    )


def free_words(page: Page, run: Row) -> str:
    """Who came free in a run, as pages say it."""
    names = {**page.book.answers("screen", "free"), **{code: words for words, code in FREE.items()}}
    return names.get(who_came_free(page.book, run) or "", "not answered")


def band(page: Page, control: Control) -> Found:
    """The runs of a band, or of one end of it: all that answer to each of its words."""
    asked = dict(part.split(": ", 1) for part in re.sub(r"^.*, look: ", "Look: ", control.what).split(" → "))
    told: Mapping[str, Callable[[Row], str]] = {
        "Came free": lambda run: free_words(page, run),
        "Look": lambda run: page.book.look_name(page.of, run["look"]),
        "What it became": lambda run: fate(page.book, run),
    }
    return all_of(run for run in own_view(page)[1] if all(told[head](run) == said for head, said in asked.items()))


def worked(page: Page, control: Control) -> Found:
    """The runs that brought what the page counts by, or did not; with somebody free, or one of them."""
    view, runs = own_view(page)
    _, which, rest = re.split(r" (with|without) ", control.what, maxsplit=1)
    its = [run for run in runs if page.book.fact(run, view.fact) is (which == "with")]
    _, free_of, free = rest.partition(", came free: ")
    if ": " in rest and not free_of:  # a tick
        [run] = [run for run in its if run["id"] == control.ids[0]]
        return Found((run["id"],) if control.what.endswith(f": {fate(page.book, run)}") else (), 1)
    return all_of(run for run in its if not free_of or free_words(page, run) == free)


def its_rate(page: Page, control: Control) -> Found:
    """Below the verdict: the runs that count, and all."""
    view, runs = own_view(page)
    return all_of(runs) if control.what.endswith(", runs") else of_runs(page.book, runs, view.fact)


def who_came_free(book: Book, run: Row) -> str | None:
    """Of a run's first screen that freed somebody, else of its last."""
    its = book.screens_of.get(run["id"], [])
    if not its:
        return "no_screen" if book.looked_for(run, "screen") else "not_looked_for"
    first = next((screen for screen in its if screen["free"] in ("user", "setter", "third_man")), its[-1])
    return str(first["free"]) if first["free"] is not None else None


def came_back(page: Page, control: Control) -> Found:
    """Pulled out, and later in the same possession a shot, a goal."""
    fact = "goal" if control.row.endswith("goal") else "shot"
    book = page.book

    def later(run: Row) -> bool | None:
        rest = [book.fact(each, fact) for each in book.runs_of[run["possession"]] if each["order"] > run["order"]]
        return True if True in rest else None if None in rest else False

    out = [run for run in own_view(page)[1] if run["ended"] == "pull_out"]
    yes = tuple(run["id"] for run in out if later(run))
    return Found(yes, len(yes), sum(later(run) is not None for run in out))


def own_screens(page: Page, control: Control) -> Found:
    """The screens in a set's runs."""
    ids = {run["id"] for run in own_view(page)[1]}
    return screens_by(page.book, [row for row in page.book.rows["screens"] if row["run"] in ids], control)


def dots(fact: str | None, runs: Callable[[Page, Control], list[Row]]) -> Rule:
    """A game of a line: all runs counted play, and the number says how many of them brought it."""

    def told(page: Page, control: Control) -> Found:
        name = fact or page.view().fact
        played = {page.book.by_id["runs"][id_]["game"] for id_ in control.ids}
        if [page.view().games[game].opponent for game in played] != [control.what.rsplit(", ", 2)[1]]:
            raise LookupError(f"the runs are of {played}")
        known = [run for run in runs(page, control) if run["game"] in played and page.book.fact(run, name) is not None]
        return Found(tuple(run["id"] for run in known), of_runs(page.book, known, name).k, len(known))

    return told


def action(page: Page, control: Control) -> Found:
    """What they run, together and by side."""
    view = page.view(team="theirs", phase="all", side="")
    name, _, side = control.row.partition(", ")
    runs = [run for run in view.runs(name) if not side or run["side"] == side]
    facts = {"With a shot": "shot", "Goal": "goal", "Ball lost": "turnover"}
    return all_of(runs) if control.column == "Runs" else of_runs(page.book, runs, facts[control.column])


def their_standing(page: Page, control: Control) -> Found:
    """What of it brings shots."""
    return of_runs(page.book, page.view(team="theirs", phase="all", side="").runs(control.row), "shot")


def by_possession(page: Page, control: Control) -> Found:
    """The possessions in which something was run, and what came in them from its first run on."""
    book, runs = page.book, page.view().runs(control.row)
    began: dict[str, int] = {}
    for run in runs:
        began[run["possession"]] = min(run["start_ms"], began.get(run["possession"], run["start_ms"]))
    held = [book.by_id["possessions"][id_] for id_ in began]
    if control.column == "Possessions":
        return all_of(held)
    if control.column == "Run again":
        return share(held, lambda row: sum(run["possession"] == row["id"] for run in runs) > 1)

    def came(row: Row) -> bool | None:
        shots = [
            shot
            for shot in book.in_possession("shots", row["id"])
            if is_shot(shot) and shot["at_ms"] >= began[row["id"]]
        ]
        return bool(shots) if "shot" in control.column else either(resulted(shot, "goal") for shot in shots)

    return share(held, came)


BECAME = {
    "A shot": "shot",
    "A penalty drawn": "penalty",
    "Pulled out": "pull_out",
    "Ball lost": "turnover",
    "Something else": "other",
    "Not answered": "unknown",
}


def became(page: Page, control: Control) -> Found:
    """Runs by what they became: the first of these that holds."""

    def told(run: Row) -> str:
        for fact in ("shot", "penalty", "pull_out", "turnover"):
            if page.book.fact(run, fact):
                return fact
        return "unknown" if None in (page.book.fact(run, "pull_out"), page.book.fact(run, "penalty")) else "other"

    return all_of(run for run in page.view().runs(control.row) if told(run) == BECAME[control.column])


def fate(book: Book, run: Row) -> str:
    """What a run became, as its tick says."""
    came = {name: book.fact(run, name) for name in ("shot", "on_goal", "goal", "penalty", "pull_out", "turnover")}
    if came["shot"]:
        if came["goal"]:
            return "goal"
        if came["on_goal"] and came["goal"] is False:
            return "on goal, no goal"
        return "missed or blocked" if came["on_goal"] is False else "a shot, result not known"
    for name, words in (("penalty", "penalty drawn"), ("pull_out", "pulled out"), ("turnover", "ball lost")):
        if came[name]:
            return words
    return "not answered" if None in (came["pull_out"], came["penalty"]) else "ended otherwise"


def tick(page: Page, control: Control) -> Found:
    """One run of the row it stands in, under the word for what it became."""
    [run] = [one for one in page.view().runs(control.row) if one["id"] == control.ids[0]]
    right = control.what.endswith(f": {fate(page.book, run)}") and control.what.startswith(f"{control.row}, ")
    return Found((run["id"],) if right else (), 1)


def counted_of(page: Page, control: Control) -> Found:
    """In one cell: the runs that count, and of how many."""
    runs = page.view().runs(control.row)
    return all_of(runs) if control.what.endswith(", runs") else of_runs(page.book, runs, page.view().fact)


def two(page: Page, control: Control) -> Found:
    """What stands of two sets side by side, by the words above its film."""
    view, book = page.view(), page.book
    name, _, what = control.what.partition(", ")
    if " beside " in name:
        names = name.split(" beside ")
        fact = view.fact
        return all_of(run for one in names for run in view.runs(one) if book.fact(run, fact) is not None)
    runs = view.runs(name)
    if what.startswith("look: "):
        return all_of(run for run in runs if book.look_name(run["set"], run["look"]) == what.removeprefix("look: "))
    if what == "runs" or what.startswith("runs with "):
        return all_of(runs) if what == "runs" else of_runs(book, runs, view.fact)
    [run] = [one for one in runs if one["id"] == control.ids[0]]
    return Found((run["id"],) if what.endswith(f": {fate(book, run)}") else (), 1)


ELSE = "sets / What else came of them? / *"
HELD = "sets / And by the possession?"
SOON = "sets / How soon, and with second chances?"
RULES: Mapping[str, Rule] = {
    "sets / Each run, in order": tick,
    "sets / Runs with *": counted_of,
    "sets / Two side by side / *": two,
    f"{ELSE} / Runs": lambda page, control: all_of(page.view().runs(control.row)),
    f"{ELSE} / Runs with a shot": counted("shot"),
    f"{ELSE} / On goal": counted("on_goal"),
    f"{ELSE} / Goal": counted("goal"),
    f"{ELSE} / Ball lost": counted("turnover"),
    f"{ELSE} / Pulled out": counted("pull_out"),
    "sets / Which * is better? / * / Counted": lambda page, control: of_runs(
        page.book, page.view().runs(control.row), page.view().fact
    ),
    f"{HELD} / What did each run become? / *": became,
    f"{HELD} / *": by_possession,
    f"{SOON} / Runs": lambda page, control: all_of(page.view().runs(control.row)),
    f"{SOON} / Shot within 10 s": counted("shot_10s"),
    f"{SOON} / 20 s": counted("shot_20s"),
    f"{SOON} / 30 s": counted("shot_30s"),
    f"{SOON} / * / Brought a second chance": counted("second_chance"),
    f"{SOON} / * / Goal, its own": counted("goal"),
    f"{SOON} / * / Second chances too": counted("goal_any"),
    f"{SOON} / * / Penalty drawn": counted("penalty"),
    "sets / Does the side matter? / *": sides,
    "set / What came of its runs? / *": came,
    "set / Which looks? / *, look: *": band,
    "set / Which looks? / *": look,
    "set / What came of each look? / *": look,
    "set / Where do its runs go? / *": band,
    "set / What worked beside what did not / *": worked,
    "set / Way by way / Runs": way,
    "set / Way by way / * more ways, * runs / Runs": way,
    "set / Way by way / What became of the pull-outs? / *": came_back,
    "set / What did its screens bring? / *": own_screens,
    "set / Is it getting better? / Runs with *": dots(None, lambda page, control: own_view(page)[1]),
    "set / *, runs": its_rate,
    "set / *, runs with *": its_rate,
}

"""Counts that stand in sentences and play nothing: each is a rule here, or one of the numbers that count no rows.

Every digit of a sentence must belong to one or the other.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from fnmatch import fnmatchcase
from typing import Any, TypeAlias

from tests.dashboard.recount.book import FREED, Row, is_shot, resulted
from tests.dashboard.recount.of_events import ROLES, did, turns
from tests.dashboard.recount.of_left_open import pairs_kept, question_ends
from tests.dashboard.recount.of_opponents import n_pairs, that_shot
from tests.dashboard.recount.of_people import DRAWN, player_rate
from tests.dashboard.recount.of_possessions import jobs_done, men_graded, shot_at_once
from tests.dashboard.recount.of_runs import own_view
from tests.dashboard.recount.of_screens import all_screens
from tests.dashboard.recount.reading import Control
from tests.dashboard.recount.recounted import Page, freed, of_runs
from tests.dashboard.recount.view import SETTLED, View

MONTHS = "January|February|March|April|May|June|July|August|September|October|November|December"
NO_ROWS = (
    r"calibration slope there is .*1 is right\)",
    r"times 1\.00 is no difference",
    r"\d(st|nd|rd|th) period|needs? \d+ runs|Change it in .*",
    r"Marked in these games, but for nothing that stands here: .*",
    rf"\d+ ({MONTHS})( \d{{4}})?( at \d\d:\d\d)?",
    r"plausibly [−+\d][^;.)]*",
    r"\d+(–\d+)? in 100",
    r"(In|Out of|from \d+ to \d+ in) 100",
    r"\d+ (goals|shots|balls lost) \(",
    r"(within|more than) \d+ (s|seconds)",
    r"([Uu]nder|faint under|at least|fewer than) \d+( runs)?|both sides of a comparison need \d+",
    r"Rings at [\d.]+ m and [\d.]+ m",
    r"No slope is drawn from \d+ games?; it takes \d+",
    r"\d+ (comparisons?|pairs|checkpoints?) (was|were) looked at",
    r"The \d+ most surprising",
    r"\d+ of \d+ (runs|screens|possessions|shots|grades|loose balls|balls lost)( won| set| used| fed)? (has|have) film",
    r"\d+ games, none with film here|\d+ to look at there",
    r"Score \d+–\d+",
    r"Strength: .*",
    r"5 on \d|3-2|2-3|1-4",
)
"""Dates, intervals, settings, how many comparisons were made, and what film there is: none is a count of rows."""
Told: TypeAlias = Callable[[Page, Sequence[str]], Sequence[int | str]]


def settled(page: Page, _: Sequence[str]) -> Sequence[int]:
    """Settled stretches, and those of which nobody said what they were."""
    runs = [run for run in page.view().runs() if run["phase"] in SETTLED]
    return [sum(run["phase"] == "not_tagged" for run in runs), len(runs)]


def few(page: Page, found: Sequence[str]) -> Sequence[int | str]:
    """Runs of a set with too few to be ranked."""
    chosen: dict[str, Any] = {"team": "theirs", "phase": "all", "side": ""} if page.name == "opponents" else {}
    view = page.view(**chosen)
    fact = view.fact if page.name == "sets" else "shot"
    return [found[0], sum(page.book.fact(run, fact) is not None for run in view.runs(found[0]))]


def look_said(page: Page, _: Sequence[str]) -> Sequence[int]:
    """Runs whose look was made out, and all."""
    runs = own_view(page)[1]
    return [sum(run["look"] not in (None, "unseen") for run in runs), len(runs)]


def pulled_out(page: Page, _: Sequence[str]) -> Sequence[int]:
    """Runs of the set that were pulled out."""
    return [sum(run["ended"] == "pull_out" for run in own_view(page)[1])]


def causes(page: Page, _: Sequence[str]) -> Sequence[int]:
    """Goals against us, and those whose cause is known."""
    goals = [row for row in page.view(side="").rows("shots", "theirs") if row["result"] == "goal"]
    return [len(goals), sum(row["cause"] not in (None, "unseen") for row in goals)]


def placed(page: Page, found: Sequence[str]) -> Sequence[int | str]:
    """Shots with a place, of all."""
    shots = [row for row in page.view(side="").rows("shots", found[0].lower()) if is_shot(row)]
    return [found[0], sum(row["x_m"] is not None for row in shots), len(shots)]


def with_place(page: Page, _: Sequence[str]) -> Sequence[int | str]:
    """Shots of the page's team that have a place, and all."""
    return placed(page, ["Theirs" if page.name == "goals" else "Ours"])[1:]


def learned(page: Page, _: Sequence[str]) -> Sequence[int]:
    """Shots with a known result at a net that was not empty, of both teams, and the goals among them."""
    view = page.view(side="")
    shots = [
        row
        for team in ("ours", "theirs")
        for row in view.rows("shots", team)
        if is_shot(row) and row["result"] not in (None, "unseen") and page.book.strength(row) != "empty_net"
    ]
    return [len(shots), sum(row["result"] == "goal" for row in shots)]


def no_line(page: Page, _: Sequence[str]) -> Sequence[int]:
    """Possessions of which nobody said, for a part at least, which line was on; of all."""
    view = page.view(side="")
    held = [*view.possessions("ours"), *view.possessions("theirs")]
    return [sum(any(unit is None for unit, _, _ in turns(page, row)) for row in held), len(held)]


def not_among(page: Page, found: Sequence[str]) -> Sequence[int | str]:
    """Runs of the set at another strength."""
    strength = {"at even strength": "even", "on the power play": "up", "short-handed": "down"}[found[1]]
    view = View(page.book, page.chosen, strength=strength, team="ours")
    return [sum(run["phase"] == "set" and run["set"] == page.of for run in view.runs()), found[1]]


def in_role(page: Page) -> tuple[list[Row], str]:
    """All rows of the role that is drawn, whoever did it, and the answer that names him."""
    table, column = ROLES[DRAWN[page.chosen.get("role", "")][0]]
    view = page.view(side="", phase="all", **({"strength": ""} if table == "loose_balls" else {}))
    rows = [row for row in view.rows(table) if table != "shots" or is_shot(row)]
    return [row for row in rows if column != "feeder" or row[column] not in (None, "none")], column


def named_nobody(page: Page, _: Sequence[str]) -> Sequence[int]:
    """Rows of the role drawn that name no man."""
    rows, column = in_role(page)
    return [sum(not str(row[column]).isdigit() for row in rows)]


def n_in_role(page: Page, _: Sequence[str]) -> Sequence[int]:
    """Rows of the role drawn."""
    return [len(in_role(page)[0])]


def came_in_role(page: Page, _: Sequence[str]) -> Sequence[int]:
    """How many of the role drawn came to something, of those where that is known."""
    rows, column = in_role(page)
    if column in ("shooter", "feeder"):
        sure = [resulted(row, "goal") for row in rows]
    else:
        sure = [freed(row, *(FREED if column == "setter" else ("user",))) for row in rows]
    return [sum(came is True for came in sure), sum(came is not None for came in sure)]


def most_in_role(page: Page, _: Sequence[str]) -> Sequence[int | str]:
    """Who has the most rows of the role drawn, and how many."""
    rows, column = in_role(page)
    men = Counter(str(row[column]) for row in rows if str(row[column]).isdigit())
    [(man, most)] = men.most_common(1)
    return [man, most]


def his_share(row: str) -> Told:
    """A rate of a player, as it is said of his clips."""

    def told(page: Page, _: Sequence[str]) -> Sequence[int]:
        nothing = dict.fromkeys(("head", "column", "about", "what", "text", "beside", "table"), "")
        found = player_rate(page, Control((), row=row, ids=(), **nothing))
        return [found.k, found.n or 0]

    return told


def all_shots(page: Page, _: Sequence[str]) -> Sequence[int]:
    """Shots that name their shooter."""
    shots = [row for row in page.view(side="", phase="all").rows("shots") if is_shot(row)]
    return [sum(str(row["shooter"]).isdigit() for row in shots)]


def marked_in(page: Page, _: Sequence[str]) -> Sequence[int]:
    """Games in which a player did anything of his figures, passed before the feed, faced off or was graded."""
    view = View(page.book, {}, strength="", phase="all")
    rows = [
        row
        for role in ("Shot", "Fed", "Set screens", "Used screens", "Lost", "Loose", "Caused")
        for row in did(view, role, page.of)
    ]
    rows += [row for row in view.rows("shots") if row["feeder2"] == page.of and is_shot(row)]
    rows += [row for row in page.book.rows["faceoffs"] if row["ours"] == page.of]
    rows += [row for row in page.book.rows["grades"] if row["player"] == page.of]
    return [len({row["game"] for row in rows})]


def unmarked(page: Page, _: Sequence[str]) -> Sequence[str]:
    """Men of the roster whom no row of ours in these games names, in whatever part."""
    told: set[str] = set()
    columns = ("shooter", "feeder", "feeder2", "setter", "user", "player", "ours", "players", "out", "in")
    for rows in page.book.rows.values():
        for row in rows:
            if row["game"] in page.view().games and row.get("team") != "theirs":
                told |= {number for column in columns for number in str(row.get(column) or "").split()}
    roster = page.book.season.texts.roster
    return [", ".join(f"{man.number} {man.name}" for man in roster if man.number not in told)]


def turned(page: Page, _: Sequence[str]) -> Sequence[int]:
    """Of one game: balls lost, runs that were pulled out, and penalties, ours and theirs."""
    view = View(page.book, {"games": page.of}, strength="", phase="all")
    runs = [run for run in page.book.rows["runs"] if run["game"] == page.of and run["ended"] == "pull_out"]
    return [
        len(rows)
        for told in (
            [view.rows("turnovers", team) for team in ("ours", "theirs")],
            [[run for run in runs if run["team"] == team] for team in ("ours", "theirs")],
            [view.rows("penalties", team) for team in ("ours", "theirs")],
        )
        for rows in told
    ]


def n_own(page: Page, _: Sequence[str]) -> Sequence[int]:
    """The set's runs."""
    return [len(own_view(page)[1])]


def runs_that(page: Page, said: Sequence[str]) -> Sequence[int]:
    """How many of the runs shown brought what the page counts by."""
    found = of_runs(page.book, page.view().runs(), page.view().fact)
    return [found.k, found.n or 0]


def in_all(page: Page, _: Sequence[str]) -> Sequence[int]:
    """The runs shown by three of their ends."""
    return [of_runs(page.book, page.view().runs(), fact).k for fact in ("goal", "turnover", "pull_out")]


def pairs_of_sets(page: Page, _: Sequence[str]) -> Sequence[int]:
    """How many pairs there are of the sets that were run."""
    n = len({run["set"] for run in page.view().runs() if run["phase"] in ("set", "family")})
    return [n * (n - 1) // 2]


LOST = r"balls lost (\d+) against (\d+), pulled out (\d+) against (\d+), penalties (\d+) against (\d+)"


def own_that(page: Page, _: Sequence[str]) -> Sequence[int]:
    """How many of the set's runs brought what the page counts by."""
    view, runs = own_view(page)
    found = of_runs(page.book, runs, view.fact)
    return [found.k, found.n or 0]


def own_in_all(page: Page, _: Sequence[str]) -> Sequence[int]:
    """The set's runs by three of their ends."""
    return [of_runs(page.book, own_view(page)[1], fact).k for fact in ("goal", "turnover", "pull_out")]


def came_free(page: Page, _: Sequence[str]) -> Sequence[int]:
    """Screens that freed somebody, of those of which it is known."""
    known = [row for row in all_screens(page) if row["free"] not in (None, "unseen")]
    return [sum(row["free"] in ("user", "setter", "third_man") for row in known), len(known)]


SENTENCES: Sequence[tuple[str, str, Told]] = (
    ("sets", r"^(\d+) of (\d+) runs? \D+\.$", runs_that),
    ("sets", r"(\d+) runs? with a goal, (\d+) lost the ball, (\d+) pulled out", in_all),
    ("sets", r"One of (\d+) pairs", pairs_of_sets),
    ("games", LOST, turned),
    ("sets", r"(\d+) of (\d+) settled stretches have no name", settled),
    ("sets", r"(\w[\w -]*?) \((\d+)\)", few),
    ("opponents", r"(\w[\w -]*?) \((\d+)\)", few),
    ("opponents", r"(\d+) of (\d+) runs? (?:of theirs )?brought a shot", that_shot),
    ("opponents", r"(\d+) pairs?$", n_pairs),
    ("sets", r"In (\d+) of (\d+) pairs of those with enough runs", pairs_kept),
    ("question", r"the difference counted would lie from ([−+\d]+) to ([−+\d]+) in 100", question_ends),
    ("screens", r"^Somebody came free in (\d+) of (\d+) screens?\.$", came_free),
    ("set", r"Of (\d+) runs?", n_own),
    ("set", r": (\d+) of (\d+) runs? \D+\.$", own_that),
    ("set", r"^(\d+) runs, as wide as", n_own),
    ("set", r"(\d+) with a goal, (\d+) lost the ball, (\d+) pulled out", own_in_all),
    ("set", r"The look was made out in (\d+) of (\d+) runs", look_said),
    ("set", r"(\d+) runs, the most frequent ways first", n_own),
    ("set", r"(\d+) runs? (?:was|were) pulled out", pulled_out),
    ("set", r"(\d+) runs? (at even strength|on the power play|short-handed)", not_among),
    ("*", r"(\d+) goals? against us; the cause was made out in (\d+)", causes),
    ("goals", r"(Theirs): the place is marked in (\d+) of (\d+) shots", placed),
    ("shots", r"(Ours): the place is marked in (\d+) of (\d+) shots", placed),
    ("goals", r"^(\d+) of (\d+) shots have a place\.", with_place),
    ("shots", r"^(\d+) of (\d+) shots have a place\.", with_place),
    ("shots", r"(?:learned from )?(\d+) shots with (\d+) goals", learned),
    ("goals", r"Of (\d+) of (\d+) possessions nobody said who was on", no_line),
    ("work", r"(\d+) of (\d+) (?:graded jobs? w|in all)", jobs_done),
    ("work", r"(\d+) players? graded", men_graded),
    ("work", r"a shot at once from (\d+) of (\d+)", shot_at_once),
    ("player", r"(\d+) of (\d+) shots were goals", his_share("Shots that were goals")),
    ("player", r"(\d+) of (\d+) he fed were goals", his_share("Shots he fed that were goals")),
    ("player", r"(\d+) of (\d+) he set freed somebody", his_share("Screens he set that freed somebody")),
    ("player", r"(\d+) of (\d+) he used freed him", his_share("Screens he used that freed him")),
    ("player", r"(\d+) of (\d+) were plus", his_share("Grades that were plus")),
    ("players", r"^(\d+) of (\d+) (?=shots|screens)", came_in_role),
    ("players", r"^(\d+) (?=balls lost|loose balls won)", n_in_role),
    ("players", r"; (?:their )?(\d+)\D* the most, (\d+)\.$", most_in_role),
    ("players", r"Of (\d+) more", named_nobody),
    ("players", r", (\d+) shots?$", all_shots),
    ("players", r"Named by no mark of these games: (.+)\.", unmarked),
    ("player", r"in marks of (\d+) games?", marked_in),
)
FOLDED = (
    r"(\d+ marks?)?; \d+ with film",
    r"\d+ more players?, with \d+ or fewer",
    r"\d+ players?( of the roster)?",
    r"\d+ more (ways, \d+ runs|pairs)",
    r"Play all \d+ clips",
    r"None of his \d+ clips",
)
"""What is said of what stands in a table or a list beside it, which is recounted itself."""


def wrong_sentences(page: Page, texts: Sequence[str]) -> list[str]:
    """What is wrong in a page's sentences: a count that is another, or a digit that no rule knows."""
    said: list[str] = []
    for text in texts:
        rest = text
        for where, pattern, told in SENTENCES:
            if fnmatchcase(page.name, where):
                for found in re.finditer(pattern, text):
                    should = [str(each) for each in told(page, found.groups())]
                    if list(found.groups()) != should:
                        said.append(f"“{found[0]}”, recounted {should}")
                    rest = rest.replace(found[0], "")
        for pattern in (*NO_ROWS, *FOLDED):
            rest = re.sub(pattern, "", rest)
        if any(map(str.isdigit, rest)):
            said.append(f"no rule says what is counted in: “{text}”")
    return said

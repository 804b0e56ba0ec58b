"""Recounts of man-up and man-down: power plays run by run, their shots and goals, and what was run in them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from tests.dashboard.recount.book import Row, either, is_shot, klass, resulted
from tests.dashboard.recount.reading import Control
from tests.dashboard.recount.recounted import Found, Page, Rule, all_of, of_runs
from tests.dashboard.recount.view import View

OTHER = {"ours": "theirs", "theirs": "ours"}
FACTS = {"With a shot": "shot", "Goal": "goal", "Ball lost": "turnover"}


@dataclass
class Play:
    """A power play: who has more runners, and its runs in order."""

    team: str
    runs: list[Row] = field(default_factory=list)

    @property
    def ms(self) -> int | None:
        """How long its runs were; None where one has no end."""
        if any(run["end_ms"] is None for run in self.runs):
            return None
        return sum(run["end_ms"] - run["start_ms"] for run in self.runs)


def more(row: Row) -> str | None:
    """The team with more runners."""
    found = klass(row["strength"])
    return row["team"] if found == "up" else OTHER[row["team"]] if found == "down" else None


def power_plays(page: Page, team: str) -> list[Play]:
    """A team's power plays."""

    def found() -> list[Play]:
        view = page.view(strength="")
        runs = sorted(
            (run for run in page.book.rows["runs"] if view.here(run)), key=lambda run: (run["game"], run["start_ms"])
        )
        made: list[Play] = []
        last: tuple[str, str | None] | None = None
        for run in runs:
            now = (run["game"], more(run))
            if now[1] and now != last:
                made.append(Play(now[1]))
            if now[1]:
                made[-1].runs.append(run)
            last = now
        return made

    key = ("power plays", tuple(sorted(page.chosen.items())))
    return [play for play in page.book.kept(key, found) if play.team == team]


def shots_of(page: Page, play: Play, *, short: bool = False) -> list[Row]:
    """Shots in it while its team still had more, of that team or of the other."""
    team = OTHER[play.team] if short else play.team
    held = [shot for run in play.runs for shot in page.book.shots_of.get(run["id"], ())]
    return [shot for shot in held if is_shot(shot) and shot["team"] == team and more(shot) == play.team]


def in_all(page: Page, control: Control) -> Found:
    """A number of the power plays, or of their minutes."""
    plays = power_plays(page, {"Our power play": "ours", "Their power play": "theirs"}[control.row])
    if control.column == "Power plays":
        return Found(tuple(run["id"] for play in plays for run in play.runs), len(plays))
    if control.column == "Brought a goal":
        told = [
            (play, either(resulted(shot, "goal") for shot in shots_of(page, play)) if shots_of(page, play) else False)
            for play in plays
        ]
        scored = [play for play, came in told if came]
        ids = tuple(run["id"] for play in scored for run in play.runs)
        return Found(ids, len(scored), sum(came is not None for _, came in told), len(plays))
    timed = control.under[-1] == "What is that per minute?"
    if timed:
        plays = [play for play in plays if play.ms is not None]
    shots = [shot for play in plays for shot in shots_of(page, play, short=control.column.endswith("short-handed"))]
    if control.column.startswith("Goals"):
        shots = [shot for shot in shots if shot["result"] == "goal"]
    found = all_of(shots)
    return Found(found.ids, found.k, sum(play.ms or 0 for play in plays)) if timed else found


def unmeasured(page: Page, control: Control) -> Found:
    """Power plays of unknown length."""
    team = "ours" if control.what.startswith("Our") else "theirs"
    plays = [play for play in power_plays(page, team) if play.ms is None]
    return Found(tuple(run["id"] for play in plays for run in play.runs), len(plays))


def was_run(page: Page, control: Control) -> Found:
    """What was run at a strength."""
    team, strength = {
        "What do we run, man-up?": ("ours", "up"),
        "What do they run against us, man-down?": ("theirs", "up"),
        "What do we do with the ball, man-down?": ("ours", "down"),
    }[control.under[-1]]
    runs = View(page.book, page.chosen, team=team, strength=strength, side="", phase="").runs(control.row)
    return all_of(runs) if control.column == "Runs" else of_runs(page.book, runs, FACTS[control.column])


RULES: Mapping[str, Rule] = {
    "man_* / What comes of each power play? / *": in_all,
    "man_* / What is that per minute? / Our*": unmeasured,
    "man_* / What is that per minute? / Their*": unmeasured,
    "man_* / What is that per minute? / *": in_all,
    "man_* / What do * / *": was_run,
}

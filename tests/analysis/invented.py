"""Invented seasons for the tests: event tables from a seed, with rates that are known because they are put in."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from tagger.tables import frames

SETS = {"lantern": 0.55, "keel": 0.45, "ferry": 0.5, "breakwater": 0.35, "tidepool": 0.4}
PLAYERS = ("00", "5", "7", "8", "9", "10", "14", "16", "17", "22")
THEM = ("3", "12", "23", "44", "55")
Rows = dict[str, list[dict[str, Any]]]


def records(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """Rows of a result table as plain dictionaries, missing values as None."""
    plain = frame.astype(object)
    return plain.where(plain.notna(), None).to_dict("records")  # type: ignore[return-value]


def one(frame: pd.DataFrame, **where: Any) -> dict[str, Any]:
    """The one row with these values."""
    found = [row for row in records(frame) if all(row[name] == value for name, value in where.items())]
    assert len(found) == 1, f"{len(found)} rows with {where}"
    return found[0]


def season(seed: int, **how: Any) -> dict[str, pd.DataFrame]:
    """Make event tables; options as of `season_rows`."""
    return frames(season_rows(seed, **how))


def season_rows(
    seed: int,
    *,
    n_games: int = 4,
    n_possessions: int = 40,
    shot_rate: Mapping[str, float] | None = None,
    on_goal_rate: float = 0.68,
    goal_rate: float = 0.2,
    unknown: float = 0.1,
    screens: bool = True,
) -> Rows:
    """Make the rows of event tables.

    Parameters
    ----------
    seed : int
        Same seed, same rows.
    n_games, n_possessions : int
        Games, and possessions per team and game.
    shot_rate : mapping of str to float
        Set → share of its runs with a shot.
    on_goal_rate, goal_rate : float
        Share of shots that are on goal (goals among them), and that are goals.
    unknown : float
        Share of answers that are skipped or unseen.
    screens : bool
        Whether screens are marked.
    """
    rng = np.random.default_rng(seed)
    rates = dict(SETS if shot_rate is None else shot_rate)
    rows: Rows = {
        name: []
        for name in ("periods", "possessions", "runs", "screens", "shots", "turnovers", "loose_balls", "grades")
    }
    for game in range(1, n_games + 1):
        _Game(
            rng,
            f"g{game}",
            rates,
            on_goal_rate=on_goal_rate,
            goal_rate=goal_rate,
            unknown=unknown,
            screens=screens,
            rows=rows,
        ).play(n_possessions)
    return rows


class _Game:
    def __init__(
        self,
        rng: np.random.Generator,
        game: str,
        rates: Mapping[str, float],
        *,
        on_goal_rate: float,
        goal_rate: float,
        unknown: float,
        screens: bool,
        rows: Rows,
    ) -> None:
        self.rng, self.game, self.rates, self.rows = rng, game, rates, rows
        self.on_goal_rate, self.goal_rate, self.unknown, self.screens = on_goal_rate, goal_rate, unknown, screens
        self.n_ids = 0
        self.at_ms = 0

    def id(self) -> str:
        self.n_ids += 1
        return f"{self.game}-{self.n_ids}"

    def add(self, table: str, **row: Any) -> dict[str, Any]:
        made = {"game": self.game, "book": "first", "id": self.id(), **row}
        made["marks"] = (made["id"],)
        self.rows[table].append(made)
        return made

    def maybe(self, value: Any) -> Any:
        draw = self.rng.random()
        return None if draw < self.unknown / 2 else ("unseen" if draw < self.unknown else value)

    def play(self, n_possessions: int) -> None:
        for period in (1, 2, 3):
            start = self.at_ms
            for turn in range(2 * n_possessions // 3 + (period == 1) * (2 * n_possessions % 3)):
                self.possession(period, ("ours", "theirs")[turn % 2])
            self.add("periods", period=period, start_ms=start, end_ms=self.at_ms)

    def possession(self, period: int, team: str) -> None:
        strength = str(self.rng.choice(["5v5", "5v4", "4v5"], p=[0.84, 0.08, 0.08]))
        head = {"period": period, "team": team, "strength": strength}
        start = self.at_ms
        settled = start + int(self.rng.integers(3000, 9000)) if self.rng.random() < 0.8 else None
        possession = self.add("possessions", **head, start_ms=start, settled_ms=settled, crossed=True)
        parent, order, ended = None, 0, None
        if settled is None and self.rng.random() < 0.7:
            phases = ["transition"]
        else:
            phases = []
        while ended is None:
            order += 1
            phase = phases.pop() if phases else ("second_chance" if parent else self.phase(team))
            parent, ended = self.run(possession, head, order, phase, parent, settled)
        possession["end_ms"] = self.at_ms
        possession["ended"] = ended

    def phase(self, team: str) -> str:
        named = "set" if team == "ours" else "family"
        return str(self.rng.choice([named, "freelance", "not_tagged", "broken"], p=[0.7, 0.15, 0.1, 0.05]))

    def run(
        self,
        possession: dict[str, Any],
        head: dict[str, Any],
        order: int,
        phase: str,
        parent: str | None,
        settled: int | None,
    ) -> tuple[str | None, str | None]:
        rng = self.rng
        start = self.at_ms if order > 1 or settled is None else settled
        self.at_ms = start + int(rng.integers(2000, 26000))
        name = None
        if phase in {"set", "family"}:
            name = str(rng.choice(list(self.rates))) if phase == "set" else str(rng.choice(["two_man", "cut"]))
        run = self.add(
            "runs",
            **head,
            possession=possession["id"],
            order=order,
            set=name,
            side=self.maybe(str(rng.choice(["left", "right"]))) if name else None,
            phase=phase,
            parent=parent,
            settled_ms=settled,
            start_ms=start,
            end_ms=self.at_ms,
            look=self.maybe(str(rng.choice(["one", "two", "none"]))) if phase == "set" else None,
            look_open=self.maybe(str(rng.choice(["one", "none"]))) if phase == "set" else None,
            penalty_drawn=bool(rng.random() < 0.04),
        )
        inside = {"possession": possession["id"], "run": run["id"], "period": head["period"], "at_ms": self.at_ms - 500}
        people = PLAYERS if head["team"] == "ours" else THEM
        if self.screens and phase in {"set", "family", "freelance"} and rng.random() < 0.6:
            setter, user = (str(number) for number in rng.choice(people, 2, replace=False))
            self.add(
                "screens",
                **inside,
                team=head["team"],
                kind=self.maybe(str(rng.choice(["on_ball", "off_ball", "double"]))),
                side=run["side"],
                setter=self.maybe(setter),
                user=self.maybe(user),
                coverage=self.maybe(str(rng.choice(["switched", "stayed", "blown"]))),
                free=self.maybe(str(rng.choice(["user", "setter", "third_man", "nobody"]))),
            )
        if phase == "set" and rng.random() < 0.5:
            grade = str(rng.choice(["plus", "minus", "not_gradable"], p=[0.6, 0.3, 0.1]))
            self.add("grades", **inside, player=str(rng.choice(people)), checkpoint=f"{name}.safety", grade=grade)
        if rng.random() < self.rates.get(name or "", 0.4):
            return self.shot(run, inside, head, people)
        ended = str(rng.choice(["turnover", "pull_out", "whistle"], p=[0.55, 0.35, 0.1]))
        run["ended"] = ended
        if ended == "pull_out":
            return None, None
        if ended == "turnover":
            self.add(
                "turnovers", **inside, team=head["team"], strength=head["strength"],
                player=self.maybe(str(rng.choice(people))), kind=self.maybe("bad_pass"),
            )  # fmt: skip
        return None, ended

    def shot(
        self, run: dict[str, Any], inside: dict[str, Any], head: dict[str, Any], people: tuple[str, ...]
    ) -> tuple[str | None, str | None]:
        rng = self.rng
        draw = rng.random()
        if draw < self.goal_rate:
            result = "goal"
        elif draw < self.on_goal_rate:
            result = "saved"
        else:
            result = str(rng.choice(["wide", "post", "blocked", "dump", "waved_off"], p=[0.6, 0.1, 0.2, 0.05, 0.05]))
        recovered = None if result == "goal" else str(rng.choice(["yes", "no"], p=[0.25, 0.75]))
        run["ended"] = "shot"
        self.add(
            "shots", **inside, team=head["team"], strength=head["strength"],
            shooter=self.maybe(str(rng.choice(people))), feeder=self.maybe(str(rng.choice([*people, "none"]))),
            result=self.maybe(result), recovered=recovered,
        )  # fmt: skip
        if recovered == "yes":
            if rng.random() < 0.5:
                self.add("loose_balls", **inside, team=head["team"], player=self.maybe(str(rng.choice(people))))
            return run["id"], None
        return None, "goal" if result == "goal" else ("save" if result == "saved" else "missed_shot")


def rates_in(frame: pd.DataFrame) -> list[str]:
    """Name the rates that a result table holds.

    Parameters
    ----------
    frame : DataFrame
        A result table.

    Returns
    -------
    list of str
        Names, in the order of the columns.
    """
    there = set(frame.columns)
    return [name for name in frame.columns if {f"{name}_k", f"{name}_n", f"{name}_lo", f"{name}_hi"} <= there]

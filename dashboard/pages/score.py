"""A game's score as it came about, and in a sentence: plain counts, which need no proof."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from dashboard.pages.filters import number_word

if TYPE_CHECKING:
    from dashboard.moment import Moment


@dataclass(frozen=True)
class Score:
    """The goals of a game.

    Attributes
    ----------
    goals : tuple of mapping
        Rows of shots that are goals, in order of time.
    ours, theirs : tuple of str
        Their ids, by team.
    nobodys : int
        Goals of which nobody said whose they are.
    periods : tuple of int
        The periods that are tagged, in order.
    n_periods : int
        How many such a game has.
    ended : bool
        Whether each of these is tagged to its end.
    """

    goals: tuple[Mapping[str, Any], ...]
    ours: tuple[str, ...]
    theirs: tuple[str, ...]
    nobodys: int
    periods: tuple[int, ...]
    n_periods: int
    ended: bool

    @property
    def whole(self) -> bool:
        """Whether every period of the game is tagged to its end."""
        return self.ended and set(range(1, self.n_periods + 1)) <= set(self.periods)

    @property
    def margin(self) -> int:
        """Goals ahead, below 0 behind."""
        return len(self.ours) - len(self.theirs)

    def margin_after(self, period: int) -> int:
        """Goals ahead once a period was over.

        Parameters
        ----------
        period : int
            Its number.

        Returns
        -------
        int
            Below 0 behind.
        """
        there = [row for row in self.goals if row.get("period") is not None and int(row["period"]) <= period]
        return sum(step_of(row) for row in there)


def step_of(goal: Mapping[str, Any]) -> int:
    """What a goal does to the margin.

    Parameters
    ----------
    goal : mapping
        Its row.

    Returns
    -------
    int
        1, -1; 0 where nobody said whose it is.
    """
    return {"ours": 1, "theirs": -1}.get(str(goal.get("team")), 0)


def score_of(moment: Moment, game: str) -> Score:
    """The goals of a game.

    Parameters
    ----------
    moment : Moment
        The season.
    game : str
        The game's id.

    Returns
    -------
    Score
        From its chosen book.
    """
    rows = moment.folded[game].rows
    goals = sorted((row for row in rows.get("shots", ()) if row.get("result") == "goal"), key=lambda row: row["at_ms"])
    periods = list(rows.get("periods", ()))
    numbers = sorted({int(row["period"]) for row in periods if row.get("period") is not None})
    usual = moment.settings.n_periods
    ended = all(row.get("end_ms") is not None for row in periods)
    team = {name: tuple(str(row["id"]) for row in goals if row.get("team") == name) for name in ("ours", "theirs")}
    return Score(
        goals=tuple(goals),
        ours=team["ours"],
        theirs=team["theirs"],
        nobodys=len(goals) - len(team["ours"]) - len(team["theirs"]),
        periods=tuple(numbers),
        n_periods=usual,
        ended=ended,
    )


def margin_words(margin: int) -> str:
    """How a side stood.

    Parameters
    ----------
    margin : int
        Goals ahead, below 0 behind.

    Returns
    -------
    str
        As "three up", "one down", "level".
    """
    return f"{number_word(abs(margin))} {'up' if margin > 0 else 'down'}" if margin else "level"


def course(score: Score) -> str:
    """How a whole game went, from its last but one period on.

    Parameters
    ----------
    score : Score
        The game's.

    Returns
    -------
    str
        As "three up after two periods, one up at the end"; empty where it is not tagged whole, or has but one period.
    """
    if not score.whole or len(score.periods) < 2:
        return ""
    before = score.periods[-2]
    then, now = score.margin_after(before), score.margin
    after = f"after {number_word(before)} period{'' if before == 1 else 's'}"
    if before >= score.n_periods:
        return f"{margin_words(then)} {after}, {margin_words(now)} after overtime"
    if then == now:
        return f"{margin_words(then)} {after} and at the end"
    return f"{margin_words(then)} {after}, {margin_words(now)} at the end"


def result_word(score: Score) -> str:
    """Won, lost or drawn.

    Parameters
    ----------
    score : Score
        Of a game that is tagged whole.

    Returns
    -------
    str
        As "Won".
    """
    return "Won" if score.margin > 0 else "Lost" if score.margin < 0 else "Drawn"


def tagged_so_far(score: Score) -> str:
    """What is tagged of a game that is not tagged whole.

    Parameters
    ----------
    score : Score
        The game's.

    Returns
    -------
    str
        As "Tagged so far, two of three periods".
    """
    if not score.periods:
        return "Tagged so far, no period marked"
    regular = sum(number <= score.n_periods for number in score.periods)
    part = "" if score.ended else ", not to its end" if regular == 1 else ", the last not to its end"
    return f"Tagged so far, {number_word(regular)} of {number_word(score.n_periods)} periods{part}"


def most(scores: Iterable[Score]) -> int:
    """The largest margin, ahead or behind, at any time of any of some games.

    Parameters
    ----------
    scores : iterable of Score
        The games'.

    Returns
    -------
    int
        At least 1.
    """
    found = 1
    for score in scores:
        margin = 0
        for goal in score.goals:
            margin += step_of(goal)
            found = max(found, abs(margin))
    return found

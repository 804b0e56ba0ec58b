"""Who was in net for each shot, by the goalkeeper marks: saves and goals against belong to that man.

By the last goalkeeper mark before the shot; with none the save is nobody's, and the goalkeeper's page says what to
mark. A change on the very frame of a shot comes after it: who let it in was there before he went.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from dashboard.moment import Moment

FACED = ("goal", "saved")
GOAL_POSITIONS = ("goal", "goalie", "goalkeeper", "goaltender")


@dataclass(frozen=True)
class InNet:
    """Shots on our goal by the man who faced them, in order of game and time.

    Attributes
    ----------
    saves, goals : mapping of str to tuple of str
        Number → ids of shots.
    nobody : tuple of str
        Ids of shots on goal for which nobody said who was in net; with the net known to be empty they are left out.
    game_of : mapping of str to str
        Shot → its game.
    """

    saves: Mapping[str, tuple[str, ...]]
    goals: Mapping[str, tuple[str, ...]]
    nobody: tuple[str, ...]
    game_of: Mapping[str, str]

    def row(self, number: str, small_n: int) -> dict[str, Any]:
        """His share of saves as a row of a result table has it.

        Parameters
        ----------
        number : str
            The goalkeeper's.
        small_n : int
            Under this n it is too few to say.

        Returns
        -------
        dict
            Rate `save`: of the shots on goal that he faced (the interval allows for games that differ, by how much
            all goalkeepers' do); `goals` and `goals_ids`.
        """
        import numpy as np

        from analysis import rate

        goals = self.goals.get(number, ())
        men = [number, *sorted({*self.saves, *self.goals} - {number})]
        games = {game: place for place, game in enumerate(sorted(set(self.game_of.values())))}

        def counted(shots: Mapping[str, tuple[str, ...]]) -> Any:
            at = [[games[self.game_of[shot]] for shot in shots.get(man, ())] for man in men]
            return np.array([np.bincount(np.array(each, dtype=int), minlength=len(games)) for each in at])

        k = counted(self.saves)
        ids = rate.tuples([self.saves.get(man, ()) for man in men])
        columns = rate.share("save", k, k + counted(self.goals), ids, small_n=small_n)
        return {name: column[0] for name, column in columns.items()} | {"goals": len(goals), "goals_ids": goals}


def in_net(moment: Moment) -> InNet:
    """Give every shot on our goal to the man in net.

    Parameters
    ----------
    moment : Moment
        The season.

    Returns
    -------
    InNet
        By the last goalkeeper mark of ours before the shot, in the same game; by one on its frame only where nobody was
        marked before.
    """
    return moment.kept(("in_net",), lambda: _given(moment))


def _given(moment: Moment) -> InNet:
    from analysis.codes import words
    from analysis.goalkeeper import keepers

    table = moment.tables["shots"]
    man_of = dict(zip(words(table["id"]).tolist(), keepers(moment.tables["goalies"], table).tolist(), strict=True))
    order = {game.id: place for place, game in enumerate(moment.games)}
    shots = [row for row in moment.rows("shots").values() if row.get("team") == "theirs" and row.get("result") in FACED]
    shots.sort(key=lambda row: (order.get(row["game"], len(order)), int(row["at_ms"])))
    saves: dict[str, list[str]] = {}
    goals: dict[str, list[str]] = {}
    nobody: list[str] = []
    for shot in shots:
        man = man_of.get(shot["id"])
        if man:
            (saves if shot["result"] == "saved" else goals).setdefault(str(man), []).append(str(shot["id"]))
        elif man is None:
            nobody.append(str(shot["id"]))
    return InNet(
        {number: tuple(ids) for number, ids in saves.items()},
        {number: tuple(ids) for number, ids in goals.items()},
        tuple(nobody),
        {str(shot["id"]): str(shot["game"]) for shot in shots},
    )

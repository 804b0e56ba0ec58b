"""Who is on the floor: a named line, and man for man from there. Our lines' members are the season's own.

Known from a named line on; a change of which nothing was said makes it unknown again, and so does a period's beginning,
since nobody marks who comes out of the dressing room. Who sits in the box is not told apart: mark it as a swap.

A line of ours goes out with one letter and its players by number; a swap is a question of the same mark. Opponents'
lines stay plain, since nobody knows their men.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from tagger.tables import OURS, SOMEBODY, THEIRS, UNSEEN

SWAP = "swap"


def whose(answers: Mapping[str, Any]) -> dict[str, Any]:
    """A line change's answers with whose it is, where the line says so.

    Parameters
    ----------
    answers : mapping
        Cleaned.

    Returns
    -------
    dict
        With `team`, unless that is said or nobody knows.
    """
    line = answers.get("line")
    if line is None or "team" in answers:
        return dict(answers)
    return {**answers, "team": THEIRS if line == THEIRS else OURS}


@dataclass
class OnFloor:
    """One team's men on the floor as they change.

    Attributes
    ----------
    lines : mapping of str to sequence of str
        A line's code → its players' numbers.
    unit : str or None
        The line that is on; None when nobody knows.
    players : list of str or None
        Numbers; None when nobody knows.
    """

    lines: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    unit: str | None = None
    players: list[str] | None = None

    def forget(self) -> None:
        """A period begins: whoever comes out has to be marked."""
        self.unit = self.players = None

    def change(self, answers: Mapping[str, Any]) -> list[tuple[str, str]]:
        """A line change.

        Parameters
        ----------
        answers : mapping
            Cleaned: `line` (one of ours) or `unit`, `out`, `in`.

        Returns
        -------
        list of (str, str)
            Code and text of what cannot be.
        """
        line, off, on = answers.get("line"), answers.get("out"), answers.get("in")
        named = answers.get("unit") if line in (None, SWAP, THEIRS) else line
        faults = []
        if named is not None:
            self.unit = named
            self.players = list(self.lines[named]) if self.lines.get(named) else None
        elif off is None and on is None:  # a swap of nobody knows whom, too
            self.forget()
        if UNSEEN in (off, on):
            self.players = None
        if self.players is not None and off is not None:
            if off in self.players:
                self.players.remove(off)
            else:
                faults.append(
                    ("not_on_floor", f"{off} goes off but is not on the floor; correct the number, or mark the line")
                )
        if self.players is not None and on is not None:
            if on in self.players and on != SOMEBODY:
                faults.append(
                    ("on_floor", f"{on} comes on but is on the floor already; correct the number, or mark who went off")
                )
            else:
                self.players.append(on)
        return faults

    def row(self) -> dict[str, Any]:
        """What a row of the lines table says of it.

        Returns
        -------
        dict
            `unit` and `players` (numbers, space between), None where unknown.
        """
        return {"unit": self.unit, "players": " ".join(self.players) if self.players is not None else None}

"""What a kind of mark does to a game, as the vocabulary says it; what it leaves out touches nothing.

Each property stands in the table at the top of `vocabulary.py`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

from tagger.tables import OURS, THEIRS

BESIDE, FIRMS, TOUCHES, NAMES, ENDS, OF_SET = "beside", "firms", "touches", "names", "ends", "of_set"
RUN = (BESIDE, FIRMS, TOUCHES, NAMES, ENDS, OF_SET)
"""What a kind can be to the run it falls in."""
BALL, SAID = "ball", "said"
TEAM = (SAID, BALL)
"""Whose a row can be: by the mark's own answer, or of who has the ball."""
ROW, OF_RUN, NOTHING = "row", "run", "nothing"
PLAYS = (ROW, OF_RUN, NOTHING)
"""What a sentence can play."""


@dataclass(frozen=True)
class Does:
    """What the possessions must be told by a kind that does this.

    Attributes
    ----------
    asks : tuple of str
        Questions without which it means nothing.
    run : str
        What such a kind is to the run it falls in; empty: whatever the vocabulary says.
    row : bool
        Whether it can have a table of its own.
    """

    asks: tuple[str, ...] = ()
    run: str = ""
    row: bool = True


DOES: Mapping[str, Does] = {
    "period_start": Does(("number",), row=False),
    "period_end": Does(row=False),
    "possession": Does(("team", "gained"), row=False),
    "faceoff": Does(),
    "settled": Does(row=False),
    "set": Does(("set", "side"), NAMES),
    "look": Does(("look", "open"), OF_SET),
    "grade": Does(("player", "checkpoint", "grade"), OF_SET),
    "shot": Does(("result", "recovered"), TOUCHES),
    "turnover": Does(("kind", "where"), TOUCHES),
    "whistle": Does(("to",), TOUCHES),
    "penalty": Does(("team", "kind", "delayed"), TOUCHES),
    "strength": Does(("strength",), row=False),
    "goalie": Does(("team", "what")),
    "line": Does(("line", "team", "unit", "out", "in")),
    "clock": Does(("clock",)),
    "detail": Does(("level",), row=False),
}
"""What only code can say: `walk.py` sends each to its method. Several kinds may have the same."""


@dataclass(frozen=True)
class Traits:
    """One kind's properties, each with what leaving it out means."""

    code: str
    does: str = ""
    starts_play: bool = False
    stops_play: bool = False
    past_centre: bool = False
    run: str = BESIDE
    phase: str = ""
    named_by: str = ""
    ended: str = ""
    leaves: str = "not_tagged"
    ends_possession: tuple[Mapping[str, Any], ...] = ()
    begins_possession: tuple[Mapping[str, Any], ...] = ()
    table: str = ""
    team: str = SAID
    part: tuple[str, ...] = ()
    again: tuple[str, ...] = ()
    also: tuple[Mapping[str, Any], ...] = ()
    told: bool = True
    plays: str = NOTHING
    often: bool = False
    balls: tuple[str, ...] = ()
    """Who may have the ball when it is marked, by its needs; empty: it needs nobody to have it."""


def traits_of(kind: Mapping[str, Any]) -> Traits:
    """A kind's traits.

    Parameters
    ----------
    kind : mapping
        As in the vocabulary.

    Returns
    -------
    Traits
        With what it leaves out.
    """
    plain = {field.name: kind[field.name] for field in fields(Traits) if field.name in kind}
    for name in ("part", "again", "also", "ends_possession", "begins_possession"):
        plain[name] = tuple(kind.get(name, ()))
    plain["table"] = kind["table"]["name"] if "table" in kind else ""
    plain["balls"] = tuple(team for team in kind["needs"].get("ball", ()) if team in (OURS, THEIRS))
    plain.setdefault("plays", ROW if plain["table"] else OF_RUN if plain.get("run") == NAMES else NOTHING)
    return Traits(**plain)

"""Who may be seen, and who may be named, in what goes out: every door asks here.

Film and names of players are personal, of minors more so. Consent stands on the roster: who has no line with
``consent = yes`` that holds on the game's day has none. He is *marked* in a clip when any event table names his number
for a moment of it, for the run that a moment of it belongs to, or as on the floor or in net then
(`tagger.marked_players`).
On the laptop's own screen everything plays and everybody has a name. In a file or on another device the season's
``[care]`` says what becomes of such a clip, and numbers stand instead of names unless it says otherwise.

Opponents are minors too. They are on no roster, so nobody can say yes for them here: nothing is ever cut or named by
their number, and the words at each door say that their film is as personal.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Generic, Protocol, TypeVar

if TYPE_CHECKING:
    from tagger.marked_players import MarkedPlayers
    from tagger.texts.roster import Player

SCREEN, FILE, DEVICE = "screen", "file", "device"
"""Where something goes: the laptop's own screen, a file that may be passed on, a browser on another device."""
LEAVE_OUT_CLIP, LEAVE_OUT_NAME = "clip", "name"
CHOICES = (LEAVE_OUT_CLIP, LEAVE_OUT_NAME)


class Stretch(Protocol):
    """A stretch of a game that is shown; `dashboard.clips.Clip` is one."""

    @property
    def game(self) -> str:
        """The game's id."""

    @property
    def start_ms(self) -> int:
        """First ms on the game's time line."""

    @property
    def end_ms(self) -> int:
        """Its end, exclusive."""


C = TypeVar("C", bound=Stretch)


@dataclass(frozen=True)
class Care:
    """What a season says of those without consent.

    Attributes
    ----------
    without_consent : str
        What is left out where somebody without consent has a marked part in a clip: the "clip", or only the "name", so
        that the clip goes out with no word about who does what in it.
    names_outside : bool
        Whether players with consent are called by name outside the laptop; else by number.
    keep_days : int
        After so many days floorbook asks whether a game's film shall go, and a player who left; 0: it never asks.
    film_for_lookers : bool
        Whether who came in to look, not to tag, is given film. A browser plays a clip out of the whole film: what is
        left out of the lists is not shown, but who knows how could fetch it.
    """

    without_consent: str = LEAVE_OUT_CLIP
    names_outside: bool = False
    keep_days: int = 0
    film_for_lookers: bool = True


@dataclass(frozen=True)
class GoingOut(Generic[C]):
    """What of some clips goes out.

    Attributes
    ----------
    clips : tuple of clip
        Those that go, in the order given.
    left_out : tuple of clip
        Those that do not.
    unsaid : frozenset of clip
        Of those that go, the ones of which nothing may be said beside game and time.
    because : mapping of str to int
        Number of who has no consent → in how many of the clips he is marked.
    n_marked : int
        In how many of the clips somebody without consent is marked, whether they go or not.
    """

    clips: tuple[C, ...]
    left_out: tuple[C, ...] = ()
    unsaid: frozenset[C] = frozenset()
    because: Mapping[str, int] = field(default_factory=dict)
    n_marked: int = 0


def has_consent(roster: Iterable[Player], number: str, day: str = "") -> bool:
    """Whether the roster says yes for a number of ours.

    Parameters
    ----------
    roster : iterable of Player
        The season's.
    number : str
        As marked.
    day : str
        The game's date, YYYY-MM-DD; empty: the line's dates are not looked at.

    Returns
    -------
    bool
        False for a number that has no line, or none that holds on that day: then nobody knows who wore it.
    """
    return any(player.number == number and player.consent and _holds(player, day) for player in roster)


def _holds(player: Player, day: str) -> bool:
    after = not player.since or player.since <= day
    return not day or (after and (not player.until or day <= player.until))


def may_be_named(player: Player, care: Care, to: str) -> bool:
    """Whether a player stands by name rather than by number.

    Parameters
    ----------
    player : Player
        One line of the roster.
    care : Care
        What the season says.
    to : str
        SCREEN, FILE or DEVICE.

    Returns
    -------
    bool
        On the laptop's screen always; elsewhere only where the season wants names and he has consent.
    """
    return to == SCREEN or (care.names_outside and player.consent)


def going_out(
    clips: Iterable[C],
    marked: Mapping[str, MarkedPlayers],
    days: Mapping[str, str],
    roster: Iterable[Player],
    care: Care,
    to: str,
    *,
    said_to_be_there: bool = False,
) -> GoingOut[C]:
    """Which clips go out, which do not and because of whom.

    Parameters
    ----------
    clips : iterable of clip
        What is to be shown or cut.
    marked : mapping of str to MarkedPlayers
        Game → who is marked when.
    days : mapping of str to str
        Game → its date.
    roster : iterable of Player
        The season's.
    care : Care
        What the season says.
    to : str
        SCREEN, FILE or DEVICE.
    said_to_be_there : bool
        Somebody at the laptop said that he has the consent that the roster lacks: everything goes, and is counted.

    Returns
    -------
    GoingOut
        A clip of a game that `marked` or `days` does not know is left out, unless it is for the laptop's own screen.
    """
    held = tuple(roster)
    yes: dict[tuple[str, str], bool] = {}

    def lacking(clip: C) -> list[str]:
        found = []
        for number in marked[clip.game].within(clip.start_ms, clip.end_ms):
            key = (number, days[clip.game])
            if key not in yes:
                yes[key] = has_consent(held, *key)
            if not yes[key]:
                found.append(number)
        return found

    going: list[C] = []
    left: list[C] = []
    unsaid: set[C] = set()
    because: dict[str, int] = {}
    n_marked = 0
    everything = to == SCREEN or said_to_be_there
    for clip in clips:
        known = clip.game in marked and clip.game in days
        numbers = lacking(clip) if known else []
        for number in numbers:
            because[number] = because.get(number, 0) + 1
        n_marked += bool(numbers)
        if everything or (known and not numbers):
            going.append(clip)
        elif known and care.without_consent == LEAVE_OUT_NAME:
            going.append(clip)
            unsaid.add(clip)
        else:
            left.append(clip)
    return GoingOut(tuple(going), tuple(left), frozenset(unsaid), because, n_marked)

"""What part of the season a page shows, said as a sentence whose words can be changed.

The choice stands in the address, so that a page can be kept and sent; a word that means nothing here is left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from dash import dcc, html

from analysis.slice import SETTLED_PHASES, Slice
from tagger.screen.opening import day_of

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from dashboard.moment import Moment

NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
N_LAST = 3
N_PERIODS = 5
PERIODS = {1: "first period", 2: "second period", 3: "third period", 4: "fourth period", 5: "overtime"}
FACT_WORDS = {
    "shot": "a shot",
    "on_goal": "a shot on goal",
    "goal": "a goal",
    "goal_any": "a goal, second chances too",
    "on_goal_any": "a shot on goal, second chances too",
    "shot_10s": "a shot within 10 s of starting, once settled",
    "shot_20s": "a shot within 20 s of starting, once settled",
    "shot_30s": "a shot within 30 s of starting, once settled",
    "turnover": "a lost ball",
    "pull_out": "a pull-out",
    "penalty": "a penalty drawn",
}
"""What runs can be counted by, by the analysis’ names."""
_FIRST = "first"
"""In an address: the first of a choice, where a page shows another unless told."""
WHERE = ("{games}", ", against ", "{opponent}", ", in ", "{period}")
"""The part of the sentence that every page has: which games, against whom, in which period."""


@dataclass(frozen=True)
class Option:
    """One way a choice can go: its word in the address ("" for the usual one) and its words in the sentence."""

    code: str
    words: str


def number_word(n: int) -> str:
    """A number as a sentence says it.

    Parameters
    ----------
    n : int
        Not negative.

    Returns
    -------
    str
        In words up to twelve.
    """
    return NUMBERS[n] if n < len(NUMBERS) else str(n)


def options(moment: Moment) -> dict[str, tuple[Option, ...]]:
    """Every choice and how it can go, the usual first.

    Parameters
    ----------
    moment : Moment
        The season.

    Returns
    -------
    dict of str to tuple of Option
        Choices `team`, `games`, `opponent`, `period`, `strength`, `phase`, `side`, `fact`, `order`, `role`.
    """
    games = moment.games
    every = f"all {number_word(len(games))} games" if len(games) > 1 else "the only game" if games else "no game yet"
    some = [Option("", every)]
    if len(games) > N_LAST:
        some.append(Option("last", f"the last {number_word(N_LAST)} games"))
    if len(games) > 1:
        some += [
            Option(game.id, f"the game against {game.opponent}, {day_of(game.date).rsplit(' ', 1)[0]}")
            for game in games
        ]
    return {
        "team": (Option("", "our"), Option("theirs", "their")),
        "games": tuple(some),
        "opponent": (
            Option("", "anybody"),
            *(Option(name, name) for name in dict.fromkeys(game.opponent for game in games)),
        ),
        "period": (Option("", "any period"), *(Option(str(n), f"the {PERIODS[n]}") for n in range(1, N_PERIODS + 1))),
        "strength": (
            Option("", "even strength"),
            Option("up", "power play"),
            Option("down", "short-handed"),
            Option("empty_net", "with an empty net"),
        ),
        "phase": (Option("", "settled"), Option("all", "settled or not")),
        "fact": tuple(Option(code if code != "shot" else "", words) for code, words in FACT_WORDS.items()),
        "order": (
            Option("", "the most run first"),
            Option("rate", "the highest share first"),
            Option("name", "by name"),
        ),
        "role": (
            Option("", "shooters"),
            Option("feeder", "feeders"),
            Option("setter", "setters of screens"),
            Option("user", "users of screens"),
            Option("lost", "players who lost the ball"),
            Option("loose", "winners of loose balls"),
        ),
        "side": (Option("", "both sides"), Option("left", "to the left"), Option("right", "to the right")),
    }


def slice_of(moment: Moment, chosen: Mapping[str, str]) -> Slice:
    """What the choice means.

    Parameters
    ----------
    moment : Moment
        The season.
    chosen : mapping of str to str
        From the address.

    Returns
    -------
    Slice
        For the analysis.
    """
    known = {name: picked(each, chosen.get(name, "")).code for name, each in options(moment).items()}
    ids = [game.id for game in moment.games]
    games = {"": None, "last": tuple(ids[-N_LAST:])}.get(known["games"], (known["games"],))
    part = Slice(
        games=games,
        periods=(int(known["period"]),) if known["period"] else None,
        strengths=(known["strength"] or "even",),
        team=known["team"] or "ours",
        phases=SETTLED_PHASES if not known["phase"] else None,
        sides=(known["side"],) if known["side"] else None,
    )
    if known["opponent"]:
        part = part.against((known["opponent"],), {game.id: game.opponent for game in moment.games})
    return part


def fact_of(moment: Moment, chosen: Mapping[str, str]) -> str:
    """What runs are counted by.

    Parameters
    ----------
    moment : Moment
        The season.
    chosen : mapping of str to str
        From the address.

    Returns
    -------
    str
        One of `FACT_WORDS`.
    """
    return picked(options(moment)["fact"], chosen.get("fact", "")).code or "shot"


def picked(each: Sequence[Option], code: str) -> Option:
    """The option that a word of the address means.

    Parameters
    ----------
    each : sequence of Option
        How the choice can go.
    code : str
        From the address.

    Returns
    -------
    Option
        The usual one for a word that means nothing.
    """
    return next((option for option in each if option.code == code), each[0])


CHOICES = ("team", "games", "opponent", "period", "strength", "phase", "fact", "side", "order", "role")
"""The choices by their words in the address."""


def choices_in(parts: Iterable[str]) -> tuple[str, ...]:
    """Which choices a sentence has.

    Parameters
    ----------
    parts : iterable of str
        The sentence's.

    Returns
    -------
    tuple of str
        Those in braces.
    """
    return tuple(part.strip("{}") for part in parts if part.startswith("{"))


def carried(href: str, chosen: Mapping[str, str]) -> str:
    """An address with what was chosen on the page that leads there.

    Parameters
    ----------
    href : str
        An address of a page.
    chosen : mapping of str to str
        From the address of the page shown.

    Returns
    -------
    str
        What the address says itself stands; anything but choices stays behind.
    """
    path, _, place = href.partition("#")
    kept = {name: chosen[name] for name in CHOICES if chosen.get(name)}
    if not kept or "?" in path or not path.startswith("/"):
        return href
    return f"{path}?{urlencode(kept)}{f'#{place}' if place else ''}"


def sentence(
    moment: Moment, path: str, chosen: Mapping[str, str], parts: Iterable[str], usual: Mapping[str, str]
) -> Component:
    """The choices as a sentence.

    Parameters
    ----------
    moment : Moment
        The season.
    path : str
        The page's address.
    chosen : mapping of str to str
        From the address.
    parts : iterable of str
        Plain words, and names of choices in braces: "Showing ", "{team}", " runs in ", ….
    usual : mapping of str to str
        What the page shows where the address says nothing, as far as that is not the first of a choice.

    Returns
    -------
    Component
        Each choice opens on a click, and each of its options is a link.
    """
    every = options(moment)
    made: list[Any] = []
    for part in parts:
        name = part.strip("{}")
        made.append(_choice(every[name], name, path, chosen, usual) if part.startswith("{") else part)
    return html.Div(made, className="filter")


def plainly(moment: Moment, chosen: Mapping[str, str], parts: Iterable[str], usual: Mapping[str, str]) -> str:
    """The same as plain words, for paper.

    Parameters
    ----------
    moment : Moment
        The season.
    chosen, parts, usual
        As `sentence` takes them.

    Returns
    -------
    str
        With what is chosen in its place.
    """
    every = options(moment)
    made = []
    for part in parts:
        name = part.strip("{}")
        made.append(picked(every[name], chosen.get(name, usual.get(name, ""))).words if part.startswith("{") else part)
    return "".join(made)


def _choice(
    each: Sequence[Option], name: str, path: str, chosen: Mapping[str, str], usual: Mapping[str, str]
) -> Component:
    now = picked(each, chosen.get(name, usual.get(name, "")))
    links = []
    for option in each:
        asked = {key: value for key, value in chosen.items() if key in CHOICES and key != name and value}
        if option.code or name in usual:
            asked[name] = option.code or _FIRST
        href = f"{path}?{urlencode(asked)}" if asked else path
        links.append(html.Li(dcc.Link(option.words, href=href, className="on" if option == now else None)))
    return html.Details([html.Summary(now.words), html.Ul(links)], className="choice")

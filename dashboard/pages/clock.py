"""The shot clock: how far into it things come, early against late, transition, and how possessions spend their time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.filters import WHERE, slice_of
from dashboard.pages.grid import COUNT, MEDIAN, RATE, SHORT, WORDS, Column, contents, grid
from dashboard.pages.names import answer_name, blank, key_of, set_name
from dashboard.pages.numbers import records
from tagger.floor.rules import floor_rules
from tagger.marks.endings import ending_noun

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.slice import Slice
    from dashboard.loading import Filmed, Present
    from dashboard.moment import Moment

FILTER = ("Showing ", "{team}", " possessions in ", *WHERE, ", ", "{strength}", ".")
SHOWN = ("set", "family", "freelance", "not_tagged")
MOMENTS = (
    Column("runs", "Runs", COUNT, "runs", "runs"),
    Column("begins_s", "Begins", MEDIAN, "runs", "runs whose beginning is known on the clock"),
    Column("screen_s", "First screen", MEDIAN, "runs", "runs whose first screen is known on the clock"),
    Column("shot_s", "First shot", MEDIAN, "runs", "runs whose first shot is known on the clock"),
)
ENTRY = (
    Column("runs", "Runs", COUNT, "runs", "runs"),
    Column("shot", "With a shot", RATE, "runs", "runs with a shot"),
    Column("goal", "Goal", WORDS, "runs", "runs with a goal"),
    Column("turnover", "Ball lost", SHORT, "runs", "runs that lost the ball"),
)
ENTRIES = {
    "early": "In the first 10 s",
    "middle": "From 10 to 20 s",
    "late": "After 20 s",
    "unknown": "The clock is not known",
}
TRIED = (
    Column("stretches", "Possessions", COUNT, "runs", "first stretches"),
    Column("walk_ups", "Walked up", COUNT, "runs", "walk-ups that ended in settling", True),
    Column("tried", "Tried before settling", WORDS, "runs", "attempts before settling"),
    Column("shot", "With a shot", WORDS, "runs", "attempts with a shot"),
    Column("goal", "Goal", SHORT, "runs", "attempts with a goal"),
    Column("turnover", "Ball lost", SHORT, "runs", "attempts that lost the ball"),
)
NEXT = (Column("step", "How often", RATE, "runs", "stretches that went there"),)
ENDS = {"save": "shot saved", "missed_shot": "shot missed", "turnover": "lost", "period_end": "the period’s end"}
TEMPO = (
    Column("possessions", "Possessions", COUNT, "possessions", "possessions"),
    Column("length_s", "Last", MEDIAN, "possessions", "possessions"),
    Column("settle_s", "Settle after", MEDIAN, "possessions", "possessions that settled"),
)
SOON = (
    Column("shot_in_10s", "Shot within 10 s", WORDS, "possessions", "possessions with a shot within 10 s"),
    Column("shot_in_20s", "Shot within 20 s", WORDS, "possessions", "possessions with a shot within 20 s"),
    Column("shot_in_30s", "Shot within 30 s", WORDS, "possessions", "possessions with a shot within 30 s"),
)
AGAIN = (
    Column("extended", "With a second chance", WORDS, "possessions", "possessions with a second chance"),
    Column("second_goal", "Second chances that were goals", WORDS, "runs", "second chances with a goal"),
)


def page(present: Present, of: str, chosen: Mapping[str, str]) -> list[Component]:
    """The page of the shot clock.

    Parameters
    ----------
    present : Present
        The season.
    of
        Not asked.
    chosen : mapping of str to str
        What part of the season.

    Returns
    -------
    list of Component
        The page.
    """
    moment, filmed = present.now(), present.filmed()
    part = replace(slice_of(moment, chosen), phases=None, sides=None)
    ours = part.team == "ours"
    top = [
        html.H1("How do we use the 30 seconds?" if ours else "How do they use the 30 seconds?"),
    ]
    if not moment.rows("possessions"):
        return [*top, html.P(f"No possession is tagged yet. {key_of(moment, 'possession')} marks one.")]
    return [
        *top,
        contents(
            [
                ("when", "when things come"),
                ("early", "early against late"),
                ("transition", "transition"),
                ("next", "what comes next"),
                ("tempo", "tempo"),
            ]
        ),
        html.H2("How far into the clock do things come?", id="when"),
        *_moments(moment, filmed, part),
        html.H2("Early against late", id="early"),
        *_entries(moment, filmed, part),
        html.H2("What is tried before settling?", id="transition"),
        *_transition(moment, filmed, part),
        html.H2("What comes next?", id="next"),
        *_next(moment, filmed, part),
        html.H2("How long do possessions last?", id="tempo"),
        *_tempo(moment, filmed, part),
    ]


def _fresh(moment: Moment) -> tuple[str, ...]:
    """The results of a shot that give a fresh clock by the season's rules."""
    return floor_rules(moment.settings.rule_code).fresh_clock_results


def _moments(moment: Moment, filmed: Filmed, part: Slice) -> list[Component]:
    from analysis.shot_clock import moments

    small_n = moment.settings.small_n
    asked = replace(part, phases=SHOWN)
    rows = records(moments(moment.tables, asked, fresh=_fresh(moment), small_n=small_n))
    rows.sort(key=lambda row: (row["phase"] not in ("set", "family"), -int(row["runs"])))
    if not rows:
        return [html.P("No settled run is tagged in this part of the season. Change a word of the sentence above.")]
    counts = " or ".join(answer_name(moment, "shot", "result", one) for one in _fresh(moment))
    lede = (
        "Seconds of film into the shot clock, the middle one of those that are known. The clock is taken to start with "
        f"the possession, and anew where a fresh clock is marked or a shot that counts ({counts}) was won back. After "
        "a whistle, or where that was not answered, nobody knows the clock until it starts anew; nor where more "
        "than 30 s have gone. First shots are of the runs that had one: that is no measure of how soon a set brings "
        "shots. These ranges take runs of one game as if they had nothing in common."
    )
    return [
        html.P(lede, className="lede"),
        grid(filmed, rows, lambda row: set_name(moment, row["set"], row["phase"]), "Set", MOMENTS),
    ]


def _entries(moment: Moment, filmed: Filmed, part: Slice) -> list[Component]:
    from analysis.shot_clock import entries

    small_n = moment.settings.small_n
    rows = records(entries(moment.tables, replace(part, phases=SHOWN), fresh=_fresh(moment), small_n=small_n))
    every = [row for row in rows if row["set"] == "all"]
    if not every:
        return [html.P("No settled run is tagged in this part of the season.")]
    made: list[Component] = [
        html.P(
            "When a settled run began, whatever it was. A late run often comes after one that failed, and less time is "
            "left to it: what differs here need not come of the time.",
            className="lede",
        ),
        grid(filmed, every, lambda row: ENTRIES[row["entry"]], "Began", ENTRY),
    ]
    by_set: dict[str, list[dict[str, Any]]] = {}
    for row in rows:
        if row["phase"] in ("set", "family"):
            by_set.setdefault(set_name(moment, row["set"], row["phase"]), []).append(row)
    for name, own in sorted(by_set.items(), key=lambda each: -sum(int(row["runs"]) for row in each[1])):
        grown = grid(filmed, own, lambda row: ENTRIES[row["entry"]], "Began", ENTRY)
        made.append(html.Details([html.Summary(name), grown], className="more"))
    return made


def _transition(moment: Moment, filmed: Filmed, part: Slice) -> list[Component]:
    from analysis.transition import transition

    rows = records(transition(moment.tables, part, small_n=moment.settings.small_n))
    if not rows:
        return [html.P("No possession begins in this part of the season.")]

    def named(row: Mapping[str, Any]) -> str:
        if row["gained"] == "all":
            return "All of them"
        words = "not answered" if blank(row["gained"]) else GAINED.get(str(row["gained"]), str(row["gained"]))
        return words[:1].upper() + words[1:]

    lede = (
        "Every possession begins before anything is settled. Where that first stretch ended in settling it was a walk "
        "up: nothing was tried. The others are attempts, a ball lost on the way among them; rates are of these alone."
    )
    rows.sort(key=lambda row: (row["gained"] != "all", -int(row["stretches"])))
    return [html.P(lede, className="lede"), grid(filmed, rows, named, "Ball gained by", TRIED)]


GAINED = {
    "faceoff": "a face-off",
    "loose_ball": "a loose ball",
    "turnover": "a lost ball of the others",
    "save": "a save",
    "missed_shot": "a shot that missed",
    "whistle": "a whistle",
    "unseen": "can’t see how",
}


def _next(moment: Moment, filmed: Filmed, part: Slice) -> list[Component]:
    """Where each kind of stretch leads."""
    from analysis.chain import arrows

    rows = records(arrows(moment.tables, part, small_n=moment.settings.small_n))
    if not rows:
        return [html.P("No possession is tagged in this part of the season.")]

    def named(row: Mapping[str, Any]) -> str:
        if bool(row["end"]):
            words = ENDS.get(str(row["to"]), ending_noun(moment.language, str(row["to"])))
            return f"The ball gone: {words}"
        return _phase(moment, row["to"])

    lede = "From each kind of stretch to the next in the same possession, or to its end, of those where that is known."
    made: list[Component] = [html.P(lede, className="lede")]
    kinds = dict.fromkeys(str(row["from"]) for row in sorted(rows, key=lambda row: -int(row["step_n"])))
    for kind in kinds:
        own = sorted((row for row in rows if row["from"] == kind), key=lambda row: -int(row["step_k"]))
        summary = html.Summary(f"From {_phase(moment, kind).lower()}")
        made.append(
            html.Details([summary, grid(filmed, own, named, "To", NEXT)], className="more", open=len(made) == 1)
        )
    return made


def _phase(moment: Moment, phase: Any) -> str:
    return {"set": "A set", "family": "An action"}.get(str(phase)) or set_name(moment, None, phase)


def _tempo(moment: Moment, filmed: Filmed, part: Slice) -> list[Component]:
    from analysis.tempo import tempo

    rows = records(tempo(moment.tables, part, small_n=moment.settings.small_n))
    if not rows:
        return [html.P("No possession is tagged in this part of the season.")]

    def named(row: Mapping[str, Any]) -> str:
        return "Ours" if row["team"] == "ours" else "Theirs"

    lede = (
        "Seconds of film, with what play stood still in them; of the possessions that settled the middle one’s seconds "
        "to settling. A possession without a shot in time had none, however it ended. Ranges of seconds take "
        "possessions of one game as if they had nothing in common."
    )
    return [
        html.P(lede, className="lede"),
        grid(filmed, rows, named, "Possessions", TEMPO),
        html.H3("How soon do they bring a shot?"),
        grid(filmed, rows, named, "Possessions", SOON),
        html.H3("And their second chances?"),
        grid(filmed, rows, named, "Possessions", AGAIN),
    ]

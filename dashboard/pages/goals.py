"""Goals: why we let them in, where shots come from and what they were worth, and what each line saw."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.filters import WHERE, options, picked, slice_of
from dashboard.pages.grid import COUNT, MINUTES, SHORT, TEXT, WORDS, Column, contents, grid
from dashboard.pages.names import UNANSWERED, answer_name, blank, key_of
from dashboard.pages.numbers import count_of, plays, records, table
from dashboard.pages.players import name_of
from tagger.floor.rules import floor_rules

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.shot_quality import Quality
    from analysis.slice import Slice
    from dashboard.loading import Filmed, Present
    from dashboard.moment import Moment

FILTER = ("Showing ", *WHERE, ", ", "{strength}", ".")
CAUSES = (
    Column("goals", "Goals", COUNT, "shots", "goals against us"),
    Column("share", "Of the goals with a known cause", "rate", "shots", "goals against us"),
)
UNITS = (
    Column("possessions", "Possessions", COUNT, "possessions", "possessions"),
    Column("shot", "With a shot while on", WORDS, "possessions", "possessions with a shot while on"),
    Column("goal", "Goal", WORDS, "possessions", "possessions with a goal while on"),
    Column("turnover", "Ball lost", SHORT, "possessions", "possessions that lost the ball while on", True),
    Column("shots_a_minute", "Shots", MINUTES, "shots", "shots while on"),
)
ABOVE = (
    Column("shots", "Shots, result known", COUNT, "shots", "shots with a known result, the net not empty"),
    Column("goals", "Goals", COUNT, "shots", "goals, the net not empty"),
    Column("expected_said", "Such shots bring", TEXT, "shots", ""),
    Column("above_said", "Goals beside that", TEXT, "shots", ""),
)
TERMS = {
    "off_screen": "off a screen that freed somebody",
    "second_chance": "second chance",
    "man_up": "with more runners",
    "good_side": "from the shooter’s good side",
    "feed": "off a feed",
}
PER = {
    "distance": "from a metre farther out",
    "angle": "from farther off the middle, a radian (57°)",
    "man_up": "with more runners, beside as many",
}
LANES = ("left", "middle", "right")


def page(present: Present, of: str, chosen: Mapping[str, str]) -> list[Component]:
    """The goals' page.

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
    part = replace(slice_of(moment, chosen), team=None, phases=None, sides=None)
    top = [html.H1("Where do goals come from?")]
    if not moment.rows("shots"):
        key = key_of(moment, "shot")
        return [*top, html.P(f"No shot is tagged yet. {key} marks one; its result is asked first, then its place.")]
    seen = picked(options(moment)["strength"], chosen.get("strength", "")).words
    return [
        *top,
        html.P(f"Strength is seen from the team with the ball: {seen}.", className="lede"),
        contents(
            [
                ("against", "goals against"),
                ("place", "where shots come from"),
                ("worth", "what they were worth"),
                ("lines", "lines"),
            ]
        ),
        html.H2("Why did we let them in?", id="against"),
        *causes(moment, filmed, part),
        html.H2("Where do shots come from?", id="place"),
        *_charts(moment, filmed, part),
        html.H2("What were the shots worth?", id="worth"),
        *_worth(moment, filmed, part),
        html.H2("What did each line see?", id="lines"),
        *_units(moment, filmed, part),
    ]


def causes(moment: Moment, filmed: Filmed, part: Slice) -> list[Component]:
    """Goals against by cause.

    Parameters
    ----------
    moment, filmed
        The season, and which rows have film.
    part : Slice
        What is looked at.

    Returns
    -------
    list of Component
        The table; what to mark where no cause is said.
    """
    from analysis.lines import goals_against

    rows = records(goals_against(moment.tables, part, small_n=moment.settings.small_n))
    if not rows:
        return [html.P("No goal against us is tagged in this part of the season.")]
    n = sum(int(row["goals"]) for row in rows)
    told = sum(int(row["goals"]) for row in rows if not blank(row["cause"]) and row["cause"] != "unseen")
    goals = "1 goal" if n == 1 else f"{n} goals"
    if told == 0:
        return [html.P(f"{goals} against us, none with its cause. It is asked of a goal of theirs.")]

    def named(row: Mapping[str, Any]) -> str:
        words = UNANSWERED if blank(row["cause"]) else answer_name(moment, "shot", "cause", row["cause"])
        return f"{words[:1].upper()}{words[1:]}"

    lede = f"{goals} against us; the cause was made out in {told}."
    return [html.P(lede, className="lede"), grid(filmed, rows, named, "Cause", CAUSES)]


def _charts(moment: Moment, filmed: Filmed, part: Slice) -> list[Component]:
    from analysis.shot_chart import RINGS_M, chart

    rows = records(chart(moment.tables, part, goal_x_m=_goal_x_m(moment), small_n=moment.settings.small_n))
    made: list[Component] = []
    for team, who in (("ours", "Ours"), ("theirs", "Theirs")):
        own = [row for row in rows if row["team"] == team]
        placed = {(row["lane"], int(row["ring"])): row for row in own if not blank(row["lane"])}
        n_placed = sum(int(row["shots"]) for row in placed.values())
        n = sum(int(row["shots"]) for row in own)
        if not n_placed:
            continue
        made.append(
            html.Div(
                [html.H3(f"{who}: the place is marked in {n_placed} of {n} shots"), _chart(filmed, placed, who)],
                className="half",
            )
        )
    if not made:
        return [html.P("No shot has its place marked. At the detail “everything” it is asked last.")]
    rings = " m and ".join(f"{edge:g}" for edge in RINGS_M)
    return [
        html.P(
            f"Looking at the goal, as the shooter does. Rings at {rings} m from the middle of the goal line; goals of "
            "shots in each field. Left out are shots without a place.",
            className="lede",
        ),
        html.Div(made, className="halves"),
    ]


def _chart(filmed: Filmed, placed: Mapping[tuple[Any, int], Mapping[str, Any]], who: str) -> Component:
    """Lanes and rings with counts, the goal above."""
    most = max((int(row["shots"]) for row in placed.values()), default=1) or 1
    rings = sorted({ring for _, ring in placed})
    cells: list[Component] = [html.Div("goal", className="mouth")]
    for ring in rings:
        for lane in LANES:
            row = placed.get((lane, ring))
            n = int(row["shots"]) if row else 0
            style = {"--weight": f"{n / most:.3f}"}
            inside: list[Any] = [html.Span("–", className="few")]
            if row and n:
                what = f"{who}, {lane}, ring {ring}"
                goals = plays(filmed, str(int(row["goal_k"])), "shots", row["goal_ids"], f"{what}, goals")
                inside = [html.B([goals, " of ", count_of(filmed, row, "shots", "shots", f"{what}, shots")])]
                if bool(row["goal_few"]):
                    inside.append(html.Small("too few to say"))
                else:
                    inside.append(html.Small(f"{round(row['goal_lo'] * 100)}–{round(row['goal_hi'] * 100)} in 100"))
            cells.append(html.Div(inside, className=f"field ring{ring}", style=style))
    cells += [html.Small(lane, className="soft") for lane in LANES]
    return html.Div(cells, className="floor")


def _goal_x_m(moment: Moment) -> float:
    return floor_rules(moment.settings.rule_code).goal_x_m


def _worth(moment: Moment, filmed: Filmed, part: Slice) -> list[Component]:
    from analysis.shot_quality import above_expected, quality

    shoots = {player.number: player.shoots for player in moment.roster if player.shoots}

    def learned() -> tuple[Any, list[dict[str, Any]]]:
        found = quality(moment.tables, part, goal_x_m=_goal_x_m(moment), shoots=shoots)
        return found, records(above_expected(found, small_n=moment.settings.small_n)) if found.method == "model" else []

    found, rows = moment.kept(("quality", part), learned)
    made: list[Component] = [html.P(_plain(found.said), className="lede")]
    if found.method != "model":
        return [*made, html.P("Goals beside what was to be expected are not said from so few shots.", className="soft")]
    [check] = records(found.checks)
    better = says_more(found)
    tried = (
        "Tried on shots it had not seen, it says more than the season’s rate alone."
        if better
        else "Tried on shots it had not seen, it says no more than the season’s rate alone: do not lean on it."
    )
    drawn = (
        " Few goals make a model too sure, so chances are drawn towards the season’s rate: of the differences it found "
        f"between shots, {round(float(check['kept']) * 100)} in 100 are kept."
    )
    slope = " Whether that is enough takes five games to try." if better else ""
    if not blank(check["slope"]):
        lo, mid, hi = (f"{float(check[f'slope{end}']):.1f}".replace("-", "−") for end in ("_lo", "", "_hi"))
        slope = f" Its calibration slope there is {mid} (plausibly {lo} to {hi}; 1 is right)."
    rows = [
        row for row in rows if row["team"] == "ours" and str(row["player"]).isdigit() and not bool(row["above_few"])
    ]
    rows.sort(key=lambda row: -int(row["shots"]))
    for row in rows:
        above_said(row)

    def named(row: Mapping[str, Any]) -> str:
        return f"{row['player']} {name_of(moment, str(row['player']))}"

    left: list[Component] = []
    if found.left_out:
        left.append(html.P(f"Not used: {_plain('; '.join(found.left_out))}.", className="soft below"))
    made.append(html.P(f"{tried}{drawn}{slope}", className="lede"))
    left = [*_odds(records(found.terms)), *left]
    if not rows:
        return [*made, html.P("No shooter has enough shots to say it of him.", className="soft"), *left]
    return [*made, grid(filmed, rows, named, "Shooter", ABOVE), *left]


def _odds(rows: Sequence[Mapping[str, Any]]) -> list[Component]:
    """What the model found of each term."""
    lines = []
    for row in rows:
        lo, mid, hi = (f"{float(row[f'odds{end}']):.2f}" for end in ("_lo", "", "_hi"))
        name = PER.get(str(row["term"]), TERMS.get(str(row["term"]), str(row["term"])))
        words = html.Td([f"times {mid}", html.Small(f"plausibly {lo} to {hi}")], className="w")
        lines.append(html.Tr([html.Th(f"{name[:1].upper()}{name[1:]}", scope="row"), words]))
    head = [html.Th("A shot", className="l"), html.Th("Odds of a goal", className="l")]
    about = html.P("As found, before it is drawn in; times 1.00 is no difference.", className="soft")
    return [html.Details([html.Summary("What the model found"), about, table(head, lines)], className="more")]


def says_more(found: Quality) -> bool:
    """Whether a model, tried on shots it had not seen, says more than the season's rate alone.

    Parameters
    ----------
    found : Quality
        With a model.

    Returns
    -------
    bool
        By the log loss.
    """
    [check] = records(found.checks)
    return float(check["log_loss"]) < float(check["base_log_loss"])


def above_said(row: dict[str, Any]) -> None:
    """Put a row's goals beside what was expected into words.

    Parameters
    ----------
    row : dict
        Of `analysis.shot_quality.above_expected`; gets `expected_said` and `above_said`.
    """
    row["expected_said"] = f"{float(row['expected']):.1f} goals"
    lo, mid, hi = (float(row[f"above{end}"]) for end in ("_lo", "", "_hi"))
    row["above_said"] = f"{_plus(mid)}; chance alone leaves {_plus(lo)} to {_plus(hi)}"


def _plain(text: str) -> str:
    for code, words in TERMS.items():
        text = text.replace(code, words)
    return text


def _plus(value: float) -> str:
    rounded = round(value, 1)
    return f"+{rounded:.1f}" if rounded > 0 else f"−{-rounded:.1f}" if rounded < 0 else "0"


def _units(moment: Moment, filmed: Filmed, part: Slice) -> list[Component]:
    from analysis.lines import changes, units

    small_n = moment.settings.small_n
    rows = records(units(moment.tables, part, small_n=small_n))
    named_rows = [row for row in rows if not blank(row["unit"])]
    if not named_rows:
        key = key_of(moment, "line")
        words = f"No line change is marked. Name the lines in lines.toml; then {key} marks which of them comes on."
        return [html.P(words)]
    every = {one for row in rows for one in row["possessions_ids"]}
    unsaid = {one for row in rows if blank(row["unit"]) for one in row["possessions_ids"]}

    def named(row: Mapping[str, Any]) -> str:
        words = answer_name(moment, "line", "line", row["unit"])
        if words == row["unit"]:
            words = answer_name(moment, "line", "unit", row["unit"])
        return f"{words[:1].upper()}{words[1:]}"

    made: list[Component] = [
        html.P(
            "A shot, a goal or a lost ball belongs to the line that was on the floor when it happened: offence and "
            f"defence change after the ball is gained. Of {len(unsaid)} of {len(every)} possessions nobody said who "
            "was on, for a part at least. Lines meet different opponents: this is what they saw, not what they caused.",
            className="lede",
        )
    ]
    for ball, title in (("with", "With the ball"), ("without", "Without it: what the others made")):
        those = [row for row in named_rows if row["ball"] == ball]
        if those:
            made += [html.H3(title), grid(filmed, those, named, "Line", UNITS)]
    bad = [row for row in records(changes(moment.tables, part, small_n=small_n)) if row["team"] == "ours"]
    return [*made, *_bad(filmed, bad)]


def _bad(filmed: Filmed, rows: Sequence[Mapping[str, Any]]) -> list[Component]:
    if not rows or not int(rows[0]["bad_n"]):
        return []
    columns = (
        Column("changes", "Changes", COUNT, "lines", "line changes"),
        Column("bad", "Bad", WORDS, "lines", "bad changes"),
        Column("goal_after_bad", "Goal against after a bad one", SHORT, "lines", "bad changes with a goal against"),
        Column("goal_after_clean", "after a clean one", SHORT, "lines", "clean changes with a goal against"),
    )
    return [html.H3("Changes, at any strength"), grid(filmed, rows, lambda row: "Our changes", "", columns)]

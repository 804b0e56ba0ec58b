"""What shots were worth: the chance that such a shot is a goal, and each shooter's goals beside it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.grid import COUNT, TEXT, Column, grid
from dashboard.pages.names import blank
from dashboard.pages.numbers import records, table
from dashboard.pages.players import name_of
from tagger.floor.rules import floor_rules

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.shot_quality import Quality
    from analysis.slice import Slice
    from dashboard.loading import Filmed
    from dashboard.moment import Moment

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


def worth(moment: Moment, filmed: Filmed, part: Slice) -> list[Component]:
    """What the shots of a part of the season were worth.

    Parameters
    ----------
    moment, filmed
        The season, and which rows have film.
    part : Slice
        What is looked at; both teams' shots are learned from.

    Returns
    -------
    list of Component
        How it was learned, our shooters beside what was expected of their shots, and what the model found.
    """
    from analysis.shot_quality import above_expected, quality

    shoots = {player.number: player.shoots for player in moment.roster if player.shoots}

    def learned() -> tuple[Any, list[dict[str, Any]]]:
        found = quality(moment.tables, part, goal_x_m=floor_rules(moment.settings.rule_code).goal_x_m, shoots=shoots)
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

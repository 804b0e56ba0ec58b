"""The form that states a question: one sentence, whose words are chosen; screens narrow it further."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from dash import html

from tagger.texts.stated import RUN_MEASURES, SCREEN_MEASURES

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from dashboard.moment import Moment

SCREENS = ("kind", "coverage", "setter", "user", "setter_next")
"""What only a question about screens is narrowed by."""
SIDES = (("one", "Of these"), ("other", "Compared with these"))


def form(moment: Moment, held: Mapping[str, str], measures: Mapping[str, str]) -> Component:
    """The form.

    Parameters
    ----------
    moment : Moment
        The season.
    held : mapping of str to str
        What it held when it was refused.
    measures : mapping of str to str
        What can be counted, in words.

    Returns
    -------
    Component
        It posts to the page itself.
    """
    groups = [
        html.Optgroup([_option(code, f"… {measures[code]}", held.get("measure", "")) for code in each], label=title)
        for title, each in (("A run …", RUN_MEASURES), ("A screen …", SCREEN_MEASURES))
    ]
    one, other = (_parts(moment, side, title, held) for side, title in SIDES)
    inside: list[Any] = [
        html.Label(
            [
                html.Span("In your words"),
                html.Textarea(held.get("text", ""), name="text", rows=2, maxLength=200, required=True),
            ]
        ),
        html.P(
            [
                html.Label([html.Span("How often does it happen that"), html.Select(groups, name="measure")]),
                *_said(one, ("of ", "set"), ("going ", "side"), ("with the look ", "look")),
                ", compared with ",
                *_said(other, ("", "set"), ("going ", "side"), ("with the look ", "look")),
                "?",
            ],
            className="sentence",
        ),
        html.P("Nothing chosen after “compared with” means all the others. A look is of runs only.", className="soft"),
        html.Details(
            [
                html.Summary("Of screens only: which, how covered, and by whom"),
                *(
                    html.Fieldset([html.Legend(title), *(_field(part[name]) for name in SCREENS)])
                    for part, (_, title) in zip((one, other), SIDES, strict=True)
                ),
            ],
            className="more",
            open=any(held.get(f"{side}_{name}") for side, _ in SIDES for name in SCREENS),
        ),
        html.Button("State it", type="submit", name="does", value="state", className="go"),
    ]
    return html.Form(inside, method="post", action="/question", className="form")


def _said(part: Mapping[str, tuple[str, Component]], *which: tuple[str, str]) -> list[Any]:
    """Choices in a sentence, with the words before each."""
    made: list[Any] = []
    for before, name in which:
        made += [f" {before}", part[name][1]]
    return made


def _field(given: tuple[str, Component]) -> Component:
    return html.Label([html.Span(given[0]), given[1]])


def _parts(moment: Moment, side: str, title: str, held: Mapping[str, str]) -> dict[str, tuple[str, Component]]:
    """Every choice of one side: its title, and the control."""
    plays = [(play.code, play.name) for play in moment.playbook.sets if not play.retired]
    looks = [
        (f"{play.code}.{look.code}", f"{play.name}: {look.name}")
        for play in moment.playbook.sets
        if not play.retired
        for look in play.looks
    ]
    men = [(player.number, moment.called(player.number)) for player in moment.roster]
    choices: Sequence[tuple[str, str, str, list[tuple[str, str]]]] = (
        ("set", "Set", "any set", plays),
        ("side", "Side", "either way", [("left", "to the left"), ("right", "to the right")]),
        ("look", "Look", "any", looks),
        ("kind", "Screen", "any", _answers(moment, "kind")),
        ("coverage", "Coverage", "any", _answers(moment, "coverage")),
        ("setter", "Set by", "anybody", men),
        ("user", "Used by", "anybody", men),
        ("setter_next", "Then the setter", "any", _answers(moment, "setter_next")),
    )
    made: dict[str, tuple[str, Component]] = {}
    for name, words, nothing, options in choices:
        field = f"{side}_{name}"
        now = held.get(field, "")
        listed = [_option("", nothing, now), *(_option(code, said, now) for code, said in options)]
        name_it: dict[str, Any] = {"aria-label": f"{title}: {words.lower()}"}
        made[name] = (words, html.Select(listed, name=field, **name_it))
    return made


def _answers(moment: Moment, question: str) -> list[tuple[str, str]]:
    asked = moment.language.question("screen", question)
    return [(each["code"], each["name"]) for each in (asked or {}).get("choices") or () if each["code"] != "unseen"]


def _option(code: str, words: str, now: str) -> Component:
    return html.Option(words, value=code, selected=code == now and bool(code))

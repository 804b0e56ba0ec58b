"""The playbook, to read: each set with its roles, looks in order and checkpoints, and how often it was run."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.numbers import plays

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from dashboard.loading import Filmed, Present
    from tagger.texts.playbook import Named, SetPlay


def page(present: Present, of: str, chosen: Mapping[str, str]) -> list[Component]:
    """The playbook's page.

    Parameters
    ----------
    present : Present
        The season.
    of, chosen
        Not asked.

    Returns
    -------
    list of Component
        The page.
    """
    moment, filmed = present.now(), present.filmed()
    made: list[Component] = [html.H1("What do we run?")]
    made += [html.P(str(problem), className="warn") for problem in moment.problems]
    where = present.season.folder / "playbook.toml"
    if not moment.playbook.sets:
        return [
            *made,
            html.P("No set is written down yet. They stand in this file, which shows how:"),
            html.Pre(str(where), className="command"),
        ]
    runs: dict[str, list[str]] = {}
    for id_, row in moment.rows("runs").items():
        if row.get("team") == "ours" and row.get("set"):
            runs.setdefault(row["set"], []).append(id_)
    in_use = [play for play in moment.playbook.sets if not play.retired]
    retired = [play for play in moment.playbook.sets if play.retired]
    made.append(html.P("Looks stand in the order in which the ball carrier reads them.", className="lede"))
    made += [_set(filmed, play, runs.get(play.code, [])) for play in in_use]
    if retired:
        made.append(html.H2("No longer run"))
        made += [_set(filmed, play, runs.get(play.code, [])) for play in retired]
    return [
        *made,
        html.P(["Change it in ", html.Code(str(where)), "; the pages follow at once."], className="soft below"),
    ]


def _set(filmed: Filmed, play: SetPlay, runs: Sequence[str]) -> Component:
    key: list[Any] = [html.Kbd(play.key)] if play.key else []
    sides = "to either side" if len(play.sides) > 1 else f"to the {play.sides[0]}"
    facts = ", ".join(part for part in (play.formation, play.strength.replace("v", " on "), sides) if part)
    n = len(runs)
    said = (
        plays(filmed, f"{n} run{'' if n == 1 else 's'}", "runs", runs, f"{play.name}, all runs") if n else "not run yet"
    )
    head = html.H2([play.name, *key], id=play.code)
    parts = [
        _list("Roles", play.roles, html.Ul),
        _list("Looks", play.looks, html.Ol),
        _list("Checkpoints", play.checkpoints, html.Ul),
    ]
    about = f"{play.about[:1].upper()}{play.about[1:]}. " if play.about else ""
    return html.Section(
        [
            head,
            html.P([about, f"{facts}; ", said, " in all games, at every strength." if n else "."]),
            html.Div([one for one in parts if one], className="parts"),
        ],
        className="set",
    )


def _list(title: str, items: Sequence[Named], kind: Any) -> Component | None:
    if not items:
        return None
    return html.Div([html.H3(title), kind([html.Li(item.name) for item in items])])

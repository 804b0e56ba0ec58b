"""The work: was the job done and by whom, what the others make of our ball, and is any of it moving."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from dash import dcc, html

from dashboard.pages.dots import moving, slope_words, strip
from dashboard.pages.execution import BY_MAN, COST, GOES, HOW_TO_GRADE, LOST, checkpoints, worth_of
from dashboard.pages.filters import FACT_WORDS, WHERE, fact_of, number_word, slice_of
from dashboard.pages.fold import fold
from dashboard.pages.found import findings_of, in_words, of_kind, said_of, speaking
from dashboard.pages.grid import grid
from dashboard.pages.job_grid import job_grid
from dashboard.pages.names import answer_name, blank, checkpoint_name, look_name, set_name
from dashboard.pages.numbers import film_line, records
from dashboard.pages.players import name_of
from tagger.marks.endings import ending_noun

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.findings import Findings
    from analysis.slice import Slice
    from dashboard.loading import Filmed, Present
    from dashboard.moment import Moment

FILTER = ("Showing our work in ", *WHERE, ", ", "{strength}", ", ", "{side}", "; following runs with ", "{fact}", ".")
SPLITS = (
    ("ended", "How they got it"),
    ("set", "Out of which set"),
    ("look", "On which look"),
    ("where", "Where"),
)
LOST_TITLE = "What do they make of the ball they get from us?"
SAFETY = {"met": "back", "missed": "not back", "not_graded": "not graded"}


def page(present: Present, of: str, chosen: Mapping[str, str]) -> list[Component]:
    """The page of the work.

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
    part = replace(slice_of(moment, chosen), team="ours", phases=None)
    if not moment.rows("runs"):
        how: list[Any] = ["Nothing is tagged yet. ", dcc.Link("Open a game", "/"), " and mark its sets."]
        return [html.H1("Was the job done?"), html.P(how)]
    fact = fact_of(moment, chosen)
    found = findings_of(moment, part, fact)
    return [
        *_done(moment, filmed, part, fact, found),
        fold(LOST_TITLE, _lost_answer(moment, part), lost(moment, filmed, part), "cost"),
        *_cost(moment, filmed, part, found),
        fold("Is it getting better?", _moving_answer(found, fact), _moves(moment, filmed, part, fact, found), "moves"),
    ]


def _done(moment: Moment, filmed: Filmed, part: Slice, fact: str, found: Findings) -> list[Component]:
    """The verdict, the figure, and what is folded of the grades; how to grade where nothing is graded."""
    figure = job_grid(moment, filmed, part)
    if not figure:
        return [html.H1("Was the job done?"), html.P(HOW_TO_GRADE)]
    from analysis.execution import graded

    [every] = records(graded(moment.tables, part, by=(), small_n=moment.settings.small_n))
    k, n = int(every["done_k"]), int(every["done_n"])
    here = of_kind("checkpoint")
    said = speaking(found, here)
    verdict = (
        f"{in_words(moment, said[0])}." if said else f"{k} of {n} graded job{' was' if n == 1 else 's were'} done."
    )
    going = worth_of(moment, filmed, part, across=True, fact=fact)
    told = "something stands out" if said else "nothing can be told apart yet" if found.looked_at else "too little yet"
    men, n_men = _men(moment, filmed, part)
    made: list[Component] = [
        html.H1(verdict, className="verdict"),
        html.P(
            f"One line a checkpoint, one column a man. {film_line(filmed, 'grades', every['grades_ids'], 'grades')}",
            className="lede",
        ),
        *figure,
    ]
    if going:
        made.append(fold(GOES, told, going, "worth"))
    met = checkpoints(moment, filmed, part, across=True, goes=False)
    return [
        *made,
        fold("Which checkpoints were met?", f"{k} of {n} in all", met, "done"),
        fold("By whom?", "1 player graded" if n_men == 1 else f"{n_men} players graded", men, "men", no_answer=True),
    ]


def _lost_answer(moment: Moment, part: Slice) -> str:
    from analysis.lost_ball import lost_balls

    rows = records(lost_balls(moment.tables, part, by=(), small_n=moment.settings.small_n))
    if not rows or not int(rows[0]["lost"]):
        return "none of ours went to them"
    shot_k, shot_n = (int(rows[0][f"shot_against_{end}"]) for end in ("k", "n"))
    return f"a shot at once from {shot_k} of {shot_n}"


def _moving_answer(found: Findings, fact: str) -> str:
    from analysis.trend import DONE

    rows = [row for what in (fact, DONE) for row in moving(found, what)]
    n = sum(not blank(row["slope"]) and bool(row["moves"]) for row in rows)
    if n:
        return "one line moves" if n == 1 else f"{number_word(n)} lines move"
    return "nothing that can be told from standing still"


def _men(moment: Moment, filmed: Filmed, part: Slice) -> tuple[list[Component], int]:
    from analysis.execution import graded

    rows = records(graded(moment.tables, part, by=("player",), small_n=moment.settings.small_n))
    rows = [row for row in rows if not blank(row["player"])]
    if not rows:
        return [html.P("No grade names its player yet.")], 0
    rows.sort(key=lambda row: -int(row["grades"]))

    def named(row: Mapping[str, Any]) -> str:
        return f"{row['player']} {name_of(moment, str(row['player']))}"

    return [grid(filmed, rows, named, "Player", BY_MAN)], len(rows)


def lost(moment: Moment, filmed: Filmed, part: Slice) -> list[Component]:
    """What the others made of the balls that we lost or shot away.

    Parameters
    ----------
    moment, filmed
        The season, and which rows have film.
    part : Slice
        The possessions that lost it.

    Returns
    -------
    list of Component
        A table by how it was lost, others folded.
    """
    from analysis.lost_ball import WITHIN_S

    made: list[Component] = []
    for by, title in SPLITS:
        grown = _lost_by(moment, filmed, part, by, title)
        if grown is not None:
            made.append(html.Details([html.Summary(title), grown], className="more") if made else grown)
    if not made:
        return [html.P("No possession of this kind ended with a lost ball, a save or a miss.")]
    lede = (
        "Our possessions that ended with a lost ball, a violation, or a shot that they saved or took over; and the "
        f"other team’s possession right after, where it is tagged: a shot or a goal within {WITHIN_S:g} seconds of "
        "their gaining the ball. A number under a shot or a goal plays theirs."
    )
    return [html.P(lede, className="lede"), *made]


def _lost_by(moment: Moment, filmed: Filmed, part: Slice, by: str, title: str) -> Component | None:
    """The balls that went to them, split; nothing where the split is not known of any."""
    from analysis.lost_ball import lost_balls

    split = ("set", "look") if by == "look" else (by,)
    rows = records(lost_balls(moment.tables, part, by=split, small_n=moment.settings.small_n))
    rows = [row for row in rows if not blank(row[by])]
    if not rows or (by == "safety" and {str(row[by]) for row in rows} == {"not_graded"}):
        return None
    rows.sort(key=lambda row: -int(row["lost"]))
    return grid(filmed, rows, lambda row: _lost_name(moment, row, by), title, LOST)


def _cost(moment: Moment, filmed: Filmed, part: Slice, found: Findings) -> list[Component]:
    """How soon they shoot and score, in all and by how they got the ball; and whether the safety was back."""
    from analysis.lost_ball import lost_balls

    small_n = moment.settings.small_n
    every = records(lost_balls(moment.tables, part, by=(), small_n=small_n))
    if not every:
        return []
    rows = records(lost_balls(moment.tables, part, by=("ended",), small_n=small_n))
    rows.sort(key=lambda row: -int(row["lost"]))

    def named(row: Mapping[str, Any]) -> str:
        return _lost_name(moment, row, "ended") if "ended" in row else "All of these"

    soon = [
        html.P("Of these balls, from the moment at which they have it.", className="lede"),
        *(grid(filmed, [*every, *rows], named, "How they got it", columns) for columns in COST),
    ]
    made = [
        fold(
            "How soon does it cost us?",
            "their shots and goals, from the moment they have it",
            soon,
            "soon",
            no_answer=True,
        )
    ]
    back = _lost_by(moment, filmed, part, "safety", "Was the safety back?")
    if back is None:
        return made
    words = (
        "The safety’s job is what happens after the ball is gone, so it stands beside that, not beside our own "
        "shots. A possession counts as not back if the checkpoint was missed in any run of it."
    )
    here = of_kind("safety")
    answer = "something stands out" if speaking(found, here) else "nothing can be told apart yet"
    inside = [html.P(words, className="lede"), said_of(moment, filmed, found, here), back]
    return [*made, fold("Was the safety back?", answer, inside, "safety")]


def _lost_name(moment: Moment, row: Mapping[str, Any], by: str) -> str:
    code = str(row[by])
    if by == "ended":
        return {"turnover": "Ball lost", "save": "Shot saved", "missed_shot": "Shot missed"}.get(
            code, ending_noun(moment.language, code).removeprefix("a ").capitalize()
        )
    if by == "set":
        return set_name(moment, code)
    if by == "look":
        look = look_name(moment, str(row["set"]), code)
        return look if blank(row["set"]) else f"{set_name(moment, row['set'])}: {look}"
    if by == "where":
        words = answer_name(moment, "turnover", "where", code)
        return f"{words[:1].upper()}{words[1:]}"
    return SAFETY.get(code, code).capitalize()


def _moves(moment: Moment, filmed: Filmed, part: Slice, fact: str, found: Findings) -> list[Component]:
    """Each set's runs, and each habit's grades, from game to game."""
    from analysis.trend import DONE, dots

    games = [game.id for game in moment.games if part.games is None or game.id in part.games]
    small_n = moment.settings.small_n
    lede = (
        f"A dot a game and what is plausible around it, faint under {small_n}; the line is the running estimate, "
        "in which each older game counts less."
    )
    made: list[Component] = [html.P(lede, className="lede")]
    for what, title, of in ((fact, f"Runs with {FACT_WORDS[fact]}", "runs"), (DONE, "Checkpoints met", "grades")):
        rows = records(dots(moment.tables, games, part, what=what, small_n=small_n))
        moved = {_key(row): row for row in moving(found, what)}
        lines: dict[Any, list[dict[str, Any]]] = {}
        for row in rows:
            lines.setdefault(_key(row), []).append(row)
        kept = sorted(lines.items(), key=lambda each: -sum(int(row["rate_n"]) for row in each[1]))
        if not kept:
            continue
        made.append(html.H3(title))
        for place, (key, line) in enumerate(kept):
            name = set_name(moment, line[0]["set"])
            if what == DONE:
                name = f"{checkpoint_name(moment, line[0]['set'], line[0]['checkpoint'])} ({name})"
            body = [
                html.P(slope_words(moved.get(key)), className="soft"),
                strip(moment, filmed, line, of, f"{name}: {title.lower()}"),
            ]
            made.append(html.Details([html.Summary(name), *body], className="more", open=place == 0))
    if len(made) == 1:
        return [html.P("Nothing to follow yet: no set is tagged in these games.")]
    return made


def _key(row: Mapping[str, Any]) -> tuple[str, str]:
    return str(row["set"]), str(row["checkpoint"])

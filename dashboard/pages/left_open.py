"""What nobody answered leaves open: between which counts a rate lies, whichever way the open rows belonged."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import combinations
from typing import TYPE_CHECKING, Any

from dash import html

from dashboard.pages.filters import FACT_WORDS
from dashboard.pages.grid import SHORT, TEXT, WORDS, Column, grid
from dashboard.pages.names import answer_name, blank, look_name, set_name
from dashboard.pages.numbers import plays, records

if TYPE_CHECKING:
    from dash.development.base_component import Component

    from analysis.slice import Slice
    from dashboard.loading import Filmed
    from dashboard.moment import Moment

TITLE = "What do unnamed stretches leave open?"
_ENDS = (
    "At the least: if all of them without {fact} were its. At the most: if all with {fact} were. Shared out: if each "
    "had its part of them, and they brought it as often as all of them. What is plausible beside both ends is chance, "
    "which comes on top."
)


def open_sets(moment: Moment, filmed: Filmed, part: Slice, fact: str) -> list[Component]:
    """What settled stretches without a name leave open of sets.

    Parameters
    ----------
    moment, filmed
        The season, and which rows have film.
    part : Slice
        What is looked at: one team, one class of strength.
    fact : str
        What a run should have brought.

    Returns
    -------
    list of Component
        How often the unnamed brought it and the named did, each set's ends, and how many pairs keep their order; none
        where nothing is open.
    """
    from analysis.left_open import keeps_order, of_sets

    small_n = moment.settings.small_n
    rows = moment.kept(
        ("left open", part, fact), lambda: records(of_sets(moment.tables, part, fact=fact, small_n=small_n))
    )
    if not any(int(row["open_n"]) for row in rows):
        return []
    words = FACT_WORDS[fact]
    said: list[Any] = []
    if part.sides is not None:
        said.append(
            "A run of the set whose side nobody said may be among these, and so may any stretch without a name. "
        )
    elif part.sets is None:
        said += _both(filmed, rows, words)
    else:
        said += [*_unnamed(filmed, rows[0], words), ". Any of them may have been its run. "]
    enough, few = _enough(rows, small_n, "runs")
    pairs = [keeps_order(*pair) for pair in combinations(enough, 2)]
    kept = ""
    if pairs:
        kept = (
            f" In {sum(pairs)} of {len(pairs)} pairs of those with enough runs, the one ahead stays ahead however they "
            "are shared out."
        )

    def named(row: Mapping[str, Any]) -> str:
        return set_name(moment, row["set"], row["phase"])

    return [
        html.P([*said, _ENDS.format(fact=words), kept], className="lede"),
        *([_ends(filmed, enough, named, "Set", "runs")] if enough else []),
        *few,
    ]


def open_looks(moment: Moment, filmed: Filmed, part: Slice, play: str, fact: str) -> list[Component]:
    """What looks that nobody named leave open.

    Parameters
    ----------
    moment, filmed
        The season, and which rows have film.
    part : Slice
        The runs of one set.
    play : str
        The set's code.
    fact : str
        What a run should have brought.

    Returns
    -------
    list of Component
        A folded table; none where every look is known.
    """
    from analysis.left_open import of_looks

    rows = records(of_looks(moment.tables, part, fact=fact, small_n=moment.settings.small_n))
    about = _ENDS.format(fact=FACT_WORDS[fact])

    def named(row: Mapping[str, Any]) -> str:
        return look_name(moment, play, row["look"])

    said = ("What do looks not made out leave open?", f"Runs whose look was not made out may be any look’s. {about}")
    return _folded(filmed, rows, named, said, ("Look", "runs", moment.settings.small_n))


def open_screens(moment: Moment, filmed: Filmed, part: Slice, by: str) -> list[Component]:
    """What screens without an answer leave open of how often one with it freed somebody.

    Parameters
    ----------
    moment, filmed
        The season, and which rows have film.
    part : Slice
        What is looked at.
    by : str
        The question, of `analysis.left_open.OF_SCREENS`.

    Returns
    -------
    list of Component
        A folded table; none where it is always answered.
    """
    from analysis.left_open import of_screens

    rows = records(of_screens(moment.tables, part, by=by, small_n=moment.settings.small_n))
    about = _ENDS.format(fact="somebody free")

    def named(row: Mapping[str, Any]) -> str:
        words = answer_name(moment, "screen", by, row[by])
        return f"{words[:1].upper()}{words[1:]}"

    said = (
        "What do screens without an answer leave open?",
        f"A screen without this answer may be any row’s, and who came free may be unknown too. {about}",
    )
    return _folded(filmed, rows, named, said, ("Answer", "screens", moment.settings.small_n))


def _both(filmed: Filmed, rows: Sequence[Mapping[str, Any]], words: str) -> list[Any]:
    """How often the unnamed brought it, and how often the named."""
    k, n = (sum(int(row[f"counted_{side}"]) for row in rows) for side in ("k", "n"))
    ids = [id_ for row in rows for id_ in row["counted_ids"]]
    named = plays(filmed, f"{k} of {n}", "runs", ids, f"Named stretches with {words}", inline=True)
    return [*_unnamed(filmed, rows[0], words), ", those with one in ", named, ". "]


def _unnamed(filmed: Filmed, row: Mapping[str, Any], words: str) -> list[Any]:
    k, n = int(row["open_k"]), int(row["open_n"])
    what = f"Unnamed stretches with {words}"
    told = plays(filmed, f"{k} of {n}", "runs", row["open_ids"], what, inline=True)
    return [f"Settled stretches without a name had {words} in ", told]


def _folded(
    filmed: Filmed,
    rows: Sequence[Mapping[str, Any]],
    named: Callable[[Mapping[str, Any]], str],
    said: tuple[str, str],
    of: tuple[str, str, int],
) -> list[Component]:
    if not any(int(row["open_n"]) for row in rows):
        return []
    enough, few = _enough(rows, of[2], of[1])
    inside = [html.P(said[1], className="soft"), *([_ends(filmed, enough, named, *of[:2])] if enough else []), *few]
    return [html.Details([html.Summary(said[0]), *inside], className="more")]


def _enough(
    rows: Sequence[Mapping[str, Any]], small_n: int, of: str
) -> tuple[list[Mapping[str, Any]], list[Component]]:
    """The rows with enough counted, most first, and a line where others are left out."""
    enough = sorted((row for row in rows if not bool(row["counted_few"])), key=lambda row: -int(row["counted_n"]))
    if len(enough) == len(rows):
        return enough, []
    return enough, [html.P(f"Not drawn up from fewer than {small_n} {of}.", className="soft below")]


def _ends(
    filmed: Filmed,
    rows: Sequence[Mapping[str, Any]],
    named: Callable[[Mapping[str, Any]], str],
    first: str,
    of: str,
) -> Component:
    columns = (
        Column("counted", "Counted", SHORT, of, "as counted", True),
        Column("lowest", "At the least", WORDS, of, "at the least"),
        Column("shared_said", "Shared out", TEXT, of, "", True),
        Column("highest", "At the most", WORDS, of, "at the most"),
    )
    told = [
        {**row, "shared_said": "" if blank(row["shared"]) else f"{round(float(row['shared']) * 100)} in 100"}
        for row in rows
    ]
    return grid(filmed, told, named, first, columns, class_name="ends")

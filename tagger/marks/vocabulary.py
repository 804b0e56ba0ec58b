"""The vocabulary of marks, read from data, joined with a playbook and checked before anybody presses a key.

The vocabulary file says which kinds of mark there are, which key makes each, what each asks, what can follow what
(`needs`), what a mark changes (`effects`), and what it does to a game. Two small interpreters read it: `strokes` and
`context` here, their twins in the tagging page. `Language` is what both work on: the vocabulary with the team's sets
and looks filled in, as plain data that travels to the page unchanged.

A kind says all of itself. What it leaves out touches nothing; what is misspelt is refused, by name (`checking.py`).

| of a kind | what it says | left out |
| --- | --- | --- |
| `code`, `name`, `about` | what marks keep, what people read, its definition | needed |
| `level` | the least detail at which it is tagged | needed |
| `any_detail` | whether its keys mark it at less detail, too, where it still is not looked for | they do not |
| `keys` | what makes it: `key`, `name`; `code` where there are several; `needs`, `answers` of its own | needed |
| `needs` | context → what it may be there, for the mark to follow | needed |
| `effects` | what a mark changes in the context: `put`, `if` | needed |
| `questions` | what is asked, in order; see below | needed |
| `say` | its sentence: parts of `text` with `{question}` or `{question|else}` in it, `when` | needed |
| `rank` | its place among marks of one frame, lowest first | the vocabulary's `rank` |
| `beside` | answers that nothing asks for, as a key gives them | none |
| `log` | `opens` a paragraph of the log, or `ends` a line of it | goes on in the line |
| `does` | what only code can say (`traits.DOES`): shot, turnover, whistle, possession, period_start … | nothing |
| `starts_play`, `stops_play` | the play clock runs from here, or stands from here | it does neither |
| `past_centre` | it shows that the ball has crossed centre | it does not |
| `run` | what it is to the run it falls in: `firms` a tentative one; `touches` it, so is among its marks, too; |
|   | `names` it; `ends` it; is `of_set`, so belongs to the last set's run | `beside`: nothing |
| `phase`, `named_by` | of what names a run: the run's phase, and the question whose answer names it | needed; none |
| `ended`, `leaves` | of what ends a run: the run's ending, and the phase of what follows | needed; `not_tagged` |
| `begins_possession` | whether it gives its “team” the ball that it has not: `when`, how `gained` | it does not |
| `ends_possession` | how a possession ends with it: `when` → `ended`, the first that holds; "": not | it does not |
| `table` | its own table: `name`; `columns`, each “name kind what it says” (`tables.Column`); `since`: version of |
|   | the tables that brought it (1), `columns_since`: column → the version that brought it, when later: a new |
|   | one is of the version after `tables.VERSION`; `in_run`: whether it says possession and run (yes) | no row |
| `team` | whose its row is: of who has the `ball`, or as `said` by its answer “team” | `said` |
| `part` | answers that name who has a part in it: it is on his reel | nobody |
| `also` | what else it says: `when`, a row in the table of another `kind` with these `answers` ($: its own), |
|   | where that kind is looked for and no such row stands in the run | nothing |
| `again` | answers that a mark which says `again` takes over from the one before | none |
| `told` | whether it is told in the story of its game | it is |
| `plays` | what its sentence plays: its `row`, its `run`, or `nothing` | its row, if it has one; the run it names |
| `often` | two people may well mark two at one moment | then one was marked twice |
| `second_look` | of what is `of_set`: what a second look asks of a set's run that has none | it is not asked for |
| `cuts` | it cuts a game into runs at a strength, by these answers: every stated question needs it | not needed |

| of a question | what it says | left out |
| --- | --- | --- |
| `code`, `ask`, `level` | what answers are kept under, what the page asks, from which detail on | needed |
| `type` | `choice`, `player`, `text`, `look`, `checkpoint`, `clock`, `place` or `set` | needed |
| `about` | what is meant, beside the open question | nothing |
| `choices`, `retired` | answers: `code`, `key`, `name`, `say`, `about` (what is seen), `with` (answered too), | none |
|   | `unlikely` (beside which other answers it is most likely a slip, so asked in the second look) | |
| `when` | answers before it, or context, with which it is asked at all | always |
| `offer`, `offer_when` | where in the context a likely answer stands; when it is offered | nothing; always |
| `together` | what is offered and taken as one (the vocabulary's `together`) | each alone |
| `say` | the answer in a sentence, for `{}` | the answer |
| `two` | whether it can be answered with two, “this or that” (`between.py`) | it cannot |
| `whose` | whose player is meant: `ours`, `theirs`, or of the `others` of | the mark's “team”, else who has the ball |
| `second_look` | what a second look asks of a row without the answer, where it is looked for | it is not asked for |
| `must` | whether its `second_look` is asked where a book never answers it, too, as long as it is a few times | not |
| `none_with` | a question: where that is answered “none”, so is this | nothing follows |
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from tagger.marks.checking import check
from tagger.marks.filling import ask_for_lines, fill_in, offer_narrowing
from tagger.marks.plain import plain_vocabulary
from tagger.marks.rebinding import Binding, Refused, rebound
from tagger.marks.spelling import check_spelling
from tagger.marks.traits import Traits, traits_of
from tagger.tables import Tables, tables_of
from tagger.texts.playbook import Playbook
from tagger.texts.units import Unit

VERSION = 2
"""2: re-picks, lines of the team's own, swaps. Only additions: what was marked with
version 1 is read as it was."""


@dataclass(frozen=True)
class Language:
    """A checked vocabulary with a playbook filled in.

    Attributes
    ----------
    data : mapping
        Plain JSON data, the same in the page: levels, film_keys, hand_keys, list_keys, context, shapes, rank, phases,
        endings, kinds, sets, lines, asked.
    refused : tuple of Refused
        Keys of the season's own that would have meant two things; the usual ones stand.
    """

    data: Mapping[str, Any]
    refused: tuple[Refused, ...] = ()

    @cached_property
    def kinds(self) -> dict[str, dict[str, Any]]:
        """Kind code → kind."""
        return {kind["code"]: kind for kind in self.data["kinds"]}

    @cached_property
    def traits(self) -> dict[str, Traits]:
        """Kind code → what it does to a game."""
        return {kind["code"]: traits_of(kind) for kind in self.data["kinds"]}

    @cached_property
    def tables(self) -> Tables:
        """The event tables that its marks fill."""
        return tables_of(self.data["kinds"])

    @cached_property
    def sets(self) -> dict[str, dict[str, Any]]:
        """Set code → set, retired ones too."""
        return {play["code"]: play for play in self.data["sets"]}

    @cached_property
    def endings(self) -> dict[str, dict[str, Any]]:
        """Code of how a run or a possession can end → its name, its shape, and what it is to the game."""
        return {ending["code"]: ending for ending in self.data["endings"]}

    @cached_property
    def level_order(self) -> dict[str, int]:
        """Level code → its place, least detail first."""
        return {level["code"]: place for place, level in enumerate(self.data["levels"])}

    @cached_property
    def keys(self) -> dict[str, list[tuple[dict[str, Any], dict[str, Any]]]]:
        """Key → the (kind, key) pairs it can make."""
        found: dict[str, list[tuple[dict[str, Any], dict[str, Any]]]] = {}
        for kind in self.data["kinds"]:
            for key in kind["keys"]:
                found.setdefault(key["key"], []).append((kind, key))
        return found

    @cached_property
    def lines(self) -> dict[str, dict[str, Any]]:
        """Line code → line, retired ones too."""
        return {line["code"]: line for line in self.data["lines"]}

    def that(self, does: str) -> dict[str, Any] | None:
        """The kind that does something, or None.

        Parameters
        ----------
        does : str
            One of `traits.DOES`.

        Returns
        -------
        dict or None
            As in the data; the first where several do.
        """
        return self._that.get(does)

    @cached_property
    def _that(self) -> dict[str, dict[str, Any]]:
        return {kind["does"]: kind for kind in reversed(self.data["kinds"]) if "does" in kind}

    def does(self, kind: str) -> str:
        """What only code can say of a kind.

        Parameters
        ----------
        kind : str
            Its code.

        Returns
        -------
        str
            One of `traits.DOES`; empty for any other, and for a kind that is not known.
        """
        held = self.traits.get(kind)
        return held.does if held else ""

    def rank(self, kind: str) -> int:
        """A kind's place among the marks of one frame.

        Parameters
        ----------
        kind : str
            Its code; one that a newer floorbook marked stands among the marks of play.

        Returns
        -------
        int
            Lowest first.
        """
        return self._ranks.get(kind, self._rank)

    @cached_property
    def _ranks(self) -> dict[str, int]:
        return {kind["code"]: kind["rank"] for kind in self.data["kinds"]}

    @cached_property
    def _rank(self) -> int:
        return int(self.data["rank"])

    def question(self, kind: str, code: str) -> dict[str, Any] | None:
        """A kind's question, or None.

        Parameters
        ----------
        kind, code : str
            The kind's and the question's codes.

        Returns
        -------
        dict or None
            As in the data.
        """
        return self._questions.get((kind, code))

    @cached_property
    def _questions(self) -> dict[tuple[str, str], dict[str, Any]]:
        return {(kind["code"], one["code"]): one for kind in self.data["kinds"] for one in kind["questions"]}


def language(
    playbook: Playbook,
    *,
    level: str = "main",
    vocabulary: Mapping[str, Any] | None = None,
    lines: Iterable[Unit] = (),
    keys: Iterable[Binding] = (),
    asked: Iterable[str] = (),
) -> Language:
    """Fill the playbook and the lines into the vocabulary, give keys of the season's own, and check the whole.

    Parameters
    ----------
    playbook : Playbook
        The team's sets.
    level : str
        How much is tagged until a mark says otherwise.
    vocabulary : mapping, optional
        The vocabulary's data; the package's own when left out.
    lines : iterable of Unit
        The team's lines; without any, plain ones are asked for as of the opponents.
    keys : iterable of Binding
        Other keys; those that would clash are refused, and stand in the result.
    asked : iterable of str
        Kinds and questions that a question stated beforehand needs, as `screen` and `screen.free`; then tagging can be
        narrowed to them.

    Returns
    -------
    Language
        Checked.

    Raises
    ------
    VocabularyError
        A word that means nothing, two kinds on one key that could both follow, a key that is both a mark and an answer,
        an unknown reference.
    """
    data = json.loads(json.dumps(vocabulary)) if vocabulary is not None else plain_vocabulary()
    check_spelling(data, VERSION)
    data["context"]["level"] = level
    units = list(lines)
    fill_in(data, playbook, units)
    offer_narrowing(data, asked)
    data, refused = rebound(data, keys)
    refused += ask_for_lines(data, units)
    check(data)
    return Language(data, tuple(refused))

"""What the erasure of a player comes to: worked out before, so that it can be read and confirmed, then carried out."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dashboard.erasing.copies import reached_by
from dashboard.erasing.found import Found, label_without, within
from dashboard.erasing.person import Person, folded, parts_of
from dashboard.erasing.roster import RosterLine, contacts_of, of_number, roster_lines, text_without, texts_of
from dashboard.errors import NotErased
from tagger.marks.somebody import TextChange, Who, without
from tagger.tables import SOMEBODY
from tagger.texts.roster import ROSTER

if TYPE_CHECKING:
    from tagger.marks.entries import Entry
    from tagger.season import Season

_CLEARED = {
    "games": ("opponent", "about"),
    "films": ("name", "path", "facts", "slow"),
    "jobs": ("body", "told", "why"),
    "about": ("value",),
}


@dataclass(frozen=True)
class Note:
    """A note in words: whose book, as it is, and as it will read (the same where a person has to look at it)."""

    game: str
    before: str
    after: str


@dataclass(frozen=True)
class PlayerPlan:
    """Everything that goes when a player is erased.

    Attributes
    ----------
    person : Person
        He.
    n_lines : int
        His lines of the roster.
    bodies : mapping of str to str
        Id of an entry → the entry as it is written anew.
    books : mapping of (str, str) to str
        Game and book → what the book is called then.
    n_answers, n_unsure, n_grades, n_games : int
        How many answers name him, how many of them stand in nobody's possession, his grades; in how many games.
    taggers : tuple of str
        Names of taggers that are his.
    notes, doubtful : tuple of Note
        Notes that name him; notes that may mean him, and stay.
    texts : mapping of str to (str or None)
        The text files that change, as they will be; None: the file goes.
    found : Found
        What else in the folder is reached.
    outside : tuple of str
        Where films lie outside the folder.
    cells : tuple of (str, str, str)
        What else names him in the database: table, as it is, and as it becomes.
    """

    person: Person
    n_lines: int = 0
    bodies: Mapping[str, str] = field(default_factory=dict)
    books: Mapping[tuple[str, str], str] = field(default_factory=dict)
    n_answers: int = 0
    n_unsure: int = 0
    n_grades: int = 0
    n_games: int = 0
    taggers: tuple[str, ...] = ()
    notes: tuple[Note, ...] = ()
    doubtful: tuple[Note, ...] = ()
    texts: Mapping[str, str | None] = field(default_factory=dict)
    found: Found = field(default_factory=Found)
    outside: tuple[str, ...] = ()
    cells: tuple[tuple[str, str, str], ...] = ()

    def change(self, table: str, row: Mapping[str, Any]) -> Mapping[str, Any] | None:
        """What becomes of a row of the database; see `dashboard.erasing.database`."""
        if table == "journal":
            book = self.books.get((row["game"], row["book"]), row["book"])
            return {**row, "body": self.bodies.get(row["id"], row["body"]), "book": book}
        made = dict(row)
        for name in _CLEARED.get(table, ()):
            if made.get(name):
                made[name] = _cleared(made[name], self.person, path=name == "path")
        if table == "games":
            made["chosen_book"] = self.books.get((row["id"], row["chosen_book"]), row["chosen_book"])
        return made


def plan_player(season: Season, number: str, name: str = "", also: Iterable[str] = ()) -> PlayerPlan:
    """Work out what goes with a player.

    Parameters
    ----------
    season : Season
        Open; nothing is changed.
    number : str
        His number.
    name : str
        His name, where several have worn the number.
    also : iterable of str
        What else he is called: a nickname, another spelling.

    Returns
    -------
    PlayerPlan
        Everything.

    Raises
    ------
    NotErased
        It can't be told who is meant, or something can't be read.
    """
    texts = texts_of(season.folder)
    lines = roster_lines(texts.get(ROSTER, ""))
    own = of_number(lines, number, name)
    person = person_of(season, number, own, [line for line in lines if line not in own], also)
    return plan_person(season, person, n_lines=len(own), texts=texts)


def person_of(
    season: Season, number: str, own: list[RosterLine], others: list[RosterLine], also: Iterable[str]
) -> Person:
    """Who a line of the roster is.

    Parameters
    ----------
    season : Season
        The season.
    number : str
        His number.
    own, others : list of RosterLine
        His lines, and all others.
    also : iterable of str
        What else he is called.

    Returns
    -------
    Person
        Where another wore his number too, with his dates.
    """
    names = tuple(dict.fromkeys([*(line.name for line in own), *filter(None, (each.strip() for each in also))]))
    rivals = [line for line in others if line.number == number]
    dates = (min(_dates(line)[0] for line in own), max(_dates(line)[1] for line in own)) if own and rivals else ("", "")
    return Person(
        number,
        names,
        contacts_of(own, others),
        tuple(line.name for line in others if folded(line.name) not in {folded(each) for each in names}),
        _own_words(season),
        *dates,
        tuple(_dates(line) for line in rivals if any(_dates(line))),
    )


def plan_person(season: Season, person: Person, *, n_lines: int, texts: Mapping[str, str]) -> PlayerPlan:
    """Work out what goes with somebody of whom it is known who he is.

    Parameters
    ----------
    season : Season
        Open.
    person : Person
        He.
    n_lines : int
        His lines of the roster.
    texts : mapping of str to str
        The season's text files.

    Returns
    -------
    PlayerPlan
        Everything.
    """
    taken: dict[str, Any] = {"bodies": {}, "books": {}, "n_answers": 0, "n_unsure": 0, "n_grades": 0}
    notes: list[Note] = []
    doubtful: list[Note] = []
    reached: set[str] = set()
    games = season.games.all()
    every = {
        (game.id, book.name): _entries(season, game.id, book.name)
        for game in games
        for book in season.journal.books(game.id)
    }
    renamed = _taggers((entry.by for held in every.values() for entry in held), person)
    for game in games:
        number = person.number if person.wore_it(game.date) else ""
        held = season.journal.books(game.id)
        names = {book.name for book in held}
        for book in held:
            entries = every[game.id, book.name]
            out = without(entries, season.tagged.facts(game.id, book.name), Who(number, person.without_him, renamed))
            taken["bodies"] |= {id_: entry.as_json() for id_, entry in out.changed.items()}
            for count in ("n_answers", "n_unsure", "n_grades"):
                taken[count] += getattr(out, count)
            notes += [Note(game.id, one.before, one.after) for one in out.texts]
            doubtful += _doubtful(game.id, entries, out.texts, person)
            if out.n_answers or out.n_grades or out.texts:
                reached.add(game.id)
            if person.named_in(book.name):
                taken["books"][game.id, book.name] = _free_name(names)
                names.add(taken["books"][game.id, book.name])
    made = {name: text_without(name, text, person) for name, text in texts.items()}
    plan = PlayerPlan(
        person,
        n_lines,
        **taken,
        n_games=len(reached),
        taggers=tuple(renamed),
        notes=tuple(notes),
        doubtful=tuple(doubtful),
        texts={name: text for name, text in made.items() if text != texts[name]},
        found=reached_by(season, person),
        outside=outside_of(season),
    )
    return replace(plan, cells=tuple(_cells(season, plan)))


def _cells(season: Season, plan: PlayerPlan) -> Iterator[tuple[str, str, str]]:
    for table, names in _CLEARED.items():
        for row in season.store.connection().execute(f"SELECT {', '.join(names)} FROM {table}"):
            for name in names:
                after = _cleared(str(row[name]), plan.person, path=name == "path")
                if after != str(row[name]):
                    yield table, str(row[name]), after


def outside_of(season: Season, game: str | None = None) -> tuple[str, ...]:
    """Where originals of films lie outside the season's folder.

    Parameters
    ----------
    season : Season
        The season.
    game : str, optional
        Only this game's.

    Returns
    -------
    tuple of str
        Paths as they are kept.
    """
    films = [film for film in season.shelf.all_films() if game in (None, film.game) and film.path]
    return tuple(dict.fromkeys(film.path for film in films if Path(film.path).is_absolute()))


def label_changes(plan: PlayerPlan) -> dict[Path, str]:
    """What is said of films that are being sent, where it names him.

    Parameters
    ----------
    plan : PlayerPlan
        The plan.

    Returns
    -------
    dict of Path to str
        File → its text then.
    """
    made: dict[Path, str] = {}
    for path in plan.found.labels:
        text = path.read_text(encoding="utf-8", errors="replace")
        after = label_without(text, plan.person)
        if after != text:
            made[path] = after
    return made


def _cleared(text: str, person: Person, *, path: bool) -> str:
    if path:  # of a path the file's own name only: a folder may be called so for another reason
        head, slash, tail = text.rpartition("\\" if "\\" in text else "/")
        return head + slash + person.without_name(tail)
    if text[:1] in "{[":
        try:
            held = json.loads(text)
        except ValueError:
            return person.without_name(text)
        made = within(held, person)
        return text if made == held else json.dumps(made, ensure_ascii=False)
    return person.without_name(text)


def _entries(season: Season, game: str, book: str) -> list[Entry]:
    from tagger.marks.entries import EntryError

    sql = "SELECT count(*) FROM journal WHERE game = ? AND book = ?"
    try:
        found = season.journal.entries(game, book)[0]
        if len(found) != season.store.connection().execute(sql, (game, book)).fetchone()[0]:
            raise ValueError("it is damaged")
        return found
    except (ValueError, EntryError) as fault:
        raise NotErased(
            f"game {game}, {book}’s book: an entry can’t be read ({fault}); nothing was erased, "
            "`floorbook check` says more"
        ) from fault


def _doubtful(game: str, entries: list[Entry], changed: tuple[TextChange, ...], person: Person) -> list[Note]:
    after = {one.before: one.after for one in changed}
    found = []
    for entry in entries:
        text = entry.answers.get("text")
        if isinstance(text, str) and person.in_doubt(after.get(text, text)):
            found.append(Note(game, text, after.get(text, text)))
    return found


def _taggers(names: Iterable[str], person: Person) -> dict[str, str]:
    """Names of taggers that are his, and what stands for each: one each, since who may undo what rests on it."""
    taken = set(names)
    made: dict[str, str] = {}
    for name in sorted(taken):
        if person.named_in(name):
            made[name] = _free_name(taken)
            taken.add(made[name])
    return made


def _free_name(taken: set[str]) -> str:
    return next(name for name in (SOMEBODY, *(f"{SOMEBODY} {n}" for n in range(2, 10_000))) if name not in taken)


def _dates(line: RosterLine) -> tuple[str, str]:
    return line.cells.get("from", ""), line.cells.get("to", "")


def _own_words(season: Season) -> frozenset[str]:
    """Words that stand in a season's files for another reason: codes, names of columns and of marks."""
    found: set[str] = set(parts_of("file floorbook journal season game book films mark answer retime remove undo"))
    found |= set(parts_of("kind film wall answers copied from speed version number name shoots position consent"))
    for table, columns in season.texts.language().tables.items():
        found |= set(parts_of(table)) | {part for column in columns for part in parts_of(column.name)}

    def add(value: Any) -> None:
        if isinstance(value, str):
            found.update(parts_of(value))
        elif isinstance(value, Mapping):
            for each in value.values():
                add(each)
        elif isinstance(value, list | tuple):
            for each in value:
                add(each)

    add({name: value for name, value in season.texts.language().data.items() if name != "lines"})
    add(season.texts.settings.team)
    return frozenset(found)

"""An erasure in words: what goes and what stays, to be read before it is confirmed; and what lies outside its reach."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from dashboard.erasing.game import GamePlan
from dashboard.erasing.player import Note, PlayerPlan, label_changes
from tagger.season import REEL_FOLDER
from tagger.tables import SOMEBODY

_MOST = 40
_CELLS = {"games": "a game", "films": "a film", "jobs": "work on film", "about": "of the season"}


def confirmation(plan: PlayerPlan | GamePlan) -> str:
    """What has to be typed so that it is done.

    Parameters
    ----------
    plan : PlayerPlan or GamePlan
        It.

    Returns
    -------
    str
        As "erase 14", "erase g3", "erase film of g3".
    """
    if isinstance(plan, PlayerPlan):
        return f"erase {plan.person.number}"
    return f"erase {'film of ' if plan.film_only else ''}{plan.game}"


def logged(plan: PlayerPlan | GamePlan) -> str:
    """What is kept of it in the folder: that something was erased, and not what.

    Parameters
    ----------
    plan : PlayerPlan or GamePlan
        It.

    Returns
    -------
    str
        Without number, name or game.
    """
    if isinstance(plan, PlayerPlan):
        counts = f"{_n(plan.n_answers, 'answer')}, {_n(plan.n_grades, 'grade')}, {_n(len(plan.notes), 'note')}"
        return f"a player was erased ({counts})"
    return "a game’s film was erased" if plan.film_only else "a game was erased"


def what_goes(plan: PlayerPlan | GamePlan, folder: Path, *, files_too: bool = False) -> list[str]:
    """Everything that goes, and what stays of it, line by line.

    Parameters
    ----------
    plan : PlayerPlan or GamePlan
        It.
    folder : Path
        The season's folder.
    files_too : bool
        Whether files of other programs go too.

    Returns
    -------
    list of str
        To be printed.
    """
    if isinstance(plan, PlayerPlan):
        return _player(plan, folder, files_too)
    return _game(plan, folder)


def _player(plan: PlayerPlan, folder: Path, files_too: bool) -> list[str]:
    person, number = plan.person, plan.person.number
    called = " / ".join(person.names) or "nobody on the roster"
    made = [f"{number} {called}: this goes from {folder}, for good:", ""]
    if plan.n_lines:
        family = f", and {_n(len(person.contacts), 'address or name', 'addresses or names')} of his family in it"
        made.append(f"  roster.csv: {_n(plan.n_lines, 'line')}{family if person.contacts else ''}")
    made += [
        f"  {name}: withdrawn, it asks about him" if text is None else f"  {name}: “{SOMEBODY}” in his place"
        for name, text in plan.texts.items()
        if name != "roster.csv"
    ]
    if plan.n_answers or plan.n_grades:
        unsure = f"; {plan.n_unsure} of them stand in nobody’s possession and are taken as his" if plan.n_unsure else ""
        made.append(
            f"  {_n(plan.n_answers, 'answer')} in {_n(plan.n_games, 'game')} “{SOMEBODY}” from then on, in every table"
            f"{unsure}; opponents who wear {number} stay"
        )
        made.append(f"  {_n(plan.n_grades, 'grade')} of him")
    if plan.taggers or plan.books:
        said = ", ".join(dict.fromkeys([*plan.taggers, *(book for _, book in plan.books)]))
        made.append(f"  as a tagger, and in names of books: {said}")
    if plan.notes:
        made += [f"  {_n(len(plan.notes), 'note')}, which will read:", *_notes(plan.notes)]
    for table, before, after in plan.cells:
        made += [f"  {_CELLS[table]}: “{before}”", f"       → “{after}”"]
    if any(table == "films" and Path(before).is_absolute() for table, before, _ in plan.cells):
        made.append(
            "     a film outside the folder whose name holds his is away until its file is called so, or found again"
        )
    made += _files(plan, folder)
    if label_changes(plan):
        made.append("  his name in what is said of films that are being sent")
    made += [f"  {_in(path, folder)}: called {target.name} then" for path, target in plan.found.renamed]
    if plan.found.others and files_too:
        made += ["  files that name him:", *(f"     {_in(path, folder)}" for path in plan.found.others)]
    made += ["", "This stays:", ""]
    made.append("  film and its copies, since everybody is in them; --game G --film-only takes a game’s film")
    if plan.found.others and not files_too:
        made.append("  files that name him and are not floorbook’s; look at them, or say --files to have them go too:")
        made += [f"     {_in(path, folder)}" for path in plan.found.others]
    if plan.doubtful:
        made.append(f"  notes that may mean him ({number}, or a name that others bear); --also NAME takes a name out:")
        made += [f"     {note.game}: “{note.after}”" for note in plan.doubtful[:_MOST]]
        made += _rest(len(plan.doubtful))
    return made


def _game(plan: GamePlan, folder: Path) -> list[str]:
    what = "the film of the game" if plan.film_only else "the game"
    made = [f"{plan.game}, {plan.called}: {what} goes from {folder}, for good:", ""]
    if not plan.film_only:
        entries = _n(plan.n_entries, "entry", "entries")
        made.append(f"  {entries} in {_n(plan.n_books, 'book')}, and all that is counted from them")
    made.append(f"  {_n(len(plan.films), 'film')} with copies, strips and work on them")
    made += [f"     {_in(path, folder)}" for path in plan.files]
    made += _files(plan, folder)
    made += ["", "This stays:", ""]
    if plan.film_only:
        made.append("  its marks, and every table")
    made.append("  roster, playbook and the other games")
    if plan.outside:
        made += [
            "  originals outside the folder; delete them where they lie:",
            *(f"     {path}" for path in plan.outside),
        ]
    return made


def _files(plan: PlayerPlan | GamePlan, folder: Path) -> list[str]:
    found = plan.found
    made = []
    if found.reels:
        made += [f"  {REEL_FOLDER}/: all {_n(len(found.reels), 'file')}, since a reel does not say who is in it"]
        made += [f"     {_in(path, folder)}" for path in found.reels[:_MOST]] + _rest(len(found.reels))
    if found.copies:
        made += [
            "  copies of the season, also those kept elsewhere by its settings; one is made anew of it as it is then:"
        ]
        made += [f"     {_in(path, folder)}" for path in found.copies]
    rest = [*found.beside, *(() if isinstance(plan, GamePlan) and plan.film_only else found.written)]
    if rest:
        made += ["  what was written from it, and leftovers:", *(f"     {_in(path, folder)}" for path in rest)]
    return made


def beyond(plan: PlayerPlan | GamePlan) -> list[str]:
    """What lies outside the reach of an erasure.

    Parameters
    ----------
    plan : PlayerPlan or GamePlan
        It.

    Returns
    -------
    list of str
        To be printed.
    """
    made = [
        "Outside its reach; think of:",
        "  backups and copies of the folder elsewhere: restoring one brings all of it back",
        "  reels and clips that were sent on; reports, tables and journals that were written elsewhere",
        "  other devices: a page that was open shows what it showed until it is loaded anew, and marks that it had not",
        "  sent may still come in; erase again when they have",
        "  disks that keep what was overwritten: solid-state disks, snapshots, folders that are copied to a cloud",
    ]
    if plan.outside:
        made += ["  originals of film where they lie:", *(f"     {path}" for path in plan.outside[:_MOST])]
        made += _rest(len(plan.outside))
    return made


def _notes(notes: Iterable[Note]) -> list[str]:
    return [line for note in notes for line in (f"     {note.game}: “{note.before}”", f"       → “{note.after}”")]


def _rest(n: int) -> list[str]:
    return [f"     … and {n - _MOST} more"] if n > _MOST else []


def _in(path: Path, folder: Path) -> str:
    try:
        return path.relative_to(folder).as_posix()
    except ValueError:
        return str(path)


def _n(n: int, one: str, many: str = "") -> str:
    return f"{n} {one if n == 1 else many or f'{one}s'}"

"""A game as it is told: its possessions in sentences, and every row of its tables in one line.

The sentences are those of the log, by the vocabulary's own words; here they are grouped and given their rows.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from dashboard.clips import MOMENTS
from tagger.marks.endings import ending_name, phase_name
from tagger.marks.sentences import spoken
from tagger.marks.traits import NAMES, OF_RUN, ROW
from tagger.tables import SOMEBODY

if TYPE_CHECKING:
    from dashboard.moment import Moment
    from tagger.marks.fold import Folded, Logged
    from tagger.marks.vocabulary import Language

ORDINALS = {1: "1st", 2: "2nd", 3: "3rd", 4: "4th"}
TEAM_WORDS = {"ours": "Ours", "theirs": "Theirs"}


@dataclass(frozen=True)
class Said:
    """A sentence, and the rows whose film it plays; none where nothing is to be shown."""

    text: str
    table: str = ""
    ids: tuple[str, ...] = ()


@dataclass(frozen=True)
class Told:
    """One possession as it is told.

    Attributes
    ----------
    id, team : str
        The possession's id; ours, theirs or "" when nobody said.
    period : int or None
        Its number.
    start_ms, end_ms : int, int or None
        On the game's time line.
    when : str
        The clock, else the film's time.
    opening : str
        How it began.
    runs : tuple of tuple of Said
        The sentences of each run.
    ended : str
        How it ended: a code of the possessions table, "" when not known.
    ending : str
        The same in words.
    score : str
        After a goal, ours first: "3–4"; else "".
    """

    id: str
    team: str
    period: int | None
    start_ms: int
    end_ms: int | None
    when: str
    opening: str
    runs: tuple[tuple[Said, ...], ...]
    ended: str
    ending: str
    score: str = ""


def tell(folded: Folded, language: Language) -> list[Told]:
    """A book's possessions in order.

    Parameters
    ----------
    folded : Folded
        The book.
    language : Language
        For how a possession was gained, where that follows from the one before.

    Returns
    -------
    list of Told
        Marks outside any possession are not among them.
    """
    of_run: dict[str, list[Logged]] = {}
    loose: dict[str, list[Logged]] = {}
    opening: dict[str, str] = {}
    for logged in folded.log:
        traits = language.traits.get(logged.mark.kind)
        if logged.mark.removed or logged.possession is None or traits is None or not traits.told:
            continue
        if traits.does == "possession":
            opening[logged.possession] = logged.text
        elif logged.run is not None:
            of_run.setdefault(logged.run, []).append(logged)
        else:
            loose.setdefault(logged.possession, []).append(logged)
    runs_of: dict[str, list[Mapping[str, Any]]] = {}
    for run in folded.rows.get("runs", ()):
        runs_of.setdefault(str(run["possession"]), []).append(run)
    made = []
    goals = {"ours": 0, "theirs": 0}
    for row in folded.rows.get("possessions", ()):
        id_ = str(row["id"])
        parts = [_run_said(language, run, of_run.get(str(run["id"]), [])) for run in runs_of.get(id_, [])]
        rest = tuple(_said(language, logged) for logged in loose.get(id_, []))
        team = str(row.get("team") or "")
        ended = str(row.get("ended") or "")
        scored = bool(language.endings.get(ended, {}).get("scores"))
        if scored and team in goals:
            goals[team] += 1
        made.append(
            Told(
                id_,
                team,
                row.get("period"),
                start_ms=int(row["start_ms"]),
                end_ms=row.get("end_ms"),
                when=when(row),
                opening=_opening(row, opening.get(id_, ""), language),
                runs=tuple(part for part in (*parts, rest) if part),
                ended=ended,
                ending=ending_name(language, ended),
                score=f"{goals['ours']}–{goals['theirs']}" if scored else "",
            )
        )
    return made


def _opening(row: Mapping[str, Any], said: str, language: Language) -> str:
    """How a possession began: as it was marked, with how it was gained where that follows from the one before."""
    team = TEAM_WORDS.get(str(row.get("team") or ""), "Somebody’s ball")
    said = said or team
    if row.get("gained") is None or said != team:
        return said
    kind = language.that("possession")
    return f"{said}, {spoken(language, kind['code'] if kind else '', 'gained', row['gained'], {})}"


def _run_said(language: Language, run: Mapping[str, Any], held: list[Logged]) -> tuple[Said, ...]:
    """The sentences of one run; the one that names it comes first wherever it was marked, the grades last."""
    named: list[Logged] = []
    looks: list[Logged] = []
    grades: list[Logged] = []
    others: list[Logged] = []
    for logged in held:
        traits = language.traits[logged.mark.kind]
        apart = {"look": looks, "grade": grades}.get(traits.does, others)
        (named if traits.run == NAMES else apart).append(logged)
    head = [_said(language, named[-1])] if named else []
    if not named and run.get("phase") == "second_chance" and others:
        head = [Said(phase_name(language, "second_chance"), "runs", (str(run["id"]),))]
    return (*head, *(_said(language, logged) for logged in (*looks, *others)), *_graded(grades))


def _graded(grades: list[Logged]) -> tuple[Said, ...]:
    """All grades of a run in one sentence: percent is of what could be graded."""
    grades = [
        logged for logged in grades if logged.mark.answers.get("player") != SOMEBODY
    ]  # one who was erased: no row
    given = [logged.mark.answers.get("grade") for logged in grades]
    n_plus, n_minus = given.count("plus"), given.count("minus")
    if n_plus + n_minus == 0:
        return ()
    return (Said(f"Graded plus {n_plus} of {n_plus + n_minus}", "grades", tuple(one.mark.id for one in grades)),)


def _said(language: Language, logged: Logged) -> Said:
    traits = language.traits[logged.mark.kind]
    if traits.plays == OF_RUN and logged.run is not None:
        return Said(logged.text, "runs", (logged.run,))
    return Said(logged.text, traits.table, (logged.mark.id,)) if traits.plays == ROW else Said(logged.text)


def film_time(at_ms: int) -> str:
    """A moment of the game's time line.

    Parameters
    ----------
    at_ms : int
        In ms.

    Returns
    -------
    str
        "23:41", "1:02:05".
    """
    minutes, seconds = divmod(at_ms // 1000, 60)
    hours, rest = divmod(minutes, 60)
    return f"{hours}:{rest:02d}:{seconds:02d}" if hours else f"{minutes}:{seconds:02d}"


def when(row: Mapping[str, Any]) -> str:
    """When a row happened, in short.

    Parameters
    ----------
    row : mapping
        A row of an event table.

    Returns
    -------
    str
        The game clock where it is known ("11:42"), else the film's time, said so ("film 1:01").
    """
    return clock_time(row) or f"film {_film_time_of(row)}"


def clock_time(row: Mapping[str, Any]) -> str:
    """The game clock when a row happened.

    Parameters
    ----------
    row : mapping
        A row of an event table.

    Returns
    -------
    str
        What was left in the period, "11:42"; empty where it is not known.
    """
    clock = row.get("clock_s")
    return "" if clock is None else f"{int(clock) // 60}:{int(clock) % 60:02d}"


def _film_time_of(row: Mapping[str, Any]) -> str:
    return film_time(int(row.get("at_ms", row.get("start_ms")) or 0))


def label(moment: Moment, table: str, row: Mapping[str, Any]) -> str:
    """One row in one line, as the list beside the film shows it.

    Parameters
    ----------
    moment : Moment
        The season.
    table : str
        The row's event table.
    row : mapping
        The row.

    Returns
    -------
    str
        "Quarry Hill, 2nd, clock 11:42, film 23:05. 14 shot: goal"; without the clock where it is not known.
    """
    return f"{where(moment, row)} {happened(moment, table, row)}"


def where(moment: Moment, row: Mapping[str, Any]) -> str:
    """When and against whom a row happened, without a word of what.

    Parameters
    ----------
    moment : Moment
        The season.
    row : mapping
        A row of an event table.

    Returns
    -------
    str
        "Quarry Hill, 2nd, clock 11:42, film 23:05."
    """
    game = moment.game(str(row["game"]))
    period = row.get("period")
    said = [game.opponent if game else str(row["game"])]
    if period is not None:
        said.append(ORDINALS.get(int(period), f"{int(period)}th"))
    clock = clock_time(row)
    said += [f"clock {clock}"] if clock else []
    said.append(f"film {_film_time_of(row)}")
    return f"{', '.join(said)}."


def happened(moment: Moment, table: str, row: Mapping[str, Any]) -> str:
    """What a row says, in one sentence.

    Parameters
    ----------
    moment : Moment
        The season.
    table : str
        The row's event table.
    row : mapping
        The row.

    Returns
    -------
    str
        Without a full stop.
    """
    if table == "runs":
        return _run_happened(moment, row)
    if table == "possessions":
        team = TEAM_WORDS.get(str(row.get("team")), "Somebody’s ball")
        ended = ending_name(moment.language, row.get("ended"))
        return f"{team}: {ended}" if ended else team
    if table == "periods":
        return "The period begins"
    if table == MOMENTS:
        return "To watch together"
    made = next(iter(row.get("marks") or ()), "")  # a row that a mark of another kind gave
    return moment.sentences.get(str(row["id"])) or moment.sentences.get(str(made), table)


def _run_happened(moment: Moment, run: Mapping[str, Any]) -> str:
    phase = str(run.get("phase") or "")
    if phase in ("set", "family"):
        name = moment.name_of(str(run.get("set")))
    elif run.get("between"):
        name = f"{' or '.join(moment.name_of(code) for code in str(run['between']).split())}, unsure which"
    else:
        name = phase_name(moment.language, phase)
    if run.get("side") in ("left", "right"):
        name = f"{name}, {run['side']}"
    shots = moment.shots_of_run.get(str(run["id"]))
    if shots:
        return f"{name}: {_lowered(happened(moment, 'shots', shots[-1]))}"
    ended = ending_name(moment.language, run.get("ended"))
    return f"{name}: {ended}" if ended else name


def _lowered(text: str) -> str:
    return text[:1].lower() + text[1:]

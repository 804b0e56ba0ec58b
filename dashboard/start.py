"""A season's first files: settings, playbook and roster with a word inside on what belongs where."""

from __future__ import annotations

import re
import secrets
from pathlib import Path

from dashboard.errors import WrongFolder
from dashboard.outputs import new_folder
from tagger.written import OWNERS_FOLDER, write_whole

_TEXTS = Path(__file__).parent / "starting"
_TEAM = re.compile(r'[^"\\\x00-\x1f]{1,80}\Z')


def start_season(folder: Path, *, team: str | None = None) -> list[Path]:
    """Write the files of a new season.

    Parameters
    ----------
    folder : Path
        Not there yet, or empty.
    team : str, optional
        The team's name.

    Returns
    -------
    list of Path
        The text files written; the empty database lies beside them.

    Raises
    ------
    WrongFolder
        The folder holds something already, or the team's name can't stand in a settings file.
    """
    from tagger.marks.plain import plain_vocabulary
    from tagger.season import Season
    from tagger.texts.keyfile import KEYS, usual
    from tagger.texts.playbook import PLAYBOOK
    from tagger.texts.roster import ROSTER
    from tagger.texts.settings import SETTINGS
    from tagger.texts.units import LINES

    team = "Our team" if team is None else team
    if not _TEAM.match(team) or not team.strip():
        raise WrongFolder(f"“{team}” is no name for a team; use up to 80 letters, without quotation marks")
    new_folder(folder)
    folder.mkdir(mode=OWNERS_FOLDER, parents=True, exist_ok=True)
    written = []
    for name in (SETTINGS, PLAYBOOK, ROSTER, LINES, KEYS):
        if name == SETTINGS:
            text = first_settings(folder.resolve().name, team)
        else:
            text = usual(plain_vocabulary()) if name == KEYS else (_TEXTS / name).read_text(encoding="utf-8")
        path = folder / name
        write_whole(path, text)
        written.append(path)
    Season.open(folder, make=True).close()
    return written


def first_settings(name: str, team: str = "Our team") -> str:
    """The settings that a season begins with.

    Parameters
    ----------
    name : str
        What its folder is called.
    team : str
        The team's name.

    Returns
    -------
    str
        The text of season.toml, with an id that no other season has.
    """
    from tagger.texts.settings import SETTINGS

    return (_TEXTS / SETTINGS).read_text(encoding="utf-8").format(id=_season_id(name), team=team)


def _season_id(name: str) -> str:
    """Unlike any other season's, whatever the folders are called: unsent marks are kept under it."""
    plain = re.sub(r"[^A-Za-z0-9]+", "-", name).strip("-").lower()[:40] or "season"
    return f"{plain}-{secrets.token_hex(3)}"

"""What can go wrong on the command line and in the pages. Every message says what happened, where, and what to do."""

from __future__ import annotations


class DashboardError(Exception):
    """Root of everything that `dashboard` raises on purpose: a problem in what the user gave, not a fault of ours."""


class WrongFolder(DashboardError, ValueError):
    """A folder that can't be used for what was asked."""


class WrongTarget(DashboardError, ValueError):
    """A place where output may not go, since something lies there that must be kept."""


class DamagedSeason(DashboardError, ValueError):
    """A season's database is not sound, so that no copy of it was made."""


class WrongCopy(DashboardError, ValueError):
    """A copy of a season that can't be used, or may not be replaced."""


class NotKept(DashboardError, OSError):
    """No copy could be kept."""

    def __str__(self) -> str:  # OSError would print its errno fields
        return str(self.args[0])


class WrongBook(DashboardError, LookupError):
    """A book that no game has, or a journal file that belongs elsewhere."""


class NotErased(DashboardError, ValueError):
    """Something can't be erased: it can't be told what is meant, or what is there can't be read."""


class NothingToCut(DashboardError, LookupError):
    """No clip fits what was asked, or none of them has film that may be shown."""


class PortTaken(DashboardError, OSError):
    """The address can't be served from."""

    def __str__(self) -> str:  # OSError would print its errno fields
        return str(self.args[0])


class WrongRequest(DashboardError, ValueError):
    """Something a page asked for that does not exist."""


def is_users(fault: BaseException) -> bool:
    """Whether a fault lies in the user's data or machine, so that one line tells all there is to tell.

    Parameters
    ----------
    fault : BaseException
        What was raised.

    Returns
    -------
    bool
        False: it is ours.
    """
    from tagger.errors import SeasonError
    from tagger.film.errors import FilmError
    from tagger.marks.entries import EntryError
    from tagger.store.database import StoreError
    from tagger.store.lock import SeasonLocked
    from tagger.tables import TablesError

    ours = (DashboardError, FilmError, SeasonError, StoreError, SeasonLocked, EntryError, TablesError)
    return isinstance(fault, (*ours, OSError))


def line_of(fault: BaseException) -> str:
    """A fault as one line.

    Parameters
    ----------
    fault : BaseException
        What was raised.

    Returns
    -------
    str
        For an operating system's error what happened and to which file; else its message.
    """
    if type(fault).__module__ == "builtins" and isinstance(fault, OSError) and fault.strerror:
        where = f"{fault.filename}: " if fault.filename else ""
        return f"{where}{fault.strerror}; check the name, its rights and the room on the disk"
    text = " ".join(str(fault).split())
    return text or type(fault).__name__

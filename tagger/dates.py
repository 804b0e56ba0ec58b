"""What a date is, wherever one is entered: a day of the calendar, written 2026-03-14."""

from __future__ import annotations

import datetime
import re

EXAMPLE = "2026-03-14"
_WRITTEN = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}\Z")
_YEARS = range(1900, 3000)


def day(text: object) -> datetime.date | None:
    """The day that a date names.

    Parameters
    ----------
    text : object
        As it was entered.

    Returns
    -------
    date or None
        None where there is no such day, or where it is written in another way.

    Examples
    --------
    >>> day("2026-02-28"), day("2026-02-30"), day("2026-3-1")
    (datetime.date(2026, 2, 28), None, None)
    """
    if not isinstance(text, str) or not _WRITTEN.match(text) or int(text[:4]) not in _YEARS:
        return None
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        return None

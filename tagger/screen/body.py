"""What a request brings, read with its limits: the one place where a JSON body becomes values.

Sent only as application/json, which another site's page cannot send unasked. A body is refused as a whole when it is
no JSON of RFC 8259, says one name twice, nests deeper than anything of ours does, or holds a number or a text that
cannot be kept: a whole number that a browser cannot count to, one beyond all measure, half a character.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any

from flask import request

from tagger.screen.answers import Refused

MOST_DEPTH = 24
MOST_WHOLE = 2**53 - 1
MOST_DIGITS = 40
_CODE = "no_json"


def sent_object(most_bytes: int, *, apart: str = "") -> dict[str, Any]:
    """The JSON object of the request that is being answered.

    Parameters
    ----------
    most_bytes : int
        How long it may be.
    apart : str
        A field whose items are judged one by one by who takes them in, so that one bad one does not hold up the
        others: what numbers and texts stand in it is that one's matter.

    Returns
    -------
    dict
        As it was sent.

    Raises
    ------
    Refused
        It is none, or too much.
    """
    if request.mimetype != "application/json":
        raise Refused(415, _CODE, "send JSON as application/json")
    if (request.content_length or 0) > most_bytes:
        raise _too_much(most_bytes)
    raw = request.get_data()
    if len(raw) > most_bytes:  # sent in chunks, without its length
        raise _too_much(most_bytes)
    return object_of(raw, apart=apart)


def object_of(raw: bytes, *, apart: str = "") -> dict[str, Any]:
    """The JSON object that some bytes are.

    Parameters
    ----------
    raw : bytes
        UTF-8.
    apart : str
        As for `sent_object`.

    Returns
    -------
    dict
        As it is written.

    Raises
    ------
    Refused
        400: it is none, or holds what cannot be kept.
    """
    try:
        sent = json.loads(
            raw.decode("utf-8"), object_pairs_hook=_named_once, parse_constant=_no_number, parse_int=_whole
        )
    except (ValueError, RecursionError):
        raise Refused(400, _CODE, "the text sent is not JSON") from None
    if not isinstance(sent, dict):
        raise Refused(400, _CODE, "a JSON object is expected")
    _check(sent, apart)
    return sent


def whole_arg(name: str, default: int, most: int = MOST_WHOLE) -> int:
    """A whole number of the request's address.

    Parameters
    ----------
    name : str
        As in `?since=12`.
    default : int
        When it is not there.
    most : int
        What it may be at most.

    Returns
    -------
    int
        From 0 to `most`.

    Raises
    ------
    Refused
        400: it is there and no such number.
    """
    told = request.args.get(name)
    if told is None:
        return default
    if not (told.isascii() and told.isdecimal()) or len(told) > len(str(most)) or int(told) > most:
        raise Refused(400, f"no_{name}", f"“{name}” is a whole number from 0 to {most}")
    return int(told)


def _check(sent: dict[str, Any], apart: str) -> None:
    """Go through all that was sent, without a call for each level."""
    level: list[tuple[Any, bool]] = [(value, name != apart) for name, value in sent.items()]
    if not all(map(_is_text, sent)):
        raise _half_a_character()
    for _ in range(MOST_DEPTH):
        inner: list[tuple[Any, bool]] = []
        for value, judged in level:
            if isinstance(value, dict):
                inner.extend((each, judged) for each in value.values())
                if judged and not all(map(_is_text, value)):
                    raise _half_a_character()
            elif isinstance(value, list):
                inner.extend((each, judged) for each in value)
            elif judged:
                _check_value(value)
        if not inner:
            return
        level = inner
    raise Refused(400, "too_deep", f"what was sent nests deeper than {MOST_DEPTH} levels")


def _check_value(value: Any) -> None:
    if isinstance(value, str) and not _is_text(value):
        raise _half_a_character()
    if isinstance(value, int) and not -MOST_WHOLE <= value <= MOST_WHOLE:
        raise Refused(400, "no_number", f"a whole number is from -{MOST_WHOLE} to {MOST_WHOLE}")
    if isinstance(value, float) and not abs(value) <= MOST_WHOLE:
        raise Refused(400, "no_number", "a number sent is beyond all measure")


def _is_text(text: str) -> bool:
    return text.isascii() or not any("\ud800" <= one <= "\udfff" for one in text)


def _named_once(pairs: Iterable[tuple[str, Any]]) -> dict[str, Any]:
    held = list(pairs)
    made = dict(held)
    if len(made) != len(held):
        raise Refused(400, _CODE, "the text sent says one name twice in one object")
    return made


def _no_number(word: str) -> None:
    raise Refused(400, _CODE, f"{word} is no number of JSON")


def _whole(digits: str) -> int:
    if len(digits) > MOST_DIGITS:  # reading thousands of digits takes long, and beyond 4,300 it is an error
        raise Refused(400, "no_number", f"a whole number has at most {MOST_DIGITS} digits")
    return int(digits)


def _half_a_character() -> Refused:
    return Refused(400, "no_text", "a text that was sent holds half of a character")


def _too_much(most_bytes: int) -> Refused:
    return Refused(413, "too_much", f"at most {most_bytes / 1024 / 1024:g} MiB at once")

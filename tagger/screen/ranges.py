"""A file by HTTP ranges, each answer capped.

A browser asks for "from here to the end" and then reads as it pleases; an answer without an end holds a server thread
for as long as the film is open. Capped answers free it after a few MiB. RFC 9110, sections 13 and 14. A whole film,
which no page asks for, is given to the server as an open file: it sends on while the other end takes, without a thread.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from flask import Request, Response

from tagger.screen.answers import Refused

MOST_BYTES = 2 * 1024 * 1024
_CHUNK = 256 * 1024
_RANGE = re.compile(r"\s*bytes\s*=\s*([0-9]{0,18})-([0-9]{0,18})\s*\Z", re.IGNORECASE)


def span_of(header: str | None, size: int) -> tuple[int, int] | None:
    """The bytes that one Range header asks for, capped.

    Parameters
    ----------
    header : str or None
        As it was sent.
    size : int
        The file's size.

    Returns
    -------
    tuple of int or None
        Start and end, end exclusive; None where the whole file is to be sent (no Range, several, or another unit).

    Raises
    ------
    Refused
        416: it begins behind the end of the file.
    """
    found = _RANGE.match(header or "")
    if found is None or found.group(1) == found.group(2) == "":
        return None
    first, last = found.groups()
    if first == "":
        start, end = max(0, size - int(last)), size
    else:
        start, end = int(first), int(last) + 1 if last else size
        if last and int(last) < start:
            return None
    if start >= size:
        raise Refused(416, "no_such_range", f"the film has {size} bytes")
    return start, min(end, size, start + MOST_BYTES)


def file_answer(request: Request, path: Path, kind: str) -> Response:
    """A file or a piece of it, as the request asks.

    Parameters
    ----------
    request : Request
        GET or HEAD.
    path : Path
        The file.
    kind : str
        Its media type.

    Returns
    -------
    Response
        200, 206, 304, 412 or 416.
    """
    found = path.stat()
    size = found.st_size
    etag = f'"{size:x}-{found.st_mtime_ns:x}"'
    headers = {"Accept-Ranges": "bytes", "ETag": etag, "Cache-Control": "private, no-cache"}
    if request.headers.get("If-None-Match") in (etag, "*"):
        return Response(status=304, headers=headers)
    if request.headers.get("If-Match", etag) not in (etag, "*"):
        return Response(status=412, headers=headers)
    wanted = request.headers.get("Range") if request.headers.get("If-Range", etag) == etag else None
    try:
        span = span_of(wanted, size)
    except Refused:
        return Response(status=416, headers={**headers, "Content-Range": f"bytes */{size}"})
    start, end = span or (0, size)
    if span is not None:
        headers["Content-Range"] = f"bytes {start}-{end - 1}/{size}"
    wrap = request.environ.get("wsgi.file_wrapper")
    whole = span is None and request.method == "GET"
    body = iter(()) if request.method != "GET" else _piece(path, start, end)
    if whole and wrap is not None:
        body = wrap(path.open("rb"))
    answer = Response(body, status=206 if span else 200, mimetype=kind, headers=headers, direct_passthrough=whole)
    answer.content_length = end - start
    return answer


def _piece(path: Path, start: int, end: int) -> Iterator[bytes]:
    with path.open("rb") as film:
        film.seek(start)
        while start < end:
            data = film.read(min(_CHUNK, end - start))
            if not data:
                return
            start += len(data)
            yield data

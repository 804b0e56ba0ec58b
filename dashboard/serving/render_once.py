"""What Dash works out for a page serves everybody who asks for the same; see `dashboard.serving.rendered`."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from flask import make_response, request

from dashboard.pages.callbacks import CALL
from dashboard.season_state import SeasonWatch
from dashboard.serving.rendered import Rendered
from tagger.screen.visitor import goes_to, visitor

if TYPE_CHECKING:
    from flask import Flask, Response

    from dashboard.loading import Present

MOST_ASKED_BYTES = 4096


def render_once(server: Flask, present: Present) -> None:
    """Let each page be worked out once for each state of the season and each kind of visitor.

    Parameters
    ----------
    server : Flask
        The application, with Dash in it.
    present : Present
        Its season.
    """
    rendered = Rendered(SeasonWatch(present.season).now)
    work_out: Callable[[], Any] = server.view_functions[CALL]

    def answer() -> Response:
        body = request.get_data()
        made: list[Response] = []

        def make() -> bytes | None:
            with present.steady():
                made.append(make_response(work_out()))
            plain = made[0].status_code == 200 and made[0].mimetype == "application/json"
            return made[0].get_data() if plain and "Set-Cookie" not in made[0].headers else None

        told = rendered.answer((visitor(), goes_to(), body) if len(body) <= MOST_ASKED_BYTES else None, make)
        return made[0] if made else make_response(told or b"", 200, {"Content-Type": "application/json"})

    server.view_functions[CALL] = answer

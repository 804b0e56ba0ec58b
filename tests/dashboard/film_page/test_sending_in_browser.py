"""Another device sends a film over a network that is cut, a page that is loaded anew, a server that is started anew."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from tagger.season import Season
from tagger.work.queue import Queue
from tests.dashboard.film_page.conftest import wait_for
from tests.dashboard.film_page.test_sending import PIECE, gated_app, phrase_of
from tests.dashboard.threaded import listening
from tests.film.maker import Recipe, make

if TYPE_CHECKING:
    from playwright.sync_api import Page, Route

PHONE = {"width_px": 390, "height_px": 844, "has_touch": True}
N_BEFORE = 6


# What a browser withholds from a page on a plain address of a local network; 127.0.0.1 is not such a one.
PLAIN = """for (const name of ["subtle", "randomUUID"]) delete Crypto.prototype[name];
for (const name of ["locks", "wakeLock", "serviceWorker", "storage"]) delete Navigator.prototype[name];"""


class Server:
    """The pages on one port, for other devices; ended and started anew at will."""

    def __init__(self, season: Season, home: Path) -> None:
        self.season, self.home, self.port = season, home, 0
        self.start()

    def start(self) -> None:
        app = gated_app(self.season, self.home)
        self.phrase = phrase_of(app)
        inner = app.wsgi_app

        def from_afar(environ: dict[str, Any], begin: Any) -> Any:
            return inner({**environ, "REMOTE_ADDR": "192.0.2.9"}, begin)

        self._open = ExitStack()
        self.port = self._open.enter_context(listening(from_afar, self.port))

    def end(self) -> None:
        self._open.close()

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"


@pytest.fixture(scope="session")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A film of some forty pieces."""
    return make(Recipe("IMG_2041", n_frames=250), tmp_path_factory.mktemp("phone"))


@pytest.fixture
def server(season: Season, home: Path) -> Iterator[Server]:
    made = Server(season, home)
    yield made
    made.end()


def opened(page: Page, server: Server) -> None:
    page.add_init_script(PLAIN)
    page.goto(f"{server.address}/films")
    if page.locator("#phrase").count():
        page.fill("#phrase", server.phrase)
        page.get_by_role("button", name="Come in").click()
    page.wait_for_selector('body[data-ready="yes"]')


def wait_in(page: Page, what: Callable[[], object]) -> None:
    """Wait until something holds, while the page goes on."""

    def held() -> object:
        page.wait_for_timeout(50)
        return what()

    wait_for(held, 30)


@pytest.mark.browser
def test_sending_goes_on_after_a_cut_a_new_page_and_a_new_start_of_the_program(
    new_page: Any, server: Server, season: Season, film: Path
) -> None:
    n_pieces = -(-film.stat().st_size // PIECE)
    assert n_pieces > 3 * N_BEFORE
    page: Page = new_page(**PHONE)
    page.set_default_timeout(60_000)
    pieces: list[int] = []
    limit = N_BEFORE

    def pass_on(route: Route) -> None:
        if len(pieces) >= limit:
            return route.abort("connectionfailed")
        pieces.append(int(route.request.url.split("?")[0].rsplit("/", 1)[1]))
        return route.continue_()

    page.route(lambda url: "/films/send/" in url and "crc=" in url, pass_on)
    opened(page, server)
    assert page.get_by_role("button", name="Send it").is_disabled()
    page.set_input_files("#pick", str(film))
    page.fill("#opponent", "Millrace")
    page.fill("#date", "2026-03-21")
    assert "may still come from you" in page.inner_text("#room")
    page.get_by_role("button", name="Send it").click()
    page.wait_for_selector("#senders :text('no connection')")
    assert len(pieces) == N_BEFORE and season.games.all() == []

    limit = 2 * N_BEFORE  # the network is back for a while, then the page is loaded anew
    wait_in(page, lambda: len(pieces) == limit)
    page.wait_for_selector("#senders :text('no connection')")
    page.on("dialog", lambda dialog: dialog.accept())  # a page that sends asks before it goes
    page.reload()
    page.wait_for_selector('body[data-ready="yes"]')
    begun = page.inner_text("#begun")
    assert film.name in begun and "Clear" not in begun

    server.end()
    server.start()  # with another pass-phrase's cookie
    opened(page, server)
    limit = 10**6
    page.set_input_files("#pick", str(film))
    page.fill("#opponent", "Millrace")
    page.fill("#date", "2026-03-21")
    page.get_by_role("button", name="Send it").click()
    queue = Queue(season)
    try:
        queue.start()
        page.wait_for_selector("#senders :text('in the season')")
    finally:
        queue.close()
    assert sorted(pieces) == [n * PIECE for n in range(n_pieces)], "each piece was sent once"
    (game,) = season.games.all()
    (brought,) = season.shelf.films(game.id)
    assert (season.folder / "film" / brought.name).read_bytes() == film.read_bytes()
    assert page.locator("#begun").is_hidden()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


@pytest.mark.browser
def test_sending_is_paused_and_put_aside_and_a_letter_is_refused_in_one_line(
    new_page: Any, server: Server, season: Season, film: Path, tmp_path: Path
) -> None:
    page: Page = new_page(**PHONE)
    page.set_default_timeout(30_000)
    opened(page, server)
    letter = tmp_path / "letter.mp4"
    letter.write_text("dear team, " * 9000, encoding="utf-8")
    page.set_input_files("#pick", str(letter))
    page.fill("#opponent", "Millrace")
    page.fill("#date", "2026-03-21")
    page.get_by_role("button", name="Send it").click()
    page.wait_for_selector("#senders .bad:not([hidden])")
    assert page.inner_text("#senders .bad") == "letter.mp4: this is text, not a film; choose the film file"
    page.get_by_role("button", name="letter.mp4: Put aside").click()
    assert page.locator("#sending").is_hidden()

    n_sent = 0

    def slow(route: Route) -> None:
        nonlocal n_sent
        n_sent += 1
        if n_sent > 3:
            return None  # on its way for ever
        return route.continue_()

    page.route(lambda url: "crc=" in url, slow)
    page.set_input_files("#pick", str(film))
    page.fill("#opponent", "Millrace")
    page.fill("#date", "2026-03-21")
    page.get_by_role("button", name="Send it").click()
    wait_in(page, lambda: n_sent > 3)
    page.get_by_role("button", name="IMG_2041.mp4: Pause").click()
    page.wait_for_selector("#senders li.resting :text('paused')")
    page.get_by_role("button", name="IMG_2041.mp4: Put aside").click()
    page.wait_for_selector("#sending", state="hidden")
    page.wait_for_selector("#begun :text('choose the same file again')")
    assert page.locator("#begun button").count() == 0, "clearing what has come is the laptop's"
    assert list((season.folder / "film" / "arriving").iterdir()) and season.games.all() == []


@pytest.mark.browser
def test_two_files_sent_together_are_one_game_and_the_time_left_is_said(
    new_page: Any, server: Server, season: Season, film: Path, films: Path
) -> None:
    page: Page = new_page(**PHONE)
    page.set_default_timeout(60_000)
    opened(page, server)
    left = """async () => {
      const { Sender } = await import("/films/static/sender.js");
      const aim = { new: { opponent: "Millrace", date: "2026-03-21", home: true }, camera: "" };
      const one = new Sender(new File(["x".repeat(100)], "a.mp4"), 10, aim, () => {});
      const before = one.leftMs;
      Object.assign(one, { there: 40, sentAt: [[0, 0], [2000, 10], [4000, 40]] });
      return [before, one.leftMs];
    }"""
    assert page.evaluate(left) == [None, 6000]
    page.set_input_files("#pick", [str(film), str(films / "a second.mp4")])
    page.fill("#opponent", "Millrace")
    page.fill("#date", "2026-03-21")
    page.get_by_role("button", name="Send it").click()
    page.wait_for_selector("#senders li:nth-child(2) :text('waits for the one before it')")
    assert page.get_by_role("button", name="Send it").is_disabled()
    queue = Queue(season)
    try:
        queue.start()
        wait_in(page, lambda: page.locator("#senders :text-is('in the season')").count() == 2)
    finally:
        queue.close()
    (game,) = season.games.all()
    sizes = [(season.folder / "film" / one.name).stat().st_size for one in season.shelf.films(game.id)]
    assert sizes == [film.stat().st_size, (films / "a second.mp4").stat().st_size]

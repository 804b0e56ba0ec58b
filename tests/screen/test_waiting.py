"""Nothing is lost: the server killed, the network cut, the page closed, two tabs, a clock set back."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.screen.house import House, opened, press, said

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def own(practice_film: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """A server that these tests may kill."""
    made = House(tmp_path_factory.mktemp("own") / "herons", practice_film)
    made.start()
    yield made
    made.close()


def ids(entries: list[dict[str, Any]]) -> list[str]:
    return [entry["id"] for entry in entries]


def waiting(page: Any) -> None:
    page.wait_for_function("() => document.getElementById('disk').innerText.includes('the server is away')")


def on_disk(page: Any) -> None:
    page.wait_for_function("() => document.getElementById('disk').innerText.endsWith('all on disk')")


def test_entries_wait_while_the_server_is_dead_and_arrive_once_in_order(page: Any, own: House) -> None:
    game = own.game()
    opened(page, own, game)
    press(page, "B d")
    own.wait_for(game, 2)
    on_disk(page)
    own.kill()
    press(page, "1 a e u s 1 4 g")
    waiting(page)
    assert said(page)[-1] == "14 shot: goal."
    assert page.inner_text("#disk") == "7 entries waiting, kept in this browser: the server is away"
    own.start()
    on_disk(page)
    entries = own.wait_for(game, 9)
    assert [entry["n"] for entry in entries] == list(range(1, 10))
    assert len(set(ids(entries))) == 9


def test_what_waits_outlives_the_page(new_page: Any, own: House) -> None:
    game = own.game()
    page = new_page()
    opened(page, own, game)
    press(page, "B d")
    own.wait_for(game, 2)
    on_disk(page)
    own.kill()
    press(page, "x 1 4 b")
    waiting(page)
    context = page.context
    page.close()
    own.start()
    again = context.new_page()
    opened(again, own, game)
    assert said(again) == ["The period begins.", "Ours.", "14 threw it away."]
    on_disk(again)
    own.wait_for(game, 5)


SLOW = """
const open = IDBFactory.prototype.open;
IDBFactory.prototype.open = function (...given) {
  const real = open.apply(this, given);
  const late = {};
  real.onsuccess = () => setTimeout(() => { late.result = real.result; late.onsuccess(); }, 4000);
  return late;
};"""


def test_what_waits_in_a_browser_that_is_slow_to_say_so_is_sent_all_the_same(new_page: Any, own: House) -> None:
    game = own.game()
    page = new_page()
    opened(page, own, game)
    own.kill()
    press(page, "B d")
    waiting(page)
    context = page.context
    page.close()
    own.start()
    again = context.new_page()
    again.add_init_script(SLOW)
    opened(again, own, game)
    assert said(again) == []  # it was not waited for
    on_disk(again)
    press(again, "x 1 4 b")
    again.wait_for_function("() => document.querySelector('#log').innerText.includes('Ours')")
    own.wait_for(game, 5)
    on_disk(again)


def test_what_waits_for_one_game_is_sent_from_the_page_of_another(new_page: Any, own: House) -> None:
    one, other = own.game(), own.game()
    page = new_page()
    opened(page, own, one)
    press(page, "B")
    own.wait_for(one, 1)
    page.context.set_offline(True)
    press(page, "f x 2 3 c")
    waiting(page)
    context = page.context
    page.close()
    context.set_offline(False)
    opened(context.new_page(), own, other)
    own.wait_for(one, 5)
    assert own.entries(other) == []


def test_the_network_cut_and_back(page: Any, own: House) -> None:
    game = own.game()
    opened(page, own, game)
    page.context.set_offline(True)
    press(page, "B d p p p")
    waiting(page)
    page.context.set_offline(False)
    on_disk(page)
    own.wait_for(game, 5)


NO_STORE = (
    "Object.defineProperty(window, 'indexedDB', {value: {open() { throw new DOMException('', 'SecurityError'); }}})"
)
NO_ANSWER = "Object.defineProperty(window, 'indexedDB', {value: {open() { return {}; }}})"
NO_ROOM = """
const put = IDBObjectStore.prototype.put;
window.full = true;
IDBObjectStore.prototype.put = function (one) {
  const made = put.call(this, one);
  if (window.full) this.transaction.abort();  // as a browser does that finds no room when it writes
  return made;
};
"""


@pytest.mark.parametrize("missing", [NO_STORE, NO_ANSWER, NO_ROOM], ids=["refused", "no answer", "no room"])
def test_a_browser_that_keeps_nothing_says_so_and_still_tags(page: Any, own: House, missing: str) -> None:
    game = own.game()
    page.add_init_script(missing)
    opened(page, own, game)
    press(page, "B d")
    own.wait_for(game, 2)
    page.wait_for_function("() => document.getElementById('disk').innerText.includes('this browser keeps nothing')")
    page.context.set_offline(True)
    press(page, "x 1 4 b")
    waiting(page)
    assert page.inner_text("#disk") == "3 entries waiting, not kept if this page is closed: the server is away"
    asked: list[str] = []

    def stay(dialog: Any) -> None:
        asked.append(dialog.type)
        dialog.dismiss()

    page.once("dialog", stay)
    page.evaluate("location.reload()")
    assert asked == ["beforeunload"]
    page.context.set_offline(False)
    own.wait_for(game, 5)


def test_room_found_again_keeps_what_waits(page: Any, own: House) -> None:
    game = own.game()
    page.add_init_script(NO_ROOM)
    opened(page, own, game)
    press(page, "B")
    own.wait_for(game, 1)
    page.context.set_offline(True)
    press(page, "d")
    page.wait_for_function("() => document.getElementById('disk').innerText.includes('not kept')")
    page.evaluate("window.full = false")
    press(page, "f")
    page.wait_for_function("() => document.getElementById('disk').innerText.includes('2 entries waiting, kept')")
    context = page.context
    page.close()
    context.set_offline(False)
    opened(context.new_page(), own, game)
    own.wait_for(game, 3)


def test_an_answer_that_was_lost_on_the_way_makes_no_second_entry(page: Any, own: House) -> None:
    """The server has it on disk, the page never heard so: it sends again, and that changes nothing."""
    game = own.game()
    opened(page, own, game)
    lost = []

    def lose(route: Any) -> None:
        if not lost:
            route.fetch()
            lost.append(True)
            return route.abort()
        route.continue_()

    page.route("**/entries", lose)
    press(page, "B")
    on_disk(page)
    assert lost and len(own.entries(game)) == 1


def test_two_tabs_of_one_game_show_the_same_and_send_everything_once(new_page: Any, own: House) -> None:
    game = own.game()
    left = new_page()
    right = left.context.new_page()
    opened(left, own, game)
    opened(right, own, game)
    left.context.set_offline(True)
    press(left, "B d")
    right.wait_for_function("() => document.querySelectorAll('#log .m').length === 2")
    press(right, "x 1 4 b")
    left.wait_for_function("() => document.querySelectorAll('#log .m').length === 3")
    waiting(left)
    waiting(right)
    left.context.set_offline(False)
    on_disk(left)
    on_disk(right)
    entries = own.wait_for(game, 5)
    assert len(set(ids(entries))) == 5
    assert said(left) == said(right) == ["The period begins.", "Ours.", "14 threw it away."]


def test_a_clock_set_back_changes_no_order(page: Any, own: House) -> None:
    game = own.game()
    page.add_init_script("let now = 2e12; Date.prototype.toISOString = function () { now -= 864e5; return `t${now}`; }")
    opened(page, own, game)
    press(page, "B d x 1 4 b Backspace c")
    entries = own.wait_for(game, 7)
    assert entries[0]["wall"] > entries[-1]["wall"]
    assert said(page)[-1] == "14 was stripped."


def test_another_season_at_the_address_gets_nothing(page: Any, own: House) -> None:
    game = own.game()
    opened(page, own, game)
    page.route(
        "**/entries", lambda route: route.continue_(post_data=route.request.post_data.replace("saltmarsh", "other"))
    )
    press(page, "B")
    page.wait_for_function("() => document.getElementById('disk').innerText.includes('the marks stay here')")
    assert page.inner_text("#disk").startswith(
        "1 entry waiting, kept in this browser: this address now serves the season"
    )
    assert own.entries(game) == []
    page.unroute("**/entries")
    own.wait_for(game, 1)


REFUSED_KEPT = """async (n) => {
  const asked = (request) => new Promise((done) => (request.onsuccess = () => done(request.result)));
  const [{ name }] = await indexedDB.databases();
  const db = await asked(indexedDB.open(name));
  const held = await asked(db.transaction("waiting").objectStore("waiting").getAll());
  db.close();
  return held.length === n && held.every((one) => one.refused);
}"""


def test_an_entry_that_the_server_will_not_take_is_kept_and_told(page: Any, own: House) -> None:
    game = own.game()
    opened(page, own, game)
    page.route(
        "**/entries", lambda route: route.continue_(post_data=route.request.post_data.replace('"v":1', '"v":99'))
    )
    press(page, "B")
    page.wait_for_function(
        "() => document.getElementById('disk').innerText.includes('1 refused: the entry is of version 99')"
    )
    page.unroute("**/entries")
    press(page, "B")
    own.wait_for(game, 1)
    page.wait_for_function(REFUSED_KEPT, arg=1)  # it alone, soon after the other came in


def test_what_is_refused_is_taken_back_told_and_never_called_on_disk(new_page: Any, own: House) -> None:
    """A mark with its answer is refused; the mark after it is not."""
    game = own.game()
    page = new_page()
    opened(page, own, game)
    other = page.context.new_page()
    opened(other, own, game)
    press(page, "B d")
    own.wait_for(game, 2)
    far = '"n":9007199254740991'
    page.route("**/entries", lambda route: route.continue_(post_data=route.request.post_data.replace('"n":3', far)))
    sent: list[str] = []
    page.on("request", lambda request: sent.append(request.url) if request.method == "POST" else None)
    press(page, "x")
    page.wait_for_function("() => document.getElementById('disk').innerText.includes('1 refused: ')")
    assert page.inner_text("#disk").startswith('2 marks on disk; 1 refused: "n" is 9007199254740991, far beyond 2')
    assert page.inner_text("#told").startswith("refused, not on disk: “Someone lost the ball”: ")
    assert said(page) == ["The period begins.", "Ours."]
    other.wait_for_function("() => document.querySelectorAll('#log .m').length === 2")
    page.unroute("**/entries")
    n_sent = len(sent)
    press(page, "x 1 4 b")
    own.wait_for(game, 5)
    page.wait_for_timeout(600)
    assert len(sent) - n_sent <= 3, "what was refused is sent once"
    assert page.inner_text("#disk").startswith("3 marks on disk; 1 refused: ")
    page.reload()
    page.wait_for_selector('body[data-ready="film"]')
    assert said(page) == ["The period begins.", "Ours.", "14 threw it away."]
    asked: list[str] = []

    def forget(dialog: Any) -> None:
        asked.append(dialog.message)
        dialog.accept()

    page.once("dialog", forget)
    page.click("#let-go")
    assert "turnover at 0:0" in asked[0] and "far beyond" in asked[0]
    page.wait_for_function("() => document.getElementById('disk').innerText === '3 marks, all on disk'")
    assert page.is_hidden("#let-go")


def test_marks_that_an_ended_book_refused_come_in_once_it_goes_on(new_page: Any, own: House) -> None:
    """What the browser kept from then gets the next numbers, in the order in which it was made."""
    game = own.game()
    page = new_page()
    page.route(
        "**/entries",
        lambda route: route.continue_(
            post_data=re.sub(r'"n":([0-9]+)', lambda found: f'"n":{2**53 - 9 + int(found[1])}', route.request.post_data)
        ),
    )
    page.add_init_script(
        "const put = IDBObjectStore.prototype.put; IDBObjectStore.prototype.put = function (one) {"
        " return put.call(this, one.refused ? {...one, entry: {...one.entry, n: 2 ** 53}} : one); }"
    )
    opened(page, own, game)
    press(page, "B")
    page.wait_for_function("() => document.getElementById('disk').innerText.includes('1 refused')")
    press(page, "B")
    page.wait_for_function("() => document.getElementById('disk').innerText.includes('2 refused')")
    page.wait_for_function(REFUSED_KEPT, arg=2)  # said before; closed now, the second is sent anew
    context = page.context
    page.close()
    again = context.new_page()
    opened(again, own, game)
    entries = own.wait_for(game, 2)
    assert [one["n"] for one in entries] == [1, 2] and entries[0]["wall"] < entries[1]["wall"]
    on_disk(again)


def test_one_that_spoils_a_batch_does_not_hold_up_the_others(page: Any, own: House) -> None:
    game = own.game()
    opened(page, own, game)
    page.context.set_offline(True)
    press(page, "B d p p")
    waiting(page)
    page.route(
        "**/entries",
        lambda route: route.continue_(post_data=route.request.post_data.replace('"n":3', '"n":' + "9" * 50)),
    )
    page.context.set_offline(False)
    page.wait_for_function("() => document.getElementById('disk').innerText.includes('1 refused: a whole number')")
    own.wait_for(game, 3)


def test_in_two_tabs_a_question_takes_back_its_own_answer(new_page: Any, own: House) -> None:
    game = own.game()
    page = new_page()
    opened(page, own, game)
    other = page.context.new_page()
    opened(other, own, game)
    press(page, "B d s 1 4 g")
    press(other, "T Escape")
    page.wait_for_function("() => document.getElementById('log').innerText.includes('Starred')")
    press(page, "Backspace")
    assert said(page) == ["The period begins.", "Ours.", "14 shot.", "Starred."]

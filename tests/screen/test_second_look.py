"""The second look, the go-to, the clock, the film that holds while a question is open."""

from __future__ import annotations

from typing import Any

import pytest

from tests.screen.house import House, opened, press, said
from tests.screen.test_film import settled

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def typed(chromium: Any, house: House) -> list[dict[str, Any]]:
    """Entries of two runs of ours: a shot at 5 s without a feeder, a set at 10 s without a look."""
    context = chromium.new_context()
    page, game = context.new_page(), house.game()
    opened(page, house, game)
    press(page, "B C 1 5 0 0 Enter d 1 a ArrowRight")
    settled(page, 125)
    press(page, "s 1 4 a r")
    press(page, "Escape C 1 4 5 5 Enter ArrowRight")
    settled(page, 250)
    press(page, "2 p")
    entries = house.wait_for(game, 14)
    context.close()
    for entry in entries:
        if entry.get("answers", {}).get("set") == "keel":
            entry["answers"]["side"] = "left"  # said with the set, so that it is not asked for
    return entries


@pytest.fixture
def tagged(page: Any, house: House, typed: list[dict[str, Any]]) -> Any:
    """A game of its own with the two runs; the film at 10 s, where the page goes on."""
    page.game = house.game()
    house.season.journal.add(page.game, "coach", [again(entry, page.game) for entry in typed])
    opened(page, house, page.game)
    settled(page, 250)
    page.wait_for_function("() => document.getElementById('clock').textContent.includes('left')")
    page.wait_for_function("() => document.getElementById('unanswered').textContent")
    return page


def again(entry: dict[str, Any], game: str) -> dict[str, Any]:
    """An entry as it would be on another game of the same film."""
    made = {**entry, "id": f"{game}-{entry['id']}"}
    return (
        made
        | ({"film": f"{game}.1"} if "film" in entry else {})
        | ({"of": f"{game}-{entry['of']}"} if "of" in entry else {})
    )


def test_the_second_look_leads_from_one_thing_worth_asking_to_the_next(tagged: Any, house: House) -> None:
    press(tagged, "W")
    tagged.wait_for_function("() => document.getElementById('speed').innerText.startsWith('over and over')")
    assert tagged.inner_text("#told") == "which look was it? 3 left"
    press(tagged, "W")
    assert tagged.inner_text("#told") == "who fed this shot? 3 left" and "who fed it?" in tagged.inner_text("#hand")
    press(tagged, "2 2 Enter")
    tagged.wait_for_timeout(100)
    assert "14 shot: saved, recovered; fed by 22." in said(tagged)
    assert tagged.inner_text("#told") == "which look was it? 2 left"  # an answer leads on
    press(tagged, "2")
    assert house.wait_for(tagged.game, 16)[-1]["kind"] == "look"
    assert tagged.inner_text("#told") == "that was the last; 1 left, ⇧W begins again"
    assert tagged.inner_text("#speed") == "held"


def shown(page: Any) -> tuple[float, float]:
    """From where to where the film goes round, in seconds."""
    return tuple(
        page.evaluate(
            "() => new Promise((done) => { const at = []; const video = document.getElementById('video');"
            "const watch = (_, { mediaTime }) => { at.push(mediaTime); const n = at.length;"
            "if (n > 2 && mediaTime < at[n - 2] - 0.5) return done([mediaTime, Math.max(...at)]);"
            "video.requestVideoFrameCallback(watch); };"
            "video.playbackRate = 2; video.requestVideoFrameCallback(watch); })"  # a busy machine sees its end late
        )
    )


def test_the_last_four_seconds_are_shown_and_the_whole_run_by_a_key(tagged: Any) -> None:
    press(tagged, "W")  # the run from 0:00 to the shot at 0:05
    start, end = shown(tagged)
    assert start == pytest.approx(1, abs=0.4) and end == pytest.approx(7, abs=0.4)
    assert "⇧L shows the whole run" in tagged.inner_text("#means")
    press(tagged, "L")
    start, _ = shown(tagged)
    assert start < 0.5 and tagged.inner_text("#told") == "the whole run"
    press(tagged, "L")
    start, _ = shown(tagged)
    assert start == pytest.approx(1, abs=0.4) and "which look was it?" in tagged.inner_text("#hand")


def test_blind_a_run_is_shown_whole_and_up_to_its_decisive_moment_only(tagged: Any) -> None:
    press(tagged, "E")
    tagged.wait_for_function("() => document.body.classList.contains('blind')")
    start, end = shown(tagged)
    assert start < 0.5 and end < 5.3
    assert not tagged.locator("#log .now .m", has_text="14 shot").is_visible()
    press(tagged, "k")
    assert not tagged.locator("#log .m", has_text="14 shot").is_visible()  # held to look closer, still blind
    press(tagged, "Escape")
    assert tagged.locator("#log .m", has_text="14 shot").is_visible()


def test_runs_are_graded_blind_also_where_the_first_pass_left_grades_out(tagged: Any, house: House) -> None:
    press(tagged, "E")
    unanswered(tagged, 5)
    press(tagged, "1")
    assert tagged.inner_text("#told") == "" and "over and over" in tagged.inner_text("#speed")  # waits for its grades
    press(tagged, "W")
    assert tagged.inner_text("#told") == "how was the work? 4 left"
    assert tagged.locator("#caps .offer").inner_text() == "⇧R\ngrade"
    assert "⇧W\nthe next run" in tagged.locator("#caps .k").all_inner_texts()
    press(tagged, "R 2 2 Enter 1 u R 1 4 Enter 2 m")
    entries = house.wait_for(tagged.game, 23)
    rows = house.season.tagged.folded(tagged.game, "coach").rows
    named = next(run["id"] for run in rows["runs"] if run["set"] == "lantern")
    assert {(row["player"], row["grade"], row["run"]) for row in rows["grades"]} == {
        ("22", "plus", named),
        ("14", "minus", named),
    }
    assert "detail" not in {entry.get("kind") for entry in entries}  # nothing claims that more was looked for
    assert not any("speed" in entry for entry in entries)
    press(tagged, "W")
    assert tagged.inner_text("#told") == "who fed this shot? 3 left"


def test_held_or_frame_by_frame_the_question_stays_and_takes_its_answer(tagged: Any, house: House) -> None:
    press(tagged, "W k , , Space k z k")
    assert "which look was it?" in tagged.inner_text("#hand")
    press(tagged, "9")
    assert tagged.inner_text("#told") == "the list has no 9; ↵ goes on"
    press(tagged, "3")
    assert [entry["kind"] for entry in house.wait_for(tagged.game, 15) if "kind" in entry][-1] == "look"
    runs = house.season.tagged.folded(tagged.game, "coach").rows["runs"]
    assert [run["look"] for run in runs if run.get("look")] == ["skip"]
    assert tagged.inner_text("#told") == "who fed this shot? 2 left"


def test_taking_back_after_an_answer_led_on_comes_back_to_what_it_answered(tagged: Any, house: House) -> None:
    press(tagged, "W 3")
    assert "who fed it?" in tagged.inner_text("#hand")
    press(tagged, "Backspace")
    assert tagged.inner_text("#told") == "which look was it? 3 left"
    press(tagged, "4 n")
    assert tagged.inner_text("#told") == "which look was it? 1 left"
    press(tagged, "Backspace")
    assert tagged.inner_text("#told") == "who fed this shot? 2 left"
    press(tagged, "2 2 Enter Escape")
    house.wait_for(tagged.game, 20)
    rows = house.season.tagged.folded(tagged.game, "coach").rows
    assert [run["look"] for run in rows["runs"] if run.get("look")] == ["backdoor"]
    assert [shot["feeder"] for shot in rows["shots"]] == ["22"]


def test_what_is_skipped_comes_again_in_the_next_round_only(tagged: Any) -> None:
    press(tagged, "W Enter")
    assert tagged.inner_text("#told") == "who fed this shot? 3 left"
    press(tagged, "Enter")
    assert tagged.inner_text("#told") == "which look was it? 3 left"
    press(tagged, "1")
    assert tagged.inner_text("#told") == "that was the last; 2 left, ⇧W begins again"
    tagged.wait_for_timeout(2500)  # the fold is asked for again
    press(tagged, "W")
    assert tagged.inner_text("#told") == "which look was it? 2 left"


def test_another_line_of_the_log_ends_the_second_look(tagged: Any) -> None:
    press(tagged, "W ArrowDown")
    assert "over and over" not in tagged.inner_text("#speed")
    assert "Second look" not in tagged.inner_text("#hand")
    press(tagged, "W Escape 3")
    assert (
        "a set is named here already" in tagged.inner_text("#hand")
        or "left" in tagged.inner_text("#hand")
        or "side" in tagged.inner_text("#hand")
    )


def unanswered(page: Any, n: int) -> None:
    """Wait until the head counts so many things for a second look."""
    text = f"{n} second look{'' if n == 1 else 's'} ⇧W" if n else ""
    page.wait_for_function("text => document.getElementById('unanswered').textContent === text", arg=text)


def test_the_count_goes_down_as_things_are_answered_until_nothing_is_left(tagged: Any, house: House) -> None:
    unanswered(tagged, 3)
    press(tagged, "W")
    caps = [cap.split("\n") for cap in tagged.locator("#caps .k").all_inner_texts()]
    assert caps[0] == ["1", "Wick shoots over the top"] and ["n", "none of them"] in caps and ["↵", "go on"] in caps
    press(tagged, "o 1")  # the mark's own key does no harm
    assert tagged.inner_text("#told") == "who fed this shot? 2 left"
    unanswered(tagged, 2)
    press(tagged, "n 2")
    assert tagged.inner_text("#told") == "nothing left that is worth a second look"
    assert tagged.inner_text("#speed") == "held"
    unanswered(tagged, 0)
    press(tagged, "W")
    assert tagged.inner_text("#told") == "nothing left that is worth a second look"


def test_a_look_said_while_the_film_is_past_the_runs_end_still_belongs_to_the_run(tagged: Any, house: House) -> None:
    press(tagged, "W")
    tagged.wait_for_function("() => document.getElementById('time').innerText === '0:06'")  # the run ended at 0:05
    press(tagged, "3")
    look = next(entry for entry in house.wait_for(tagged.game, 15) if entry.get("kind") == "look")
    assert look["at_ms"] == 0  # beside the set's mark
    told = said(tagged)
    place = told.index("Lantern, left.")
    assert told[place + 1] == "Look: skip to Moth." and "14 shot: saved, recovered." in told[place + 2 :]
    runs = {run["id"]: run for run in house.season.tagged.folded(tagged.game, "coach").rows["runs"]}
    assert [run["look"] for run in runs.values() if run.get("look")] == ["skip"]


def test_a_star_comes_with_its_run_and_alone_where_nothing_else_is_asked_of_it(tagged: Any) -> None:
    for place, frame in (("0:19", 475), ("0:03", 75)):  # the first more than six seconds after any run
        press(tagged, "J")
        tagged.keyboard.type(place)
        tagged.keyboard.press("Enter")
        settled(tagged, frame)
        press(tagged, "T Escape")
    unanswered(tagged, 4)
    press(tagged, "W")
    assert tagged.inner_text("#told") == "starred: which look was it? 4 left"
    press(tagged, "1 n 1")
    assert tagged.inner_text("#told") == "starred, 1 left"
    press(tagged, "W")
    assert tagged.inner_text("#told") == "nothing left that is worth a second look"


def test_starred_notes_are_done_once_seen(tagged: Any, house: House) -> None:
    press(tagged, "W 1 n 1")
    unanswered(tagged, 0)
    press(tagged, "T")
    tagged.keyboard.type("show this")
    tagged.keyboard.press("Enter")
    unanswered(tagged, 1)
    press(tagged, "W")
    assert tagged.inner_text("#told") == "starred, 1 left"
    assert "show this" in tagged.locator("#log [aria-current]").inner_text()
    assert tagged.inner_text("#speed").startswith("over and over")
    press(tagged, "W")
    assert tagged.inner_text("#told") == "nothing left that is worth a second look"


def test_blind_neither_the_log_nor_the_strip_tells_how_the_run_ended(tagged: Any) -> None:
    press(tagged, "E W")  # asked who fed it: the shot is the line at hand
    tagged.wait_for_function("() => document.body.classList.contains('blind')")
    assert not tagged.locator("#log .m", has_text="14 shot: saved").is_visible()
    assert "saved" not in tagged.inner_text("#hand")
    press(tagged, "E")
    tagged.wait_for_function("() => !document.body.classList.contains('blind')")
    assert tagged.locator("#log .m", has_text="14 shot: saved").is_visible()


def test_a_go_to_takes_film_time_or_period_and_clock(tagged: Any) -> None:
    press(tagged, "J")
    tagged.keyboard.type("0:07")
    tagged.keyboard.press("Enter")
    settled(tagged, 175)
    press(tagged, "J")
    tagged.keyboard.type("1 14:58")
    tagged.keyboard.press("Enter")
    settled(tagged, 50)
    press(tagged, "J")
    tagged.keyboard.type("2 11:42")
    tagged.keyboard.press("Enter")
    assert tagged.inner_text("#told") == "the clock of that period is not known there"
    press(tagged, "J")
    tagged.keyboard.type("nonsense")
    tagged.keyboard.press("Enter")
    assert tagged.get_attribute("#place", "aria-invalid") == "true"
    tagged.keyboard.press("Escape")
    press(tagged, ".")
    settled(tagged, 51)


def test_period_clock_and_strength_stand_beside_the_film_time(tagged: Any) -> None:
    press(tagged, "J")
    tagged.keyboard.type("0:02")
    tagged.keyboard.press("Enter")
    settled(tagged, 50)
    assert tagged.inner_text("#clock") == "first period, 14:58 left, even, both nets covered"


def test_the_film_holds_while_a_question_is_open_when_it_is_told_to(page: Any, house: House) -> None:
    opened(page, house, house.game())
    press(page, "B d O l e")
    assert page.inner_text("#speed") == "held"
    press(page, "u Enter Enter")
    assert page.inner_text("#speed") == "1×"
    press(page, "e Space Escape")  # the person played on by hand, and that stands
    assert page.inner_text("#speed") == "1×"
    press(page, "O e")
    assert page.inner_text("#speed") == "1×"
    press(page, "k")


def test_hovering_the_strip_shows_the_moment(page: Any, house: House) -> None:
    opened(page, house, house.game())
    page.hover("#timeline")
    page.wait_for_function(
        "() => document.querySelector('#moment img').complete && !document.querySelector('#moment img').hidden"
    )
    assert page.inner_text("#moment") == "0:10 · 0–0" or page.inner_text("#moment") == "0:10"
    assert page.evaluate("document.querySelector('#moment img').naturalWidth") > 0
    page.click("#timeline")
    page.wait_for_function("() => document.getElementById('time').innerText === '0:10'")


def test_hovering_says_the_clock_whose_ball_it_was_how_it_ended_and_the_score(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "B C 1 5 0 0 Enter ArrowRight")
    settled(page, 125)
    press(page, "d ArrowRight")
    settled(page, 250)
    press(page, "s 1 4 g n C 1 4 5 5 Enter . .")
    settled(page, 252)
    press(page, "d")
    page.wait_for_function("() => document.getElementById('clock').textContent.includes('14:5')")
    width = page.evaluate("document.getElementById('timeline').clientWidth")
    page.hover("#timeline", position={"x": width * 7 / 20, "y": 20})
    words = page.inner_text("#moment").split(" · ")
    assert (words[0], words[2:]) == ("0:07", ["our ball: goal", "0–0"])
    assert words[1].endswith(" left in period 1")
    page.hover("#timeline", position={"x": width * 15 / 20, "y": 20})
    assert page.inner_text("#moment").startswith("0:15") and page.inner_text("#moment").endswith("our ball · 1–0")


def test_whether_the_film_holds_is_a_setting_on_the_screen_and_is_kept(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    assert page.inner_text("#holds").endswith("film plays on")
    page.click("#holds")
    assert page.inner_text("#holds").endswith("film holds") and page.get_attribute("#holds", "aria-pressed") == "true"
    opened(page, house, game)
    assert page.inner_text("#holds").endswith("film holds")
    press(page, "O")
    assert page.get_attribute("#holds", "aria-pressed") == "false"


def test_what_is_known_is_offered_first_and_never_filled_in_silently(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)

    def offered() -> str:
        return page.locator("#caps .offer").inner_text() if page.locator("#caps .offer").count() else ""

    press(page, "B d e u 2 2 Enter 1 4 e n")
    assert "22" in offered()  # the last pair
    press(page, "Escape e u s")
    assert offered() == ""  # it was not said who used that one
    press(page, "Escape e u 2 2 Enter 1 4 s")
    assert offered() == "↵\n14"  # the user came free
    press(page, "7 a h Escape")  # another man shot: nothing was filled in
    assert offered() == "↵\ntheirs"  # a change of ball after a save
    assert said(page)[-1] == "7 shot: saved, lost."
    said_by_hand = [e for e in house.entries(game) if "setter" in e.get("answers", {})]
    assert len(said_by_hand) == 2  # of four screens only those two that were told who set them


def test_the_replay_key_works_in_a_question_and_comes_back_to_it(page: Any, house: House) -> None:
    opened(page, house, house.game())
    press(page, "B d ArrowRight")
    settled(page, 125)
    press(page, "s 1 z")
    page.wait_for_function("() => document.getElementById('speed').innerText === 'again, at half speed'")
    press(page, "4")  # the question goes on while the film shows it again
    assert "who shot? 14" in page.inner_text("#hand")
    page.wait_for_function("() => document.getElementById('speed').innerText === 'held'")
    settled(page, 125)
    press(page, "w")
    assert said(page)[-1] == "14 shot: wide."


def test_a_look_of_a_run_that_flowed_into_the_next_stays_its_own_wherever_the_film_is(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "B d ArrowRight")
    settled(page, 125)
    press(page, "1 a ArrowRight")
    settled(page, 250)
    press(page, "2 n a Escape ArrowRight")
    settled(page, 375)
    press(page, "p")
    unanswered(page, 2)
    for key in ("Shift+W", "3", "2"):  # at once, while the film is still on its way
        page.keyboard.press(key)
    house.wait_for(game, 10)
    runs = house.season.tagged.folded(game, "coach").rows["runs"]
    assert [(run["set"], run["look"], run["ended"]) for run in runs if run["set"]] == [
        ("lantern", "skip", "flowed"),
        ("keel", "inside", "pull_out"),
    ]
    assert page.inner_text("#told") == "nothing left that is worth a second look"


def test_film_that_held_for_a_question_stays_held_where_another_line_is_gone_to(page: Any, house: House) -> None:
    opened(page, house, house.game())
    press(page, "B d O l e")
    assert page.inner_text("#speed") == "held"
    press(page, "ArrowUp y")
    page.wait_for_timeout(300)
    assert page.inner_text("#speed") == "held"

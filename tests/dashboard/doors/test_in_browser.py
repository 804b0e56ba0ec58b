"""The doors in a real browser: a phone that read a code, the laptop that withdraws the phrase while he is in."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import pytest
from flask import Flask

from tagger.screen.visitor import LOOK, SEND, TAG
from tests.dashboard.doors.device import Device
from tests.dashboard.threaded import listening

if TYPE_CHECKING:
    from playwright.sync_api import Page

PHONE = {"width_px": 390, "height_px": 844, "has_touch": True, "extra_http_headers": {"Via": "1.1 elsewhere"}}


@pytest.fixture
def served(app: Flask) -> Iterator[str]:
    """The season's address."""
    with listening(app) as port:
        app.config["FLOORBOOK_GATE"].addresses = [f"http://127.0.0.1:{port}/"]
        yield f"http://127.0.0.1:{port}"


def width(page: Page) -> int:
    found: int = page.evaluate("document.documentElement.scrollWidth")
    return found


@pytest.mark.browser
def test_a_phone_that_read_the_code_is_in_until_the_laptop_withdraws_it(new_page: Any, app: Flask, served: str) -> None:
    gate = Device(app).gate
    phone, laptop = new_page(**PHONE), new_page(1280, 800)
    asked: list[str] = []
    phone.on("request", lambda request: asked.append(request.url + str(request.headers.get("referer", ""))))
    said: list[str] = []
    for page in (phone, laptop):
        page.on("console", lambda message: said.append(message.text) if message.type == "error" else None)
    phone.goto(f"{served}/enter#{gate.phrases.of(LOOK)}")
    phone.wait_for_selector("h2:text('What for the next practice?')")
    assert not any(gate.phrases.of(LOOK) in url for url in asked), "no log and no page learns the phrase"
    assert "Film" not in phone.inner_text("header") and width(phone) <= 390
    phone.go_back()
    assert gate.phrases.of(LOOK) not in phone.url, "it is not kept in the browser's history"
    phone.goto(f"{served}/")
    phone.wait_for_selector("h2:text('What for the next practice?')")
    laptop.goto(f"{served}/")
    laptop.click("text=Who may come in")
    assert laptop.inner_text("#look .phrase") == gate.phrases.of(LOOK) and laptop.locator("svg.qr").count() == 3
    assert "1 in by it" in laptop.inner_text("#look") and "somebody, to look" in laptop.inner_text("#in")
    laptop.click("#look >> text=Withdraw")
    laptop.wait_for_selector("#look >> text=Withdrawn")
    phone.goto(f"{served}/sets")
    phone.wait_for_selector("#phrase:focus")
    assert width(phone) <= 390 and width(laptop) <= 1280
    assert not [text for text in said if "Content Security Policy" in text], said


@pytest.mark.browser
def test_a_tagger_says_who_he_is_and_tags_under_that_name(new_page: Any, app: Flask, served: str) -> None:
    gate = Device(app).gate
    phone = new_page(**PHONE)
    phone.goto(f"{served}/enter?next=/tag/g1%3Fbook=ann#{gate.phrases.of(TAG)}")
    phone.wait_for_selector("#name:focus")
    phone.keyboard.type("Ann")
    phone.keyboard.press("Enter")
    phone.wait_for_selector('body[data-ready="film"]')
    phone.keyboard.press("Shift+B")
    phone.wait_for_function("() => document.getElementById('disk').innerText.startsWith('1 mark')")
    phone.wait_for_function("() => document.getElementById('disk').innerText.endsWith('all on disk')")
    told = Device(app, "127.0.0.1", served).get("/tag/g1/entries?book=ann").json["entries"]
    assert [one["by"] for one in told] == ["Ann"]
    phone.keyboard.press("?")
    assert "tie them" not in phone.inner_text("#sheet")


@pytest.mark.browser
def test_a_sender_gets_the_page_that_sends_and_nothing_of_the_season(new_page: Any, app: Flask, served: str) -> None:
    gate = Device(app).gate
    phone = new_page(**PHONE)
    phone.goto(f"{served}/enter#{gate.phrases.of(SEND)}")
    phone.wait_for_selector('body[data-ready="yes"]')
    text = phone.inner_text("body")
    assert "Send a film" in text and "Quarry Hill" not in text and "Millrace" not in text
    assert phone.locator("nav").count() == 0 and width(phone) <= 390

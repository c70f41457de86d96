"""A call at the desk in a real Chromium: by keyboard, narrow, dark, and with something missing."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from browsing import app_of, on_a_port, signed_in, violations
from playwright.sync_api import Browser, Page, expect
from whole_service import EVENING, KeepingGateway, Running, fill, mobile, running, settings_for

from service.auth.roles import Role
from service.clock import ManualClock

pytestmark = pytest.mark.browser

BROWSED = ("/desk/call", "/desk")


@pytest.fixture
def desk(chromium: Browser, tmp_path: Path) -> Iterator[tuple[Running, Page]]:
    """A dispatcher at the queue of a house with one cold home."""
    with running(settings_for(tmp_path), ManualClock(EVENING), KeepingGateway()) as service:
        fill(service)
        service.text(mobile("1A"), "no heat in here, 58 degrees")
        with on_a_port(app_of(service)) as address:
            context = signed_in(chromium, service, address, Role.DESK)
            page = context.new_page()
            page.goto(f"{address}/desk")
            yield service, page
            context.close()


def stands(page: Page) -> None:
    """Axe finds nothing, nor in the dark; nothing scrolls sideways at 320 pixels."""
    assert violations(page) == []
    page.emulate_media(color_scheme="dark")
    assert violations(page, "color-contrast") == []
    page.emulate_media(color_scheme="light")
    page.set_viewport_size({"width": 320, "height": 800})
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    page.set_viewport_size({"width": 1280, "height": 800})


def test_a_call_is_taken_without_a_mouse(desk: tuple[Running, Page]) -> None:
    """A letter, the home, the words; then what to say, with the field for the answer in focus."""
    service, page = desk
    expect(page.get_by_role("button", name="Keys")).to_be_visible()
    page.keyboard.press("l")
    expect(page.get_by_label("Building")).to_be_focused()
    stands(page)
    page.get_by_label("Building").select_option("quarry-9")
    page.keyboard.press("Tab")
    page.keyboard.type("3b")
    page.keyboard.press("Tab")
    page.keyboard.type("no hot water and it is cold, l is a letter here")
    for _ in range(2):
        page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Call from 3B, 9 Quarry Street")
    expect(page.get_by_role("status")).to_contain_text("Written down: T-")
    expect(page.get_by_label("What they say")).to_be_focused()
    stands(page)
    assert sorted(home for t in service.open_tickets() for home in t["apartments"]) == ["1A", "3B"]


def test_what_is_missing_has_the_focus(desk: tuple[Running, Page]) -> None:
    """The field that is wrong, its reason read with it, and what was typed still there."""
    _, page = desk
    page.get_by_role("link", name=re.compile("Somebody calls")).click()
    page.get_by_label("Building").select_option("quarry-9")
    page.get_by_label("Apartment").fill("9Z")
    page.get_by_label("What they say").fill("no heat")
    page.get_by_role("button", name="Write down").click()
    expect(page.get_by_label("Apartment")).to_be_focused()
    expect(page.get_by_label("Apartment")).to_have_accessible_description(
        re.compile("is not in this building")
    )
    expect(page.get_by_label("What they say")).to_have_value("no heat")
    stands(page)


def test_a_caller_is_found_and_written_down(desk: tuple[Running, Page]) -> None:
    """Search a name, press the home, type: the call's ticket."""
    _, page = desk
    page.get_by_role("searchbox").fill("household 4A")
    page.keyboard.press("Enter")
    page.get_by_role("link", name=re.compile("They are on the telephone.*4A")).click()
    page.get_by_label("What they say").fill("the pipes bang all night")
    page.get_by_role("button", name="Write down").click()
    page.get_by_role("status").get_by_role("link").click()
    expect(page.locator("h1")).to_contain_text("home 4A")
    expect(page.locator(".log")).to_contain_text("4A by telephone, written down by Desk")

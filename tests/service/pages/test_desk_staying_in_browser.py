"""A page that refreshes itself says in time that the session ends, and that it has ended."""

from __future__ import annotations

from pathlib import Path

import pytest
from browsing import app_of, on_a_port, signed_in, violations
from playwright.sync_api import Browser, Page, expect
from whole_service import EVENING, KeepingGateway, fill, mobile, running, settings_for

from service.auth.roles import Role
from service.clock import ManualClock

pytestmark = pytest.mark.browser


def look_again(page: Page) -> None:
    """As when somebody comes back to the page."""
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")


def test_the_end_of_a_session_is_told_before_it_comes(chromium: Browser, tmp_path: Path) -> None:
    """An hour without an act ends a dispatcher's session; live pages ask and ask, which is no act.

    At 56 minutes the page warns, a press is an act, and an hour after it the page says that it is over
    and keeps what was typed.
    """
    with running(settings_for(tmp_path), ManualClock(EVENING), KeepingGateway()) as service:
        fill(service)
        ticket = service.text(mobile("1A"), "no heat, 58 degrees")["ticket"]
        with (
            on_a_port(app_of(service)) as address,
            signed_in(chromium, service, address, Role.DESK) as context,
        ):
            page = context.new_page()
            page.goto(f"{address}/desk/tickets/{ticket}")
            notice, over = page.locator("#staying"), page.locator("#signed-out")
            expect(page.get_by_role("button", name="Keys")).to_be_visible()
            expect(notice).to_be_hidden()
            service.wait(minutes=56)
            look_again(page)
            expect(notice).to_contain_text("You are signed out at")
            assert violations(page) == []
            page.get_by_role("button", name="Stay signed in").click()
            expect(notice).to_be_hidden()
            service.wait(minutes=54)
            look_again(page)
            expect(notice).to_be_hidden()
            page.keyboard.press("h")
            page.locator("#hold-reason").fill("the boiler is being cleaned")
            service.wait(minutes=7)
            look_again(page)
            expect(over).to_contain_text("You are signed out")
            expect(page.locator("#hold-reason")).to_have_value("the boiler is being cleaned")
            assert violations(page) == []

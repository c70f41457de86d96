"""Repairs in a real Chromium: the turn followed live, the close-out, the component's page, the label."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

import pytest
import segno
from at_work import COLD
from browsing import app_of, on_a_port, violations
from PIL import Image
from playwright.sync_api import Browser, Page, expect
from whole_service import (
    BUILDING,
    EVENING,
    KeepingGateway,
    Running,
    fill,
    mobile,
    running,
    settings_for,
)

from service.auth.roles import Role
from service.auth.sessions import COOKIE, open_session
from service.clock import ManualClock
from service.pages.repairs.label import CODE_MM, MARGIN_MM, QUIET, WIDTH_MM

pytestmark = pytest.mark.browser

BROWSED = (
    "/truck/tickets/{ticket_id}",
    "/plant/{building}/{component:path}",
    "/plant/{building}/{component:path}/label",
    "/owner",
    "/owner/buildings/{building}",
    "/owner/record",
)
LEAST_TARGET = 24  # CSS pixels, WCAG 2.2, 2.5.8


@dataclass
class Shop:
    """A service with one hot home, one cold loop and a repair behind it."""

    service: Running
    address: str
    browser: Browser
    hot: str
    cold: str

    def page(
        self, role: Role, path: str, *, width: int = 390, dark: bool = False, script: bool = True
    ) -> Page:
        """A signed-in person's page."""
        services = self.service.services
        with services.db.transaction() as session:
            secret = open_session(session, role, services.now())
        context = self.browser.new_context(
            viewport={"width": width, "height": 844},
            color_scheme="dark" if dark else "light",
            java_script_enabled=script,
        )
        context.add_cookies([{"name": COOKIE, "value": secret, "url": self.address}])
        made = context.new_page()
        made.goto(self.address + path)
        return made


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory, chromium: Browser) -> Iterator[Shop]:
    """The shop, on a port."""
    state = tmp_path_factory.mktemp("shop")
    days_before = ManualClock(EVENING - timedelta(days=2))
    with running(settings_for(state), days_before, KeepingGateway()) as service:
        fill(service)
        for home in ("3A", "3B"):
            service.text(mobile(home), COLD)
        old = service.only_ticket()
        body = {"test": "pump_volts", "component": "pump-2", "value": 0, "unit": "V"}
        service.call("POST", f"/api/v1/tickets/{old['id']}/findings", "truck", json=body)
        closing = {
            "fault": "pump_seized",
            "component": "pump-2",
            "parts": [{"part": "circulator", "quantity": 1}],
            "installed": "2026-01-07",
            "note": "seized solid",
        }
        service.call("POST", f"/api/v1/tickets/{old['id']}/close", "truck", json=closing)
        service.move(EVENING)
        hot = service.text(mobile("2A"), "it is way too hot in here, 84 degrees")["ticket"]
        cold = service.text(mobile("4A"), COLD)["ticket"]
        with on_a_port(app_of(service)) as address:
            yield Shop(service, address, chromium, hot, cold)


def sound(page: Page) -> None:
    """No violation, nothing wider than the window, nothing too small to press."""
    assert violations(page) == []
    width = page.viewport_size["width"] if page.viewport_size else 0
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    small = page.evaluate(
        "least => [...document.querySelectorAll('main a, main button, main input:not([type=hidden])')]"
        ".map(e => [e.textContent || e.name, e.getBoundingClientRect()])"
        ".filter(([, r]) => r.height > 0 && r.height < least).map(([name]) => name)",
        LEAST_TARGET,
    )
    assert small == []


def test_a_turn_is_followed_without_loading_the_page_again(shop: Shop) -> None:
    """Press, and the page tells by itself what comes of it, and counts the valve's time."""
    page = shop.page(Role.TRUCK, f"/truck/tickets/{shop.hot}")
    page.get_by_role("button", name="Ask 2A to turn it down").click()
    turns = page.locator(".part-turns")
    expect(turns.get_by_role("status")).to_contain_text("Delivered at 7:00 pm. No answer yet.")
    expect(page.get_by_role("button", name="The valve moved")).to_be_visible()
    page.evaluate("window.still = true")

    shop.service.text(mobile("2A"), "done")

    expect(turns.get_by_role("status")).to_contain_text("They turned it down", timeout=15_000)
    expect(page.locator(".turn-left")).to_contain_text("s left for a healthy valve")
    left = int(re.findall(r"(\d+) s left", page.locator(".turn-left").inner_text())[0])
    assert 0 < left <= 60  # a motor, 60 s at most: common practice, value from memory
    expect(page.locator(".turn-left")).not_to_have_text(f"{left} s left for a healthy valve")
    assert page.evaluate("window.still") is True
    sound(page)
    page.get_by_role("button", name="The valve moved").focus()
    page.keyboard.press("Enter")
    expect(page.locator(".part-turns")).to_contain_text("Noted: the valve moved.")


def test_a_turn_needs_no_script(shop: Shop) -> None:
    """Without script the button works, and loading the page again shows what came of it."""
    page = shop.page(Role.TRUCK, f"/truck/tickets/{shop.cold}", width=320, script=False)
    page.get_by_role("button", name="Ask 4A to turn it up").click()
    shop.service.text(mobile("4A"), "I cannot, not home")
    page.reload()
    expect(page.locator(".part-turns")).to_contain_text("They cannot turn it up now")
    assert page.evaluate("document.documentElement.scrollWidth") <= 320


def test_closing_with_the_keyboard_and_a_photo(shop: Shop, tmp_path: Path) -> None:
    """The suspects come first; one form ends it, and the ticket shows the repair with its label."""
    picture = tmp_path / "part.png"
    Image.new("RGB", (800, 600), (120, 60, 20)).save(picture)
    sound(shop.page(Role.TRUCK, f"/truck/tickets/{shop.cold}", width=320, dark=True))
    page = shop.page(Role.TRUCK, f"/truck/tickets/{shop.cold}", width=320)
    form = page.locator(".part-close form")
    form.get_by_role("radio").first.focus()
    page.keyboard.press("Space")
    form.get_by_label("Part", exact=True).select_option("actuator_head")
    form.get_by_label("Photo").set_input_files(picture)
    form.get_by_role("button", name="Close the ticket").focus()
    page.keyboard.press("Enter")
    repair = page.locator(".part-repair")
    expect(repair).to_contain_text("The first suspect was right, stated at")
    photo = repair.get_by_role("img")
    expect(photo).to_be_visible()
    expect(photo).to_have_js_property("naturalWidth", 800)
    sound(page)


@pytest.mark.parametrize("dark", [False, True])
def test_a_components_page_is_sound_for_each_door(shop: Shop, dark: bool) -> None:
    """Truck at 320 pixels, owner at 320 and wide, in both schemes."""
    for role, path, width in (
        (Role.TRUCK, f"/plant/{BUILDING}/pump-2", 320),
        (Role.OWNER, f"/plant/{BUILDING}/pump-2", 1200),
        (Role.OWNER, "/owner", 320),
        (Role.OWNER, f"/owner/buildings/{BUILDING}", 320),
        (Role.OWNER, "/owner/record", 320),
        (Role.TRUCK, f"/plant/{BUILDING}/pump-2/label", 320),
    ):
        page = shop.page(role, path, width=width, dark=dark)
        sound(page)
        page.context.close()


def test_the_label_prints_alone_and_its_code_is_true(shop: Shop) -> None:
    """One sheet with nothing but the label, and Chromium paints the modules of the right code."""
    page = shop.page(Role.TRUCK, f"/plant/{BUILDING}/pump-2/label", width=900, dark=True)
    pdf = page.pdf(format="Letter", print_background=True)
    assert len(re.findall(rb"/Type\s*/Page\b", pdf)) == 1
    page.emulate_media(media="print")
    assert page.locator("main").inner_text().strip().startswith("pump-2")
    shot = page.locator("svg.label").screenshot(scale="css")
    expected = segno.make(
        f"{shop.service.services.settings.base_url}/plant/{BUILDING}/pump-2",
        error="m",
        micro=False,
    ).matrix
    with Image.open(io.BytesIO(shot)) as image:
        grey = image.convert("L")
        side = len(expected)
        a_mm = grey.width / WIDTH_MM
        module = CODE_MM * a_mm / (side + 2 * QUIET)
        start = MARGIN_MM * a_mm + QUIET * module
        painted = [
            [
                int(
                    grey.getpixel(
                        (int(start + (x + 0.5) * module), int(start + (y + 0.5) * module))
                    )
                    < 128
                )  # type: ignore[operator]
                for x in range(side)
            ]
            for y in range(side)
        ]
    assert painted == [list(row) for row in expected]

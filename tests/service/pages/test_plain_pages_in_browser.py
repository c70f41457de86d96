"""Pages that are tested elsewhere for what they do, here for how they stand in a browser."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from browsing import app_of, on_a_port, signed_in, violations
from playwright.sync_api import Browser, BrowserContext, expect
from whole_service import EVENING, KeepingGateway, Running, fill, mobile, running, settings_for

from service.auth.links import issue_link
from service.auth.roles import Role
from service.clock import ManualClock

pytestmark = pytest.mark.browser

# Declared path: an address to open; {ticket} and {link} are filled in below.
BROWSED = {
    "/": "/",
    "/enter/{token}": "/enter/{link}",
    "/home": "/home",
    "/owner/buildings/{building}/heat": "/owner/buildings/quarry-9/heat",
}
# What leads nowhere has a page of its own.
GONE = {"/home": 404}
OWNERS = ("/owner", "/plant")


@dataclass
class House:
    """A service with one open ticket, and its address."""

    service: Running
    address: str
    known: dict[str, str]


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """One cold home."""
    state = tmp_path_factory.mktemp("house")
    with running(settings_for(state), ManualClock(EVENING), KeepingGateway()) as service:
        fill(service)
        ticket = service.text(mobile("1A"), "no heat in here, 58 degrees")["ticket"]
        with service.services.db.transaction() as session:
            secret = issue_link(session, Role.DESK, service.services.now())
        with on_a_port(app_of(service)) as address:
            yield House(service, address, {"ticket": ticket, "link": secret})


@pytest.fixture(scope="module")
def people(chromium: Browser, house: House) -> Iterator[dict[Role, BrowserContext]]:
    """The owner and the admin, each with a browser."""
    found = {
        role: signed_in(chromium, house.service, house.address, role)
        for role in (Role.OWNER, Role.ADMIN)
    }
    yield found
    for context in found.values():
        context.close()


@pytest.mark.parametrize("path", BROWSED)
def test_a_plain_page_stands_in_every_light_and_width(
    house: House, people: dict[Role, BrowserContext], path: str
) -> None:
    """Axe finds nothing, nor in the dark; at 320 pixels nothing scrolls sideways; nothing is blocked."""
    role = Role.OWNER if path.startswith(OWNERS) else Role.ADMIN
    page = people[role].new_page()
    complaints: list[str] = []
    page.on("console", lambda message: complaints.append(message.text))
    answer = page.goto(house.address + BROWSED[path].format(**house.known))
    assert answer is not None
    assert answer.status == GONE.get(path, 200)
    assert violations(page) == []
    page.emulate_media(color_scheme="dark")
    assert violations(page, "color-contrast") == []
    page.set_viewport_size({"width": 320, "height": 800})
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    page.close()
    assert [c for c in complaints if str(GONE.get(path)) not in c] == []


def test_the_heat_record_is_whole_on_paper(
    people: dict[Role, BrowserContext], house: House
) -> None:
    """On a letter sheet (8.5 in less margins, at 96 px an inch): what is to be read stands there, to
    the last column; what is to be pressed does not.
    """
    page = people[Role.OWNER].new_page()
    page.set_viewport_size({"width": 740, "height": 900})
    page.goto(f"{house.address}/owner/buildings/quarry-9/heat")
    expect(page.get_by_role("button", name="Show these days")).to_be_visible()
    page.emulate_media(media="print")
    for gone in (".top", "form", "a[download]", ".back"):
        expect(page.locator(gone)).to_be_hidden()
    for there in (
        "What the law asks for",
        "Under the law, and for how long",
        "All temperatures told",
        "All that was done",
        "How this is known",
        "America/New_York",
        "As of 7:00 pm, 9 Jan 2026",
    ):
        expect(page.get_by_text(there).locator("visible=true").first).to_be_visible()
    expect(page.get_by_role("columnheader", name="Outdoors")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= 740
    page.close()

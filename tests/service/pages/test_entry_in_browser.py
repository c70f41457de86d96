"""The ways in and the admin's pages in a real Chromium: keyboard, narrow, dark, no violations."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from urllib.parse import urlsplit

import pytest
from browsing import app_of, on_a_port, signed_in, violations
from devices import PASSWORD, person
from playwright.sync_api import Browser, Page, Route, expect
from whole_service import EVENING, KeepingGateway, Running, running, settings_for

from service.auth.links import issue_link
from service.auth.roles import Role
from service.clock import ManualClock

pytestmark = pytest.mark.browser

BROWSED = (
    "/",
    "/enter/{token}",
    "/sign-in",
    "/sign-out",
    "/choose-password/{token}",
    "/account",
    "/admin",
    "/admin/audit",
    "/admin/accounts",
    "/admin/accounts/{login}/reset",
)
ANOTHER = "nine quiet otters knit"
LEAST_TARGET = 24  # CSS pixels, WCAG 2.2, 2.5.8


@dataclass
class Office:
    """A service with an admin, and where it is."""

    service: Running
    address: str


@pytest.fixture(scope="module")
def office(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Office]:
    """One service for all."""
    state = tmp_path_factory.mktemp("office")
    with running(settings_for(state), ManualClock(EVENING), KeepingGateway()) as service:
        person(service, "boss", Role.ADMIN)
        person(service, "moreno", Role.TRUCK)
        with on_a_port(app_of(service)) as address:
            yield Office(service, address)


def good(page: Page) -> None:
    """Light and dark, at 320 pixels: nothing found, nothing cut off, everything large enough."""
    page.set_viewport_size({"width": 320, "height": 640})
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        assert violations(page) == [], (page.url, scheme)
    assert page.evaluate("document.documentElement.scrollWidth") <= 320, page.url
    small = page.evaluate(
        "least => [...document.querySelectorAll('a:not(.skip), button, input:not([hidden])"
        ":not([type=hidden]), select, summary')].filter(e => e.checkVisibility())"
        ".filter(e => getComputedStyle(e).display !== 'inline')"  # links in sentences are exempt
        ".filter(e => e.getBoundingClientRect().height < least).map(e => e.outerHTML)",
        LEAST_TARGET,
    )
    assert small == [], page.url


def press_to(page: Page, name: str) -> None:
    """Walk to a control with the Tab key and press it."""
    for _ in range(60):
        page.keyboard.press("Tab")
        focused = page.evaluate("document.activeElement.innerText || ''")
        if name in focused.replace("\n", " "):
            page.keyboard.press("Enter")
            return
    raise AssertionError(f"the Tab key never comes to {name}")


def test_signing_in_by_keyboard_without_script(chromium: Browser, office: Office) -> None:
    """From the first page: a wrong password is told, a right one leads in, out everywhere ends it."""
    phone = chromium.new_context(java_script_enabled=False)
    other = chromium.new_context()
    page, screen = phone.new_page(), other.new_page()
    page.goto(office.address)
    press_to(page, "Sign in")
    page.get_by_label("Account").focus()
    page.keyboard.type("moreno")
    page.keyboard.press("Tab")
    page.keyboard.type(ANOTHER)
    page.keyboard.press("Enter")
    expect(page.get_by_role("alert")).to_have_text("The account or the password is not right.")
    expect(page).to_have_title("Error: Sign in - Endswitch")
    expect(page.get_by_label("Account")).to_have_value("moreno")
    expect(page.get_by_label("Password")).to_have_value("")
    page.get_by_label("Password").focus()
    page.keyboard.type(PASSWORD)
    page.keyboard.press("Enter")
    expect(page).to_have_url(f"{office.address}/truck")

    screen.goto(f"{office.address}/sign-in?to=/account")
    screen.get_by_label("Account").fill("moreno")
    screen.get_by_label("Password").fill(PASSWORD)
    screen.get_by_role("button", name="Sign in").click()
    expect(screen).to_have_url(f"{office.address}/account")
    expect(screen.get_by_role("listitem").filter(has_text="Since")).to_have_count(2)
    press_to(screen, "Sign out everywhere")
    expect(screen).to_have_url(f"{office.address}/sign-in")
    page.reload()
    expect(page.get_by_role("heading", name="Sign in first")).to_be_visible()
    phone.close()
    other.close()


def test_the_admin_adds_a_person_who_chooses_a_password(chromium: Browser, office: Office) -> None:
    """By keyboard; the link is shown once; weak passwords are told why; all of it stands in the log."""
    desk = signed_in(chromium, office.service, office.address, Role.ADMIN)
    page = desk.new_page()
    page.goto(f"{office.address}/admin")
    page.get_by_role("textbox", name="Account").focus()
    page.keyboard.type("okafor")
    page.keyboard.press("Tab")
    page.keyboard.type("N. Okafor")
    page.keyboard.press("Tab")
    page.keyboard.press("ArrowDown")  # from desk to truck
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    link = office.address + urlsplit(page.get_by_label("Link").input_value()).path
    good(page)
    own = chromium.new_context()
    theirs = own.new_page()
    theirs.goto(link)
    good(theirs)
    for password, then in (("okafor okafor okafor", "easy to guess"), (ANOTHER, "")):
        theirs.get_by_label("New password").fill(password)
        theirs.get_by_role("button", name="Keep it and sign in").click()
        if then:
            expect(theirs.get_by_role("alert")).to_contain_text(then)
            good(theirs)
    expect(theirs).to_have_url(f"{office.address}/truck")
    page.goto(f"{office.address}/admin")
    page.get_by_text("Change okafor").click()
    good(page)
    page.goto(f"{office.address}/admin/audit")
    lines = page.get_by_role("listitem").all_inner_texts()
    assert "Signed in: okafor" in lines[0]
    assert "Password set: okafor" in lines[1]
    assert "Account added: okafor" in lines[2]
    own.close()
    desk.close()


def test_no_violations_narrow_and_dark(chromium: Browser, office: Office) -> None:
    """The ways in, one's own page, the admin's pages; nothing blocked by the content policy."""
    desk = signed_in(chromium, office.service, office.address, Role.ADMIN)
    away = chromium.new_context()
    complaints: list[str] = []
    inside, outside = desk.new_page(), away.new_page()
    for page, paths in (
        (outside, ("/", "/sign-in", "/admin", "/enter/none")),
        (inside, ("/account", "/admin", "/admin/audit", "/sign-out")),
    ):
        page.on("console", lambda message: complaints.append(message.text))
        for path in paths:
            page.goto(office.address + path)
            good(page)
    assert [one for one in complaints if "Content Security Policy" in one] == []
    desk.close()
    away.close()


def test_an_older_browser_gets_in_by_link(chromium: Browser, office: Office) -> None:
    """The form of a link says where it comes from, so it is not taken for a forged one.

    Fetch, "append a request Origin header": under no-referrer the origin would be sent as null.
    """
    context = chromium.new_context()
    page = context.new_page()
    sent: list[dict[str, str]] = []

    def without_fetch_metadata(route: Route) -> None:
        headers = route.request.all_headers()
        if route.request.method == "POST":
            sent.append(dict(headers))
        kept = {k: v for k, v in headers.items() if not k.startswith("sec-fetch-")}
        route.continue_(headers=kept)

    page.route("**/*", without_fetch_metadata)
    with office.service.services.db.transaction() as session:
        secret = issue_link(session, Role.TRUCK, office.service.services.now())
    page.goto(f"{office.address}/enter/{secret}")
    page.get_by_role("button", name="Continue").click()
    expect(page).to_have_url(f"{office.address}/truck")
    assert sent[0]["origin"] == office.address
    assert secret not in sent[0].get("referer", "")
    context.close()

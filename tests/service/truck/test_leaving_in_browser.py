"""Signing out on a phone with entries that were not sent: in a real Chromium."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from browsing import CHROMIUM, violations
from evening_of_a_truck import Truck, truck_service
from playwright.sync_api import Browser, Page, Route, expect
from sqlalchemy import select

from service.auth.passwords import hash_password
from service.auth.sessions import end_sessions
from service.store.tables import Account, AuditRow

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(not CHROMIUM.exists(), reason="needs /usr/bin/chromium"),
]

BROWSED = ("/sign-out", "/account")
PASSWORD = "seven damp wrenches hum"
WAIT_MS = 20_000
LEFT = """async () => {
  const name = (await indexedDB.databases()).map((one) => one.name)[0];
  const entries = !name ? 0 : await new Promise((resolve) => {
    const asked = indexedDB.open(name);
    asked.onsuccess = () => {
      const all = asked.result.transaction('entries').objectStore('entries').count();
      all.onsuccess = () => { asked.result.close(); resolve(all.result); };
    };
  });
  return { entries, carried: await caches.has('endswitch-carried') };
}"""
NOTHING = """async () => [await caches.keys(), await indexedDB.databases(),
  (await navigator.serviceWorker.getRegistrations()).length]"""


@pytest.fixture
def truck(tmp_path: Path) -> Iterator[Truck]:
    """An evening with two technicians who have passwords."""
    with truck_service(tmp_path) as made:
        kept = hash_password(PASSWORD)
        with made.service.services.db.transaction() as session:
            for login in ("okafor", "lindqvist"):
                session.add(
                    Account(
                        login=login,
                        name=login.title(),
                        role="truck",
                        password_hash=kept,
                        created_at=made.service.services.now(),
                    )
                )
        yield made


@pytest.fixture
def page(chromium: Browser) -> Iterator[Page]:
    """One phone for both."""
    context = chromium.new_context(viewport={"width": 390, "height": 844})
    context.set_default_timeout(WAIT_MS)
    yield context.new_page()
    context.close()


def sign_in(page: Page, truck: Truck, login: str) -> None:
    """With the password, at the form."""
    page.goto(f"{truck.address}/sign-in")
    page.get_by_label("Account").fill(login)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(f"{truck.address}/truck")


def sign_out(page: Page, truck: Truck) -> None:
    """By the button of the page that is open."""
    page.get_by_role("button", name="Sign out", exact=True).click()
    page.wait_for_url(f"{truck.address}/")


def write_note(page: Page, truck: Truck, ticket: str) -> None:
    """Enter a note that finds no way to the office."""
    page.goto(f"{truck.address}/truck/tickets/{ticket}")
    page.wait_for_load_state("networkidle")
    page.locator("#note-text").fill("valve tag missing")
    page.get_by_role("button", name="Save note").click()
    expect(page.locator("#kept")).to_contain_text("Saved here, 1 waiting")


def senders(truck: Truck) -> list[str]:
    """Who sent notes from a truck, by the audit log."""
    with truck.service.services.db.reading() as session:
        query = select(AuditRow.account).where(AuditRow.act == "note from the truck taken")
        return list(session.scalars(query))


def test_what_was_not_sent_waits_for_whoever_entered_it(page: Page, truck: Truck) -> None:
    """Through an ended session, another technician and a sign-out; then all is wiped."""

    def lost(route: Route) -> None:
        route.abort()

    ticket = truck.ticket("4B")["id"]
    sign_in(page, truck, "okafor")
    page.context.route("**/truck/arrivals", lost)
    write_note(page, truck, ticket)
    with truck.service.services.db.transaction() as session:
        end_sessions(session, "okafor")

    page.context.unroute("**/truck/arrivals", lost)
    sign_in(page, truck, "lindqvist")
    page.goto(f"{truck.address}/truck/tickets/{ticket}")
    page.wait_for_load_state("networkidle")
    expect(page.locator("#kept")).to_be_hidden()
    page.goto(f"{truck.address}/sign-out")
    expect(page.get_by_role("button", name="Delete and sign out")).to_be_hidden()
    sign_out(page, truck)
    assert page.evaluate(LEFT) == {"entries": 1, "carried": False}
    assert senders(truck) == []

    page.context.route("**/truck/arrivals", lost)
    sign_in(page, truck, "okafor")
    expect(page.locator("#kept")).to_contain_text("Saved here, 1 waiting")
    page.goto(f"{truck.address}/sign-out")
    expect(page.get_by_role("status")).to_contain_text("1 entry is not sent yet. It stays on this")
    assert violations(page) == []
    sign_out(page, truck)
    assert page.evaluate(LEFT) == {"entries": 1, "carried": False}

    page.context.unroute("**/truck/arrivals", lost)
    sign_in(page, truck, "okafor")
    expect(page.locator("#kept")).to_contain_text("Sent ")
    assert senders(truck) == ["okafor"]
    page.goto(f"{truck.address}/account")
    page.get_by_role("button", name="Sign out everywhere").click()
    page.wait_for_url(f"{truck.address}/sign-in")
    assert page.evaluate(NOTHING) == [[], [], 0]


def test_what_waits_is_deleted_only_by_a_press(page: Page, truck: Truck) -> None:
    """Whoever wants nothing left on the phone says so."""
    sign_in(page, truck, "okafor")
    page.context.route("**/truck/arrivals", lambda route: route.abort())
    write_note(page, truck, truck.ticket("4B")["id"])
    page.goto(f"{truck.address}/sign-out")
    page.get_by_role("button", name="Delete and sign out").click()
    page.wait_for_url(f"{truck.address}/")
    assert page.evaluate(NOTHING) == [[], [], 0]

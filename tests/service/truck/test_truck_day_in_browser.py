"""The technician's day on a phone: what is loaded is ticked off, what was opened is carried too."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing

import pytest
from browsing import signed_in, violations
from evening_of_a_truck import Truck, truck_service
from playwright.sync_api import Browser, Page, expect
from whole_service import mobile

from service.auth.roles import Role

pytestmark = pytest.mark.browser

BROWSED = ("/truck", "/truck/tickets/{ticket_id}")
WAIT_MS = 20_000
CARRIED = """async (ticket) => {
  const cache = await caches.open('endswitch-carried');
  const kept = (await cache.keys()).map((request) => new URL(request.url).pathname);
  return kept.filter((path) => path.endsWith(ticket)).sort();
}"""


@pytest.fixture(scope="module")
def truck(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Truck]:
    """One evening for the module."""
    with truck_service(tmp_path_factory.mktemp("day")) as made:
        yield made


@pytest.fixture
def phone(chromium: Browser, truck: Truck) -> Iterator[Page]:
    """A phone of somebody signed in."""
    size = {"width": 390, "height": 844}
    made = signed_in(chromium, truck.service, truck.address, Role.TRUCK, viewport=size)
    with closing(made):
        yield made.new_page()


def test_what_is_loaded_stays_ticked_for_the_day(phone: Page, truck: Truck) -> None:
    """A tick outlives loading the page again, and is gone with the next day's list."""
    phone.goto(f"{truck.address}/truck")
    first = phone.locator(".load input").first
    first.check()
    expect(first).to_be_checked()
    assert violations(phone) == []
    part = first.get_attribute("value")
    phone.reload()
    again = phone.locator(f'.load input[value="{part}"]')
    expect(again).to_be_checked(timeout=WAIT_MS)
    kept = phone.evaluate("JSON.parse(localStorage.getItem('endswitch-loaded'))")
    assert kept == {"day": "2026-01-09", "loaded": [part]}
    phone.evaluate(
        "localStorage.setItem('endswitch-loaded',"
        " JSON.stringify({ day: '2026-01-08', loaded: [...document.querySelectorAll('.load input')]"
        ".map((box) => box.value) }))"
    )
    phone.reload()
    phone.evaluate("navigator.serviceWorker.ready.then(() => true)")
    expect(phone.locator(".load input:checked")).to_have_count(0)


def test_a_tick_made_before_the_script_runs_counts(phone: Page, truck: Truck) -> None:
    """On a slow line the list can be read and ticked long before its script has come."""
    phone.add_init_script(
        "new MutationObserver(() => { const box = document.querySelector('.load input');"
        " if (box && !window.ticked) { window.ticked = box.checked = true; } })"
        ".observe(document, { childList: true, subtree: true });"
    )
    phone.goto(f"{truck.address}/truck")
    for _ in range(100):
        if phone.evaluate("localStorage.getItem('endswitch-loaded')") is not None:
            break
        phone.wait_for_timeout(50)
    first = phone.locator(".load input").first
    kept = phone.evaluate("JSON.parse(localStorage.getItem('endswitch-loaded'))")
    assert kept["loaded"] == [first.get_attribute("value")]
    expect(first).to_be_checked()


def test_a_colleagues_ticket_that_was_opened_is_carried_too(phone: Page, truck: Truck) -> None:
    """It is none of this technician's stops; once looked at, it opens without signal, and stays."""
    truck.service.text(mobile("3B"), "knocking in the pipes all night")
    ticket = truck.ticket("3B")
    body = {"version": ticket["version"], "to": "A. Okafor"}
    answer = truck.service.call("POST", f"/api/v1/tickets/{ticket['id']}/assign", "desk", json=body)
    assert answer.status_code == 200, answer.text
    address = f"{truck.address}/truck/tickets/{ticket['id']}"
    wanted = [f"/truck/carried/{ticket['id']}", f"/truck/worksheets/{ticket['id']}"]
    phone.goto(f"{truck.address}/truck")
    phone.evaluate("navigator.serviceWorker.ready.then(() => true)")
    assert wanted[0] not in phone.evaluate(CARRIED, ticket["id"])
    phone.goto(address)
    for _ in range(80):
        if phone.evaluate(CARRIED, ticket["id"]) == wanted:
            break
        phone.wait_for_timeout(250)
    phone.goto(f"{truck.address}/truck")
    phone.wait_for_timeout(
        2000
    )  # the day is carried anew, and what is not its own is looked through
    assert phone.evaluate(CARRIED, ticket["id"]) == wanted
    phone.context.set_offline(True)
    phone.goto(address)
    expect(phone.locator("h1")).to_contain_text("9 Quarry Street, home 3B")


def test_what_is_wrong_with_a_reading_stands_at_its_field(phone: Page, truck: Truck) -> None:
    """Under the question that was left out, then above the figure that no meter shows."""
    ticket = truck.ticket("1A")["id"]
    phone.goto(f"{truck.address}/truck/tickets/{ticket}")
    step = phone.locator("#steps > li:not(.later)")
    expect(step).to_have_count(1, timeout=WAIT_MS)
    asked = step.filter(has=phone.locator("input[name=calling]"))
    while not asked.count():
        phone.locator("#skip").click()
    asked.locator("input[name=value]").fill("24")
    asked.get_by_role("button", name="Save reading").click()
    expect(asked.locator("legend + .wrong")).to_have_text("Say whether the thermostat is calling.")
    asked.locator("input[name=calling]").first.check()
    asked.locator("input[name=value]").fill("abc")
    asked.get_by_role("button", name="Save reading").click()
    expect(asked.locator(".wrong:has(+ .measured)")).to_contain_text("one number")
    expect(asked.locator(".wrong")).to_have_count(1)
    expect(asked.locator("summary").first).to_be_hidden()


def test_what_no_meter_shows_is_refused_before_the_worksheet_has_come(
    chromium: Browser, truck: Truck
) -> None:
    """In the words in which the office refuses it, with nothing saved on the phone."""
    ticket = truck.ticket("1A")["id"]
    size = {"width": 390, "height": 844}
    made = signed_in(
        chromium, truck.service, truck.address, Role.TRUCK, viewport=size, service_workers="block"
    )
    with closing(made):
        phone = made.new_page()
        phone.route("**/truck/worksheets/**", lambda route: route.abort())
        phone.goto(f"{truck.address}/truck/tickets/{ticket}")
        step = phone.locator("#steps > li:not(.later)")
        expect(step).to_have_count(1, timeout=WAIT_MS)
        asked = step.filter(has=phone.locator("input[name=value]"))
        while not asked.count():
            phone.locator("#skip").click()
        if asked.locator("input[name=calling]").count():
            asked.locator("input[name=calling]").first.check()
        form = asked.locator("form")
        check, part, unit = (
            form.locator(f"[name={name}]").input_value() for name in ("test", "component", "unit")
        )
        asked.locator("input[name=value]").fill("99999")
        asked.get_by_role("button", name="Save reading").click()
        shown = asked.locator(".wrong:has(+ .measured)").inner_text()
        entered = phone.locator("#entered li").count()
    body = {"test": check, "component": part, "value": 99999, "unit": unit}
    path = f"/api/v1/tickets/{ticket}/findings"
    refused = truck.service.call("POST", path, "truck", json=body).json()

    assert shown == f"Not saved: this {refused['errors'][0]['detail']}."
    assert "outside what the instrument can show" in shown
    assert entered == 0


def test_what_is_rarely_used_is_folded_away(chromium: Browser, truck: Truck) -> None:
    """Without script: what one day in ten uses stands there with stop and reason, the rest is opened."""
    size = {"width": 320, "height": 844}
    made = signed_in(
        chromium, truck.service, truck.address, Role.TRUCK, viewport=size, java_script_enabled=False
    )
    with closing(made):
        phone = made.new_page()
        phone.goto(f"{truck.address}/truck")
        needed = phone.locator("section > .load > li")
        spare = phone.locator(".spare .load > li")
        assert needed.count() >= 1
        assert all("stop" in told for told in needed.locator(".why").all_inner_texts())
        chances = [
            int(told.split("\u00a0")[0]) for told in needed.locator(".why").all_inner_texts()
        ]
        assert chances == sorted(chances, reverse=True)
        assert min(chances) >= 10
        if spare.count():
            expect(spare.first).to_be_hidden()
            phone.locator(".spare summary").click()
            expect(spare.first).to_be_visible()
        phone.get_by_role("link", name="Load the truck first").click()
        expect(phone.locator("#load")).to_be_in_viewport()

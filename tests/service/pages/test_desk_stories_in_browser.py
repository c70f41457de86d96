"""Dispatchers at work in a real Chromium, on a whole service: each story from start to end."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from browsing import app_of, on_a_port, signed_in, violations
from devices import person
from playwright.sync_api import Browser, BrowserContext, Page, expect
from whole_service import EVENING, KeepingGateway, Running, fill, mobile, running, settings_for

from service.auth.roles import Role
from service.clock import ManualClock

pytestmark = pytest.mark.browser

# Opened here in full; what each page shows in every state is in test_pages_in_browser.
BROWSED = ("/desk", "/desk/tickets/{ticket_id}")


@dataclass
class Office:
    """A running service with its address, and browsers at it."""

    service: Running
    address: str
    chromium: Browser

    def sit_down(self, **more: object) -> Page:
        """A dispatcher at a screen of their own."""
        context = signed_in(self.chromium, self.service, self.address, Role.DESK, **more)
        page = context.new_page()
        page.goto(f"{self.address}/desk")
        return page

    def tickets(self) -> dict[str, list[str]]:
        """The homes of each open ticket."""
        found = self.service.get("/api/v1/tickets?state=open", "desk")
        return {t["id"]: t["apartments"] for t in found}

    def ticket_of(self, home: str) -> str:
        """The open ticket of a home."""
        return next(t for t, homes in self.tickets().items() if home in homes)


@pytest.fixture
def office(chromium: Browser, tmp_path: Path) -> Iterator[Office]:
    """Three troubles in one house: cold in 1A, noise in 4B, a leak in 3A."""
    with running(settings_for(tmp_path), ManualClock(EVENING), KeepingGateway()) as service:
        fill(service)
        service.text(mobile("1A"), "no heat in here, 58 degrees, radiator is cold")
        service.text(mobile("4B"), "loud banging in the pipes")
        service.text(mobile("3A"), "water is leaking under the radiator")
        with on_a_port(app_of(service)) as address:
            yield Office(service, address, chromium)
            _leave(chromium.contexts)


def _leave(contexts: list[BrowserContext]) -> None:
    for context in contexts:
        context.close()


def test_a_shared_fault_is_seen_merged_and_undone(office: Office) -> None:
    """Another home's ticket stands in the drawing; merged, both homes are on one; undone, on two."""
    page = office.sit_down()
    cold, noise = office.ticket_of("1A"), office.ticket_of("4B")
    page.locator(f"#{cold}").get_by_role("link").click()
    other = page.locator(".building").get_by_role("link", name=re.compile("^4B: reported noise"))
    expect(other).to_have_attribute("href", f"/desk/tickets/{noise}")
    assert violations(page) == []
    page.get_by_text("Merge", exact=False).first.click()
    page.get_by_label(re.compile("home 4B")).check()
    page.get_by_role("button", name="Merge into that ticket").click()
    expect(page).to_have_url(re.compile(noise))
    expect(page.locator("h1")).to_contain_text("homes 1A, 4B")
    expect(page.locator("#last-act")).to_contain_text("Done")
    assert sorted(office.tickets()[noise]) == ["1A", "4B"]
    page.locator("#last-act").get_by_role("button", name="Undo").click()
    expect(page.locator("h1")).not_to_contain_text("homes 1A, 4B")
    expect(page.locator("#last-act")).to_contain_text("Undone: ")
    assert office.ticket_of("1A") != office.ticket_of("4B")
    page.get_by_text("The whole history").click()
    expect(page.locator(".part-done")).to_contain_text("Undone by")


def test_two_dispatchers_never_overwrite_each_other(office: Office) -> None:
    """Who comes second is told who did what, keeps what they typed, and decides again."""
    ticket = office.ticket_of("3A")
    first, second = office.sit_down(), office.sit_down()
    for page in (first, second):
        page.goto(f"{office.address}/desk/tickets/{ticket}")
    second.keyboard.press("r")
    second.get_by_label("Reason").last.wait_for()
    second.locator("#respond-by-reason").fill("The water is near the stairs")
    first.keyboard.press("i")
    expect(first.locator("#last-act")).to_contain_text("Assigned to Desk")
    expect(second.get_by_role("button", name="This ticket has changed, show it")).to_be_visible()
    second.get_by_role("button", name="Set the time").click()
    problem = second.locator("#problem")
    expect(problem).to_be_focused()
    expect(problem).to_contain_text("Assigned to Desk")
    expect(problem).to_contain_text("has changed since you looked")
    assert second.title().startswith("Error: ")
    expect(second.locator("#respond-by-reason")).to_have_value("The water is near the stairs")
    expect(second.locator(".facts")).to_contain_text("Desk")
    second.get_by_role("button", name="Set the time").click()
    expect(second.locator(".facts")).to_contain_text("The water is near the stairs")


def test_a_full_triage_by_keyboard(office: Office) -> None:
    """From the queue through every ticket and back, without a mouse; letters rest in fields.

    Each act leads to the next ticket that nobody has, where it can still be undone.
    """
    page = office.sit_down()
    order = page.locator("#rows tr").evaluate_all("rows => rows.map(r => r.dataset.ticket)")
    assert len(order) == 3

    def press(key: str) -> None:
        expect(page.get_by_role("button", name="Keys")).to_be_visible()  # the script has started
        page.keyboard.press(key)

    press("n")
    press("o")
    expect(page).to_have_url(re.compile(order[0]))
    press("i")
    expect(page).to_have_url(re.compile(f"{order[1]}.*left={order[0]}"))
    expect(page.locator("#last-act")).to_contain_text("Assigned to Desk")
    press("h")
    expect(page.locator("#hold-reason")).to_be_focused()
    page.keyboard.type("part is in the mail")  # i, n and m are letters here
    press("Enter")
    expect(page).to_have_url(re.compile(f"{order[2]}.*left={order[1]}"))
    press("a")
    page.keyboard.type("A. Okafor")
    press("Enter")
    expect(page.locator(".facts")).to_contain_text("A. Okafor")  # the last one stays on the screen
    expect(page.locator("#last-act")).to_contain_text("No ticket is left that nobody has taken")
    page.goto(f"{office.address}/desk/tickets/{order[2]}?left={order[1]}")
    press("u")
    expect(page).to_have_url(re.compile(order[1]))
    expect(page.locator(".facts")).not_to_contain_text("part is in the mail")
    press("b")
    expect(page).to_have_url(re.compile(order[0]))
    press("q")
    expect(page.locator(f"#{order[0]}").get_by_role("link")).to_be_focused()
    expect(page.locator(f"#{order[2]}")).to_contain_text("A. Okafor")


def test_a_text_reaches_the_queue_and_the_conversation_live(office: Office) -> None:
    """A household writes: its row comes by itself, and what it says stands in the open ticket."""
    queue, ticket = office.sit_down(), office.sit_down()
    ticket.goto(f"{office.address}/desk/tickets/{office.ticket_of('4B')}")
    office.service.text(mobile("4B"), "it bangs again right now")
    office.service.text(mobile("2B"), "way too hot here, 84 degrees")
    expect(ticket.locator(".log")).to_contain_text("it bangs again right now", timeout=15_000)
    expect(queue.locator("#rows")).to_contain_text("Home 2B", timeout=15_000)


def test_a_person_writes_takes_over_and_hands_back(office: Office) -> None:
    """To one household and to all; while a person writes the machine asks nothing."""
    page = office.sit_down()
    page.goto(f"{office.address}/desk/tickets/{office.ticket_of('4B')}")
    page.get_by_role("button", name="Take over").click()
    expect(page.locator(".part-talk")).to_contain_text("Desk writes with this household")
    page.get_by_label("Write to 4B").fill("Does it bang when the heat starts?")
    page.get_by_role("button", name="Send").click()
    expect(page.locator(".log .person")).to_contain_text("Does it bang when the heat starts?")
    page.get_by_role("button", name="Hand back to the machine").click()
    expect(page.locator(".part-talk")).not_to_contain_text("Desk writes with this household")
    page.keyboard.press("w")
    page.get_by_label("In English").fill("Somebody comes at nine.")
    page.get_by_role("button", name="Write to all").click()
    expect(page.locator("#problem")).to_contain_text("the Spanish text is empty")
    page.get_by_label("In Spanish").fill("Alguien viene a las nueve.")
    page.get_by_role("button", name="Write to all").click()
    expect(page.locator("#problem")).to_have_count(0)
    page.get_by_text("The whole history").click()
    expect(page.locator(".part-done")).to_contain_text("News sent to 1 phones")


def test_many_are_told_with_a_sentence_that_is_ready(office: Office) -> None:
    """A letter, a space and Enter: both languages are there, and nothing is typed."""
    page = office.sit_down()
    page.goto(f"{office.address}/desk/tickets/{office.ticket_of('1A')}")
    expect(page.get_by_role("button", name="Keys")).to_be_visible()
    page.keyboard.press("w")
    expect(page.locator("#write input[name=known]").first).to_be_focused()
    assert violations(page) == []
    page.keyboard.press("Space")
    expect(page.get_by_label("In English")).to_be_hidden()
    page.keyboard.press("Enter")
    expect(page.locator("#problem")).to_have_count(0)
    office.service.wait(minutes=1)
    sent = [text.text for text in office.service.gateway.sent if text.to == mobile("1A")]
    assert any("A technician comes today." in text for text in sent)


def test_an_act_leads_on_unless_that_is_switched_off_on_this_device(office: Office) -> None:
    """One press gives a ticket to somebody; with the box empty the ticket stays, also next time."""
    person(office.service, "tran", Role.TRUCK)
    page = office.sit_down()
    first, second, third = page.locator("#rows tr").evaluate_all(
        "r => r.map(x => x.dataset.ticket)"
    )
    page.goto(f"{office.address}/desk/tickets/{first}")
    page.locator("summary", has_text=re.compile("^Assign")).click()
    expect(page.get_by_label("To whom")).to_have_value("Tran")  # a proposal
    page.get_by_role("button", name="Tran").click()
    expect(page).to_have_url(re.compile(f"{second}.*left={first}"))
    page.get_by_label("Then on to the next that nobody has").uncheck()
    page.locator("summary", has_text=re.compile("^Hold")).first.click()
    assert violations(page) == []
    page.get_by_role("button", name="Waits for a part").click()
    expect(page.locator(".facts")).to_contain_text("Waits for a part")
    page.goto(f"{office.address}/desk/tickets/{third}")
    expect(page.get_by_label("Then on to the next that nobody has")).not_to_be_checked()
    page.keyboard.press("i")
    expect(page.locator(".facts")).to_contain_text("Desk")


def test_homes_are_split_off_and_pinned(office: Office) -> None:
    """A complaint goes to a ticket of its own and is held there until it is unpinned."""
    office.service.text(mobile("1B"), "no heat here either, stone cold radiator, 57 degrees")
    together = office.ticket_of("1B")
    page = office.sit_down()
    page.goto(f"{office.address}/desk/tickets/{together}")
    assert office.ticket_of("1A") == together
    page.keyboard.press("s")
    page.get_by_role("checkbox", name=re.compile("^1B:")).check()
    page.get_by_role("button", name="Split off").click()
    expect(page.locator("h1")).to_contain_text("home 1B")
    assert office.ticket_of("1B") != office.ticket_of("1A")
    expect(page.locator(".part-talk")).to_contain_text("Pinned to this ticket")
    page.get_by_role("button", name=re.compile("^Unpin")).click()
    expect(page.locator(".part-talk")).not_to_contain_text("Pinned to this ticket")


def test_a_danger_that_was_none_is_ended_and_opened_again(office: Office) -> None:
    """By keyboard: who found so, their name, why; the home is called back; undone, told to leave."""
    office.service.text(mobile("2B"), "I smell gas in the kitchen")
    ticket = office.ticket_of("2B")
    page = office.sit_down()
    page.goto(f"{office.address}/desk/tickets/{ticket}")
    expect(page.get_by_role("button", name="Keys")).to_be_visible()
    page.keyboard.press("x")
    first = page.get_by_role("radio", name=re.compile("^The fire department, who was there"))
    expect(first).to_be_focused()
    form = page.locator("#no-danger")
    expect(form).to_contain_text(
        "Not enough here: our technician; the household, on the telephone."
    )
    expect(form).to_contain_text("2B: reported nothing else, so the report is closed.")
    assert violations(page) == []
    page.keyboard.press("Space")
    page.get_by_label("Why it is no danger").fill("burnt toast")
    page.get_by_role("button", name="End the danger").click()
    problem = page.locator("#problem")
    expect(problem).to_be_focused()
    expect(problem).to_contain_text("the name of who was there is empty")
    expect(page.get_by_label("Why it is no danger")).to_have_value("burnt toast")
    expect(first).to_be_checked()
    assert violations(page) == []
    page.get_by_label("Name of the crew or person who was there").fill("Engine 9")
    page.keyboard.press("Enter")
    done = page.locator("#last-act")
    expect(done).to_contain_text(
        "Done: No danger after all, found by the fire department (Engine 9)"
    )
    expect(page.locator(".closed")).to_contain_text("Closed")
    expect(page.locator(".danger-word")).to_have_count(0)
    assert violations(page) == []
    page.goto(f"{office.address}/desk")
    expect(page.locator("#alerts")).not_to_contain_text("Smell of gas")
    office.service.wait(minutes=1)
    page.goto(f"{office.address}/desk/tickets/{ticket}?done=1")
    page.get_by_role("button", name="Undo: danger again, they are told to leave").first.click()
    expect(page.locator("#last-act")).to_contain_text("Undone: No danger after all")
    expect(page.locator(".danger-line")).to_contain_text("People first.")
    office.service.wait(minutes=1)
    sent = [text.text for text in office.service.gateway.sent if text.to == mobile("2B")]
    assert [words.split(".")[0] for words in sent] == [
        "Leave now with everyone",
        "The fire crew looked and found no danger",
        "Leave now with everyone",
    ]


def test_the_form_that_ends_a_danger_fits_a_narrow_screen(office: Office) -> None:
    """At 320 px nothing is cut off, in the dark nothing is too faint."""
    office.service.text(mobile("2B"), "I smell gas in the kitchen")
    page = office.sit_down(viewport={"width": 320, "height": 700}, color_scheme="dark")
    page.goto(f"{office.address}/desk/tickets/{office.ticket_of('2B')}")
    page.locator("summary", has_text="No danger after all").click()
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    assert violations(page) == []

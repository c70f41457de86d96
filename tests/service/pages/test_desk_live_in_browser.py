"""The desk's script in a real Chromium: changes, pause, silence, keys, and five hundred rows."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta

import pytest
from browsing import violations
from made_up import LAYOUTS, NOW, WHO, desk_ticket, many_rows, row, ticket
from playwright.sync_api import Browser, Page, expect
from serving import Shelf, served

from service.pages.desk.queue import Filters, render_queue_page, render_rows
from service.pages.desk.ticket import render_desk_ticket
from service.usecases.rows.act_views import ConversationLine
from service.usecases.rows.views import QueueRow, QueueView

pytestmark = pytest.mark.browser

STAMP = "1-1-1-1-0-3-3-0"
SOON = row("t_7F3K0001")
LATER = row("t_9QRS0001", respond_by=NOW + timedelta(hours=9), building_name="11 Quarry Street")
NEW = row("t_2M9C0001", respond_by=NOW + timedelta(minutes=5), building_name="22 Mill Lane")


def whole(*rows: QueueRow) -> str:
    """The queue page with these rows."""
    return "".join(render_queue_page(QueueView(NOW, rows, 0), Filters(), LAYOUTS, STAMP))


def some(*rows: QueueRow) -> str:
    """What the server answers to a page that asks for rows."""
    return render_rows(QueueView(NOW, rows, 0), Filters(), LAYOUTS, STAMP)


@pytest.fixture
def shelf() -> Shelf:
    """Two tickets at first."""
    return Shelf({"queue": whole(SOON, LATER), "desk/rows": some()})


@pytest.fixture
def page(chromium: Browser, shelf: Shelf) -> Iterator[Page]:
    """The queue on a desk's screen, with a clock that the test moves."""
    with served(shelf) as address:
        context = chromium.new_context(viewport={"width": 1280, "height": 800})
        made = context.new_page()
        made.clock.install(time=NOW)
        made.goto(f"{address}/queue")
        yield made
        context.close()


def names(page: Page) -> list[str]:
    """The buildings of the rows from top to bottom."""
    return page.locator("#rows .where a").all_text_contents()


def change(shelf: Shelf, *tickets: str) -> None:
    """Tell the page that these have changed."""
    shelf.say("change", changed=list(tickets), everything=False, now=NOW.isoformat())


def wait_until_asked(page: Page, shelf: Shelf) -> None:
    """Until the page has fetched what has changed."""
    for _ in range(200):
        if "desk/rows" in shelf.asked:
            return
        page.wait_for_timeout(10)
    raise AssertionError("the page has not asked for the rows")


def test_a_row_comes_by_itself_when_nobody_is_in_the_list(page: Page, shelf: Shelf) -> None:
    """A new ticket is put where it belongs, and said once."""
    page.clock.run_for(5000)
    shelf.pages["desk/rows"] = some(NEW)
    change(shelf, NEW.ticket)
    expect(page.locator("#rows tr")).to_have_count(3)
    assert names(page) == ["22 Mill Lane", "9 Quarry Street", "11 Quarry Street"]
    expect(page.locator("#news")).to_have_text("1 new, 0 changed.")
    expect(page.locator("#counts")).to_contain_text("3 open")


def test_rows_never_move_under_the_pointer_or_the_focus(page: Page, shelf: Shelf) -> None:
    """While somebody is in the list changes wait and are counted; a press shows them, focus stays."""
    link = page.get_by_role("link", name="11 Quarry Street")
    link.focus()
    before = link.bounding_box()
    shelf.pages["desk/rows"] = some(NEW, replace(SOON, respond_by=NOW + timedelta(hours=20)))
    change(shelf, NEW.ticket, SOON.ticket)
    button = page.get_by_role("button", name="2 changes, show them")
    expect(button).to_be_visible()
    page.clock.run_for(20_000)
    assert names(page) == ["9 Quarry Street", "11 Quarry Street"]
    assert link.bounding_box() == before
    page.keyboard.press("c")
    expect(page.locator("#rows tr")).to_have_count(3)
    assert names(page) == ["22 Mill Lane", "11 Quarry Street", "9 Quarry Street"]
    expect(link).to_be_focused()
    expect(button).to_be_hidden()


def test_a_row_is_brought_up_to_date_in_place(page: Page, shelf: Shelf) -> None:
    """Words that take no more room are exchanged at once, even under the pointer."""
    page.get_by_role("link", name="11 Quarry Street").hover()
    shelf.pages["desk/rows"] = some(replace(SOON, assigned_to="A. Li", version=2))
    change(shelf, SOON.ticket)
    expect(page.locator(f"#{SOON.ticket}")).to_contain_text("A. Li")
    expect(page.locator("#show-changes")).to_be_hidden()


def test_a_closed_ticket_leaves_when_the_list_is_left_alone(page: Page, shelf: Shelf) -> None:
    """Seconds after the pointer has gone, what waited is shown."""
    page.get_by_role("link", name="11 Quarry Street").hover()
    page.clock.run_for(600)
    change(shelf, SOON.ticket)
    expect(page.get_by_role("button", name="1 change, show it")).to_be_visible()
    page.mouse.move(5, 5)
    page.clock.run_for(1000)
    expect(page.locator("#rows tr")).to_have_count(2)
    page.clock.run_for(4000)
    expect(page.locator("#rows tr")).to_have_count(1)


def test_pause_stops_everything_until_it_ends(page: Page, shelf: Shelf) -> None:
    """WCAG 2.2, 2.2.2: what updates by itself can be paused; what was missed comes afterwards."""
    page.keyboard.press("p")
    expect(page.get_by_role("button", name="Pause")).to_have_attribute("aria-pressed", "true")
    shelf.pages["desk/rows"] = some(NEW)
    change(shelf, NEW.ticket)
    page.wait_for_timeout(200)
    page.clock.run_for(10_000)
    assert "desk/rows" not in shelf.asked
    page.keyboard.press("p")
    wait_until_asked(page, shelf)
    page.clock.run_for(5000)
    expect(page.locator("#rows tr")).to_have_count(3)


def test_silence_is_said_with_its_age(page: Page, shelf: Shelf) -> None:
    """After 30 s without a word the page says how old it is; a sign of life takes that back."""
    stale = page.locator("#stale")
    expect(stale).to_be_hidden()
    page.clock.run_for(34_000)
    expect(stale).to_contain_text(re.compile("^No word from the server for 3[05] s. What you see"))
    page.clock.run_for(130_000)
    expect(stale).to_contain_text("for 2 min")
    shelf.say("beat", now=NOW.isoformat())
    expect(stale).to_be_hidden()


def test_letters_can_be_listed_and_switched_off(page: Page) -> None:
    """WCAG 2.2, 2.1.4: single letters are shown, do nothing in a field, and can be switched off."""
    page.keyboard.press("n")
    expect(page.get_by_role("link", name="9 Quarry Street")).to_be_focused()
    page.keyboard.press("n")
    expect(page.get_by_role("link", name="11 Quarry Street")).to_be_focused()
    page.keyboard.press("b")
    expect(page.get_by_role("link", name="9 Quarry Street")).to_be_focused()
    page.keyboard.press("k")
    panel = page.get_by_role("dialog")
    expect(panel).to_contain_text("next ticket")
    panel.get_by_label("Single letters work on this device").uncheck()
    page.keyboard.press("Escape")
    expect(panel).to_be_hidden()
    page.keyboard.press("n")
    expect(page.get_by_role("link", name="11 Quarry Street")).not_to_be_focused()
    page.reload()
    page.keyboard.press("k")
    expect(page.get_by_role("dialog")).to_be_hidden()
    page.get_by_role("button", name="Keys").click()
    expect(page.get_by_role("dialog")).to_be_visible()


def test_talk_grows_and_everything_else_waits_for_a_press(chromium: Browser) -> None:
    """A new text is in the log at once; a changed ticket is announced and keeps what was typed."""
    seen = desk_ticket()
    first, *rest = seen.conversations
    said = ConversationLine(NOW, "tenant", "now it is warm", "en")
    talked = replace(first, lines=(*first.lines, said))
    moved = replace(seen.view, row=replace(seen.view.row, version=2, assigned_to="A. Okafor"))
    shelf = Shelf({"desk/tickets/t_7F3K0001": render_desk_ticket(seen, WHO)})
    with served(shelf) as address, chromium.new_context() as context:
        page = context.new_page()
        page.goto(f"{address}/desk/tickets/t_7F3K0001")
        page.keyboard.press("h")
        page.keyboard.type("Waits for a part")
        later = replace(seen, conversations=(talked, *rest))
        shelf.pages["desk/tickets/t_7F3K0001"] = render_desk_ticket(later, WHO)
        change(shelf, "t_7F3K0001")
        expect(page.locator("#log-c_2A")).to_contain_text("now it is warm")
        button = page.get_by_role("button", name="This ticket has changed, show it")
        expect(button).to_be_hidden()
        shelf.pages["desk/tickets/t_7F3K0001"] = render_desk_ticket(replace(later, view=moved), WHO)
        change(shelf, "t_7F3K0001")
        expect(button).to_be_visible()
        version = page.locator("#hold input[name=version]")
        assert version.input_value() == "1"
        button.click()
        expect(page.locator(".facts")).to_contain_text("A. Okafor")
        assert version.input_value() == "2"
        expect(page.get_by_label("Reason").first).to_have_value("Waits for a part")


def test_five_hundred_rows_are_all_there_and_well_formed(chromium: Browser) -> None:
    """Every row of a long list, with roles and names; `endswitch bench pages` says how fast."""
    shelf = Shelf({"queue": whole(*many_rows().rows)})
    with served(shelf) as address, chromium.new_context() as context:
        page = context.new_page()
        page.set_viewport_size({"width": 1280, "height": 800})
        page.goto(f"{address}/queue")
        assert page.locator("#rows tr").count() == 500
        whole_list = (
            "duplicate-id-aria",
            "aria-required-children",
            "aria-required-parent",
            "link-name",
        )
        assert violations(page, *whole_list) == []


@pytest.mark.parametrize("lack", ["achromatopsia", "deuteranopia", "protanopia", "tritanopia"])
def test_patterns_tell_the_homes_apart_without_colour(chromium: Browser, lack: str) -> None:
    """As somebody with another colour vision sees them, no two states' windows look the same."""
    shelf = Shelf({"desk": render_desk_ticket(desk_ticket(), WHO)})
    with served(shelf) as address, chromium.new_context() as context:
        page = context.new_page()
        page.goto(f"{address}/desk")
        context.new_cdp_session(page).send("Emulation.setEmulatedVisionDeficiency", {"type": lack})
        states = ("explained", "reported", "predicted", "elsewhere", "silent", "unreachable")
        looks = {s: page.locator(f".band.{s}").last.screenshot() for s in states}
        assert len(set(looks.values())) == len(states)


def test_forced_colours_keep_the_drawing_and_the_words(chromium: Browser) -> None:
    """In a high-contrast mode the drawing keeps its own black on white, buttons keep their edges."""
    shelf = Shelf({"desk": render_desk_ticket(desk_ticket(view=ticket()), WHO)})
    with served(shelf) as address, chromium.new_context(forced_colors="active") as context:
        page = context.new_page()
        page.goto(f"{address}/desk")
        adjust = "getComputedStyle(document.querySelector('.building')).forcedColorAdjust"
        assert page.evaluate(adjust) == "none"
        edge = "getComputedStyle(document.querySelector('.act-button')).borderTopStyle"
        assert page.evaluate(edge) == "solid"

"""The pages in a real Chromium: reading, reflow, keyboard, dark, paper, and without script."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from browsing import violations
from made_up import (
    LAYOUTS,
    NOW,
    WHO,
    desk_ticket,
    drawing,
    heavy_ticket,
    queue,
    ticket,
)
from playwright.sync_api import Browser, Page, expect
from serving import Shelf, served

from service.pages.desk.forms import ActProblem
from service.pages.desk.queue import Filters, render_queue_page
from service.pages.desk.ticket import render_desk_ticket
from service.pages.owner.routes import render_buildings
from service.pages.rendering import render, render_problem
from service.usecases.rows.views import QueueView

pytestmark = pytest.mark.browser

BROWSED = ("/desk", "/desk/tickets/{ticket_id}", "/owner")

STAMP = "1-1-1-1-0-3-3-0"
REFUSED = ActProblem(
    "hold", "A reason is missing.", 422, "hold-reason", {"until": "", "reason": ""}
)
LATE = ActProblem("assign", "R. Moreno has held it.", 409, "assign", {"to": "A. Okafor"})


def desk_queue(view: QueueView, filters: Filters | None = None) -> str:
    """The queue as the desk sees it."""
    return "".join(render_queue_page(view, filters or Filters(), LAYOUTS, STAMP))


PAGES = {
    "queue": lambda: desk_queue(queue()),
    "one-building": lambda: desk_queue(queue(), Filters("mill-22", "")),
    "empty": lambda: desk_queue(QueueView(NOW, (), 0)),
    "desk": lambda: render_desk_ticket(desk_ticket(), WHO, done="1"),
    "refused": lambda: render_desk_ticket(desk_ticket(), WHO, problem=REFUSED),
    "late": lambda: render_desk_ticket(desk_ticket(), WHO, problem=LATE),
    "heavy-desk": lambda: render_desk_ticket(desk_ticket(heavy_ticket()), WHO),
    "closed-desk": lambda: render_desk_ticket(
        desk_ticket(ticket(closed_at=NOW, closed_cause="pump"), forecast=None), WHO
    ),
    "small-desk": lambda: render_desk_ticket(
        desk_ticket(ticket(drawing=drawing(3, "AB", "2A.valve"))), WHO
    ),
    "owner": lambda: render_buildings(queue()),
    "enter": lambda: render("entry/templates/continue.html", token="t0ken"),
    "gone": lambda: render("entry/templates/gone.html"),
    "missing": lambda: render_problem(404, "Nothing there", "There is no such ticket.", "desk"),
}


@pytest.fixture(scope="module")
def shelf() -> Shelf:
    """All pages, rendered once."""
    return Shelf({name: make() for name, make in PAGES.items()})


@pytest.fixture(scope="module")
def address(shelf: Shelf) -> Iterator[str]:
    """Where they are served."""
    with served(shelf) as found:
        yield found


class Look:
    """Opens pages and remembers what the browser complained of."""

    def __init__(self, browser: Browser, address: str) -> None:
        self.browser, self.address = browser, address
        self.complaints: list[str] = []

    def at(self, name: str, width: int = 390, height: int = 844, **context: Any) -> Page:
        """A page in a window of its own."""
        made = self.browser.new_context(viewport={"width": width, "height": height}, **context)
        page = made.new_page()
        page.on("console", lambda message: self.complaints.append(message.text))
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.goto(f"{self.address}/{name}")
        return page


@pytest.fixture
def look(chromium: Browser, address: str) -> Iterator[Look]:
    """A look at the pages; whatever the content policy blocked fails the test."""
    made = Look(chromium, address)
    yield made
    for context in chromium.contexts:
        context.close()
    assert made.complaints == []


@pytest.mark.parametrize(
    "name", sorted(PAGES.keys() - {"desk", "refused", "heavy-desk", "small-desk"})
)
def test_axe_finds_nothing(look: Look, name: str) -> None:
    """WCAG 2.2 A and AA rules and best practice, every form open; in the dark, the colours again."""
    page = look.at(name, width=1280)
    page.locator("details").evaluate_all("all => all.forEach(d => { d.name = ''; d.open = true; })")
    assert violations(page) == []
    page.emulate_media(color_scheme="dark")
    assert violations(page, "color-contrast") == []


def test_nothing_scrolls_sideways_at_320_pixels(look: Look) -> None:
    """WCAG 2.2, 1.4.10 Reflow: 320 CSS pixels wide; the drawing scrolls in its own box."""
    page, widths = look.at("queue", width=320), {}
    for name in PAGES:
        page.goto(f"{look.address}/{name}")
        widths[name] = page.evaluate("document.documentElement.scrollWidth")
    assert {name: wide for name, wide in widths.items() if wide > 320} == {}


@pytest.mark.parametrize("name", ["queue", "desk"])
def test_text_spacing_loses_nothing(look: Look, name: str) -> None:
    """WCAG 2.2, 1.4.12: line 1.5, letters 0.12 em, words 0.16 em, at 320 pixels."""
    page = look.at(name, width=320, bypass_csp=True)
    page.add_style_tag(
        content="* { line-height: 1.5 !important; letter-spacing: .12em !important;"
        " word-spacing: .16em !important } p { margin-bottom: 2em !important }"
    )
    assert page.evaluate("document.documentElement.scrollWidth") <= 320


def test_focus_is_seen_and_never_under_the_strip(look: Look) -> None:
    """WCAG 2.2, 2.4.7 and 2.4.11: by Tab through the whole ticket, every stop shows an outline."""
    page = look.at("desk", width=1280)
    stops = 0
    for _ in range(120):
        page.keyboard.press("Tab")
        state = page.evaluate(
            """() => { const e = document.activeElement;
              if (e === document.body) return null;
              const strip = document.querySelector('.strip');
              const box = e.getBoundingClientRect();
              return {outline: parseFloat(getComputedStyle(e).outlineWidth),
                hidden: !strip.contains(e) && !e.closest('.top') && !e.matches('.skip')
                  && box.bottom <= strip.getBoundingClientRect().bottom && box.bottom > 0}; }"""
        )
        if state is None:
            break
        stops += 1
        assert state["outline"] >= 2
        assert not state["hidden"]
    assert 40 < stops < 120


@pytest.mark.parametrize("name", ["queue", "desk", "late"])
def test_what_is_pressed_is_large_enough(look: Look, name: str) -> None:
    """WCAG 2.2, 2.5.8: 24 CSS pixels, but for links in the run of a sentence."""
    page = look.at(name)
    page.locator("details").evaluate_all("all => all.forEach(d => { d.name = ''; d.open = true; })")
    small = page.evaluate(
        """() => [...document.querySelectorAll('main button, main summary, main select,'
            + ' main textarea, main label.choice, main input:not([type=hidden])')]
          .filter(e => e.checkVisibility() && e.getBoundingClientRect().height < 24)
          .map(e => e.outerHTML)"""
    )
    assert small == []


@pytest.mark.parametrize("name", ["desk", "small-desk"])
def test_what_a_dispatcher_decides_by_is_on_the_first_screen(look: Look, name: str) -> None:
    """1280 by 800: what, by when and why, who has it, what they wrote, the acts, the first suspect."""
    page = look.at(name, width=1280, height=800)
    ends = page.evaluate(
        """() => Object.fromEntries(['h1', '.facts', '.they-said', '.acts', '.suspects > li']
          .map(s => [s, document.querySelector(s).getBoundingClientRect().bottom]))"""
    )
    assert {part: end for part, end in ends.items() if end > 800} == {}


def test_what_is_folded_opens_by_key_and_without_script(look: Look) -> None:
    """Evidence, checks and load are a press away, and nothing is lost without script."""
    page = look.at("desk", width=1280)
    expect(page.locator(".part-weighed")).to_be_hidden()
    page.keyboard.press("e")
    expect(page.locator(".part-weighed")).to_be_visible()
    bare = look.at("desk", width=1280, java_script_enabled=False)
    bare.get_by_text("What the technician checks and carries").click()
    expect(bare.locator(".brief-checks")).to_be_visible()
    expect(bare.locator(".load").first).to_be_visible()


@pytest.mark.parametrize("name", ["desk", "heavy-desk", "small-desk"])
def test_a_ticket_prints_on_one_sheet(look: Look, name: str) -> None:
    """US letter, whatever the window; even the fullest ticket."""
    page = look.at(name)
    pdf = page.pdf(format="Letter", prefer_css_page_size=True, print_background=False)
    assert len(re.findall(rb"/Type\s*/Page\b", pdf)) == 1


def test_paper_is_white_in_a_dark_scheme_too(look: Look) -> None:
    """Black on white, and no form or navigation on paper."""
    page = look.at("desk", color_scheme="dark")
    page.emulate_media(media="print", color_scheme="dark")
    colours = page.evaluate(
        "(() => { const s = getComputedStyle(document.body); return [s.color, s.backgroundColor] })()"
    )
    assert colours == ["rgb(0, 0, 0)", "rgb(255, 255, 255)"]
    for gone in (".strip", ".acts", ".part-talk", ".top nav"):
        assert not page.locator(gone).first.is_visible()
    assert page.locator(".blank").first.is_visible()


def test_everything_is_there_without_script(look: Look) -> None:
    """The queue, its filter and the forms need no script; the Pause button is not offered."""
    page = look.at("queue", java_script_enabled=False)
    expect(page.get_by_role("link", name="9 Quarry Street").first).to_be_visible()
    expect(page.get_by_role("button", name="Show")).to_be_visible()
    assert page.get_by_role("button", name="Pause").count() == 0
    assert page.get_by_role("button", name="Keys").count() == 0
    page = look.at("desk", java_script_enabled=False)
    page.get_by_text("Hold", exact=False).first.click()
    expect(page.get_by_label("Until")).to_be_visible()


def test_hostile_text_does_nothing(look: Look) -> None:
    """No dialog, no request, no image from a tenant's words."""
    asked: list[str] = []
    page = look.at("desk", width=1280)
    page.on("dialog", lambda dialog: asked.append(dialog.message))
    page.on("request", lambda request: asked.append(request.url))
    page.reload()
    assert page.locator("blockquote img").count() == 0
    assert not [url for url in asked if not url.startswith(look.address)]


def test_the_queue_table_stays_a_table_for_those_who_listen(look: Look) -> None:
    """Stacked as cards on a phone, it keeps rows, row headers and cells."""
    page = look.at("queue")
    assert page.get_by_role("row").count() == 3  # the header row is not shown on a phone
    expect(page.get_by_role("rowheader").first).to_contain_text("22 Mill Lane")

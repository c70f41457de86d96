"""Pages as HTML: what is said, in which order, and that nothing sent by people can act."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from datetime import timedelta
from html.parser import HTMLParser

import pytest
from made_up import HOSTILE, NOW, SUSPECTS, heavy_ticket, queue, row, ticket

from service.pages.rendering import (
    FormProblem,
    render,
    render_owner,
    render_problem,
    render_queue,
    render_ticket,
)
from service.usecases.views import QueueView, WhyLine

VOID = {"meta", "link", "input", "img", "br", "hr"}


class Page(HTMLParser):
    """Tags with their attributes, the text, and a check that tags close in order."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.text = ""
        self.stack: list[str] = []
        self.feed(html)
        assert self.stack == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))
        if tag not in VOID:
            self.stack.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        assert self.stack.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text += re.sub(r"\s+", " ", data)

    def all(self, tag: str) -> list[dict[str, str]]:
        """The attributes of every element of one kind."""
        return [attrs for name, attrs in self.tags if name == tag]


PAGES = {
    "queue": render_queue(queue()),
    "truck queue": render_queue(queue(), "truck"),
    "one building": render_queue(queue(), "desk", "mill-22"),
    "empty": render_queue(QueueView(NOW, (), 0)),
    "desk ticket": render_ticket(ticket()),
    "truck ticket": render_ticket(ticket(), "truck"),
    "heavy ticket": render_ticket(heavy_ticket(), "truck"),
    "bare ticket": render_ticket(
        ticket(suspects=(), checks=(), load=(), why=(), reasons=(), history=(), findings=()),
        "truck",
    ),
    "closed": render_ticket(ticket(closed_at=NOW, closed_cause="circulator seized"), "truck"),
    "owner": render_owner(queue()),
    "nothing there": render_problem(404, "Nothing", "There is no such ticket.", "desk"),
    "sign in": render("entry/templates/continue.html", token="t0ken"),
    "no good": render("entry/templates/gone.html"),
    "start": render("entry/templates/start.html"),
    "sign out": render("entry/templates/sign_out.html", door="desk", by_link=True),
}


@pytest.mark.parametrize("name", PAGES)
def test_every_page_is_whole_and_free_of_inline_code(name: str) -> None:
    """Tags close in order, ids are unique, one h1, a title, no inline style, script or handler."""
    page = Page(PAGES[name])
    ids = Counter(attrs["id"] for _, attrs in page.tags if "id" in attrs)
    assert [i for i, count in ids.items() if count > 1] == []
    assert len(page.all("h1")) == 1
    assert page.all("html")[0]["lang"] == "en"
    assert not page.all("style")
    for tag, attrs in page.tags:
        assert not any(a == "style" or a.startswith("on") for a in attrs)
        assert tag != "script" or attrs["src"].startswith("/static/")


@pytest.mark.parametrize("name", PAGES)
def test_every_field_has_a_name_to_be_called_by(name: str) -> None:
    """Each visible field has a label of its own or stands inside one."""
    page = Page(PAGES[name])
    labelled = {attrs["for"] for attrs in page.all("label") if "for" in attrs}
    for tag in ("input", "select", "textarea"):
        for attrs in page.all(tag):
            if attrs.get("type") not in {"hidden", "radio"}:
                assert attrs["id"] in labelled
    radios = PAGES[name].count('type="radio"')
    assert PAGES[name].count('<label class="choice"><input type="radio"') == radios


@pytest.mark.parametrize("door", ["desk", "truck"])
def test_what_a_tenant_writes_cannot_act(door: str) -> None:
    """Markup in a text is shown as text, turned text is straightened, and it stands in bdi."""
    html = render_ticket(ticket(), door)  # type: ignore[arg-type]
    assert HOSTILE not in html
    assert "<img" not in html
    assert "\u202e" not in html
    assert "<bdi>&lt;img src=x onerror=&#34;alert(1)&#34;&gt; gnp.exe</bdi>" in html


def test_quotes_carry_their_language() -> None:
    """A Spanish message is read aloud in Spanish (WCAG 2.2, 3.1.2)."""
    quotes = Page(render_ticket(ticket())).all("blockquote")
    assert [quote.get("lang") for quote in quotes] == ["en", "es", "en"]


def test_the_queue_says_when_why_where_what_and_what_is_not_known() -> None:
    """One row holds everything needed to decide who goes first."""
    text = Page(render_queue(queue())).text
    for words in (
        "by 9:30 pm today",
        "indoor temperature would pass the legal 62 F",
        "9 Quarry Street",
        "Homes 2A, 2C, 2D",
        "Too cold",
        "Circulator seized: pump-2",
        "possible, 41 %",
        "47 % other suspects",
        "12 % something else",
        "1 text has come in",
    ):
        assert words in text


def test_danger_is_said_in_words_and_first() -> None:
    """The word stands before the time, in the first row."""
    html = render_queue(queue())
    assert html.index("Danger</strong>") < html.index("by 9:30 pm")
    assert html.partition("<table")[2].count("Danger</strong>") == 1


def test_the_queue_keeps_the_order_it_is_given() -> None:
    """Pressing order is decided elsewhere and not disturbed here."""
    html = render_queue(queue())
    places = [html.index(ref) for ref in ("T-2M9C", "T-7F3K", "T-9QRS")]
    assert places == sorted(places)


def test_no_codes_for_rank() -> None:
    """Urgency is a time with its reason."""
    for html in PAGES.values():
        assert not re.search(r"\bP[1-5]\b|\bSLA\b|\bpriority\b|backlog", html, re.IGNORECASE)


def test_one_building_is_shown_and_the_others_can_be_chosen() -> None:
    """The filter stands in the address; the choice shows what is chosen."""
    html = PAGES["one building"]
    assert "T-2M9C" in html
    assert "T-7F3K" not in html
    assert '<option value="mill-22" selected>' in html
    assert '<option value="quarry-9">' in html


def test_a_building_without_tickets_says_so() -> None:
    """An empty list explains itself and leads back to all."""
    text = Page(render_queue(queue(), "desk", "elm-1")).text
    assert "Nothing is open in this building" in text
    assert "Show all buildings" in text


def test_a_truck_ticket_asks_for_each_reading_in_its_own_way() -> None:
    """A value with its unit, a word from a list, and whether the thermostat calls."""
    page = Page(PAGES["truck ticket"])
    assert "Reading in volts" in page.text
    radios = [a for a in page.all("input") if a.get("type") == "radio"]
    assert {a["value"] for a in radios if a["name"] == "outcome"} == {
        "firm_spring",
        "limp",
        "jammed",
    }
    assert {a["value"] for a in radios if a["name"] == "calling"} == {"yes", "no"}
    assert "Firm spring" in page.text


def test_the_close_form_offers_the_suspects_first_and_today() -> None:
    """Cause choices keep their order; the date is today's on the building's calendar."""
    page = Page(PAGES["truck ticket"])
    causes = [a["value"] for a in page.all("input") if a.get("name") == "cause"]
    assert causes[0] == "pump_seized|pump-2"
    dates = [a["value"] for a in page.all("input") if a.get("type") == "date"]
    assert dates == ["2026-01-14"]  # already the 15th in UTC an hour later


def test_the_date_is_the_buildings_not_the_servers() -> None:
    """At 8 pm in New York it is tomorrow in UTC; the form still says today."""
    late = NOW + timedelta(hours=2)
    assert 'value="2026-01-14"' in render_ticket(ticket(now=late), "truck")


def test_a_closed_ticket_asks_for_nothing() -> None:
    """It says when and why it was closed, and shows no form."""
    page = Page(PAGES["closed"])
    assert not page.all("form")
    assert "Closed 6:40 pm today: circulator seized" in page.text


def test_the_desk_reads_and_does_not_measure() -> None:
    """Readings are the technician's: the desk's ticket has no form."""
    assert not Page(PAGES["desk ticket"]).all("form")


def test_evidence_speaks_for_and_against_in_words_and_number() -> None:
    """Both ways, with the suspect it is about."""
    text = Page(PAGES["desk ticket"]).text
    assert "Speaks strongly for: circulator seized (weight +2.1)" in text
    assert "Speaks somewhat against: relay contact does not close (weight -0.7)" in text


def test_a_message_is_quoted_once_however_many_suspects_it_speaks_for() -> None:
    """One text, two suspects: one quote, two weights."""
    line = WhyLine("2A reports too cold", "m_1", "pump_seized", 1.3, "freezing here", "en")
    also = replace(line, fault="relay_contact_open", weight=0.2)
    html = render_ticket(ticket(why=(line, also)))
    assert html.count("freezing here") == 1
    assert "(weight +1.3)" in html
    assert "(weight +0.2)" in html


def test_a_long_list_of_suspects_is_folded_after_the_fourth() -> None:
    """What is likely is seen at once; the rest is one press away."""
    html = render_ticket(ticket(suspects=SUSPECTS + SUSPECTS))
    assert "2 more, less likely" in html
    assert html.count('class="suspect-name"') == 6


def test_a_wrong_reading_keeps_what_was_typed_and_says_what_to_do() -> None:
    """The summary links to the field, the field names its error, the title begins with Error."""
    typed = {"test": "pump_volts", "component": "pump-2", "value": "12o"}
    html = render_ticket(ticket(), "truck", FormProblem("value", "Write one number.", typed))
    page = Page(html)
    field = next(a for a in page.all("input") if a.get("id") == "value-2")
    assert field["value"] == "12o"
    assert field["aria-invalid"] == "true"
    assert any(a.get("id") == field["aria-describedby"] for a in page.all("p"))
    assert any(a.get("href") == "#value-2" for a in page.all("a"))
    assert "<title>Error: " in html


@pytest.mark.parametrize("field", ["calling", "outcome", "cause", "checks", "quantity-2"])
def test_every_form_problem_points_at_something_that_exists(field: str) -> None:
    """No summary link leads nowhere."""
    check = {"calling": "coil_volts", "outcome": "lever_feel"}.get(field, "pump_volts")
    component = {"coil_volts": "relay-2", "lever_feel": "2A.valve"}.get(check, "pump-2")
    typed = {"test": check, "component": component}
    page = Page(render_ticket(ticket(), "truck", FormProblem(field, "Say it.", typed)))
    assert any(attrs.get("id") == field for _, attrs in page.tags)
    assert any(a.get("href") == f"#{field}" for a in page.all("a"))


def test_a_home_nobody_knows_yet_is_said_so() -> None:
    """An unplaced complaint is a ticket too."""
    view = ticket(row=row(homes=(), first_suspect=None, probability=None), component="unknown")
    text = Page(render_ticket(view)).text
    assert "9 Quarry Street, " not in text
    assert "home not known yet" in text

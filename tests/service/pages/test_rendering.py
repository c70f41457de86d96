"""Pages as HTML: what is said, in which order, and that nothing sent by people can act."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from datetime import timedelta
from html.parser import HTMLParser

import pytest
from made_up import (
    ALERTS,
    HOSTILE,
    LAYOUTS,
    NOW,
    SUSPECTS,
    WHO,
    desk_ticket,
    forecast,
    heavy_ticket,
    queue,
    row,
    ticket,
)

from service.pages.desk.forms import ActProblem
from service.pages.desk.queue import Filters, place_of, render_queue_page
from service.pages.desk.ticket import render_desk_ticket
from service.pages.owner.routes import render_buildings
from service.pages.plot import forecast_svg, forecast_words, outdoor_words
from service.pages.rendering import (
    render,
    render_problem,
    render_ticket,
)
from service.usecases.rows.views import QueueView, TicketView

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


def desk_queue(view: QueueView, building: str = "", who: str = "") -> str:
    """The queue as the desk sees it."""
    return "".join(render_queue_page(view, Filters(building, who), LAYOUTS, "1-1-1-1-0-3-3-0"))


def at_desk(view: TicketView | None = None, problem: ActProblem | None = None) -> str:
    """A ticket as the desk sees it."""
    return render_desk_ticket(desk_ticket(view), WHO, problem=problem)


PAGES = {
    "queue": desk_queue(queue()),
    "one building": desk_queue(queue(), "mill-22"),
    "empty": desk_queue(QueueView(NOW, (), 0)),
    "desk ticket": at_desk(),
    "heavy ticket": at_desk(heavy_ticket()),
    "bare ticket": at_desk(
        ticket(suspects=(), checks=(), load=(), why=(), reasons=(), history=(), findings=())
    ),
    "closed": render_desk_ticket(
        desk_ticket(ticket(closed_at=NOW, closed_cause="circulator seized"), forecast=None), WHO
    ),
    "owner": render_buildings(queue()),
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
        assert tag != "script" or attrs["src"].startswith(("/static/", "/truck/static/"))


@pytest.mark.parametrize("name", PAGES)
def test_every_field_has_a_name_to_be_called_by(name: str) -> None:
    """Each visible field has a label of its own or stands inside one."""
    page = Page(PAGES[name])
    labelled = {attrs["for"] for attrs in page.all("label") if "for" in attrs}
    for tag in ("input", "select", "textarea"):
        for attrs in page.all(tag):
            if attrs.get("type") not in {"hidden", "radio", "checkbox"}:
                assert attrs["id"] in labelled
    boxes = len(re.findall(r'type="(?:radio|checkbox)"', PAGES[name]))
    inside = r'<label class="choice"><input type="(?:radio|checkbox)"'
    assert len(re.findall(inside, PAGES[name])) == boxes


def test_what_a_tenant_writes_cannot_act() -> None:
    """Markup in a text is shown as text, turned text is straightened, and it stands in bdi."""
    html = at_desk()
    assert HOSTILE not in html
    assert "<img" not in html
    assert "\u202e" not in html
    assert "<bdi>&lt;img src=x onerror=&#34;alert(1)&#34;&gt; gnp.exe</bdi>" in html


def test_quotes_carry_their_language() -> None:
    """A Spanish message is read aloud in Spanish (WCAG 2.2, 3.1.2)."""
    quotes = Page(at_desk()).all("blockquote")
    assert [quote.get("lang") for quote in quotes] == ["es", "en", "en"]
    page = Page(at_desk())
    said = [a for a in page.all("p") if a.get("class") == "said"]
    assert [a.get("lang") for a in said[:4]] == ["es", "es", None, None]
    assert "Spanish" in page.text


def test_the_queue_says_when_why_where_what_and_what_is_not_known() -> None:
    """One row holds everything needed to decide who goes first."""
    text = Page(desk_queue(queue())).text
    for words in (
        "by 9:30 pm today",
        "Indoor temperature would pass the legal 62 F",
        "9 Quarry Street",
        "3 homes 2A, 2C, 2D",
        "Too cold",
        "pump-2: possible, 41 %",
        "Circulator seized, 26 %",
        "47 % other suspects",
        "12 % something else",
        "3 open",
        "1 text not read yet",
    ):
        assert words in text


def test_danger_is_said_in_words_and_first() -> None:
    """The word stands before the time, in the first row."""
    html = desk_queue(queue())
    assert html.index("Danger</strong>") < html.index("by 9:30 pm")
    assert html.partition("<table")[2].count("Danger</strong>") == 1


def test_the_queue_keeps_the_order_it_is_given() -> None:
    """Pressing order is decided elsewhere and not disturbed here."""
    html = desk_queue(queue())
    places = [html.index(ref) for ref in ("T-2M9C", "T-7F3K", "T-9QRS")]
    assert places == sorted(places)


def test_a_row_that_comes_later_finds_its_place() -> None:
    """By the word that a row carries it sorts as the queue does: danger, then held ones last."""
    late = row("t_LATE0001", respond_by=NOW + timedelta(days=2))
    held = row("t_HELD0001", respond_by=NOW, held_until=NOW + timedelta(days=1), hold_reason="part")
    gas = queue().rows[0]
    assert sorted([held, late, row(), gas], key=place_of) == [gas, row(), late, held]


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
    text = Page(desk_queue(queue(), "elm-1")).text
    assert "Nothing is open here" in text
    assert "Show the whole queue" in text


def test_a_closed_ticket_asks_for_nothing() -> None:
    """It says when and why it was closed, and shows no form."""
    page = Page(PAGES["closed"])
    assert {a.get("action", "close the list of keys") for a in page.all("form")} == {
        "close the list of keys"
    }
    assert "Closed 6:40 pm today: circulator seized" in page.text


def test_the_desk_reads_and_does_not_measure() -> None:
    """Readings are the technician's: no form of the desk's ticket takes one."""
    forms = {a.get("action", "").rpartition("/")[2] for a in Page(PAGES["desk ticket"]).all("form")}
    acts = {"assign", "hold", "respond-by", "merge", "split", "write", "pin", "unpin", "undo"}
    assert acts | {"take-over", "hand-back"} <= forms
    assert not forms & {"findings", "close"}


def test_every_form_of_an_act_carries_what_the_person_saw() -> None:
    """Whatever changes a ticket sends the version that was on the screen."""
    html = PAGES["desk ticket"]
    for act in ("assign", "hold", "respond-by", "merge", "split", "pin", "unpin"):
        forms = re.findall(
            rf'<form method="post" action="/desk/\S+/{act}".*?</form>', html, re.DOTALL
        )
        assert forms
        assert all('name="version" value="1"' in form for form in forms)


def test_evidence_speaks_for_and_against_in_words_and_number() -> None:
    """Under each suspect both ways, the strongest first."""
    text = re.sub(
        r"\s+", " ", Page(PAGES["desk ticket"]).text.partition("Evidence for and against")[2]
    )
    pump, relay = (
        text.index("Circulator seized: pump-2"),
        text.index("Relay contact does not close"),
    )
    first = text[pump:relay]
    assert "2C answers: baseboard cold speaks strongly for (+2.1)" in first
    assert first.index("(+2.1)") < first.index("(+1.3)") < first.index("(+0.3)")
    assert "Against Nothing so far." in first
    assert "Against The relay was replaced in 2024 speaks somewhat against (-0.7)" in text[relay:]


def test_what_was_typed_is_kept_when_an_act_is_refused() -> None:
    """The form is open, the reason beside it, the summary leads there, and nothing is typed twice."""
    typed = {"until": "2026-01-15T08:00", "reason": "Waits for a part"}
    html = at_desk(problem=ActProblem("hold", "It has changed.", 409, "hold", typed))
    page = Page(html)
    assert "<title>Error: " in html
    assert any(a.get("href") == "#hold" for a in page.all("a"))
    assert '<details class="act" name="act" open>' in html
    kept = {a["name"]: a["value"] for a in page.all("input") if a.get("id", "").startswith("hold-")}
    assert kept == {"until": "2026-01-15T08:00", "reason": "Waits for a part"}


def test_an_alert_takes_one_line_and_names_its_place() -> None:
    """Dangers first and always in sight; of the rest a few, the others folded."""
    many = tuple(replace(ALERTS[1], alert=n) for n in range(20, 30))
    html = desk_queue(replace(queue(), alerts=many + ALERTS))
    text = Page(html).text
    assert text.index("Smell of gas") < text.index("A sender has to be confirmed")
    assert "5B, 22 Mill Lane" in text
    assert "9 more" in text
    assert html.partition("<summary>9 more")[0].count(">Acknowledge<") == 3


def test_the_forecast_says_when_the_law_is_passed() -> None:
    """The sentences, the picture's description and the table say the same (18:40 + 12:20, by hand)."""
    says = forecast_words(forecast(), NOW)
    assert says == (
        "2C is expected at about 64 F now, at its lowest 54 F 6:40 pm Fri."
        " It passes the legal floor at 7:00 am tomorrow."
    )
    svg = forecast_svg(forecast(), NOW)
    assert f'<desc id="pl-desc">{says}</desc>' in svg
    assert "under the law 7:00 am tomorrow" in svg
    page = Page(at_desk())
    assert "6:40 pm today" in page.text
    assert len([a for a in page.all("th") if a.get("scope") == "row"]) == 17


def test_the_forecast_names_the_weather_it_rests_on() -> None:
    """20 F now, a tenth of a degree less each hour for 48 hours: 15.2 F, by hand; else nothing."""
    assert outdoor_words(forecast()) == "Outdoors 20 F now, 15 F at the lowest."
    blind = forecast()
    hours = tuple(replace(hour, outdoor_f=None) for hour in blind.hours)
    assert outdoor_words(replace(blind, hours=hours)) == ""


def test_a_forecast_that_stays_above_the_floor_says_so() -> None:
    """And one under it already."""
    assert forecast_words(forecast(below_at=None), NOW).endswith("It stays above the legal floor.")
    under = forecast_words(forecast(below_at=NOW), NOW)
    assert under.endswith("It is under the legal floor already.")


def test_suspects_stand_by_part_and_the_likeliest_part_first() -> None:
    """The rules put the first fault of each of three parts first; read one by one that looks unsorted.

    pump-2 has 23 + 13 per cent, and 1 for what is not listed; the last two go by what they have in all.
    """
    told = (
        ("pump-2", 0.23, 0.37),
        ("valve-2", 0.08, 0.08),
        ("relay-2", 0.03, 0.03),
        ("pump-2", 0.13, 0.37),
        ("xf-2", 0.02, 0.02),
        ("xf-1", 0.01, 0.03),
    )
    first = SUSPECTS[0]
    suspects = tuple(
        replace(first, component=c, probability=own, of_part=of) for c, own, of in told
    )
    html = at_desk(ticket(suspects=suspects))
    listed = html[html.index('id="h-suspects"') :]
    names = re.findall(r'suspect-name"><strong><span class="id">([^<]+)', listed)
    assert names == ["pump-2", "valve-2", "relay-2", "xf-1", "xf-2"]
    assert re.findall(r"(?:unsure|possible|likely), (\d+)\u00a0%", listed)[:5] == [
        "37",
        "8",
        "3",
        "3",
        "2",
    ]
    assert "2 more parts, less likely" in listed


def test_a_home_nobody_knows_yet_is_said_so() -> None:
    """An unplaced complaint is a ticket too."""
    view = ticket(row=row(homes=(), first_suspect=None, probability=None), component="unknown")
    text = Page(at_desk(view)).text
    assert "9 Quarry Street, " not in text
    assert "home not known yet" in text


def test_homes_that_share_nothing_are_not_called_one_apartment() -> None:
    """A person has merged two homes whose troubles are their own: both are named."""
    view = ticket(scope="apartment", component="2C", row=row(homes=("2C", "2E")))
    for html in (at_desk(view), render_ticket(view, "truck")):
        assert "Several apartments: 2C, 2E" in Page(html).text
        assert "One apartment" not in Page(html).text


def test_a_part_of_a_home_itself_is_called_home() -> None:
    """Its pipes, radiators and people stand at the id of the apartment, which alone says little."""
    own = replace(SUSPECTS[0], component="2C", probability=0.3, of_part=0.3)
    page = Page(at_desk(ticket(suspects=(own,), row=row(homes=("2C",)))))
    assert "Home 2C: possible, 30 %" in page.text

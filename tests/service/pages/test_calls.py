"""Calls that the desk writes down: heard like texts, in the conversation that the home has already."""

from __future__ import annotations

import re
from html import unescape

from at_the_desk import homes_by_ticket
from devices import noted
from repairs.at_work import words
from sqlalchemy import func, select, update
from whole_service import BUILDING, Running, mobile

from service.auth.roles import Role
from service.store.tables import HouseholdRow, InboxMessage

FORM = {"building": BUILDING, "language": "en"}


def calls(service: Running, apartment: str, told: str, **more: str) -> str:
    """Somebody calls; the page that the desk sees then."""
    service.sign_in(Role.DESK)
    data = {**FORM, "apartment": apartment, "words": told, **more}
    answer = service.call("POST", "/desk/call", data=data)
    assert answer.status_code == 303, answer.text
    return service.page(unescape(answer.headers["location"]))


def sent_to(service: Running, number: str) -> list[str]:
    """Our texts to a number."""
    service.wait(minutes=1)
    return [text.text for text in service.gateway.sent if text.to == number]


def stored_calls(service: Running) -> int:
    """How many are in the inbox."""
    with service.services.db.reading() as session:
        query = select(func.count()).select_from(InboxMessage).where(InboxMessage.via == "call")
        return session.scalar(query) or 0


def without_phone(service: Running, apartment: str) -> None:
    """Nobody of this home has a number on file."""
    with service.services.db.transaction() as session:
        session.execute(
            update(HouseholdRow).where(HouseholdRow.apartment == apartment).values(mobile=None)
        )


def test_a_call_is_a_report_and_its_phone_gets_the_answer(service: Running) -> None:
    """Its ticket stands on the page with what to ask; the conversation names who wrote it down."""
    page = calls(service, "1a", "no heat since noon, radiator is stone cold")  # typed in haste
    ticket = service.only_ticket()
    assert ticket["apartments"] == ["1A"]
    assert f'href="/desk/tickets/{ticket["id"]}"' in page
    shown = words(page)
    assert "Written down: " in shown
    asked = sent_to(service, mobile("1A"))[-1]
    assert "Say to them" in shown
    assert asked.splitlines()[0] in unescape(shown)
    talk = words(service.page(f"/desk/tickets/{ticket['id']}"))
    assert "1A by telephone, written down by Desk" in talk
    assert "no heat since noon, radiator is stone cold" in talk


def test_what_was_asked_by_text_is_answered_by_telephone(service: Running) -> None:
    """The page shows the question that is out; a number or a word answers it as a text would."""
    told = service.text(mobile("1A"), "no heat in here")
    asks = told["replies"][-1]["asks"]
    assert asks is not None
    service.sign_in(Role.DESK)
    page = service.page(f"/desk/call?building={BUILDING}&apartment=1A")
    assert "We have asked them" in page
    assert told["replies"][-1]["text"].splitlines()[0] in unescape(page)
    calls(service, "1A", asks["choices"][0]["say"])
    complaint = service.get(f"/api/v1/complaints/{told['complaint']}", "desk")
    answered = [f for f in complaint["facts"] if f.get("topic") == asks["topic"]]
    assert [f["means"] for f in answered] == [asks["choices"][0]["means"]]


def test_what_was_asked_stands_there_although_news_has_followed_it(service: Running) -> None:
    """Who asks when somebody comes still has a question to answer: that is what the caller is asked."""
    told = service.text(mobile("1A"), "no heat in here")
    assert told["replies"][-1]["asks"] is not None
    news = service.text(mobile("1A"), "when are you coming?")["replies"]
    assert all(reply["asks"] is None for reply in news)
    service.sign_in(Role.DESK)
    page = unescape(service.page(f"/desk/call?building={BUILDING}&apartment=1A"))
    assert told["replies"][-1]["text"].splitlines()[0] in page
    assert news[-1]["text"] not in page


def test_they_are_answered_in_their_language_whatever_it_was_written_down_in(
    service: Running,
) -> None:
    """The desk writes English words of a household that reads Spanish."""
    calls(service, "1B", "no heat since this morning, it is freezing in here", language="es")
    texts = sent_to(service, mobile("1B"))
    assert texts
    assert all("reporte" in text or "?" in text for text in texts)
    assert not any("Your report" in text for text in texts)


def test_a_danger_told_by_telephone_is_a_danger(service: Running) -> None:
    """An alert, a danger ticket, the leave-now text, and what to say on the page."""
    page = calls(service, "2A", "she smells gas in the kitchen")
    (ticket,) = service.open_tickets()
    assert ticket["danger"]
    assert any(alert["what"] == "danger: gas" for alert in service.get("/api/v1/alerts", "desk"))
    assert any(text.startswith("Leave now") for text in sent_to(service, mobile("2A")))
    assert "Leave now with everyone." in words(page)


def test_a_call_in_unclear_words_is_a_report_all_the_same(service: Running) -> None:
    """Nobody calls the desk for nothing; a text of the same words from a home opens none."""
    service.text(mobile("3A"), "hello there, good evening")
    assert service.open_tickets() == []
    calls(service, "3B", "hello there, good evening")
    assert list(homes_by_ticket(service).values()) == [["3B"]]


def test_a_call_can_end_a_report(service: Running) -> None:
    """They call to say that it is warm: nobody drives out."""
    service.text(mobile("1A"), "no heat in here, 60 degrees")
    page = calls(service, "1A", "it is warm now, all good")
    assert service.open_tickets() == []
    assert "No report of this home is open." in words(page)


def test_a_home_without_a_phone_is_told_by_the_desk_alone_until_a_phone_is_told(
    service: Running,
) -> None:
    """The page says so and takes a number; from then on it is written to."""
    without_phone(service, "4A")
    service.sign_in(Role.DESK)
    empty = service.page(f"/desk/call?building={BUILDING}&apartment=4A")
    assert "only you can tell them" in empty
    calls(service, "4A", "no hot radiator anywhere, 59 degrees", phone="212 555 0177")
    assert any("T-" in text for text in sent_to(service, "+12125550177"))
    again = service.page(f"/desk/call?building={BUILDING}&apartment=4A")
    assert "Our answer goes to their phone as well." in again
    assert list(homes_by_ticket(service).values()) == [["4A"]]


def test_what_is_missing_is_said_and_nothing_typed_is_lost(service: Running) -> None:
    """No home, a home that is not there, no words, a phone that is none: 422, and nothing stored."""
    service.sign_in(Role.DESK)
    for wrong, says in (
        ({"building": ""}, "the building is not chosen, or not on file"),
        ({"apartment": "9Z"}, "the apartment is not in this building, which has 1A, 1B"),
        ({"words": "  "}, "what they say is empty"),
        ({"phone": "12"}, "the phone is no number"),
    ):
        data = {**FORM, "apartment": "1A", "words": "no heat <b>", **wrong}
        answer = service.call("POST", "/desk/call", data=data)
        assert answer.status_code == 422
        assert says in answer.text
        assert "<title>Error: A call - Endswitch</title>" in answer.text
        if "words" not in wrong:
            assert "no heat &lt;b&gt;</textarea>" in answer.text
    assert service.call("GET", "/desk/call?building=quarry-9&apartment=9Z").status_code == 422
    assert stored_calls(service) == 0


def test_a_form_sent_twice_is_said_once(service: Running) -> None:
    """A second press, or Back and send."""
    for _ in range(2):
        calls(service, "1A", "no heat in here", once="the-same-form")
    assert stored_calls(service) == 1


def test_programs_see_a_call_as_what_came_through_our_pages(service: Running) -> None:
    """The inbox that they read knows three doors: mail, program and page."""
    calls(service, "1A", "no heat since noon")

    (stored,) = service.get("/api/v1/inbox", "desk")["messages"]
    assert stored["via"] == "web"


def test_the_log_notes_a_call_without_its_words(service: Running) -> None:
    """Who wrote one down, and which message it is."""
    calls(service, "1A", "no heat, says Wanda")
    (call,) = [entry for entry in noted(service) if entry[1] == "call written down"]
    assert re.fullmatch(r"m_[0-9a-z]+", call[2])


def test_a_temperature_told_by_telephone_stands_in_the_heat_record(service: Running) -> None:
    """The owner's record says how it was told."""
    calls(service, "1A", "it is 58 degrees in here and very cold")
    service.sign_in(Role.OWNER)
    assert "told by telephone" in service.page(f"/owner/buildings/{BUILDING}/heat")


def test_a_caller_is_found_by_name_by_number_and_by_address(service: Running) -> None:
    """From the queue's search to the call of that home; nobody's name is shown."""
    ticket = service.text(mobile("2A"), "no heat in here")["ticket"]
    with service.services.db.transaction() as session:
        session.execute(
            update(HouseholdRow)
            .where(HouseholdRow.apartment.in_(("2A", "4B")))
            .values(name="Wilhelmina Okonjo-Bell")
        )
    service.sign_in(Role.DESK)
    for said in ("okonjo", "wilhelmina bell", "quarry 4b", mobile("4B")[-4:], mobile("4B")):
        page = service.page(f"/desk?find={said}")
        assert f'href="/desk/call?building={BUILDING}&amp;apartment=4B"' in page
        assert "Okonjo-Bell" not in page
    both = words(service.page("/desk?find=okonjo"))
    assert f"2A, 9 Quarry Street: T-{ticket[2:6].upper()}" in both
    assert "4B, 9 Quarry Street: no open ticket" in both
    # A home whose ticket is in the list stands there alone; too many homes are no answer.
    assert "They are on the telephone" not in service.page("/desk?find=2a")
    assert "They are on the telephone" not in service.page("/desk?find=quarry")
    assert "They are on the telephone" not in service.page("/desk?find=555")


def test_a_report_from_an_unknown_phone_is_pointed_to(service: Running) -> None:
    """Whoever calls from that home may be its sender: the page leads to where it can be confirmed."""
    told = service.text("+12125550199", "no heat, 9 Quarry Street apartment 2B")
    service.sign_in(Role.DESK)
    page = service.page(f"/desk/call?building={BUILDING}&apartment=2B")
    assert f'href="/desk/tickets/{told["ticket"]}"' in page
    assert "Reported from a phone that is not on file" in page
    calls(service, "1A", "no heat")
    assert "not on file" not in service.page(f"/desk/call?building={BUILDING}&apartment=1A")

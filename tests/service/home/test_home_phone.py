"""A phone number left on the page: bound like an unknown sender's, never at another's cost."""

from __future__ import annotations

from at_the_door import Visitor, visitor
from sqlalchemy import select, update
from test_home_pages import close_ticket, to_the_end
from whole_service import Running, mobile

from service.auth.roles import Role
from service.auth.sessions import open_session
from service.store.tables import Complaint, HouseholdRow
from service.usecases.sending.send_outbox import send_outbox

NEW = "+12125550177"


def sent_to(service: Running, number: str) -> list[str]:
    """The texts that went out to a number."""
    send_outbox(service.services, service.services.now())
    return [out.text for out in service.gateway.sent if out.to == number]


def told(service: Running, language: str = "en") -> Visitor:
    """Somebody whose report is in and whose questions are over."""
    at = visitor(service, language=language)
    at.send("report", kinds=["too_cold"])
    to_the_end(at)
    return at


def test_news_goes_to_the_number_from_then_on(service: Running) -> None:
    """One text with the report, and after the repair the question comes by text and by page."""
    at = told(service)
    at.open("phone")
    assert 'autocomplete="tel"' in at.page
    at.send("phone", phone="(212) 555-0177")
    assert "We send news to the phone you gave us" in at.words
    assert NEW not in at.page
    (first,) = sent_to(service, NEW)
    assert "9 Quarry Street" in first

    close_ticket(service)
    service.wait(hours=20)
    assert any("Is it right now?" in text for text in sent_to(service, NEW))
    at.open()
    assert "Is it right now?" in at.heading


def test_a_no_by_text_opens_the_report_made_on_the_page(service: Running) -> None:
    """The number and the page are one conversation."""
    at = told(service)
    at.send_exactly("phone", {"phone": NEW})
    close_ticket(service)
    service.wait(hours=20)
    service.text(NEW, "2")
    with service.services.db.reading() as session:
        (complaint,) = session.scalars(select(Complaint))
        assert complaint.closed_at is None


def test_the_same_number_again_is_no_second_text(service: Running) -> None:
    """A second press changes nothing."""
    at = told(service)
    for _ in range(2):
        at.send_exactly("phone", {"phone": NEW})
    assert len(sent_to(service, NEW)) == 1


def test_a_neighbours_number_is_left_alone_and_nothing_is_given_away(service: Running) -> None:
    """The page says the same as for a free number, and the neighbour gets no text."""
    at = told(service)
    at.send_exactly("phone", {"phone": mobile("4B")})
    said = at.words
    assert sent_to(service, mobile("4B")) == []
    other = told(service)
    other.send_exactly("phone", {"phone": NEW})
    assert "If this phone can be used for this home" in said
    assert "If this phone can be used for this home" in other.words


def test_whoever_wants_no_texts_gets_none(service: Running) -> None:
    """A number that sent STOP stays silent."""
    service.text(NEW, "STOP")
    service.gateway.sent.clear()
    at = told(service)
    at.send_exactly("phone", {"phone": NEW})
    assert sent_to(service, NEW) == []


def test_what_is_no_number_is_told_and_kept(service: Running) -> None:
    """An error with the field, which keeps what was typed."""
    at = told(service)
    at.send_exactly("phone", {"phone": "555"})
    assert at.status == 422
    assert 'value="555"' in at.page
    assert "Write a full phone number" in at.words


def test_numbers_cannot_be_tried_out(service: Running) -> None:
    """Three a day from one home."""
    at = told(service)
    for last in range(3):
        at.send_exactly("phone", {"phone": f"+1212555018{last}"})
        assert at.status == 200
    at.send_exactly("phone", {"phone": "+12125550189"})
    assert at.status == 429


def test_the_desk_is_shown_the_phone_of_the_home_and_never_the_name_of_its_page(
    service: Running,
) -> None:
    """The phone on file, or one that was left; where there is neither, nothing is offered."""
    visitor(service).send("report", kinds=["too_cold"])
    with service.services.db.reading() as session:
        (complaint,) = session.scalars(select(Complaint.id))
    address = f"/api/v1/complaints/{complaint}"

    assert service.get(address, "desk")["from"] == f"ends in {mobile('2A')[-2:]}"
    shown = service.call("POST", f"{address}/number", "desk").json()
    assert shown["number"] == mobile("2A")

    with service.services.db.transaction() as session:
        session.execute(update(HouseholdRow).values(mobile=None))
    assert service.get(address, "desk")["from"] is None
    assert service.call("POST", f"{address}/number", "desk").status_code == 404
    desk = {"Cookie": f"endswitch={signed_in(service)}"}
    ticket = service.get(address, "desk")["ticket"]
    page = service.call("GET", f"/desk/tickets/{ticket}", headers=desk).text
    assert "No phone is known for this home." in page
    assert f"{complaint}/number" not in page


def signed_in(service: Running) -> str:
    """The cookie of somebody at the desk."""
    with service.services.db.transaction() as session:
        return open_session(session, Role.DESK, service.services.now())

"""Danger told on a tenant's page: the leave-now page at once, whatever else is down."""

from __future__ import annotations

from at_the_door import count, open_complaints, visitor
from sqlalchemy import update
from whole_service import Running, break_database, mend_database

from service.store.tables import Alert, InboxMessage
from service.usecases.hearing.process_inbox import process_pending
from service.usecases.home.web_words import page_words


def test_danger_leads_to_the_leave_now_page_at_once(service: Running) -> None:
    """Words of danger: the answer leads to what to do, a person is alerted, and it is a ticket."""
    at = visitor(service)
    at.send("report", kinds=["too_cold"], words="and I smell gas in the hall")
    assert at.heading == "Leave now"
    assert "Call 911" in at.words
    assert "Your alarm has reached us" in at.words
    assert count(service, Alert, Alert.what.startswith("danger")) == 1
    (complaint,) = open_complaints(service)
    assert complaint["danger"] is True
    at.open()
    assert "Your alarm has reached us" in at.words
    assert "It is fixed" not in at.words


def test_a_danger_is_not_forgotten_while_it_is_read(service: Running) -> None:
    """On a busy machine reading takes a while: the page says meanwhile that the alarm is here."""
    at = visitor(service)
    at.send("report", words="I smell gas in the hall")
    with service.services.db.transaction() as session:
        session.execute(update(InboxMessage).values(state="pending"))
    at.open()
    assert at.heading == "We have your words"
    assert "Your alarm has reached us. Call 911 all the same. What to do in danger" in at.words
    other = visitor(service, "3A")
    assert "Your alarm" not in other.words


def test_one_press_tells_a_danger(service: Running) -> None:
    """The buttons of the danger page, in the language of the page."""
    at = visitor(service, language="es")
    at.open("danger")
    assert at.heading == "Salga ya"
    at.send("danger", kind="co")
    assert "aire libre" in at.words
    assert count(service, Alert, Alert.what == "danger: co") == 1


def test_the_danger_page_needs_no_database(service: Running) -> None:
    """With the database gone it still says to leave; a danger in a form leads there too."""
    at = visitor(service)
    with service.services.db.transaction() as session:
        for table in ("home_doors", "inbox"):
            session.connection().exec_driver_sql(f"ALTER TABLE {table} RENAME TO {table}_gone")
    at.open("danger", kind="gas")
    assert (at.status, at.heading) == (200, "Leave now")
    assert "Your alarm has reached us" not in at.words
    at.send_exactly("report", {"words": "there is a smell of gas"})
    assert at.heading == "Leave now"
    at.send_exactly("report", {"words": "it is cold"})
    assert (at.status, at.heading) == (503, "This did not work")
    assert "Leave now. Call 911" in at.words


def test_on_a_page_it_is_shown_and_alerted_when_the_database_is_back(service: Running) -> None:
    """The page says to leave; once stored, the desk is alerted and the home has a ticket."""
    at = visitor(service, "2B")
    break_database(service)

    at.send("report", words="there is a gas smell here")
    assert at.heading == "Leave now"
    at.send("danger", kind="gas")
    assert at.heading == "Leave now"
    mend_database(service)
    process_pending(service.services, service.services.now())

    assert service.gateway.sent == []  # a page is read, not texted
    assert count(service, InboxMessage, InboxMessage.via == "web") == 2
    assert count(service, Alert, Alert.what == "danger: gas") == 2
    (ticket,) = service.get("/api/v1/tickets", "desk")
    assert (ticket["danger"], ticket["apartments"]) == (True, ["2B"])


def test_danger_in_few_words_is_answered_at_once(service: Running) -> None:
    """ "It is near the outlet now", of a leak: the page says leave, and a person knows."""
    at = visitor(service)
    at.send("report", kinds=["leak"])
    at.open("more")
    at.send("report", words="its near the outlet now")
    assert at.heading == "Leave now"
    assert open_complaints(service)[0]["danger"]
    assert count(service, Alert, Alert.what.startswith("danger")) == 1


def test_a_press_by_mistake_is_told_to_a_person_and_ends_nothing(service: Running) -> None:
    """In both languages: the desk reads it, the alert and the danger stay until somebody decides."""
    for apartment, language, read in (
        ("2A", "en", "I pressed that by mistake. There is no danger here."),
        ("3B", "es", "Lo toqué por error. Aquí no hay peligro."),
    ):
        at = visitor(service, apartment, language=language)
        at.open("danger")
        assert "/mistake" not in at.page  # nothing was told yet
        at.send("danger", kind="gas")
        assert "/mistake" in at.page
        at.open()
        at.send_exactly("mistake", {"once": f"{apartment}-mistake-once"})
        note = page_words(language)["note_mistake"]
        assert note in at.words
        complaint = next(c for c in open_complaints(service) if c["apartment"] == apartment)
        assert complaint["danger"] is True
        talk = service.get(f"/api/v1/complaints/{complaint['id']}", "desk")
        assert read in [m["text"] for m in talk["messages"]]
    assert count(service, Alert, Alert.what == "danger: gas") == 2


def test_what_is_added_to_a_report_is_said_to_be_there(service: Running) -> None:
    """More words on the page of an open report: a line says that they arrived; a new report has none."""
    at = visitor(service)
    at.send("report", kinds=["leak"], words="it drips")
    assert page_words("en")["note_added"] not in at.words
    at.open("more")
    at.send("report", words="it is under the window")
    assert page_words("en")["note_added"] in at.words

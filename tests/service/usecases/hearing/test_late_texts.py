"""A text that a carrier held back: what it says is of the time at which it was written."""

from __future__ import annotations

import smtplib
import time
from datetime import UTC, datetime, timedelta
from email.message import EmailMessage
from typing import Any

import pytest
from sqlalchemy import select
from whole_service import BUILDING, EVENING, Running, mobile, said, topics_asked

from service.store.tables import Alert, FactRow
from service.usecases.hearing.process_inbox import process_pending
from service.usecases.showing.show_conversation import show_conversation
from service.usecases.showing.show_heat_record import show_heat_record

MORNING = datetime(2026, 1, 10, 13, 0, tzinfo=UTC)  # 8 am in New York
AT_NIGHT = datetime(2026, 1, 10, 7, 0, tzinfo=UTC)  # 2 am
REPORT = "no heat since last night, its 58 in here"


def told(service: Running, home: str) -> list[tuple[str, datetime, bool]]:
    """The facts of a home: what sort, of when, and whether it counts."""
    with service.services.db.reading() as session:
        rows = session.scalars(
            select(FactRow).where(FactRow.apartment == home).order_by(FactRow.id)
        )
        return [(str(r.body["type"]), r.at, r.withdrawn_at is None) for r in rows]


def ticket_of(service: Running, answer: dict[str, Any]) -> dict[str, Any]:
    """The ticket that a text has led to."""
    return dict(service.get(f"/api/v1/tickets/{answer['ticket']}", "desk"))


def messages(service: Running, answer: dict[str, Any]) -> list[dict[str, Any]]:
    """The texts of a report that came in."""
    complaint = service.get(f"/api/v1/complaints/{answer['complaint']}", "desk")
    return [m for m in complaint["messages"] if m["direction"] == "in"]


def test_what_it_says_is_of_when_it_was_written(service: Running) -> None:
    """Two in the morning's 58 F, delivered at eight: the trouble began before two."""
    service.move(MORNING)

    answer = service.text(mobile("1A"), REPORT, sent_at=AT_NIGHT)

    facts = told(service, "1A")
    assert {"reported", "room_read"} <= {sort for sort, _, _ in facts}
    assert {at for _, at, _ in facts} == {AT_NIGHT}
    (message,) = messages(service, answer)
    assert datetime.fromisoformat(message["at"]) == MORNING
    assert datetime.fromisoformat(message["said_at"]) == AT_NIGHT
    assert message["said_at_doubt"] is None
    with service.services.db.reading() as session:
        line, *answered = show_conversation(session, str(answer["complaint"])).lines
    assert (line.at, line.written_at) == (MORNING, AT_NIGHT)
    assert {other.written_at for other in answered} == {None}


def test_what_we_owe_counts_from_when_it_came(service: Running) -> None:
    """The ticket is opened, answered and due as if it had been written now; nobody could act before."""
    service.move(MORNING)
    late = service.text(mobile("1A"), "no heat at all", sent_at=AT_NIGHT)
    fresh = service.text(mobile("4B"), "no heat at all")

    first, second = ticket_of(service, late), ticket_of(service, fresh)

    assert datetime.fromisoformat(first["opened_at"]) == MORNING
    assert datetime.fromisoformat(first["respond_by"]) >= MORNING
    assert first["respond_by"] == second["respond_by"]
    assert late["replies"]
    assert {r["send_at"] for r in late["replies"]} == {MORNING.isoformat()}


def test_silence_of_others_counts_from_when_it_was_written(service: Running) -> None:
    """Six hours in which neighbours did not write tell against what would be felt by all of them."""
    service.move(MORNING)
    late = service.text(mobile("1A"), "no heat at all", sent_at=AT_NIGHT)
    shared = sum(
        s["probability"] for s in ticket_of(service, late)["suspects"] if "1A" not in s["component"]
    )
    service.text(mobile("1A"), "never mind, cancel my report")
    again = service.text(mobile("1A"), "no heat at all")
    now = sum(
        s["probability"]
        for s in ticket_of(service, again)["suspects"]
        if "1A" not in s["component"]
    )

    assert shared < now


@pytest.mark.parametrize(
    ("sent_at", "doubt"),
    [
        (MORNING + timedelta(hours=3), "its time of writing lies after its arrival"),
        (MORNING + timedelta(days=400), "its time of writing lies after its arrival"),
        (MORNING - timedelta(days=3), "its time of writing lies too far back"),
        (datetime(2001, 1, 1, tzinfo=UTC), "its time of writing lies too far back"),
        (MORNING + timedelta(seconds=90), None),  # clocks differ by as much
    ],
)
def test_a_stamp_that_cannot_be_right_is_left_alone(
    service: Running, sent_at: datetime, doubt: str | None
) -> None:
    """What it says is then of when it came, and why is shown."""
    service.move(MORNING)

    answer = service.text(mobile("1A"), REPORT, sent_at=sent_at)

    assert {at for _, at, _ in told(service, "1A")} == {MORNING}
    (message,) = messages(service, answer)
    assert message["said_at_doubt"] == doubt


def test_a_clock_that_stands_is_not_believed(service: Running) -> None:
    """A sender that stamps every text with the same time has no clock; its answers are answers."""
    first = service.text(mobile("1A"), "no heat at all", sent_at=EVENING)
    (topic,) = topics_asked(first["replies"])
    service.wait(hours=1)

    answer = service.text(mobile("1A"), "1", sent_at=EVENING)

    assert answer["reading"]["answer"]["topic"] == topic
    assert messages(service, answer)[-1]["said_at_doubt"].startswith("an earlier text")


def test_of_two_texts_that_arrive_swapped_the_one_written_last_counts(service: Running) -> None:
    """61 F at three was written after 58 F at two, though it came first."""
    service.move(MORNING)
    service.text(mobile("1A"), "no heat, 61 in here", sent_at=AT_NIGHT + timedelta(hours=1))
    service.text(mobile("1A"), "no heat, 58 in here", sent_at=AT_NIGHT)

    with service.services.db.reading() as session:
        record = show_heat_record(session, service.services.now(), BUILDING)

    assert [(line.at, line.room_f) for line in record.lines] == [
        (AT_NIGHT + timedelta(hours=1), 61.0),
        (AT_NIGHT, 58.0),
    ]
    (ticket,) = service.get("/api/v1/tickets?state=open", "desk")
    assert not [b for b in ticket["because"] if "58" in b["rule"]]


def test_the_owner_reads_when_it_was_told_and_when_we_heard(service: Running) -> None:
    """By the law of two in the morning, 62 F in New York City, and not by that of eight, 68 F.

    Heat season, New York City Administrative Code 27-2029: 68 F from 6 am to 10 pm with less than 55 F
    outside, 62 F at night.
    """
    service.move(MORNING)
    service.text(mobile("1A"), "no heat, 63 in here", sent_at=AT_NIGHT)
    service.text(mobile("4B"), "no heat, 63 in here")

    with service.services.db.reading() as session:
        record = show_heat_record(session, service.services.now(), BUILDING)

    lines = {line.apartment: line for line in record.lines}
    assert (lines["1A"].at, lines["1A"].came_at, lines["1A"].floor_f) == (AT_NIGHT, MORNING, 62.0)
    assert (lines["4B"].at, lines["4B"].came_at, lines["4B"].floor_f) == (MORNING, None, 68.0)


def asked_twice(service: Running) -> tuple[str, datetime, datetime, str]:
    """A household answers the first question, turns its thermostat, and is asked what that did.

    Returns:
        The first topic, a time at which it was out, one while the check ran, and the second topic.
    """
    first = service.text(mobile("1A"), "its cold in here")
    (one,) = topics_asked(first["replies"])
    service.wait(minutes=5)
    out_at = service.services.now()
    service.wait(minutes=5)
    assert topics_asked(service.text(mobile("1A"), "not sure")["replies"]) == []
    service.wait(minutes=5)
    check_at = service.services.now()
    (two,) = topics_asked(service.wait(minutes=15))
    service.wait(minutes=5)
    return one, out_at, check_at, two


def answers(service: Running, answer: dict[str, Any]) -> dict[str, tuple[str, datetime]]:
    """What a report holds of answers that count, each with its time."""
    complaint = service.get(f"/api/v1/complaints/{answer['complaint']}", "desk")
    return {
        f["topic"]: (f["means"], datetime.fromisoformat(f["at"]))
        for f in complaint["facts"]
        if f["type"] == "answered" and f["counts"]
    }


def test_an_answer_belongs_to_what_was_asked_when_it_was_written(service: Running) -> None:
    """A choice alone that comes after the next question still answers the one before."""
    one, written_at, _, two = asked_twice(service)

    late = service.text(mobile("1A"), "3", sent_at=written_at)

    assert topics_asked(late["replies"]) == [two]  # noted, and what is out stays out
    assert answers(service, late) == {one: ("cold", written_at)}
    after = service.text(mobile("1A"), "2")
    assert after["reading"]["answer"]["topic"] == two


def test_an_answer_does_not_undo_a_later_one(service: Running) -> None:
    """The first question was answered in words since: an older choice changes nothing."""
    one, written_at, *_ = asked_twice(service)
    told_at = service.services.now()
    service.text(mobile("1A"), "ok the radiator is hot now but the room is cold")

    late = service.text(mobile("1A"), "3", sent_at=written_at)

    assert answers(service, late)[one] == ("hot", told_at)


def test_what_is_written_while_a_check_runs_is_no_answer_to_its_question(service: Running) -> None:
    """ "1" to the request to turn the thermostat says that it was read, not that it is warm."""
    one, _, written_at, two = asked_twice(service)

    late = service.text(mobile("1A"), "1", sent_at=written_at)

    assert answers(service, late) == {}
    assert late["replies"] == []
    assert service.text(mobile("1A"), "2")["reading"]["answer"]["topic"] == two
    assert one not in answers(service, late)


def test_a_choice_written_when_nothing_was_asked_has_a_wrong_stamp(service: Running) -> None:
    """A gateway whose clock is hours slow is still talked with."""
    slow = timedelta(hours=5)
    first = service.text(mobile("1A"), "its cold in here", sent_at=EVENING - slow)
    (one,) = topics_asked(first["replies"])
    service.wait(minutes=3)

    second = service.text(mobile("1A"), "3", sent_at=service.services.now() - slow)

    assert second["reading"]["answer"]["topic"] == one
    assert answers(service, second) == {one: ("cold", service.services.now())}


def test_nobody_ends_by_an_older_text_what_was_told_since(service: Running) -> None:
    """ "It works now" of the night comes after the morning's "cold again": the report stays open."""
    service.text(mobile("1A"), "no heat at all")
    service.move(MORNING)
    service.text(mobile("1A"), "its 57 in here now")

    late = service.text(mobile("1A"), "its fixed, heat works now", sent_at=AT_NIGHT)

    assert late["replies"] == []
    complaint = service.get(f"/api/v1/complaints/{late['complaint']}", "desk")
    assert complaint["state"] == "open"


def test_what_was_written_before_a_repair_does_not_undo_it(service: Running) -> None:
    """ "Still no heat" from before a repair comes after it: the ticket stays closed, with the text."""
    answer = service.text(mobile("1A"), "no heat at all")
    service.wait(hours=14)
    written_at = service.services.now()
    service.wait(hours=1)
    body = {
        "fault": "valve_motor_dead",
        "component": "1A.valve",
        "parts": [],
        "installed": None,
        "note": "done",
    }
    path = f"/api/v1/tickets/{answer['ticket']}/close"
    assert service.call("POST", path, "truck", json=body).status_code == 200
    service.wait(hours=1)

    late = service.text(mobile("1A"), "still no heat", sent_at=written_at)
    ticket = ticket_of(service, answer)

    assert (late["complaint"], late["replies"]) == (answer["complaint"], [])
    assert ticket["state"] == "closed"
    assert "came_late" in [h["what"] for h in ticket["history"]]
    assert service.get("/api/v1/tickets?state=open", "desk") == []
    now = service.text(mobile("1A"), "still no heat")
    assert now["ticket"] == answer["ticket"]
    assert ticket_of(service, answer)["state"] == "open"


def test_a_late_danger_is_danger_now(service: Running) -> None:
    """Whatever its stamp says, they are told to leave and the desk is told."""
    service.move(MORNING)

    answer = service.text(mobile("1A"), "I smell gas", sent_at=AT_NIGHT)

    assert "leave" in said(answer).lower()
    ticket = ticket_of(service, answer)
    assert ticket["danger"]
    assert datetime.fromisoformat(ticket["respond_by"]) == MORNING
    with service.services.db.reading() as session:
        alert = session.scalars(select(Alert)).one()
        assert alert.at == MORNING


def test_a_mail_is_dated_by_its_header(service: Running) -> None:
    """The same rules hold for what comes as mail."""
    service.move(MORNING)
    mail = EmailMessage()
    mail["Date"] = AT_NIGHT
    mail.set_content(REPORT)
    number = mobile("1A").removeprefix("+1")

    with smtplib.SMTP("127.0.0.1", service.smtp_port, timeout=20) as client:
        client.sendmail(f"{number}@sms.example", "intake@endswitch.example", mail.as_bytes())
    process_pending(service.services, service.services.now())

    assert {at for _, at, _ in _once_there(service, "1A")} == {AT_NIGHT}


def _once_there(service: Running, home: str) -> list[tuple[str, datetime, bool]]:
    """The facts of a home; the intake's own job may be at work on the text."""
    until = time.monotonic() + 20
    while not (found := told(service, home)) and time.monotonic() < until:
        time.sleep(0.1)
    return found

"""Texts on their way out: in order, tried again, given up; what is urgent first."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

from sqlalchemy import select
from whole_service import (
    BUILDING,
    EVENING,
    KeepingGateway,
    Running,
    building_document,
    fill,
    household_rows,
    mobile,
    running,
    settings_for,
)

from service.clock import ManualClock
from service.store.tables import OutboxMessage
from service.usecases.sending.outgoing import Draft, Letter, write_outbox
from service.usecases.sending.send_outbox import BATCH, send_outbox

ZONE = "America/New_York"
STRANGER = "+12125550150"  # is always asked where it lives


def test_a_failed_text_is_tried_again(service: Running, gateway: KeepingGateway) -> None:
    """The gateway is down for two tries; then the texts go out, in order and once."""
    gateway.failures_left = 2
    answer = service.text(STRANGER, "too cold in here")
    assert gateway.sent == []

    service.wait(minutes=2)

    assert [o.text for o in gateway.sent] == [r["text"] for r in answer["replies"]]


def test_a_text_waits_for_the_one_before_it(service: Running, gateway: KeepingGateway) -> None:
    """The first of two texts to a phone fails: the second does not overtake it."""
    letter, said = Letter(STRANGER, ZONE, at_once=True), ("first", "second", "third")
    gateway.failures_left = 1
    with service.services.db.transaction() as session:
        drafts = tuple(Draft(words) for words in said)
        write_outbox(session, EVENING, service.services.sms, letter, drafts)

    service.wait(minutes=2)

    assert [o.text for o in gateway.sent] == list(said)


def test_one_phone_that_cannot_be_reached_holds_up_no_other(
    service: Running, gateway: KeepingGateway
) -> None:
    """However many texts wait for it."""
    gateway.failures_left = 1
    waiting = tuple(Draft(f"number {n}") for n in range(BATCH + 1))
    with service.services.db.transaction() as session:
        for to, drafts in ((STRANGER, waiting), (mobile("1A"), (Draft("to another phone"),))):
            letter = Letter(to, ZONE, at_once=True)
            write_outbox(session, EVENING, service.services.sms, letter, drafts)

    send_outbox(service.services, EVENING)
    send_outbox(service.services, EVENING)

    assert [o.text for o in gateway.sent] == ["to another phone"]


def test_a_slow_gateway_does_not_keep_what_is_urgent_waiting(
    service: Running, gateway: KeepingGateway
) -> None:
    """A round of sending ends after some seconds, whatever is left of it; danger begins the next."""
    letter = Letter(STRANGER, ZONE, at_once=True)

    def write(*drafts: Draft) -> None:
        with service.services.db.transaction() as session:
            write_outbox(session, EVENING, service.services.sms, letter, drafts)

    with service.services.sending():  # the jobs that send by themselves stay out of it
        write(Draft("first"), Draft("second"), Draft("third"))
        send_outbox(service.services, EVENING, round_seconds=0)
        write(Draft("leave now", urgent=True))
        for _ in range(3):
            send_outbox(service.services, EVENING, round_seconds=0)

    assert [o.text for o in gateway.sent] == ["first", "leave now", "second", "third"]


def test_the_clock_moves_on_when_all_that_is_due_has_gone_out(
    service: Running, gateway: KeepingGateway
) -> None:
    """However many texts are due at one instant."""
    with service.services.db.transaction() as session:
        for n in range(BATCH + 5):
            letter = Letter(f"+1{200 + n}5550150", ZONE, at_once=True)
            write_outbox(session, EVENING, service.services.sms, letter, (Draft("hello"),))

    service.wait(hours=1)

    assert {out.sent_at for out in gateway.sent if out.text == "hello"} == {EVENING}


def test_what_a_person_wrote_and_nobody_got_leads_to_its_ticket(
    service: Running, gateway: KeepingGateway
) -> None:
    """The alert says of which ticket the household was not reached."""
    heard = service.text(mobile("3A"), "no heat")
    gateway.failures_left = 10_000
    path = f"/api/v1/complaints/{heard['complaint']}/write"
    service.call("POST", path, "desk", json={"text": "We are on our way."})

    service.wait(hours=30)

    alerts = service.get("/api/v1/alerts?state=open", "desk")
    assert ("tenant not reached", heard["ticket"]) in [(a["what"], a["ticket"]) for a in alerts]


def test_late_news_waits_for_the_morning_of_its_own_building(
    service: Running, gateway: KeepingGateway
) -> None:
    """What the gateway took too late in Los Angeles does not go out by the clocks of New York."""
    west = "west-1"
    document = building_document(west, "1 West Street") | {"timezone": "America/Los_Angeles"}
    put = service.call("PUT", f"/api/v1/buildings/{west}", "owner", json=document)
    assert put.status_code == 200, put.text
    row = household_rows()[0] | {"building": west, "mobile": "+12135550123"}
    service.call("PUT", f"/api/v1/buildings/{west}/households", "owner", json=[row])
    service.move(datetime(2026, 1, 10, 4, 40, tzinfo=UTC))  # 8:40 pm there, 11:40 pm in New York
    gateway.failures_left = 4  # gone after more than ten minutes
    texts = {"en": "Heat is back by six.", "es": "La calefaccion vuelve a las seis."}
    path = f"/api/v1/buildings/{west}/broadcast"
    service.call("POST", path, "desk", json={"id": "n-1", "texts": texts})

    service.wait(hours=14)

    assert [out.sent_at for out in gateway.sent if out.to == "+12135550123"] == [
        datetime(2026, 1, 10, 4, 52, 35, tzinfo=UTC)  # 5 + 30 + 120 + 600 s later: still day there
    ]


def test_what_waits_for_the_morning_does_not_go_out_after_a_stop(service: Running) -> None:
    """Not even when both happen at one instant, nor when texts are wanted again before the morning."""
    service.wait(hours=3)  # 10 pm
    texts = {"en": "Heat is back by six.", "es": "La calefaccion vuelve a las seis."}
    path = f"/api/v1/buildings/{BUILDING}/broadcast"
    service.call("POST", path, "desk", json={"id": "n-1", "texts": texts})
    for mobile_of in ("1A", "1B"):
        service.text(mobile(mobile_of), "STOP")
    service.text(mobile("1B"), "START")

    sent = service.wait(hours=14)

    told = {text["to"] for text in sent if "Heat is back" in text["text"]}
    assert told == {mobile(home) for home in ("2A", "2B", "3A", "3B", "4A", "4B")}


def test_news_that_nobody_got_is_one_alert(service: Running, gateway: KeepingGateway) -> None:
    """Eight phones of a building are not reached: the desk is told once, in words of their own."""
    gateway.failures_left = 10_000
    texts = {"en": "Heat is back by six.", "es": "La calefaccion vuelve a las seis."}
    path = f"/api/v1/buildings/{BUILDING}/broadcast"
    service.call("POST", path, "desk", json={"id": "n-1", "texts": texts})

    service.wait(hours=30)

    alerts = [a["what"] for a in service.get("/api/v1/alerts?state=open", "desk")]
    assert alerts.count("texts did not reach every household") == 1
    assert "tenant not reached" not in alerts


def test_a_text_the_gateway_never_takes_is_given_up(
    service: Running, gateway: KeepingGateway
) -> None:
    """After four hours it is marked as failed and no longer tried."""
    gateway.failures_left = 10_000
    service.text(mobile("3A"), "hello")

    service.wait(hours=30)
    tried = 10_000 - gateway.failures_left
    service.wait(hours=30)

    assert 10_000 - gateway.failures_left == tried
    with service.services.db.reading() as session:
        assert all(o.failed_at is not None for o in session.scalars(select(OutboxMessage)))


def test_texts_not_sent_before_a_stop_are_sent_after_the_restart(
    tmp_path: Path, gateway: KeepingGateway
) -> None:
    """The outbox survives the process."""
    settings = settings_for(tmp_path)
    gateway.failures_left = 10_000
    with running(settings, ManualClock(EVENING), gateway) as service:
        fill(service)
        service.text(mobile("3A"), "hello")
    gateway.failures_left = 0

    with running(settings, ManualClock(EVENING + timedelta(hours=1)), gateway) as service:
        send_outbox(service.services, service.services.now())

    assert gateway.sent


def test_two_machines_do_not_answer_each_other_for_ever(service: Running) -> None:
    """At most thirty texts in ten minutes go to one number, whatever it sends."""
    replies = [len(service.text("+12125550177", "hello there")["replies"]) for _ in range(45)]

    assert sum(replies) <= 30
    assert replies[-1] == 0

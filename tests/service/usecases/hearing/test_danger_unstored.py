"""With a database that cannot be used, people in danger are told to leave: at every door, once."""

from __future__ import annotations

import smtplib
from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy import func, select, text
from whole_service import Running, break_database, mend_database, mobile

from service.clock import ManualClock
from service.sms.receive import mail_store
from service.store.tables import Alert, InboxMessage, OutboxMessage
from service.usecases.hearing.process_inbox import process_pending
from service.usecases.rows.danger_journal import DangerJournal
from service.usecases.sending.send_outbox import send_outbox


def _post(
    service: Running, words: str, sender: str = mobile("1A"), text_id: str = "d-1"
) -> tuple[int, dict[str, Any]]:
    body = {"id": text_id, "from": sender, "to": "+12125550199", "text": words, "sent_at": None}
    answer = service.call("POST", "/api/v1/texts", "gateway", json=body)
    if answer.status_code == 503:
        assert answer.headers["content-type"] == "application/problem+json"
        assert int(answer.headers["retry-after"]) > 0
    return answer.status_code, answer.json()


def _mail(service: Running, port: int, words: str, mail_id: str = "<9@sms.example>") -> int:
    """Send a mail as the gateway does; the code it is answered with."""
    sender = f"{mobile('1A').lstrip('+')}@sms.example"
    raw = f"Message-ID: {mail_id}\r\nDate: Fri, 9 Jan 2026 19:00:00 -0500\r\n\r\n{words}\r\n"
    with smtplib.SMTP("127.0.0.1", port, timeout=20) as client:
        try:
            client.sendmail(sender, [service.services.settings.intake_address], raw.encode())
        except smtplib.SMTPDataError as refused:
            return refused.smtp_code
    return 250


def _sent(service: Running) -> list[str]:
    return [outgoing.text for outgoing in service.gateway.sent]


def _count(service: Running, row: Any, *where: Any) -> int:
    with service.services.db.reading() as session:
        return session.scalar(select(func.count()).select_from(row).where(*where)) or 0


def _work(service: Running) -> None:
    now = service.services.now()
    process_pending(service.services, now)
    send_outbox(service.services, now)


@pytest.mark.parametrize(
    ("words", "begins"),
    [
        ("I smell gas in the kitchen", "Leave now with everyone."),
        ("huele a gas en la cocina", "Salgan todos ya."),
        ("the carbon monoxide alarm is going off", "Get everyone out to fresh air now."),
    ],
)
def test_over_http_it_is_sent_and_said_in_the_refusal(
    service: Running, words: str, begins: str
) -> None:
    """503, the leave-now text on its way in the language of the text, and the same in the answer."""
    break_database(service)

    status, answer = _post(service, words)

    assert status == answer["status"] == 503
    (reply,) = answer["replies"]
    assert reply["to"] == mobile("1A")
    assert reply["text"].startswith(begins)
    assert "911" in reply["text"]
    assert reply["segments"] <= 2
    assert reply["asks"] is None
    assert _sent(service) == [reply["text"]]


def test_delivered_again_it_is_told_once_and_stored_when_the_database_is_back(
    service: Running,
) -> None:
    """Two deliveries while it is broken, one after: one text, one row in the inbox, one alert."""
    break_database(service)
    assert _post(service, "I smell gas")[0] == 503
    assert _post(service, "I smell gas")[0] == 503
    mend_database(service)

    status, answer = _post(service, "I smell gas")
    _work(service)

    assert status == 200
    assert answer["duplicate"] is False or answer["complaint"] is not None
    assert len(_sent(service)) == 1
    assert _count(service, InboxMessage) == 1
    assert _count(service, Alert, Alert.what == "danger: gas") == 1
    assert service.services.journal.waiting() == ()
    tickets = service.get("/api/v1/tickets", "desk")
    assert [t["danger"] for t in tickets] == [True]


def test_never_delivered_again_it_still_becomes_an_alert_and_a_ticket(service: Running) -> None:
    """What nobody sends a second time is stored by us as soon as the database takes it."""
    break_database(service)
    _post(service, "there is smoke in the hall and sparks")
    mend_database(service)

    _work(service)

    assert len(_sent(service)) == 1
    assert _count(service, Alert, Alert.what.startswith("danger")) == 1
    assert service.get("/api/v1/tickets", "desk")[0]["danger"] is True


def test_over_smtp_it_is_sent_before_the_451(service: Running) -> None:
    """The mail is put off, its sender told to leave, once; after the repair nothing goes twice."""
    port = service.smtp_port
    break_database(service)

    assert _mail(service, port, "I smell gas in the hall") == 451
    assert _mail(service, port, "I smell gas in the hall") == 451
    assert _mail(service, port, "no heat", "<10@sms.example>") == 451
    assert len(_sent(service)) == 1
    assert _sent(service)[0].startswith("Leave now with everyone.")
    assert service.gateway.sent[0].to == mobile("1A")

    mend_database(service)
    assert _mail(service, port, "I smell gas in the hall") == 250
    _work(service)

    assert len(_sent(service)) == 1
    assert _count(service, InboxMessage, InboxMessage.via == "smtp") == 1
    assert _count(service, Alert, Alert.what == "danger: gas") == 1


def test_mail_that_nobody_wrote_is_not_answered(service: Running) -> None:
    """Neither a stranger's domain nor an automatic answer makes us text anybody."""
    store = mail_store(service.services)
    break_database(service)

    for sender, raw in (
        ("somebody@elsewhere.example", b"Message-ID: <1@x>\r\n\r\nI smell gas\r\n"),
        (
            f"{mobile('1A')}@sms.example",
            b"Message-ID: <2@x>\r\nAuto-Submitted: auto-replied\r\n\r\nI smell gas\r\n",
        ),
    ):
        with pytest.raises(Exception, match="database"):
            store(sender, ("intake@endswitch.example",), raw)

    assert _sent(service) == []


def test_while_the_gateway_is_down_too_it_is_tried_again(service: Running) -> None:
    """Neither database nor gateway: the text goes as soon as one of them is back."""
    break_database(service)
    service.gateway.failures_left = 1
    _post(service, "I smell gas")
    assert _sent(service) == []

    with pytest.raises(Exception, match="database"):
        process_pending(service.services, service.services.now())

    assert len(_sent(service)) == 1


def test_stored_but_not_answerable_it_is_sent_past_the_outbox(service: Running) -> None:
    """The inbox takes the text, the outbox does not take the answer: told all the same, once."""
    service.text(mobile("1A"), "no heat")
    before = len(_sent(service))
    with service.services.db.engine.begin() as connection:
        connection.execute(text("ALTER TABLE outbox RENAME TO outbox_gone"))
    assert _post(service, "I smell gas")[0] == 503
    assert len(_sent(service)) == before + 1

    with service.services.db.engine.begin() as connection:
        connection.execute(text("ALTER TABLE outbox_gone RENAME TO outbox"))
    assert _post(service, "I smell gas")[0] == 200
    _work(service)

    told = [said for said in _sent(service) if said.startswith("Leave now")]
    assert len(told) == 1
    assert _count(service, OutboxMessage, OutboxMessage.urgent) == 1
    assert _count(service, Alert, Alert.what == "danger: gas") == 1


def test_it_survives_a_restart(service: Running) -> None:
    """What was told is in a file that only the service's user reads, and is read again at start."""
    break_database(service)
    _post(service, "I smell gas")
    path = service.services.settings.state / "dangers.jsonl"

    found = DangerJournal(path).waiting()

    assert [(e.number, e.dangers, e.told_at is None) for e in found] == [
        (mobile("1A"), ("gas",), False)
    ]
    assert path.stat().st_mode & 0o077 == 0
    path.write_bytes(path.read_bytes() + b'{"via": "http"}\nnot json\n')
    assert len(DangerJournal(path).waiting()) == 1


def test_nobody_can_make_us_text_the_town(service: Running) -> None:
    """With the database down no token can be checked: one number once in ten minutes for the same
    danger, and at most 120 numbers an hour (common practice, no source)."""
    break_database(service)
    for n in range(3):
        _post(service, "I smell gas", text_id=f"same-{n}")
    assert len(_sent(service)) == 1
    _post(service, "now there is fire and smoke", text_id="other")
    assert len(_sent(service)) == 2
    clock = service.services.clock
    assert isinstance(clock, ManualClock)
    clock.move(clock.now() + timedelta(minutes=11))
    _post(service, "I still smell gas", text_id="later")
    assert len(_sent(service)) == 3
    for n in range(130):
        _post(service, "I smell gas", f"+1212555{2000 + n}", f"town-{n}")
    assert len(_sent(service)) == 120


def test_other_texts_are_refused_without_replies(service: Running) -> None:
    """An ordinary complaint is delivered again later."""
    break_database(service)

    assert _post(service, "no heat")[1]["replies"] == []
    assert _sent(service) == []


def test_an_odd_body_is_refused_too(service: Running) -> None:
    """Whatever was sent, a broken database is a 503 and no crash."""
    break_database(service)

    for content in (b"", b"[]", b'{"from": 1}', b'{"text": "gas"}', b"\xff", b"[" * 5000):
        answer = service.call("POST", "/api/v1/texts", "gateway", content=content)
        assert answer.status_code == 503
        assert answer.json()["replies"] == []


def test_without_a_token_nothing_is_said(service: Running) -> None:
    """Whoever does not even claim to be the gateway is asked to sign in."""
    break_database(service)

    assert service.call("POST", "/api/v1/texts", json={"text": "I smell gas"}).status_code == 401

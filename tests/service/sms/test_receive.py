"""From a mail over SMTP to a row in the inbox."""

from __future__ import annotations

import smtplib
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from smtp_wire import ADDRESS, StartIntake
from sqlalchemy import select
from whole_service import migrated

from service.clock import ManualClock
from service.settings import Settings
from service.sms.gateways import make_gateway
from service.sms.receive import mail_store, sms_rules
from service.store.database import Database
from service.store.tables import Alert, InboxMessage
from service.telemetry.metrics import Metrics
from service.usecases.rows.services import Services

NOW = datetime(2026, 1, 10, 1, 0, tzinfo=UTC)
NUMBER = "2125550123@sms.example"


@pytest.fixture
def services(tmp_path: Path) -> Iterator[Services]:
    """A service with an empty database and a clock that stands still."""
    settings = Settings(state=tmp_path)
    (tmp_path / "endswitch.db").write_bytes(migrated())
    database = Database(settings.database)
    yield Services(
        db=database,
        clock=ManualClock(NOW),
        settings=settings,
        gateway=make_gateway(settings),
        sms=sms_rules(),
    )
    database.close()


def _rows(services: Services) -> list[InboxMessage]:
    with services.db.reading() as session:
        rows = list(session.scalars(select(InboxMessage).order_by(InboxMessage.seq)))
        session.expunge_all()
    return rows


def test_a_text_lands_in_the_inbox_before_its_250(
    services: Services, start_intake: StartIntake
) -> None:
    """Raw, under the sender's id, with its number, not yet read."""
    intake = start_intake(mail_store(services))
    raw = b"Message-ID: <7@sms.example>\r\nDate: Fri, 9 Jan 2026 19:59:00 -0500\r\n\r\nNo heat\r\n"
    with smtplib.SMTP("127.0.0.1", intake.port, timeout=10) as client:
        client.sendmail(NUMBER, [ADDRESS], raw)
        (row,) = _rows(services)
    assert (row.sender_id, row.from_number, row.state) == (
        "<7@sms.example>",
        "+12125550123",
        "pending",
    )
    assert (row.raw, row.text, row.received_at) == (raw, None, NOW)
    assert row.sent_at == datetime(2026, 1, 10, 0, 59, tzinfo=UTC)


def test_the_same_mail_twice_is_one_row(services: Services) -> None:
    """A sender who never saw the 250 sends again; nothing is doubled."""
    metrics = Metrics()
    store = mail_store(services, metrics)
    for _ in range(2):
        store(NUMBER, (ADDRESS,), b"Message-ID: <7@sms.example>\r\n\r\nNo heat\r\n")
        dated = b"Date: Fri, 09 Jan 2026 18:00:00 -0500\r\n\r\nNo heat and no id\r\n"
        store(NUMBER, (ADDRESS,), dated)
    assert len(_rows(services)) == 2
    shown = metrics.exposition().decode()
    assert 'inbound_total{result="stored",via="smtp"} 2.0' in shown
    assert 'inbound_total{result="duplicate",via="smtp"} 2.0' in shown


def test_words_without_id_and_date_are_never_a_repetition(services: Services) -> None:
    """ "1" to one question and "1" to the next are two answers: without an id both are kept."""
    store = mail_store(services)
    for _ in range(2):
        store(NUMBER, (ADDRESS,), b"\r\n1\r\n")
    assert len(_rows(services)) == 2


@pytest.mark.parametrize(
    ("sender", "head", "state", "number"),
    [
        (NUMBER, b"", "pending", "+12125550123"),
        ("bounce@relay.example", b"From: 2125550123@sms.example\r\n", "pending", "+12125550123"),
        ("bounce@relay.example", b"From: 2125550123@sms.example\r\n" * 2, "set_aside", ""),
        ("a@evil.example", b"", "set_aside", ""),
        ("2125550123@evil.example", b"From: 2125550123@evil.example\r\n", "set_aside", ""),
        ("<>", b"Auto-Submitted: auto-replied\r\n", "set_aside", ""),
    ],
)
def test_only_numbers_at_the_gateway_are_worked_off(
    services: Services, sender: str, head: bytes, state: str, number: str
) -> None:
    """Mail from anybody else is kept, set aside, and raises no alert."""
    mail_store(services)(sender, (ADDRESS,), head + b"\r\nNo heat\r\n")
    (row,) = _rows(services)
    assert (row.state, row.from_number) == (state, number)
    with services.db.reading() as session:
        assert session.scalars(select(Alert)).all() == []


def test_a_numbers_automatic_mail_is_set_aside_with_an_alert(services: Services) -> None:
    """A robot is not answered, but a person is told in case the gateway mislabels a tenant."""
    mail_store(services)(NUMBER, (ADDRESS,), b"Auto-Submitted: auto-replied\r\n\r\nI am away\r\n")
    (row,) = _rows(services)
    assert row.state == "set_aside"
    with services.db.reading() as session:
        assert session.scalars(select(Alert.message_id)).all() == [row.id]


def test_the_rules_handed_to_the_use_cases_are_the_real_ones() -> None:
    """Folding, counting, numbers and mail text all answer."""
    rules = sms_rules()
    assert rules.segments(rules.fold("á" * 160)) == 1
    assert rules.e164("212 555 0123") == "+12125550123"
    assert rules.mail_text(b"\r\nno heat") == "no heat"


def test_a_danger_that_cannot_be_stored_is_asked_for_again(
    services: Services, start_intake: StartIntake, tmp_path: Path
) -> None:
    """With a broken database the answer is 451, which makes the gateway bring the text again."""
    intake = start_intake(mail_store(services))
    services.db.close()
    for path in tmp_path.glob("endswitch.db*"):
        path.unlink()
    (tmp_path / "endswitch.db").write_bytes(b"this is no database " * 400)
    with (
        smtplib.SMTP("127.0.0.1", intake.port, timeout=10) as client,
        pytest.raises(smtplib.SMTPDataError) as refused,
    ):
        client.sendmail(NUMBER, [ADDRESS], b"Message-ID: <8@x>\r\n\r\nI smell gas\r\n")
    assert refused.value.smtp_code == 451

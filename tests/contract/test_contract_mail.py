"""Section 7 of the outside contract: texts that come by mail."""

from __future__ import annotations

import smtplib
from contextlib import suppress
from email.message import EmailMessage

import pytest
from night import wait_until_read
from program import INTAKE, Program
from shapes import check_mail_row
from tenants import number_of

pytestmark = pytest.mark.usefixtures("mill_lane")


def test_mail_is_a_text_like_any_other(program: Program, number: str) -> None:
    """It is stored under its Message-ID, answered through the same outbox, and counted once."""
    sent = program.mail(number, "no tengo calefacción, estamos a 14 grados")
    row = wait_until_read(program, sent)
    check_mail_row(row)
    assert (row["via"], row["from"], row["state"]) == ("smtp", number, "read")
    assert row["id"] == sent
    complaint = program.get(f"/api/v1/complaints/{row['complaint']}")
    assert complaint["ticket"].startswith("t_")
    program.move(seconds=1)
    lines = [x for x in program.outbox() if x["to"] == number]
    assert lines
    program.mail(number, "no tengo calefacción, estamos a 14 grados", sent)
    program.move(seconds=1)
    assert [m["id"] for m in program.inbox()].count(sent) == 1
    assert [x for x in program.outbox() if x["to"] == number] == lines


@pytest.mark.parametrize(
    ("sender", "recipient"),
    [
        ("12125550170@sms.example", INTAKE),
        ("+12125550171@SMS.EXAMPLE", INTAKE),
        ("2125550172@sms.example", "Intake@endswitch.example"),
    ],
)
def test_senders_and_the_intake_may_be_written_differently(
    program: Program, sender: str, recipient: str
) -> None:
    """Gateways differ in how they write a number; domains have no case."""
    mail = EmailMessage()
    mail["From"], mail["To"], mail["Message-ID"] = sender, recipient, f"<{sender}>"
    mail.set_content("hello")
    with smtplib.SMTP("127.0.0.1", program.smtp_port, timeout=20) as door:
        assert door.send_message(mail) == {}
    wait_until_read(program, f"<{sender}>")


@pytest.mark.parametrize("sender", ["+12125550101@elsewhere.example", "somebody@sms.example"])
def test_mail_of_nobody_we_know_makes_no_complaint(program: Program, sender: str) -> None:
    """Another gateway domain, or no number: refused or set aside, and answered to nobody."""
    program.move(seconds=1)  # whatever came before is answered
    before, lines = {m["id"] for m in program.inbox()}, program.outbox()
    mail = f"Message-ID: <{sender}>\r\n\r\nno heat\r\n".encode()
    with (
        suppress(smtplib.SMTPException),
        smtplib.SMTP("127.0.0.1", program.smtp_port, timeout=20) as door,
    ):
        door.sendmail(sender, [INTAKE], mail)
    program.move(seconds=1)
    rows = [m for m in program.inbox() if m["id"] not in before]
    assert all(m["complaint"] is None and m["state"] == "set_aside" for m in rows)
    assert program.outbox() == lines


def test_mail_to_another_address_is_refused(program: Program) -> None:
    """There is one intake."""
    before = program.inbox()
    with (
        smtplib.SMTP("127.0.0.1", program.smtp_port, timeout=20) as door,
        pytest.raises(smtplib.SMTPRecipientsRefused),
    ):
        door.sendmail("+12125550101@sms.example", ["desk@endswitch.example"], b"\r\nno heat\r\n")
    assert program.inbox() == before


@pytest.mark.parametrize("senders", [(87, 88), (89, 89)])
def test_the_same_words_again_are_another_text(program: Program, senders: tuple[int, int]) -> None:
    """Two neighbours write the same, or one answers 1 twice; the gateway gives no Message-ID."""
    numbers = [number_of(n) for n in senders]
    for number in numbers:
        with smtplib.SMTP("127.0.0.1", program.smtp_port, timeout=20) as door:
            door.sendmail(f"{number}@sms.example", [INTAKE], f"\r\n{senders}\r\n".encode())
        program.move(hours=2)
    assert [m["from"] for m in program.inbox() if m["from"] in numbers] == numbers


def test_mail_without_a_message_id_is_still_a_text(program: Program) -> None:
    """It is stored under some id of its own."""
    before = {m["id"] for m in program.inbox()}
    with smtplib.SMTP("127.0.0.1", program.smtp_port, timeout=20) as door:
        door.sendmail("+12125550173@sms.example", [INTAKE], b"\r\nhello there, without\r\n")
    (row,) = [m for m in program.inbox() if m["id"] not in before]
    check_mail_row(row)

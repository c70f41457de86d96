"""Sections 4, 5 and 7 of the outside contract: texts, tickets, the technician's work, mail."""

from __future__ import annotations

import smtplib
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from datetime import timedelta
from email.message import EmailMessage
from itertools import count
from typing import Any

import pytest
from night import wait_until_read
from program import INTAKE, Program, moment
from shapes import (
    check_mail_row,
    check_problem,
    check_refusal,
    check_reply,
    check_text_answer,
    check_ticket,
)
from tenants import building, households, number_of

HOUSES = [f"mill-{n}" for n in range(1, 8)]
FREE: Iterator[int] = count(0)


@pytest.fixture(scope="module", autouse=True)
def _houses(program: Program) -> None:
    """Seven buildings on a cold evening, twelve numbers each."""
    now = program.now()
    hours = [
        {"at": (now + timedelta(hours=h)).isoformat(), "outdoor_f": 20.0} for h in range(-24, 73)
    ]
    for n, house in enumerate(HOUSES):
        for path, body in (
            (f"/api/v1/buildings/{house}", building(house)),
            (f"/api/v1/buildings/{house}/households", households(house, 12 * n)),
            (f"/api/v1/weather/k{house}", {"hours": hours}),
        ):
            assert program.put(path, body).status_code == 200


@pytest.fixture
def number() -> str:
    """The number of 1A in a building where nobody has written yet."""
    return number_of(12 * next(FREE))


def said(program: Program, number: str, words: str) -> dict[str, Any]:
    """A text over HTTP whose answer has the right shape."""
    answer = program.text(number, words)
    check_text_answer(answer)
    return answer


def ticket_of(program: Program, answer: dict[str, Any], role: str = "truck") -> dict[str, Any]:
    """The ticket a text ended in."""
    ticket: dict[str, Any] = program.get(f"/api/v1/tickets/{answer['ticket']}", role)
    check_ticket(ticket)
    return ticket


def work(program: Program, ticket: str, what: str, body: dict[str, Any]) -> Any:
    """A finding or a closure by the technician."""
    return program.call("POST", f"/api/v1/tickets/{ticket}/{what}", "truck", json=body)


def test_a_complaint_is_answered_and_sent_once(program: Program, number: str) -> None:
    """Same id, same answer, `duplicate`, and nothing more is sent."""
    words = "no heat, its 58 in here and I have a baby"
    first = program.post_text(number, words, "same-id").json()
    check_text_answer(first)
    assert first["duplicate"] is False
    assert first["reading"]["kinds"] == ["too_cold"]
    assert first["reading"]["room_temp"] == {"value": 58, "unit": "F"}
    assert first["reading"]["care"] == ["infant"]
    assert first["replies"]
    lines = program.outbox()

    again = program.post_text(number, words, "same-id")

    assert again.status_code == 200
    assert again.json() == first | {"duplicate": True}
    assert program.outbox() == lines
    assert [m["id"] for m in program.inbox()].count("same-id") == 1
    _is_told_everywhere(program, number, first)


def _is_told_everywhere(program: Program, number: str, answer: dict[str, Any]) -> None:
    """The outbox line, the inbox row, the complaint and the ticket tell the same story."""
    line = next(x for x in program.outbox() if x["to"] == number)
    check_reply(line)
    moment(line["sent_at"])
    reply = answer["replies"][0]
    assert {k: line[k] for k in reply} == reply
    row = next(m for m in program.inbox() if m["id"] == "same-id")
    check_mail_row(row)
    assert (row["from"], row["via"], row["state"]) == (number, "http", "read")
    assert row["complaint"] == answer["complaint"]
    complaint = program.get(f"/api/v1/complaints/{answer['complaint']}")
    assert complaint["ticket"] == answer["ticket"]
    assert complaint["messages"]
    assert complaint["facts"]
    assert answer["complaint"] in ticket_of(program, answer)["complaints"]
    assert ticket_of(program, answer, "desk") == ticket_of(program, answer, "truck")


def test_danger_is_answered_at_once_and_due_first(program: Program, number: str) -> None:
    """The first words out say leave; no question comes along; the ticket leads the list."""
    answer = said(program, number, "I smell gas in the hallway")
    assert answer["reading"]["danger"] is True
    assert answer["reading"]["kinds"] == ["gas_smell"]
    assert "911" in answer["replies"][0]["text"]
    assert all(r["asks"] is None for r in answer["replies"])
    assert all(moment(r["send_at"]) == program.now() for r in answer["replies"])
    ticket = ticket_of(program, answer)
    assert ticket["danger"] is True
    assert moment(ticket["respond_by"]) <= program.now()
    assert program.get("/api/v1/tickets", state="open")[0]["id"] == ticket["id"]


def test_tickets_are_listed_by_state_and_building(program: Program, number: str) -> None:
    """Most pressing first, and only what was asked for."""
    answer = said(program, number, "heat is out, 60 degrees")
    ticket = ticket_of(program, answer)
    for role in ("desk", "truck"):
        listed = program.get("/api/v1/tickets", role, building=ticket["building"])
        assert [t["id"] for t in listed] == [ticket["id"]]
    everywhere = program.get("/api/v1/tickets", state="open")
    assert ticket["id"] in {t["id"] for t in everywhere}
    assert {t["state"] for t in everywhere} == {"open"}
    dangers = [t["danger"] for t in everywhere]
    assert dangers == sorted(dangers, reverse=True)
    calm = [moment(t["respond_by"]) for t in everywhere if not t["danger"]]
    assert calm == sorted(calm)
    assert ticket["id"] not in {t["id"] for t in program.get("/api/v1/tickets", state="closed")}
    assert program.get("/api/v1/tickets", building="mill-404") == []


def test_findings_move_the_suspects_and_a_closed_ticket_stays_closed(
    program: Program, number: str
) -> None:
    """Both shapes of a finding, then the closure with its parts and no date."""
    answer = said(program, number, "no heat, my thermostat is set to 70 and it is 61")
    ticket = ticket_of(program, answer)
    named = {s["component"] for s in ticket["suspects"]} | {
        c["component"] for c in ticket["checks"]
    }
    assert "boiler-1" in named

    looked = work(
        program,
        ticket["id"],
        "findings",
        {"test": "switch_breaker", "component": "boiler-1", "outcome": "healthy"},
    )
    assert looked.status_code == 200, looked.text
    check_ticket(looked.json())
    assert share(looked.json(), "boiler_switch_off") < share(ticket, "boiler_switch_off")
    assert ("switch_breaker", "boiler-1") not in pairs(looked.json())

    dead = {"test": "motor_ohms", "component": "1A.valve", "outcome": "faulty"}
    tried = work(program, ticket["id"], "findings", dead)
    assert tried.status_code == 200, tried.text
    check_ticket(tried.json())
    assert tried.json()["suspects"][0]["fault"] == "valve_motor_dead"
    _close(program, ticket["id"])


def _close(program: Program, ticket: str) -> None:
    closure = {
        "fault": "valve_motor_dead",
        "component": "1A.valve",
        "parts": [{"part": "actuator_head", "quantity": 1}],
        "installed": None,
        "note": "motor open, head replaced",
    }
    answer = work(program, ticket, "close", closure)
    assert answer.status_code == 200, answer.text
    assert answer.json()["id"] == ticket
    assert answer.json()["state"] == "closed"
    assert program.get(f"/api/v1/tickets/{ticket}")["state"] == "closed"
    assert ticket in {t["id"] for t in program.get("/api/v1/tickets", state="closed")}
    assert ticket not in {t["id"] for t in program.get("/api/v1/tickets", state="open")}
    again = work(program, ticket, "close", closure)
    assert again.status_code in {200, 409}


def share(ticket: dict[str, Any], fault: str) -> float:
    """What a fault weighs on a ticket, all components together."""
    return float(sum(s["probability"] for s in ticket["suspects"] if s["fault"] == fault))


def pairs(ticket: dict[str, Any]) -> set[tuple[str, str]]:
    """The checks a ticket proposes."""
    return {(c["test"], c["component"]) for c in ticket["checks"]}


def test_a_measured_value_counts_with_its_unit(program: Program, number: str) -> None:
    """No volts at the motor while calling is the wiring or the supply; 26 V is not."""
    answer = said(program, number, "freezing in my apartment, hot water is fine, 60 degrees")
    ticket = answer["ticket"]
    for calling, value in ((True, 0.2), (False, 0), (None, 0.3)):
        body = {"test": "sec_volts", "component": "xf-1", "value": value, "unit": "V"}
        told = work(program, ticket, "findings", body | {"calling": calling})
        assert told.status_code == 200, told.text
        check_ticket(told.json())
    assert told.json()["suspects"][0]["component"] == "xf-1"


def test_a_part_may_be_fitted_today(program: Program) -> None:
    """The date of the time that `GET /api/v1/clock` gives, at any hour of the day."""
    ticket = said(program, number_of(85), "no heat")["ticket"]
    closure = {"fault": "transformer_dead", "component": "xf-1", "parts": [], "note": ""}
    today = {"installed": program.now().date().isoformat()}
    answer = work(program, ticket, "close", closure | today)
    assert answer.status_code == 200, answer.text


@pytest.mark.parametrize("fault", ["cross_wired_pair", "steam_trap_failed", "dhw_coil_scaled"])
def test_a_technician_may_name_any_fault_of_the_trade(program: Program, fault: str) -> None:
    """A closure may say what the diagnosis could not have said."""
    ticket = said(program, number_of(86), "its cold in here, 62 degrees")["ticket"]
    closure = {"fault": fault, "component": "boiler-1", "parts": [], "note": "", "installed": None}
    answer = work(program, ticket, "close", closure)
    assert answer.status_code == 200, answer.text


@pytest.mark.parametrize(
    ("test", "component", "value"), [("pipe_temps", "3B.valve", 68), ("dhw_temp", "boiler-1", 62)]
)
def test_a_thermometer_reading_is_a_finding(
    program: Program, test: str, component: str, value: int
) -> None:
    """Tests that are done with a thermometer take what it shows."""
    ticket = said(program, number_of(79), "no heat, its 61")["ticket"]
    body = {"test": test, "component": component, "value": value, "unit": "F", "calling": True}
    answer = work(program, ticket, "findings", body)
    assert answer.status_code == 200, answer.text


def test_wrong_findings_and_closures_are_refused(program: Program, number: str) -> None:
    """Names that do not exist, units that do not fit, half a finding; the ticket stays open."""
    ticket = said(program, number, "no heat")["ticket"]
    volts = {"test": "sec_volts", "component": "xf-1", "value": 25, "unit": "V", "calling": True}
    for wrong in (
        {**volts, "test": "guessing"},
        {**volts, "component": "xf-9"},
        {**volts, "unit": "psi"},
        {**volts, "value": "many"},
        {"test": "sec_volts", "component": "xf-1"},
        {"component": "xf-1", "outcome": "healthy"},
        {"test": "switch_breaker", "component": "boiler-1", "outcome": "purple"},
    ):
        check_refusal(work(program, ticket, "findings", wrong))
    closure = {"fault": "transformer_dead", "component": "xf-1", "parts": [], "installed": None}
    closure["note"] = ""
    for wrong in (
        {**closure, "fault": "gremlins"},
        {**closure, "component": "xf-9"},
        {**closure, "parts": [{"part": "duct_tape", "quantity": 1}]},
        {**closure, "parts": [{"part": "transformer", "quantity": -1}]},
        {**closure, "installed": "last week"},
    ):
        check_refusal(work(program, ticket, "close", wrong))
    check_problem(work(program, "t_none", "findings", volts), 404)
    check_problem(work(program, "t_none", "close", closure), 404)
    assert program.get(f"/api/v1/tickets/{ticket}")["state"] == "open"


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


@pytest.mark.parametrize(
    "words", ["", "   ", "?", "🥶🥶", "\u202e\u0000x", "cold " * 2000, "1", "0", "sí"]
)
def test_any_text_at_all_is_answered(program: Program, words: str) -> None:
    """Nothing a phone can send breaks the door."""
    check_text_answer(program.text(number_of(74), words))


def test_stop_is_confirmed_once_and_then_there_is_silence(program: Program) -> None:
    """Until START; what is written meanwhile is kept, and danger is still answered."""
    number = number_of(75)
    said(program, number, "no heat")
    assert len(said(program, number, "STOP")["replies"]) == 1
    assert said(program, number, "hello?")["replies"] == []
    assert [x for x in program.move(hours=2) if x["to"] == number] == []
    assert said(program, number, "START")["replies"]


def test_a_conversation_is_told_in_its_order(program: Program) -> None:
    """What was asked stands before what was answered, also when the clock stands still."""
    number = number_of(77)
    answer = said(program, number, "the pipes make a terrible noise all night")
    asks = answer["replies"][-1]["asks"]
    said(program, number, asks["choices"][0]["say"])
    told = program.get(f"/api/v1/complaints/{answer['complaint']}")["messages"]
    order = [m["text"] for m in told]
    assert order.index(answer["replies"][-1]["text"]) < order.index(asks["choices"][0]["say"])


def test_who_says_something_but_not_what_is_wrong_is_asked(program: Program) -> None:
    """A ticket that nobody can diagnose is no place to stop asking."""
    answer = said(program, number_of(81), "radiator is hot")
    assert answer["reading"]["kinds"] == []
    suspects = ticket_of(program, answer)["suspects"] if answer["ticket"] else []
    asked = [r for r in answer["replies"] if r["asks"] is not None or "wrong" in r["text"]]
    assert suspects or asked


def test_one_number_of_several_homes_is_asked_which(program: Program) -> None:
    """One mobile may serve several homes, and a home several people."""
    rows = households("mill-7", 72)
    rows[10]["mobile"] = rows[11]["mobile"]
    rows.append(rows[9] | {"name": "Somebody else", "mobile": number_of(90)})
    answer = program.put("/api/v1/buildings/mill-7/households", rows)
    assert answer.status_code == 200, answer.text
    first = said(program, rows[11]["mobile"], "no heat")
    asks = first["replies"][-1]["asks"]
    wanted = [c for c in asks["choices"] if c["means"] != "unknown"]
    assert len(wanted) == 2
    second = said(program, rows[11]["mobile"], wanted[1]["say"])
    complaint = program.get(f"/api/v1/complaints/{second['complaint']}")
    assert complaint["ticket"] == second["ticket"]
    assert len(ticket_of(program, second)["apartments"]) >= 1


def test_a_number_nobody_registered_is_asked_where(program: Program) -> None:
    """And belongs to its home once it has said so."""
    first = said(program, number_of(95), "no heat in my apartment")
    assert first["replies"]
    second = said(program, number_of(95), "7 Mill Lane, apartment 3A")
    assert "3A" in ticket_of(program, second)["apartments"]
    assert ticket_of(program, second)["building"] == "mill-7"


def test_the_same_id_at_the_same_time_is_one_text(program: Program) -> None:
    """A gateway that tries again before it was answered."""
    before = len(program.outbox())
    with ThreadPoolExecutor(4) as pool:
        calls = [
            pool.submit(program.post_text, number_of(82), "no heat", "at-once") for _ in range(4)
        ]
    answers = [call.result() for call in calls]
    assert all(a.status_code in {200, 202} for a in answers)
    fresh = [a for a in answers if a.status_code == 200 and not a.json()["duplicate"]]
    assert len(fresh) <= 1
    program.move(seconds=1)
    assert [m["id"] for m in program.inbox()].count("at-once") == 1
    texts = [x["text"] for x in program.outbox()[before:] if x["to"] == number_of(82)]
    assert len(texts) == len(set(texts))

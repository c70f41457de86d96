"""Section 4 of the outside contract: texts and what they are answered."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from program import Program, moment
from shapes import check_mail_row, check_reply, check_text_answer
from tenants import households, number_of
from told import said, ticket_of

pytestmark = pytest.mark.usefixtures("mill_lane")


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

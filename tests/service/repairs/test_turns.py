"""The tenant as the second pair of hands: asked, turned, watched, thanked."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from at_work import ask_turn, home_now, last_text, page, sign_in, words
from sqlalchemy import select
from whole_service import BUILDING, Running, mobile

from service.auth.roles import Role
from service.store.tables import AuditRow, FactRow, HouseholdRow, TurnAsk

HOT = "it is way too hot in here, 84 degrees"


def sent(service: Running) -> None:
    """Let what is due go out."""
    service.wait(seconds=1)


@pytest.fixture
def hot(service: Running) -> dict[str, Any]:
    """A ticket of one hot home; a technician is signed in."""
    service.text(mobile("2A"), HOT)
    ticket = service.only_ticket()
    sign_in(service, Role.TRUCK)
    return dict(ticket)


def found(service: Running, check: str) -> list[dict[str, Any]]:
    """What was found by a check, as it is stored."""
    with service.services.db.reading() as session:
        rows = session.scalars(select(FactRow).order_by(FactRow.id)).all()
        return [row.body for row in rows if row.body.get("check") == check]


def test_from_the_button_to_the_finding(service: Running, hot: dict[str, Any]) -> None:
    """Asked, delivered, turned, watched: what the valve did is kept, and they are thanked."""
    (complaint,) = hot["complaints"]
    opened = page(service, f"/truck/tickets/{hot['id']}")
    assert "Ask 2A to turn it down" in opened
    assert f'href="/plant/{BUILDING}/2A.valve"' in opened

    answer = ask_turn(service, complaint)
    assert (answer.status_code, answer.headers["location"]) == (
        303,
        f"/truck/tickets/{hot['id']}#turns",
    )
    assert ask_turn(service, complaint).status_code == 303  # a second press is the same wish
    sent(service)
    assert len([t for t in service.gateway.sent if "at your heat now" in t.text]) == 1
    asked = last_text(service, "2A")
    assert "A technician is at your heat now" in asked
    assert "\n1 done\n2 I cannot\n0 not sure" in asked
    assert home_now(service, hot["id"])["says"] == ["Delivered at 7:00 pm. No answer yet."]

    service.wait(minutes=2)
    service.text(mobile("2A"), "ok done")
    home = home_now(service, hot["id"])
    # A motorised valve moves within 60 s: common practice, value from memory.
    turned_at = service.services.now()
    assert home["stroke_ends_at"] == (turned_at + timedelta(seconds=60)).isoformat()
    assert "They turned it down at 7:02 pm." in home["says"]
    sent(service)
    assert "In 30 minutes we ask you" in last_text(service, "2A")
    shown = page(service, f"/truck/tickets/{hot['id']}")
    assert "A healthy valve is shut by 7:03:01 pm." in shown
    ask = shown.partition("/turns/seen/")[2].partition('"')[0]

    service.wait(minutes=2)
    assert (
        service.call("POST", f"/turns/seen/{ask}", data={"valve": "not_moved"}).status_code == 303
    )
    # The check's own table: 3600 s stands for a valve that never moves.
    (reading,) = found(service, "stroke_time")
    assert (reading["component"], reading["value"], reading["calling"]) == ("2A.valve", 3600, False)
    sent(service)
    assert "You can set the thermostat back" in last_text(service, "2A")
    after = service.get(f"/api/v1/tickets/{hot['id']}", "desk")
    said = [event["says"] for event in after["history"]]
    assert {"Asked 2A to turn the thermostat down", "Valve of 2A: not moved"} <= set(said)
    assert service.wait(minutes=40) == []  # nothing more is asked of them
    assert service.call("POST", f"/turns/seen/{ask}", data={"valve": "moved"}).status_code == 409
    with service.services.db.reading() as session:
        acts = session.execute(select(AuditRow.act, AuditRow.account).order_by(AuditRow.seq)).all()
    assert [tuple(a) for a in acts if "turn" in a[0]] == [
        ("household asked to turn", "link:truck"),
        ("turn watched", "link:truck"),
    ]


def test_a_valve_that_moves_is_no_suspect_any_more(service: Running) -> None:
    """The valve of a cold home that opens while somebody watches has no dead motor."""
    told = service.text(mobile("3A"), "no heat in here, freezing")
    before = service.get(f"/api/v1/tickets/{told['ticket']}", "desk")
    sign_in(service, Role.TRUCK)
    ask_turn(service, told["complaint"], "up")
    sent(service)
    service.text(mobile("3A"), "done")
    ask = page(service, f"/truck/tickets/{told['ticket']}").partition("/turns/seen/")[2]

    service.call("POST", f"/turns/seen/{ask.partition(chr(34))[0]}", data={"valve": "moved"})

    after = service.get(f"/api/v1/tickets/{told['ticket']}", "desk")
    shares = [
        sum(s["probability"] for s in t["suspects"] if s["fault"] == "valve_motor_dead")
        for t in (before, after)
    ]
    assert shares[1] < shares[0] / 2


def test_whoever_does_not_watch_to_the_end_gets_the_households_answer(
    service: Running, hot: dict[str, Any]
) -> None:
    """Once turned, the question of the check follows after its wait, and its answer is evidence."""
    (complaint,) = hot["complaints"]
    ask_turn(service, complaint)
    sent(service)
    service.text(mobile("2A"), "1")

    (question,) = service.wait(minutes=30)
    assert question["asks"]["topic"] == "q_down"
    service.text(mobile("2A"), "still hot")

    assert "Of the radiator they say: still hot." in home_now(service, hot["id"])["says"]
    facts = service.get(f"/api/v1/complaints/{complaint}", "desk")["facts"]
    assert any("still_hot" in str(fact) and fact["counts"] for fact in facts)


def test_the_household_is_asked_in_its_language(service: Running) -> None:
    """A household that writes in Spanish is asked in Spanish, and its "listo" is understood."""
    with service.services.db.transaction() as session:
        row = session.scalars(select(HouseholdRow).where(HouseholdRow.apartment == "3B")).one()
        row.language = "es"
    told = service.text(mobile("3B"), "no hay calefacción, hace mucho frío aquí")
    sign_in(service, Role.TRUCK)

    ask_turn(service, told["complaint"], "up")
    sent(service)
    assert "Suba el termostato 5 grados" in last_text(service, "3B")
    service.text(mobile("3B"), "listo")

    says = home_now(service, told["ticket"])["says"]
    assert any(line.startswith("They turned it up at") for line in says)


def test_whoever_cannot_is_left_in_peace(service: Running, hot: dict[str, Any]) -> None:
    """A no is taken for an answer: no reminder, no further question."""
    ask_turn(service, hot["complaints"][0])
    sent(service)
    service.text(mobile("2A"), "2")

    assert last_text(service, "2A") == "That is fine. Please leave it as it is."
    assert any("cannot turn it down" in line for line in home_now(service, hot["id"])["says"])
    assert service.wait(hours=1) == []


def test_nobody_is_woken_for_a_check(service: Running, hot: dict[str, Any]) -> None:
    """At night only a household that wrote within ten minutes is asked, and then at once."""
    (complaint,) = hot["complaints"]
    service.wait(hours=4)  # 11 pm

    refused = ask_turn(service, complaint)
    assert refused.status_code == 409
    assert "It is night" in refused.text
    assert "It is night" in words(page(service, f"/truck/tickets/{hot['id']}"))
    service.wait(hours=10)  # 9 am: nothing was kept for the morning
    assert not [t for t in service.gateway.sent if "A technician is at your heat" in t.text]

    service.wait(hours=14)  # 11 pm again
    service.text(mobile("2A"), "still so hot")
    service.wait(minutes=5)
    sign_in(service, Role.TRUCK)  # a day later the session has ended
    assert ask_turn(service, complaint).status_code == 303
    sent(service)
    assert "A technician is at your heat" in last_text(service, "2A")


def test_who_is_not_to_be_asked(service: Running, hot: dict[str, Any]) -> None:
    """Whoever wants no texts gets none; in danger nobody is asked to do anything."""
    service.text(mobile("2A"), "STOP")
    answer = ask_turn(service, hot["complaints"][0])
    assert answer.status_code == 409
    assert "wants no texts" in answer.text

    told = service.text(mobile("1A"), "I smell gas in my kitchen")
    refused = ask_turn(service, told["complaint"])
    assert refused.status_code == 409
    assert "Danger was reported" in refused.text
    offered = "Somebody to turn the thermostat"
    assert offered in words(page(service, f"/truck/tickets/{hot['id']}"))
    assert offered not in words(page(service, f"/truck/tickets/{told['ticket']}"))


def test_the_desk_asks_for_the_check_from_afar(service: Running, hot: dict[str, Any]) -> None:
    """From the desk nobody is said to stand at the valve: the household gets the usual check."""
    sign_in(service, Role.DESK)

    answer = ask_turn(service, hot["complaints"][0])
    assert answer.headers["location"] == f"/desk/tickets/{hot['id']}#turns"
    sent(service)

    assert "Please turn the thermostat all the way down" in last_text(service, "2A")
    assert "technician is at" not in last_text(service, "2A")
    (line, *_) = home_now(service, hot["id"])["says"]
    assert line.startswith("Delivered at 7:00 pm.")
    (question,) = service.wait(minutes=31)
    assert question["asks"]["topic"] == "q_down"
    service.wait(minutes=75)  # 8:46 pm: the question after the wait would come after nine
    sign_in(service, Role.DESK)  # an hour without a press has ended the session
    late = ask_turn(service, hot["complaints"][0])
    assert late.status_code == 409
    assert "It is too late today" in late.text


def test_turns_are_for_desk_and_truck(service: Running, hot: dict[str, Any]) -> None:
    """An owner or a stranger neither asks nor follows."""
    service.call("POST", "/sign-out")
    for expected in (401, 403):
        assert ask_turn(service, hot["complaints"][0]).status_code == expected
        assert service.call("GET", f"/turns/of/{hot['id']}").status_code == expected
        sign_in(service, Role.OWNER)
    with service.services.db.reading() as session:
        assert session.scalars(select(TurnAsk)).all() == []

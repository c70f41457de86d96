"""Findings, closing, the question next morning, reopening."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from sqlalchemy import select
from whole_service import (
    BUILDING,
    EVENING,
    KeepingGateway,
    Running,
    cold_evening,
    mobile,
    spoil_diagnosis,
)

from service.store.tables import Install
from service.usecases.showing.show_ticket import show_ticket

CLOSING = {
    "fault": "pump_seized",
    "component": "pump-1",
    "parts": [{"part": "circulator", "quantity": 1}],
    "installed": None,
    "note": "seized solid",
}


def two_cold_homes(service: Running) -> dict[str, Any]:
    """The ticket of two cold homes on loop 1."""
    for apartment in ("1A", "1B"):
        service.text(mobile(apartment), "no heat, freezing in here")
    return service.only_ticket()


@pytest.fixture
def ticket(service: Running) -> dict[str, Any]:
    """A ticket to work on."""
    return two_cold_homes(service)


@pytest.fixture(scope="module")
def standing(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """A ticket that stays as it is: all that tests send to it is refused."""
    with cold_evening(tmp_path_factory.mktemp("standing"), KeepingGateway()) as service:
        before = two_cold_homes(service)
        yield service
        assert service.only_ticket() == before


def close(service: Running, ticket: dict[str, Any], **more: Any) -> Any:
    """Close it as a truck."""
    path = f"/api/v1/tickets/{ticket['id']}/close"
    return service.call("POST", path, "truck", json=CLOSING | more)


def share(ticket: dict[str, Any], fault: str) -> float:
    """The probability of a fault on a ticket."""
    return float(sum(s["probability"] for s in ticket["suspects"] if s["fault"] == fault))


def test_a_finding_moves_the_suspects(service: Running, ticket: dict[str, Any]) -> None:
    """No volts from the transformer speaks for the transformer."""
    before = share(ticket, "transformer_dead")

    answer = service.measure(
        ticket["id"], test="sec_volts", component="xf-1", value=0, unit="V", calling=None
    )

    assert answer.status_code == 200, answer.text
    after = answer.json()
    assert share(after, "transformer_dead") > before
    assert "sec_volts" not in {c["test"] for c in after["checks"]}
    assert after["history"][-1]["what"] in {"finding", "respond_by"}


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"test": "no_such", "component": "xf-1", "value": 1, "unit": "V"}, "/test"),
        ({"test": "sec_volts", "component": "xf-9", "value": 1, "unit": "V"}, "/component"),
        ({"test": "sec_volts", "component": "xf-1", "value": 1e6, "unit": "V"}, "/value"),
        ({"test": "sec_volts", "component": "xf-1", "value": -5, "unit": "V"}, "/value"),
        ({"test": "sec_volts", "component": "xf-1", "value": 24, "unit": "psi"}, "/unit"),
        ({"test": "sec_volts", "component": "xf-1", "value": "24", "unit": "V"}, "/value"),
        ({"test": "sec_volts", "component": "xf-1", "value": True, "unit": "V"}, "/value"),
        ({"test": "sec_volts", "component": "xf-1"}, "/value"),
        ({"test": "sec_volts", "component": "xf-1", "outcome": "blue"}, "/outcome"),
        ({"test": "sec_volts", "component": "xf-1", "value": 1, "calling": "yes"}, "/calling"),
        ({"component": "xf-1"}, "/test"),
    ],
)
def test_a_finding_no_instrument_shows_is_refused(
    standing: Running, body: dict[str, Any], pointer: str
) -> None:
    """The problem points at what is wrong, and the ticket stays as it was."""
    ticket = standing.only_ticket()

    answer = standing.measure(ticket["id"], **body)

    assert answer.status_code == 422, answer.text
    assert answer.json()["errors"][0]["pointer"] == pointer
    assert standing.get(f"/api/v1/tickets/{ticket['id']}", "truck") == ticket


def test_closing_ends_complaints_and_keeps_the_install(
    service: Running, ticket: dict[str, Any]
) -> None:
    """The ticket and its complaints are closed, the part has its date."""
    answer = close(service, ticket, installed="2026-01-09")

    assert answer.status_code == 200, answer.text
    closed = answer.json()
    assert closed["state"] == "closed"
    assert closed["complaints"] == ticket["complaints"]
    assert service.open_tickets() == []
    for complaint in ticket["complaints"]:
        found = service.get(f"/api/v1/complaints/{complaint}", "desk")
        assert found["state"] == "closed"
        assert not any(fact["counts"] for fact in found["facts"])
    with service.services.db.reading() as session:
        (install,) = session.scalars(select(Install)).all()
        assert (install.building_id, install.component, install.part) == (
            BUILDING,
            "pump-1",
            "circulator",
        )
        assert install.installed_on.isoformat() == "2026-01-09"


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"fault": "gremlins"}, "/fault"),
        ({"component": "pump-9"}, "/component"),
        ({"parts": [{"part": "gold", "quantity": 1}]}, "/parts/0/part"),
        ({"parts": [{"part": "circulator", "quantity": 0}]}, "/parts/0/quantity"),
        ({"parts": [{"part": "circulator", "quantity": 10**30}]}, "/parts/0/quantity"),
        ({"parts": {}}, "/parts"),
        ({"installed": "2030-01-01"}, "/installed"),
        ({"installed": "soon"}, "/installed"),
        ({"note": 5}, "/note"),
        ({"fault": None, "component": None, "note": ""}, "/note"),
        ({"fault": None, "note": " \n "}, "/note"),
        ({"fault": None, "component": None, "parts": [], "note": None}, "/note"),
    ],
)
def test_a_wrong_closing_is_refused(
    standing: Running, change: dict[str, Any], pointer: str
) -> None:
    """The ticket stays open and the problem says where."""
    ticket = standing.only_ticket()

    answer = close(standing, ticket, **change)

    assert answer.status_code == 422, answer.text
    assert answer.json()["errors"][0]["pointer"] == pointer
    assert standing.get(f"/api/v1/tickets/{ticket['id']}", "desk") == ticket


def test_a_closing_that_says_nothing_tells_nobody_that_the_work_is_done(
    service: Running, ticket: dict[str, Any]
) -> None:
    """An empty body is refused in words and sends nothing; a fault or a note alone is enough."""
    path = f"/api/v1/tickets/{ticket['id']}/close"
    refused = service.call("POST", path, "truck", json={})

    assert refused.status_code == 422
    (error,) = refused.json()["errors"]
    assert error["pointer"] == "/note"
    assert "what was found" in error["detail"]
    assert not any("The work is done." in t["text"] for t in service.wait(minutes=5))

    assert service.call("POST", path, "truck", json={"note": "reset it"}).status_code == 200
    service.text(mobile("1A"), "no heat again, freezing in here")
    again = service.only_ticket()
    path = f"/api/v1/tickets/{again['id']}/close"
    alone = {"fault": "pump_seized", "component": "pump-1"}
    assert service.call("POST", path, "truck", json=alone).status_code == 200


def test_a_closed_ticket_takes_nothing_more(service: Running, ticket: dict[str, Any]) -> None:
    """Closing twice, or measuring afterwards, is a conflict."""
    close(service, ticket)

    assert close(service, ticket).status_code == 409
    late = service.measure(ticket["id"], test="sec_volts", component="xf-1", value=24, unit="V")
    assert late.status_code == 409


def test_next_morning_each_household_is_asked_once(
    service: Running, ticket: dict[str, Any]
) -> None:
    """At nine in building time, once, even when the clock is moved far beyond."""
    close(service, ticket)

    sent = service.wait(days=3)

    asked = [t for t in sent if t["asks"] and t["asks"]["topic"] == "right_now"]
    assert sorted(t["to"] for t in asked) == [mobile("1A"), mobile("1B")]
    assert {t["send_at"] for t in asked} == {"2026-01-10T14:00:00+00:00"}


def test_no_opens_the_same_ticket_again(service: Running, ticket: dict[str, Any]) -> None:
    """ "No" next morning reopens ticket and complaint, with history and evidence."""
    close(service, ticket)
    service.wait(days=1)

    answer = service.text(mobile("1A"), "2")

    assert answer["ticket"] == ticket["id"]
    found = service.get(f"/api/v1/tickets/{ticket['id']}", "desk")
    assert found["state"] == "open"
    assert found["apartments"] == ["1A"]
    assert "reopened" in {e["what"] for e in found["history"]}
    assert found["suspects"]
    assert answer["complaint"] in found["complaints"]


def test_yes_ends_it(service: Running, ticket: dict[str, Any]) -> None:
    """ "Yes" next morning leaves the ticket closed and notes it."""
    close(service, ticket)
    service.wait(days=1)

    service.text(mobile("1A"), "1")

    found = service.get(f"/api/v1/tickets/{ticket['id']}", "desk")
    assert found["state"] == "closed"
    assert "confirmed" in {e["what"] for e in found["history"]}


def test_evidence_of_a_closed_ticket_no_longer_counts(
    service: Running, ticket: dict[str, Any]
) -> None:
    """A complaint days after the repair stands alone, not with those that were mended."""
    close(service, ticket)
    service.wait(days=2)

    answer = service.text(mobile("2A"), "no heat, freezing")

    found = service.get(f"/api/v1/tickets/{answer['ticket']}", "desk")
    assert found["id"] != ticket["id"]
    assert found["apartments"] == ["2A"]


def test_a_finding_is_kept_when_the_diagnosis_fails(
    service: Running, ticket: dict[str, Any]
) -> None:
    """What a technician has measured, or that he is done, never hangs on the computer."""
    spoil_diagnosis(service)

    found = service.measure(ticket["id"], test="sec_volts", component="xf-1", value=0, unit="V")
    closed = close(service, ticket)

    assert found.status_code == 200, found.text
    assert found.json()["suspects"] == ticket["suspects"]
    assert closed.json()["state"] == "closed"


def test_closed_tickets_are_listed_apart(service: Running, ticket: dict[str, Any]) -> None:
    """`state` and `building` choose from the list."""
    close(service, ticket)

    closed = service.get(f"/api/v1/tickets?state=closed&building={BUILDING}", "truck")
    assert [t["id"] for t in closed] == [ticket["id"]]
    assert service.get("/api/v1/tickets?building=elsewhere", "truck") == []


def test_a_colder_room_is_never_less_pressing(service: Running) -> None:
    """A lower reading from the same home does not put the ticket off."""
    first = service.text(mobile("3B"), "bit cold, 67 in here")
    before = service.get(f"/api/v1/tickets/{first['ticket']}", "desk")["respond_by"]
    service.wait(minutes=1)

    second = service.text(mobile("3B"), "now it is 52 in here and very cold")

    after = service.get(f"/api/v1/tickets/{second['ticket']}", "desk")["respond_by"]
    assert after <= before or after == service.services.now().isoformat()


def test_a_fitted_circulator_is_less_suspect_next_time(
    service: Running, ticket: dict[str, Any]
) -> None:
    """The date of a new part counts: a seized pump is the less likely the newer it is."""
    before = share(ticket, "pump_seized")
    assert close(service, ticket).status_code == 200
    service.wait(hours=20)

    for apartment in ("1A", "1B"):
        service.text(mobile(apartment), "no heat again, freezing in here")

    again = service.only_ticket()
    assert share(again, "pump_seized") < before / 2


def test_each_danger_of_the_work_is_told_once(service: Running, ticket: dict[str, Any]) -> None:
    """Line voltage of two suspects, beside the heat of one of them, is one line."""
    with service.services.db.reading() as session:
        told = [c.casefold() for c in show_ticket(session, EVENING, ticket["id"]).cautions]
    assert told
    assert len(told) == len(set(told))
    assert not any("; " in caution for caution in told)

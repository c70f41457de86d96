"""Section 5 of the outside contract: tickets, what a technician finds, how they are closed."""

from __future__ import annotations

from typing import Any

import pytest
from program import Program, moment
from shapes import check_problem, check_refusal, check_ticket
from tenants import number_of
from told import said, ticket_of

pytestmark = pytest.mark.usefixtures("mill_lane")


def work(program: Program, ticket: str, what: str, body: dict[str, Any]) -> Any:
    """A finding or a closure by the technician."""
    return program.call("POST", f"/api/v1/tickets/{ticket}/{what}", "truck", json=body)


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
    assert at_component(looked.json(), "boiler-1") < at_component(ticket, "boiler-1")
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


def at_component(ticket: dict[str, Any], component: str) -> float:
    """What all faults of a component weigh on a ticket."""
    found = (c["probability"] for c in ticket["by_component"] if c["component"] == component)
    return float(sum(found))


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

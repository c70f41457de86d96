"""A building file with zone circulators: what belongs to a home is named after it (section 2).

Left out, ids take the form ``<apartment>.circulator``, as those of valves and thermostats do.
"""

from __future__ import annotations

from typing import Any

import pytest
from program import Program
from shapes import check_refusal, check_ticket
from tenants import building, households, number_of

HOUSE = "mill-9"


@pytest.fixture(scope="module")
def ticket(program: Program) -> dict[str, Any]:
    """A cold home among others that share its loop; every home has a pump of its own."""
    document = building(HOUSE)
    for home in document["apartments"]:
        del home["valve"]
        home["zoning"] = "zone_circulator"
    program.load(document, households(HOUSE, 0))
    answer = program.text(number_of(4), "no heat since noon, it is 58 in here, thermostat is on 70")
    found: dict[str, Any] = program.get(f"/api/v1/tickets/{answer['ticket']}", "truck")
    assert found["apartments"] == ["2B"]
    return found


def work(program: Program, ticket: dict[str, Any], verb: str, body: dict[str, Any]) -> Any:
    """What a technician sends of a ticket."""
    return program.call("POST", f"/api/v1/tickets/{ticket['id']}/{verb}", "truck", json=body)


def test_one_homes_pump_is_suspected_measured_and_closed(
    program: Program, ticket: dict[str, Any]
) -> None:
    """Under the name that follows from the home's; a fault that no thermostat has is refused there."""
    assert ticket["scope"] == "apartment"
    assert "2B.circulator" in {s["component"] for s in ticket["suspects"]}

    for test, value, unit in (("pump_volts", 120, "V"), ("pump_amps", 4.5, "A")):
        body = {"test": test, "component": "2B.circulator", "value": value, "unit": unit}
        found = work(program, ticket, "findings", {**body, "calling": True})
        assert found.status_code == 200, found.text
        check_ticket(found.json())
    assert found.json()["suspects"][0]["component"] == "2B.circulator"
    assert "circulator" in {line["part"] for line in found.json()["load"]}

    closing = {
        "fault": "pump_seized",
        "component": "2B.circulator",
        "parts": [{"part": "circulator", "quantity": 1}],
        "installed": None,
        "note": "seized, replaced",
    }
    check_refusal(work(program, ticket, "close", {**closing, "component": "2B.thermostat"}))
    closed = work(program, ticket, "close", closing)
    assert closed.status_code == 200, closed.text
    assert closed.json()["state"] == "closed"

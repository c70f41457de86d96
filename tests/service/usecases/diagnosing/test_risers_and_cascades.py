"""From texts to a ticket where homes share a riser, or boilers share a header."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from whole_service import EVENING, Running, building_document, fill, mobile

FLOORS, LINES = range(1, 7), "ABC"
MORNING = EVENING + timedelta(hours=12)


def tower(loops: int) -> dict[str, Any]:
    """Six floors of three lines, shared out over one loop or two from below."""
    document = building_document()
    pattern = document["apartments"][0]
    document["loops"] = document["loops"][:loops]
    document["apartments"] = [
        {
            **pattern,
            "id": f"{floor}{line}",
            "floor": floor,
            "line": line,
            "loop": f"loop-{(floor - 1) * loops // 6 + 1}",
        }
        for floor in FLOORS
        for line in LINES
    ]
    document["transformers"][0]["va"] = 200
    return document


def tickets_of(service: Running, radiators: str, *homes: str) -> list[dict[str, Any]]:
    """The open tickets when these homes wrote in the morning, and the last of them again at night."""
    service.move(MORNING)
    for home in homes:
        service.text(mobile(home), f"it is too cold in here, the radiators are {radiators}")
        service.wait(minutes=30)
    service.move(MORNING + timedelta(hours=10))
    service.text(mobile(homes[-1]), f"the radiator is {radiators}")
    return [
        service.get(f"/api/v1/tickets/{ticket['id']}", "desk") for ticket in service.open_tickets()
    ]


def test_three_cold_homes_of_one_line_are_one_ticket_of_scope_riser(empty: Running) -> None:
    """The ticket names the riser, everybody it serves, and a check at it; it can be closed as such."""
    service = fill(empty, tower(1), 20.0)

    (ticket,) = tickets_of(service, "cold", "2B", "4B", "5B")

    assert ticket["scope"] == "riser"
    assert ticket["component"] == "loop-1.riser-B"
    assert ticket["apartments"] == ["2B", "4B", "5B"]
    leading = ticket["suspects"][0]
    assert leading["component"] == "loop-1.riser-B"
    assert {"valve_handles", "pipe_temps"} & {
        check["test"] for check in ticket["checks"] if check["component"] == "loop-1.riser-B"
    }
    closed = service.close(ticket["id"], fault="riser_blocked", component="loop-1.riser-B")
    assert closed["state"] == "closed"


@pytest.mark.parametrize(("outdoor_f", "one_boiler_is_enough"), [(42.0, True), (0.0, False)])
def test_a_lost_lag_boiler_is_suspected_in_deep_cold_only(
    empty: Running, outdoor_f: float, one_boiler_is_enough: bool
) -> None:
    """One of two equal boilers heats the house on a mild day; on the coldest it does not."""
    document = tower(2)
    lead = document["heat_sources"][0] | {"cascade": "header"}
    document["heat_sources"] = [lead, lead | {"id": "boiler-2"}]
    service = fill(empty, document, outdoor_f)

    tickets = tickets_of(service, "lukewarm", "1A", "1C", "2B", "3A", "4C", "5B", "6A")

    named = {s["component"] for ticket in tickets for s in ticket["suspects"][:3]}
    assert ("boiler-2" in named) is not one_boiler_is_enough


def test_a_finding_may_name_the_riser_it_was_made_at(empty: Running) -> None:
    """A shut valve found on riser B points to it; noted at the loop it points to no riser more."""
    service = fill(empty, tower(1), 20.0)
    (ticket,) = tickets_of(service, "cold", "2B", "4B", "2A", "5A")
    check = {"test": "valve_handles", "outcome": "riser_closed", "calling": None}

    def chances(component: str) -> dict[str, float]:
        """By riser, of being shut, after the same finding at a component."""
        answer = service.measure(ticket["id"], **check, component=component)
        assert answer.status_code == 200, answer.text
        found = [
            s
            for t in service.open_tickets()
            for s in t["suspects"]
            if s["fault"] == "riser_blocked"
        ]
        return {s["component"]: s["probability"] for s in found}

    at_loop = chances("loop-1")
    at_riser = chances("loop-1.riser-B")

    assert at_riser["loop-1.riser-B"] > at_riser.get("loop-1.riser-A", 0.0)
    assert at_riser["loop-1.riser-B"] > at_loop.get("loop-1.riser-B", 0.0)

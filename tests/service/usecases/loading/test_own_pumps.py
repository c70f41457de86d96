"""Homes with a pump of their own, from a building file to the pump's page."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from whole_service import BUILDING, Running, building_document, fill, mobile

from rules.model import ComponentId
from service.auth.roles import Role
from service.usecases.loading.plants import plant_of


def own_pumps() -> dict[str, Any]:
    """The test building with a pump and a relay in every home's line, two panels, no loop pumps."""
    document = building_document()
    for home in document["apartments"]:
        del home["valve"]
        home["zoning"] = "zone_circulator"
    for loop in document["loops"]:
        del loop["circulator"]
    return document


@pytest.fixture
def house(empty: Running) -> Running:
    """A cold night in it."""
    return fill(empty, own_pumps())


def cold(service: Running, home: str) -> dict[str, Any]:
    """The ticket of one cold home."""
    service.text(mobile(home), "no heat, freezing in here")
    return service.only_ticket()


def closing(component: str, fault: str = "pump_seized") -> dict[str, Any]:
    """A pump replaced in January."""
    return {
        "fault": fault,
        "component": component,
        "parts": [{"part": "circulator", "quantity": 1}],
        "installed": "2026-01-09",
        "note": "",
    }


def shown(service: Running, component: str) -> str:
    """The page of a component, to a technician."""
    service.sign_in(Role.TRUCK)
    return service.page(f"/plant/{BUILDING}/{component}")


def test_a_replaced_pump_is_new_in_its_own_home_alone(house: Running) -> None:
    """Readings and the repair are taken at it; its neighbours keep the age that nobody knows."""
    ticket = cold(house, "2B")
    told = {"test": "pump_feel", "component": "2B.circulator", "outcome": "hot_no_vibration"}
    assert house.measure(ticket["id"], **told).status_code == 200

    house.close(ticket["id"], **closing("2B.circulator"))

    with house.services.db.reading() as session:
        plant = plant_of(session, BUILDING)
    assert plant is not None
    assert plant.component(ComponentId("2B.circulator")).installed == date(2026, 1, 9)
    assert plant.component(ComponentId("2A.circulator")).installed is None


def test_the_page_of_a_homes_own_pump_says_whose_it_is(house: Running) -> None:
    """It stands in the boiler room, brings heat to one home and is suspected on that home's ticket."""
    ticket = cold(house, "2B")
    page = shown(house, "2B.circulator")

    assert "Circulator of one home" in page
    assert "Boiler room, for apartment 2B" in page
    assert ticket["reference"] in page
    assert "Relay panel of the homes&#39; own pumps" in shown(house, "relay-1")


def test_a_ticket_of_homes_with_own_pumps_is_drawn(house: Running) -> None:
    """A header stands where no loop pump is; home, ticket and component lead on."""
    ticket = cold(house, "2B")
    house.sign_in(Role.DESK)
    page = house.page(f"/desk/tickets/{ticket['id']}")

    assert f'href="/plant/{BUILDING}/loop-1"' in page
    assert f"/plant/{BUILDING}/None" not in page


def test_a_fault_that_such_a_part_cannot_have_is_refused(house: Running) -> None:
    """With what it is, and where it can be; the ticket stays open and can be closed rightly."""
    ticket = cold(house, "2B")
    path = f"/api/v1/tickets/{ticket['id']}/close"

    for fault, component, says in (
        ("pump_seized", "2B.thermostat", "is a fault of a circulator, and 2B.thermostat is a"),
        ("pump_seized", "2B.thermostat", "name 2B.circulator"),  # the nearest first
        ("stat_batteries_dead", "2B.circulator", "name 2B.thermostat"),
        ("valve_motor_dead", "2B.circulator", "this building has none"),
        ("boiler_lockout", "xf-1", "name boiler-1"),
    ):
        refused = house.call("POST", path, "truck", json=closing(component, fault))
        assert refused.status_code == 422, refused.text
        (error,) = refused.json()["errors"]
        assert error["pointer"] == "/component"
        assert says in error["detail"]
    assert house.call("POST", path, "truck", json=closing("2B.circulator")).status_code == 200


def test_a_date_of_installation_that_lies_ahead_is_warned_of(empty: Running) -> None:
    """The file is taken; the owner is told which date."""
    document = own_pumps()
    document["apartments"][0]["circulator"] = {"installed": "2062-10"}
    answer = empty.call("PUT", f"/api/v1/buildings/{BUILDING}", "owner", json=document)

    assert answer.status_code == 200, answer.text
    (warning,) = answer.json()["warnings"]
    assert warning["pointer"] == "/apartments/0/circulator/installed"
    assert "2062-10-01, which lies ahead" in warning["detail"]

"""What cannot be, and what is not known: a clear message, a sensible result, never a crash."""

from __future__ import annotations

from typing import Any

import pytest
from whole_service import BUILDING, Running, building_document, household_rows, mobile

from service.auth.links import issue_link
from service.auth.roles import Role


def put(service: Running, document: dict[str, Any]) -> Any:
    """Load a building."""
    return service.call("PUT", f"/api/v1/buildings/{BUILDING}", "owner", json=document)


def move_in(service: Running) -> None:
    """Its households."""
    path = f"/api/v1/buildings/{BUILDING}/households"
    answer = service.call("PUT", path, "owner", json=household_rows())
    assert answer.status_code == 200, answer.text


def find(service: Running, ticket: dict[str, Any], **body: Any) -> Any:
    """Record a reading as a truck."""
    path = f"/api/v1/tickets/{ticket['id']}/findings"
    return service.call("POST", path, "truck", json={"unit": "V", "calling": True} | body)


def only_ticket(service: Running) -> dict[str, Any]:
    """The one open ticket."""
    (found,) = service.get("/api/v1/tickets?state=open", "desk")
    ticket: dict[str, Any] = found
    return ticket


def cold_loop(service: Running) -> dict[str, Any]:
    """Three cold homes of one loop."""
    for apartment in ("1A", "1B", "2A"):
        service.text(mobile(apartment), "no heat, freezing in here")
    return only_ticket(service)


def test_readings_that_cannot_both_be_right_are_said_on_the_ticket(service: Running) -> None:
    """24 V on a coil whose transformer gives nothing: both stay, the ticket names them, and so do pages.

    Trade articles on series circuits (two agree): without a source nothing shows a voltage.
    """
    ticket = cold_loop(service)
    find(service, ticket, test="sec_volts", component="xf-1", value=0)

    answer = find(service, ticket, test="coil_volts", component="relay-1", value=24)

    assert answer.status_code == 200, answer.text
    said = [n["says"] for n in answer.json()["notes"] if n["about"] == "contradiction"]
    assert len(said) == 1
    assert "cannot both be right" in said[0]
    assert sum(s["probability"] for s in answer.json()["suspects"]) <= 1
    assert len([h for h in answer.json()["history"] if h["what"] == "finding"]) == 2
    for door in ("desk", "truck"):
        with service.services.db.transaction() as session:
            secret = issue_link(session, Role(door), service.services.now())
        signed = service.call("POST", f"/enter/{secret}")
        cookie = {"Cookie": signed.headers["set-cookie"].split(";")[0]}
        page = service.call("GET", f"/{door}/tickets/{ticket['id']}", headers=cookie)
        assert page.status_code == 200, page.text
        assert "cannot both be right" in page.text


def test_measured_again_the_contradiction_names_what_is_left(service: Running) -> None:
    """A third reading beside two that disagree neither crashes nor silences the two."""
    ticket = cold_loop(service)
    for volts in (0, 26, 26):
        answer = find(service, ticket, test="sec_volts", component="xf-1", value=volts)
        assert answer.status_code == 200, answer.text

    said = {n["says"] for n in answer.json()["notes"] if n["about"] == "contradiction"}
    assert len(said) == 1


def test_that_it_is_no_coincidence_is_said_on_the_ticket(service: Running) -> None:
    """Three of four homes of a loop within the hour: how often that happens by chance."""
    (said,) = [n["says"] for n in cold_loop(service)["notes"] if n["about"] == "coincidence"]

    assert said.startswith("3 of the 4 homes on loop-1 wrote within 1 hour; by coincidence ")


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [
        (450, "V", "outside what the instrument can show here: 0 to 60 V"),
        (-3, "V", "outside what the instrument can show here: 0 to 60 V"),
        (24_000, "mV", "this test is read in V"),
        (1e300, "V", "larger than any reading"),
    ],
)
def test_a_reading_outside_the_instruments_range_is_refused_and_nothing_is_lost(
    service: Running, value: float, unit: str, words: str
) -> None:
    """Said with the range; what was measured before stays, and the right figure is taken next."""
    ticket = cold_loop(service)
    before = find(service, ticket, test="coil_volts", component="relay-1", value=26).json()

    refused = find(service, ticket, test="sec_volts", component="xf-1", value=value, unit=unit)

    assert refused.status_code == 422
    assert words in refused.json()["errors"][0]["detail"]
    assert service.get(f"/api/v1/tickets/{ticket['id']}", "truck") == before
    again = find(service, ticket, test="sec_volts", component="xf-1", value=26)
    assert again.status_code == 200
    assert len([h for h in again.json()["history"] if h["what"] == "finding"]) == 2


@pytest.mark.parametrize(
    "words", ["no heat, it is 400 degrees in here", "freezing, thermostat says -60", "no heat 0"]
)
def test_a_room_temperature_that_no_room_has_is_no_evidence(service: Running, words: str) -> None:
    """The complaint counts, the figure does not."""
    answer = service.text(mobile("1A"), words)

    assert answer["ticket"]
    complaint = service.get(f"/api/v1/complaints/{answer['complaint']}", "desk")
    rooms = [f for f in complaint["facts"] if "room_f" in str(f)]
    assert all("400" not in str(f) and "-60" not in str(f) for f in rooms)
    assert only_ticket(service)["suspects"]


def test_contradictory_words_of_one_household_are_diagnosed(service: Running) -> None:
    """Too hot, then 50 degrees, then cold: one ticket, suspects that add up, and an answer each time."""
    for words in ("its way too hot in here, set to 68", "the thermostat reads 50", "freezing"):
        assert service.text(mobile("1A"), words)["replies"]

    ticket = only_ticket(service)

    assert ticket["suspects"]
    assert sum(s["probability"] for s in ticket["suspects"]) <= 1


def test_an_apartment_without_a_zone_is_refused_with_what_to_write(empty: Running) -> None:
    """Zoning and loop are named at the apartment that lacks them, both at once."""
    document = building_document()
    del document["apartments"][2]["zoning"]
    del document["apartments"][3]["loop"]

    answer = put(empty, document)

    assert answer.status_code == 422
    errors = {e["pointer"]: e["detail"] for e in answer.json()["errors"]}
    assert {"/apartments/2/zoning", "/apartments/3/loop"} <= set(errors)
    assert all("missing" in errors[p] for p in ("/apartments/2/zoning", "/apartments/3/loop"))


def test_an_apartment_that_nothing_controls_is_diagnosed(empty: Running) -> None:
    """Without valve and thermostat what is left are pipes, emitter and the shared plant."""
    document = building_document()
    for home in document["apartments"]:
        home["zoning"] = "none"
        del home["valve"], home["thermostat"]
    assert put(empty, document).status_code == 200
    move_in(empty)

    empty.text(mobile("1A"), "no heat, freezing in here")

    suspects = only_ticket(empty)["suspects"]
    assert suspects
    assert not any(s["component"].endswith((".valve", ".thermostat")) for s in suspects)


def test_a_plant_without_dates_is_diagnosed_like_one_of_middle_age(empty: Running) -> None:
    """Nothing is dated: rates are taken as stated, and a ticket has suspects, checks and a load."""
    document = building_document()
    del document["built"]
    parts = [*document["heat_sources"], *document["transformers"]]
    for loop in document["loops"]:
        parts += [loop["circulator"], loop["relay"]]
    for home in document["apartments"]:
        parts += [home["valve"], home["thermostat"]]
    for part in parts:
        part.pop("installed", None)
    assert put(empty, document).status_code == 200
    move_in(empty)

    ticket = cold_loop(empty)

    assert ticket["suspects"]
    assert ticket["checks"]
    assert ticket["load"]
    assert set(ticket["suspects"][0]["explains"]) == {"1A", "1B", "2A"}

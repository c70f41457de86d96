"""Words and readings that cannot be, or contradict: a clear message, a sensible result, no crash."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
from sqlalchemy import select
from whole_service import BUILDING, KeepingGateway, Running, cold_evening, mobile

from rules.model import ComponentId
from service.auth.roles import Role
from service.store.tables import ClosureDetail, Install
from service.usecases.loading.plants import plant_of


def find(service: Running, ticket: dict[str, Any], **body: Any) -> Any:
    """Record a reading of volts unless said otherwise, with the home calling."""
    return service.measure(ticket["id"], **({"unit": "V", "calling": True} | body))


def cold_loop(service: Running) -> dict[str, Any]:
    """Three cold homes of one loop."""
    for apartment in ("1A", "1B", "2A"):
        service.text(mobile(apartment), "no heat, freezing in here")
    return service.only_ticket()


@pytest.fixture(scope="module")
def standing(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """The same with a ticket that stays as it is: all that tests send to it is refused."""
    with cold_evening(tmp_path_factory.mktemp("standing"), KeepingGateway()) as service:
        before = cold_loop(service)
        yield service
        assert service.only_ticket() == before


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
    for role in (Role.DESK, Role.TRUCK):
        service.sign_in(role)
        assert "cannot both be right" in service.page(f"/{role.value}/tickets/{ticket['id']}")


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


def test_a_reading_outside_the_instruments_range_is_refused_and_nothing_is_lost(
    service: Running,
) -> None:
    """Said with the range; what was measured before stays, and the right figure is taken next."""
    ticket = cold_loop(service)
    before = find(service, ticket, test="coil_volts", component="relay-1", value=26).json()

    for value, unit, words in (
        (450, "V", "outside what the instrument can show here: 0 to 60 V"),
        (-3, "V", "outside what the instrument can show here: 0 to 60 V"),
        (24, "A", "this test is read in V; mV is turned into it"),
        (1e300, "V", "larger than any reading"),
    ):
        refused = find(service, ticket, test="sec_volts", component="xf-1", value=value, unit=unit)
        assert refused.status_code == 422
        assert words in refused.json()["errors"][0]["detail"]
        assert service.get(f"/api/v1/tickets/{ticket['id']}", "truck") == before
    again = find(service, ticket, test="sec_volts", component="xf-1", value=26)
    assert again.status_code == 200
    assert len([h for h in again.json()["history"] if h["what"] == "finding"]) == 2


def test_nothing_to_measure_is_taken_where_a_check_has_a_word_for_it(service: Running) -> None:
    """No flame, no microamps: said as such; volts are there or not, and are read."""
    ticket = cold_loop(service)
    path = f"/api/v1/tickets/{ticket['id']}/findings"
    dark = {"test": "flame_signal", "component": "boiler-1", "outcome": "no_flame"}

    taken = service.call("POST", path, "truck", json=dark)
    refused = service.call("POST", path, "truck", json={**dark, "test": "gas_pressure"})

    assert taken.status_code == 200, taken.text
    assert [h["says"] for h in taken.json()["history"] if h["what"] == "finding"][-1].endswith(
        "no flame to measure"
    )
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["pointer"] == "/outcome"


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
    assert service.only_ticket()["suspects"]


def test_contradictory_words_of_one_household_are_diagnosed(service: Running) -> None:
    """Too hot, then 50 degrees, then cold: one ticket, suspects that add up, and an answer each time."""
    for words in ("its way too hot in here, set to 68", "the thermostat reads 50", "freezing"):
        assert service.text(mobile("1A"), words)["replies"]

    ticket = service.only_ticket()

    assert ticket["suspects"]
    assert sum(s["probability"] for s in ticket["suspects"]) <= 1


@pytest.mark.parametrize(
    ("test", "component", "said"),
    [
        # Common practice, no source: what has which part.
        ("cap_uf", "1A.thermostat", "is made at a circulator, and 1A.thermostat is a thermostat"),
        ("cap_uf", "xf-1", "is made at a circulator, and xf-1 is a transformer"),
        ("sec_volts", "1A.valve", "is made at a transformer, and 1A.valve is a valve"),
        ("window_look", "boiler-1", "is made at an apartment, and boiler-1 is a source"),
    ],
)
def test_a_check_where_it_cannot_be_made_is_refused_with_where_it_can(
    standing: Running, test: str, component: str, said: str
) -> None:
    """The nearest place is named, nothing is stored."""
    near = {"cap_uf": "pump-1", "sec_volts": "xf-1", "window_look": "1A"}[test]

    answer = find(
        standing, standing.only_ticket(), test=test, component=component, value=80, unit="percent"
    )

    assert answer.status_code == 422
    (error,) = answer.json()["errors"]
    assert error["pointer"] == "/component"
    assert said in error["detail"]
    assert near in error["detail"]


@pytest.mark.parametrize(
    ("unit", "value", "same", "as_value"),
    [("psi", 5.0, "bar", 5 * 6894.757 / 1e5), ("F", 86.0, "C", 30.0)],
)
def test_the_boilers_gauge_is_read_in_either_of_its_units(
    service: Running, unit: str, value: float, same: str, as_value: float
) -> None:
    """Pressure or temperature, metric or not (NIST SP 811): the same reading, the same suspects."""
    ticket = cold_loop(service)
    listed = service.get(f"/api/v1/tickets/{ticket['id']}", "truck")["checks"]
    for check in listed:
        assert check["unit"] is None or check["unit"] == check["units"][0]

    first = find(
        service, ticket, test="gauge_tp", component="boiler-1", value=value, unit=unit, calling=None
    ).json()
    found = [h["body"] for h in first["history"] if h["what"] == "finding"]
    second = find(
        service,
        ticket,
        test="gauge_tp",
        component="boiler-1",
        value=as_value,
        unit=same,
        calling=None,
    ).json()

    again = [h["body"] for h in second["history"] if h["what"] == "finding"][-1]
    assert found == [again | {"value": pytest.approx(again["value"])}]
    assert again["unit"] == unit


@pytest.mark.parametrize(("value", "unit"), [(150, "psi"), (20, "bar"), (400, "F"), (180, "C")])
def test_each_unit_of_a_gauge_has_its_own_range(standing: Running, value: float, unit: str) -> None:
    """No boiler gauge of a house shows more than 100 psi or 300 F (common practice, no source)."""
    ticket = standing.only_ticket()

    answer = find(standing, ticket, test="gauge_tp", component="boiler-1", value=value, unit=unit)

    assert answer.status_code == 422
    own = "psi" if unit in {"psi", "bar"} else "F"
    assert answer.json()["errors"][0]["detail"].endswith(
        {"psi": "0 to 100 psi", "F": "0 to 300 F"}[own]
    )


def test_a_wrong_unit_is_refused_with_those_that_are_taken(standing: Running) -> None:
    """Amps at a pressure gauge."""
    ticket = standing.only_ticket()

    answer = find(standing, ticket, test="gauge_tp", component="boiler-1", value=5, unit="A")

    assert answer.status_code == 422
    assert answer.json()["errors"] == [
        {
            "pointer": "/unit",
            "detail": "unit 'A' does not fit: this test is read in F or psi; "
            "C, bar or kPa is turned into it",
        }
    ]


def test_a_gauge_of_two_units_wants_to_know_which(standing: Running) -> None:
    """18 may be psi or degrees."""
    ticket = standing.only_ticket()

    answer = find(standing, ticket, test="gauge_tp", component="boiler-1", value=18, unit=None)

    assert answer.status_code == 422
    assert answer.json()["errors"] == [
        {"pointer": "/unit", "detail": "test is read in F or psi: say in which"}
    ]


def test_where_nobody_knows_the_home_no_part_can_be_measured(service: Running) -> None:
    """The ticket of an unknown phone has no building; a reading says so instead of naming parts."""
    told = service.text("+12125550150", "no heat")["ticket"]

    answer = find(service, {"id": told}, test="sec_volts", component="xf-1", value=0)

    assert answer.status_code == 422
    assert "no building yet" in answer.json()["errors"][0]["detail"]


def test_what_nobody_suspected_can_be_named_when_closing_and_teaches(service: Running) -> None:
    """A cold home of loop 1 turns out to be the other loop's pump, new since: kept, held, learned."""
    ticket = cold_loop(service)
    assert "pump-2" not in {s["component"] for s in ticket["suspects"]}
    part = {"part": "circulator", "quantity": 1}
    found = {"fault": "pump_seized", "component": "pump-2", "parts": [part]}

    closed = service.close(ticket["id"], installed="2026-01-09", **found)

    assert closed["closure"]["component"] == "pump-2"
    with service.services.db.reading() as session:
        assert session.scalars(select(ClosureDetail.verdict)).all() == ["elsewhere"]
        installed = session.scalars(select(Install)).all()
        assert [(i.component, i.part, i.installed_on.isoformat()) for i in installed] == [
            ("pump-2", "circulator", "2026-01-09")
        ]
        plant = plant_of(session, BUILDING)
    assert plant is not None
    assert plant.component(ComponentId("pump-2")).installed == date(2026, 1, 9)
    assert plant.component(ComponentId("pump-1")).installed == date(2019, 10, 1)


@pytest.mark.parametrize("words", ["stays_hot", "Stays hot", " stays-hot "])
def test_the_words_of_a_check_may_be_written_as_people_write(service: Running, words: str) -> None:
    """Capitals, spaces and dashes do not matter; what is stored is the word of the check."""
    ticket = cold_loop(service)

    answer = find(service, ticket, test="check_touch", component="loop-1", outcome=words, unit=None)

    assert answer.status_code == 200, answer.text
    stored = [h["body"]["outcome"] for h in answer.json()["history"] if h["what"] == "finding"]
    assert stored == ["stays_hot"]

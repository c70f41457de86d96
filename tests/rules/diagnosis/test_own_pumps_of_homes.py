"""A home's own pump in the diagnosis: whose fault it is, how old it is, where it is measured.

What is expected is common practice, no source, unless a test says otherwise.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from vignette_houses import _HOUSES, house

from rules.checks.places import component_for, doing_at, fits_at
from rules.diagnosis import Diagnosis, Suspect, diagnose
from rules.diagnosis.measuring import homes_touched
from rules.faults.candidates import Candidate, local_candidates, shared_candidates
from rules.faults.catalogue import checks, faults
from rules.faults.standing import can_stand_at
from rules.model import (
    Answered,
    ApartmentId,
    CheckId,
    ComponentId,
    Evidence,
    Fact,
    FaultId,
    Found,
    HourlyWeather,
    Household,
    Kind,
    Reported,
    TopicId,
)
from rules.plant import Plant, renewed
from tests.houses import built

DAY = date(2026, 1, 15)
NOW = datetime(2026, 1, 16, 0, tzinfo=UTC)
COLD = frozenset({Kind.TOO_COLD})
# What sits at a pump: itself, its check, the relay that starts it.
OF_A_PUMP = {"pump_seized", "check_valve_leaking", "check_stuck_closed", "relay_contact_welded"}


def own(plant: Plant, home: str) -> dict[str, Candidate]:
    """A home's own faults by name."""
    found = local_candidates(plant, plant.apartment(ApartmentId(home)), DAY)
    return {c.fault: c for c in found}


def asked(plant: Plant, *facts: Fact, outdoor_f: float = 22.0) -> Diagnosis:
    """The diagnosis of a house with these facts, the first eight hours old."""
    evidence = [
        Evidence(f"e{n}", NOW - timedelta(hours=8 if n == 0 else 0), fact)
        for n, fact in enumerate(facts)
    ]
    weather = [HourlyWeather(NOW + timedelta(hours=h), outdoor_f) for h in range(-24, 25)]
    return diagnose(plant, evidence, [Household(a.id) for a in plant.apartments], weather, NOW)


def chance(diagnosis: Diagnosis, component: str) -> float:
    """Of all suspects at a component on the first ticket."""
    suspects = diagnosis.groups[0].suspects
    return float(sum(s.probability for s in suspects if s.component == component))


def test_what_sits_at_a_pump_is_the_homes_own_and_not_the_loops() -> None:
    """The header keeps its pipes, its air and what the relays of the panel have in common."""
    plant = house("shared_header")
    at_home = own(plant, "2B")
    shared = {(c.fault, c.component) for c in shared_candidates(plant, DAY)}

    assert {at_home[f].component for f in OF_A_PUMP} == {"2B.circulator", "2B.relay"}
    assert OF_A_PUMP.isdisjoint({fault for fault, _ in shared})
    assert {
        ("air_bound_loop", "loop-2"),
        ("isolation_valve_closed_loop", "loop-2"),
        ("relay_isolated_contact_failed", "panel-2"),
        ("zone_board_failed", "panel-2"),
    } <= shared
    # Each zone has a pump of its own: there is nothing to balance and nothing to bypass.
    assert {"balance_error", "bypass_stuck_open"}.isdisjoint({fault for fault, _ in shared})


def test_a_zone_has_the_same_faults_as_often_on_a_header_and_on_a_loop_to_itself() -> None:
    """Two ways of writing down one plant: rates and effect of what sits at the pump are equal."""
    alone = {
        c.fault: c
        for c in shared_candidates(house("zone_pumps"), DAY)
        if c.homes == {"2B"} and c.fault in OF_A_PUMP
    }
    header = own(
        renewed(
            house("shared_header"),
            {
                ComponentId("2B.circulator"): date(2019, 10, 1),
                ComponentId("2B.relay"): date(2014, 8, 1),
            },
        ),
        "2B",
    )

    for fault in OF_A_PUMP:
        assert header[fault].prior == pytest.approx(alone[fault].prior)
        assert (header[fault].chain[:20] == alone[fault].chain[:20]).all()


def test_a_new_pump_is_suspected_less_than_an_old_one() -> None:
    """Pumps wear (ASHRAE chart, median 10 years); each home's has a date of its own."""
    plant = renewed(
        house("shared_header"),
        {
            ComponentId("2A.circulator"): date(2025, 11, 1),
            ComponentId("2B.circulator"): date(2010, 11, 1),
        },
    )
    assert own(plant, "2A")["pump_seized"].prior < own(plant, "2B")["pump_seized"].prior / 3

    found = {
        home: chance(asked(plant, Reported(ApartmentId(home), COLD)), f"{home}.circulator")
        for home in ("2A", "2B")
    }
    assert found["2A"] < found["2B"]


def test_a_reading_at_one_pump_says_nothing_of_the_next() -> None:
    """Volts on a hot pump that stands still convict it in its own home, and not in another's."""
    plant = house("shared_header")
    said = [
        Reported(ApartmentId("2B"), COLD),
        Answered(ApartmentId("2B"), TopicId("q_up"), "stays_cold"),
    ]

    def with_readings(pump: str) -> float:
        at = ComponentId(pump)
        still = Found(CheckId("pump_feel"), at, calling=True, outcome="hot_no_vibration")
        live = Found(CheckId("pump_volts"), at, 120.0, "V", calling=True)
        return chance(asked(plant, *said, still, live), "2B.circulator")

    before = chance(asked(plant, *said), "2B.circulator")
    assert before < 0.6
    assert with_readings("2B.circulator") > 0.8
    assert with_readings("2A.circulator") == pytest.approx(before, rel=0.1)


@pytest.mark.parametrize(
    ("fault", "component", "check", "place"),
    [
        ("pump_seized", "2B.circulator", "pump_volts", "2B.circulator"),
        ("pump_seized", "2B.circulator", "coil_volts", "2B.relay"),
        ("relay_coil_dead", "2B.relay", "pump_volts", "2B.circulator"),
        ("relay_coil_dead", "2B.relay", "sec_volts", "xf-2"),
        ("pump_seized", "2B.circulator", "pipe_temps", "2B"),
        # Of its own line, not of the header: where its pump stands.
        ("check_valve_leaking", "2B.circulator", "check_touch", "2B.circulator"),
        ("pump_seized", "2B.circulator", "loop_dt", "2B.circulator"),
        ("air_bound_loop", "loop-2", "loop_dt", "loop-2"),
        ("air_bound_loop", "loop-2", "pump_amps", "2B.circulator"),  # a pump of the one who wrote
        ("zone_board_failed", "panel-2", "coil_volts", "panel-2"),
    ],
)
def test_where_a_check_is_made(fault: str, component: str, check: str, place: str) -> None:
    """At the home's own pump and relay, or at what the header's homes share; a reading fits there."""
    plant = house("shared_header")
    homes = tuple(sorted(homes_touched(plant, ComponentId(component))))
    suspect = Suspect(FaultId(fault), "", ComponentId(component), 0.5, (), homes)
    made = checks()[CheckId(check)]

    assert component_for(plant, made, suspect, [ApartmentId("2B")]) == place
    assert fits_at(plant, made, ComponentId(place))


def test_what_is_done_on_a_loop_is_done_on_the_line_of_a_home() -> None:
    """Supply minus return of the header would be the mean of all that call."""
    plant = house("shared_header")
    made = checks()[CheckId("loop_dt")]

    assert doing_at(plant, made, ComponentId("loop-2")) == made.do
    assert "the line of 2B" in doing_at(plant, made, ComponentId("2B.circulator"))


def test_a_pump_written_at_the_header_is_a_suspect_of_all_its_homes() -> None:
    """All four cold with the boiler's other header warm: that pump before four at once."""
    plant = house("shared_header")
    document = plant.document()
    document["loops"][0]["circulator"] = {"id": "header-pump", "installed": "2019-10"}
    with_pump = built(document)
    cold = [Reported(ApartmentId(f"1{x}"), COLD) for x in "ABCD"]
    diagnosis = asked(with_pump, *cold)

    (group,) = diagnosis.groups
    assert chance(diagnosis, "header-pump") > chance(diagnosis, "1A.circulator")
    assert "header-pump" in {s.component for s in group.suspects[:3]}


@pytest.mark.parametrize("name", sorted(_HOUSES))
def test_every_fault_may_be_named_where_it_is_suspected(name: str) -> None:
    """What we name as a suspect nobody is refused to close with."""
    plant = house(name)
    found = [*shared_candidates(plant, DAY)]
    found += [c for a in plant.apartments for c in local_candidates(plant, a, DAY)]
    refused = {
        (c.fault, c.component)
        for c in found
        if c.row is not None and not can_stand_at(plant, c.row, plant.component(c.component))
    }
    assert refused == set()


@pytest.mark.parametrize(
    ("fault", "component", "may"),
    [
        ("pump_seized", "2B.circulator", True),
        ("pump_seized", "2B", True),  # of its own pump
        ("check_valve_leaking", "2B.circulator", True),
        ("check_valve_leaking", "2B", True),
        ("pump_seized", "2B.thermostat", False),
        ("pump_seized", "xf-2", False),
        ("stat_batteries_dead", "2B.circulator", False),
        ("transformer_dead", "panel-2", False),
        ("boiler_lockout", "2B", False),
        ("window_open", "boiler-1", False),
        ("low_voltage_short", "2B.relay", True),  # the short may sit in what the transformer feeds
    ],
)
def test_a_fault_is_named_where_such_a_part_can_have_it(
    fault: str, component: str, may: bool
) -> None:
    """At its part, at what that belongs to, or where it is found; nowhere else."""
    plant = house("shared_header")
    row = next(f for f in faults().values() if f.id == fault)
    assert can_stand_at(plant, row, plant.component(ComponentId(component))) is may


def test_a_home_on_a_zone_valve_has_no_pump_to_name() -> None:
    """The loop's pump is not a fault of one home on it."""
    plant = house("valves")
    row = next(f for f in faults().values() if f.id == "pump_seized")
    assert not can_stand_at(plant, row, plant.component(ComponentId("2B")))
    assert can_stand_at(plant, row, plant.component(ComponentId("loop-1")))

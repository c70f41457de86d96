"""Checks of whole tickets: what comes before all else, and what is never made there."""

from __future__ import annotations

from datetime import timedelta

import pytest
from conftest import NOW, weather
from vignette_houses import house

from rules.checks import order_checks
from rules.diagnosis import Diagnosis, diagnose
from rules.model import (
    ApartmentId,
    CheckId,
    ComponentId,
    Evidence,
    Fact,
    Found,
    Household,
    Kind,
    Reported,
)

WATER_ONLY = {"gauge_tp", "bleed_emitter", "purge_flow", "tank_charge", "fill_check", "pump_amps"}
HEAT_AND_TAPS = [Kind.TOO_COLD, Kind.NO_HOT_WATER]


def said(home: str, *kinds: Kind) -> Fact:
    """A report."""
    return Reported(ApartmentId(home), frozenset(kinds))


def look(name: str, *facts: Fact) -> Diagnosis:
    """A cold evening in one of the houses; reports an hour apart."""
    plant = house(name)
    evidence = [
        Evidence(f"e{n}", NOW - timedelta(hours=len(facts) - n), fact)
        for n, fact in enumerate(facts)
    ]
    people = [Household(a.id) for a in plant.apartments]
    return diagnose(plant, evidence, people, weather(22.0), NOW)


def checks_of(diagnosis: Diagnosis) -> list[tuple[str, str]]:
    """Checks of the first ticket with their places."""
    return [(str(s.check), str(s.component)) for s in order_checks(diagnosis, diagnosis.groups[0])]


@pytest.mark.parametrize("kind", [Kind.GAS_SMELL, Kind.CO_ALARM, Kind.SMOKE])
def test_the_air_is_measured_before_all_else_where_something_is_in_it(kind):
    """Common practice: the CO meter goes in first, whatever else is reported."""
    made = checks_of(look("valves", said("1A", kind, Kind.TOO_COLD)))

    assert made[0][0] == "ambient_co"


def test_gas_is_looked_for_next():
    """Common practice: a detector, then soap, before anything is opened."""
    made = checks_of(look("valves", said("1A", Kind.GAS_SMELL, Kind.TOO_COLD)))

    assert made[1][0] == "sniff_soap"


def test_where_the_air_is_measured_at_all_it_is_measured_on_entry():
    """Common practice: the CO meter is on from the door."""
    made = [
        c
        for c, _ in checks_of(
            look("valves", *(said(h, *HEAT_AND_TAPS) for h in ("1A", "2B", "3C", "4A")))
        )
    ]

    assert made[0] == "ambient_co"


def test_a_steam_boiler_has_no_fill_pressure_to_read_and_no_radiator_to_bleed():
    """12-25 psi is right for hot water and a danger on steam, which runs below 2."""
    made = checks_of(look("steam", *(said(h, Kind.TOO_COLD) for h in ("1A", "2B", "3C", "4A"))))

    assert made
    assert WATER_ONLY.isdisjoint(check for check, _ in made)


def test_the_current_of_a_loops_pump_says_nothing_of_the_primary_pump():
    """They are two pumps: 0 A at the loop's own says that this one is dead."""
    cold = [said(h, Kind.TOO_COLD) for h in ("1A", "2B", "2C")]

    def primary(*facts: Fact) -> float:
        group = look("valves", *cold, *facts).groups[0]
        return sum(s.probability for s in group.suspects if s.fault == "primary_pump_failed")

    def amps(at: str) -> Found:
        return Found(CheckId("pump_amps"), ComponentId(at), 0.0, "A", True)

    assert primary(amps("pump-1")) <= primary() + 1e-9
    assert primary(amps("boiler-1")) > 5 * primary()


def test_volts_of_one_transformer_say_nothing_of_another():
    """Common practice: 0 V on a secondary is that transformer, its fuse or its supply."""
    cold = [said(h, Kind.TOO_COLD) for h in ("1A", "2B", "2C")]
    dead = Found(CheckId("sec_volts"), ComponentId("xf-2"), 0.0, "V")
    group = look("normally_open", *cold, dead).groups[0]

    at = {"xf-1": 0.0, "xf-2": 0.0}
    for suspect in group.suspects:
        if suspect.component in at:
            at[suspect.component] += suspect.probability
    assert at["xf-2"] > 0.5
    assert at["xf-1"] < 0.02

"""What was just mended is suspected less, and what nobody touched as before."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from whole_service import BUILDING, KeepingGateway, Running, cold_evening, mobile

from rules.faults.lives import NOTHING_LEARNED, LearnedLives
from rules.model import ComponentId, FaultId
from service.usecases.diagnosing.mended import with_lately_mended
from service.usecases.loading.plants import plant_of

STAT = ComponentId("2A.thermostat")


@pytest.fixture
def service(tmp_path: Any) -> Iterator[Running]:
    """Seven in the evening of a cold day."""
    with cold_evening(tmp_path, KeepingGateway()) as running:
        yield running


def mended(service: Running) -> frozenset[tuple[ComponentId, FaultId]]:
    """As the next diagnosis takes it."""
    return lately(service).mended


def lately(service: Running) -> LearnedLives:
    """With what held, too."""
    with service.services.db.reading() as session:
        plant = plant_of(session, BUILDING)
        assert plant is not None
        now = service.services.now()
        return with_lately_mended(session, plant, now, NOTHING_LEARNED)


def test_a_new_part_takes_its_faults_along_for_two_weeks(service: Running) -> None:
    """A new thermostat comes with new batteries; how it is set is nobody's repair."""
    ticket = service.text(mobile("2A"), "no heat")["ticket"]
    assert mended(service) == frozenset()
    parts = [{"part": "thermostat", "quantity": 1}]
    service.close(ticket, fault="stat_not_calling", component=STAT, parts=parts)

    found = mended(service)
    assert {(STAT, FaultId("stat_not_calling")), (STAT, FaultId("stat_batteries_dead"))} <= found
    assert {component for component, _ in found} == {STAT}
    assert (STAT, FaultId("stat_schedule_or_hold")) not in found
    service.wait(days=15)
    assert mended(service) == frozenset()


def test_what_was_mended_is_the_cause_once_more_in_one_of_four() -> None:
    """Common practice, no source."""
    lives = LearnedLives(mended=frozenset({(STAT, FaultId("stat_dead"))}))

    assert lives.once_more(STAT, FaultId("stat_dead"), 0.004) == 0.001
    assert lives.once_more(ComponentId("2B.thermostat"), FaultId("stat_dead"), 0.004) == 0.004


def test_what_held_and_comes_back_is_the_same_or_what_brings_it_about(service: Running) -> None:
    """The fuse of loop 1 blows a second time; each time a home called the repair right."""
    for times in (1, 2):
        ticket = service.text(mobile("1A"), "no heat in here")["ticket"]
        service.close(ticket, fault="fuse_blown", component="xf-1")
        service.wait(days=1)
        service.text(mobile("1A"), "yes")
        service.wait(days=2)
        assert ((ComponentId("xf-1"), FaultId("fuse_blown")), times) in lately(service).held
    assert ((ComponentId("xf-1"), FaultId("low_voltage_short")), 2) in lately(service).held
    assert mended(service) == frozenset()

    for apartment in ("1A", "1B", "2A"):
        service.text(mobile(apartment), "heat is out again")
    chances = {s["fault"]: s["probability"] for s in service.only_ticket()["suspects"]}
    assert sorted(chances, key=chances.__getitem__)[-2:] in (
        ["fuse_blown", "low_voltage_short"],
        ["low_voltage_short", "fuse_blown"],
    )


def test_after_a_vain_change_the_new_part_is_not_first_again(service: Running) -> None:
    """A thermostat was fitted yesterday and the home says no: its batteries are new as well."""
    ticket = service.text(mobile("2A"), "no heat, its 60 in here")["ticket"]
    before = at_thermostat(service)
    parts = [{"part": "thermostat", "quantity": 1}]
    service.close(ticket, fault="stat_not_calling", component=STAT, parts=parts)
    service.wait(days=1)
    service.text(mobile("2A"), "no")

    assert at_thermostat(service) < before / 2


def at_thermostat(service: Running) -> float:
    """The chance of all hardware of the thermostat that needs a part."""
    hardware = {"stat_not_calling", "stat_batteries_dead", "stat_reads_high", "stat_dead"}
    suspects = service.only_ticket()["suspects"]
    return float(sum(s["probability"] for s in suspects if s["fault"] in hardware))

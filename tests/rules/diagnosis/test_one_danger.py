"""Which homes in danger are so by one cause."""

from __future__ import annotations

from conftest import NOW, house, report, weather

from rules.diagnosis import diagnose
from rules.diagnosis.one_danger import one_danger
from rules.model import Evidence, Household, Kind
from rules.plant import read_building_document


def together(*evidence: Evidence, boilers: int = 1) -> list[tuple[list[str], str]]:
    """The homes tied by one danger, and where it is, in a house of twelve that could all write."""
    document = house()
    if boilers == 2:
        first = document["heat_sources"][0]
        document["heat_sources"].append({**first, "id": "boiler-2"})
        document["loops"][-1]["source"] = "boiler-2"
    plant, problems = read_building_document(document)
    assert plant is not None, problems
    people = [Household(a.id) for a in plant.apartments]
    found = diagnose(plant, evidence, people, weather(25.0), NOW)
    return [
        (sorted(d.apartments), str(d.component)) for d in one_danger(found.belief, found.evidence)
    ]


def test_gas_smelt_in_two_homes_is_one_leak() -> None:
    """Two homes of one boiler within the hour; a third that is only cold is not in it."""
    found = together(
        report("1A", Kind.GAS_SMELL, hours_ago=2),
        report("2B", Kind.GAS_SMELL, Kind.TOO_COLD, hours_ago=1),
        report("1B", Kind.TOO_COLD, hours_ago=1),
    )

    assert found == [(["1A", "2B"], "boiler-1")]


def test_three_homes_are_one_danger_though_the_first_and_last_are_far_apart() -> None:
    """Each wrote within hours of the next."""
    found = together(
        report("1A", Kind.CO_ALARM, hours_ago=20),
        report("1B", Kind.CO_ALARM, hours_ago=10),
        report("2A", Kind.CO_ALARM, hours_ago=1),
    )

    assert found == [(["1A", "1B", "2A"], "boiler-1")]


def test_one_home_alone_is_tied_to_nobody() -> None:
    """Neither are two that noticed different things, or the same half a day apart."""
    assert together(report("1A", Kind.GAS_SMELL, hours_ago=1)) == []
    assert (
        together(
            report("1A", Kind.GAS_SMELL, hours_ago=1), report("2B", Kind.CO_ALARM, hours_ago=1)
        )
        == []
    )
    assert (
        together(
            report("1A", Kind.GAS_SMELL, hours_ago=13.5),
            report("2B", Kind.GAS_SMELL, hours_ago=0.5),
        )
        == []
    )


def test_homes_of_two_boilers_share_no_leak() -> None:
    """A part that reaches only one of them cannot be what both noticed."""
    homes = ("1A", "4A")
    reports = [report(home, Kind.GAS_SMELL, hours_ago=1) for home in homes]

    assert together(*reports) == [(sorted(homes), "boiler-1")]
    assert together(*reports, boilers=2) == []


def test_sparks_and_smoke_in_two_homes_are_not_one_danger() -> None:
    """No part that homes share gives them off."""
    for kind in (Kind.ELECTRICAL, Kind.SMOKE):
        reports = [report(home, kind, hours_ago=1) for home in ("1A", "2B")]
        assert together(*reports) == []

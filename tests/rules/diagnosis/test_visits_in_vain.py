"""What visits that found nothing say when the home tells of the same again.

That a technician who measures finds a fault that is there eight times in ten is common practice, no
source.
"""

from __future__ import annotations

from datetime import timedelta

import pytest
from conftest import NOW, report, weather

from rules.data import table
from rules.diagnosis import diagnose
from rules.faults.catalogue import faults
from rules.model import ApartmentId, Evidence, RoomRead, Visited

HOME = ApartmentId("1A")
CHILLY = [
    report("1A", "too_cold"),
    Evidence("m_1A", NOW, RoomRead(HOME, 72.0)),
]


def visit(days_ago: int, readings: int = 4) -> Evidence:
    """One that found nothing at 1A."""
    return Evidence(f"v_{days_ago}", NOW - timedelta(days=days_ago), Visited(HOME, readings))


@pytest.fixture
def suspects(plant, households):
    """What is suspected of 1A, by fault."""

    def found(evidence):
        diagnosis = diagnose(plant, evidence, households, weather(40), NOW)
        (group,) = (g for g in diagnosis.groups if HOME in g.apartments)
        return {s.fault: s.probability for s in group.suspects}

    return found


def odds(found, fault):
    """Of a fault of the home against nothing being broken."""
    return found[fault] / found["expectation_set_point"]


def test_a_visit_on_which_was_measured_leaves_a_fifth_of_a_faults_odds(suspects):
    """Found 8 times in 10 if it is there; of two visits each takes as much, a third no more."""
    never = odds(suspects(CHILLY), "stat_batteries_dead")
    once = odds(suspects([visit(8), *CHILLY]), "stat_batteries_dead")

    assert once / never == pytest.approx(0.2, rel=0.02)
    twice, thrice = (suspects([*map(visit, days), *CHILLY]) for days in ((15, 8), (22, 15, 8)))
    assert thrice == twice
    assert max(twice, key=lambda fault: twice[fault]) == "expectation_set_point"


def test_a_visit_without_readings_says_less(suspects):
    """Who has only looked finds four in ten."""
    never = odds(suspects(CHILLY), "stat_batteries_dead")
    looked = odds(suspects([visit(8, readings=0), *CHILLY]), "stat_batteries_dead")

    assert looked / never == pytest.approx(0.6, rel=0.02)


def test_what_comes_and_goes_may_be_back(suspects):
    """A schedule that was changed back is likelier after a visit, against batteries."""
    never, once = suspects(CHILLY), suspects([visit(8), *CHILLY])

    def against(found):
        return found["stat_schedule_or_hold"] / found["stat_batteries_dead"]

    assert against(once) / against(never) == pytest.approx(0.5 / 0.2, rel=0.02)


def test_the_boiler_is_less_suspected_where_a_home_has_told_in_vain(suspects):
    """It told so before, while the boiler ran."""
    never, twice = suspects(CHILLY), suspects([visit(15), visit(8), *CHILLY])

    assert twice.get("boiler_lockout", 0.0) < never["boiler_lockout"]


def test_a_cold_room_is_another_story(suspects):
    """58 F is no story of a home in which all was found in order."""
    cold = [report("1A", "too_cold"), Evidence("m_1A", NOW, RoomRead(HOME, 58.0))]

    assert suspects([visit(15), visit(8), *cold]) == suspects(cold)


def test_other_homes_that_are_cold_have_their_shared_cause(plant, households):
    """Three homes of the other loop at 62 F: what was found at 1A does not matter to them."""
    homes = [ApartmentId(a) for a in ("3A", "3B", "4C")]
    cold = [report(a, "too_cold", hours_ago=1) for a in homes]
    cold += [Evidence(f"m_{a}", NOW - timedelta(hours=1), RoomRead(a, 62.0)) for a in homes]
    evidence = [visit(15), visit(8), *CHILLY, *cold]

    groups = diagnose(plant, evidence, households, weather(30), NOW).groups

    (theirs,) = (g for g in groups if homes[0] in g.apartments)
    assert set(homes) <= {*theirs.apartments}
    assert theirs.scope != "apartment"


def test_the_table_names_faults_of_homes():
    """A fault that was given another name would count as hardware."""
    named = {*table("visits")["comes_and_goes"], *table("visits")["nothing_to_find"]}
    assert named <= set(faults())
    assert {faults()[name].at for name in named} <= {"apartment", "thermostat"}

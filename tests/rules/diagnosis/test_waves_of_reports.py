"""A report that stays open does not hide what begins later; one slow trouble stays one.

What is expected of each case is a technician's judgement: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta
from itertools import chain, permutations

import numpy as np
import pytest

from rules.checks import order_checks
from rules.checks.notes import notes
from rules.checks.worksheet import worksheet
from rules.choosing.value import question_values
from rules.diagnosis import Diagnosis, diagnose
from rules.diagnosis.one_danger import one_danger
from rules.model import (
    ApartmentId,
    Evidence,
    Found,
    HourlyWeather,
    Household,
    Kind,
    Reported,
    RoomRead,
)
from rules.parts import load_list
from tests.houses import a_boiler, a_home, a_house, a_loop, built, places

MORNING = datetime(2026, 1, 5, 12, 0, tzinfo=UTC)
DAY = 24.0
# Hours, home, what it complains of, and what its thermostat shows.
Told = tuple[float, str, Kind | None, float | None]
BOILER: list[Told] = [
    (0.0, "5A", Kind.TOO_COLD, 67.0),
    (0.4, "3A", Kind.TOO_COLD, 65.0),
    (0.8, "2C", Kind.TOO_COLD, 64.0),
    (1.2, "5D", Kind.TOO_COLD, 65.0),
]
LOOP: list[Told] = [
    (0.0, "3C", Kind.TOO_COLD, 65.0),
    (0.3, "5D", Kind.TOO_COLD, 64.0),
    (0.7, "3D", Kind.TOO_COLD, None),
    (1.0, "4C", Kind.TOO_COLD, 64.0),
    (1.3, "2C", Kind.TOO_COLD, None),
]
CHILLY: list[Told] = [(0.0, "1A", Kind.TOO_COLD, 72.0)]


@pytest.fixture(scope="module")
def plant():
    """Twenty homes, lines A and B on one loop and C and D on another, one boiler with a tank."""
    homes = [
        a_home(floor, line, on=1 if line in "AB" else 2, zoning="zone_valve")
        for floor, line in places(5, "ABCD")
    ]
    boiler = a_boiler(hot_water="indirect_priority", installed="2010-08")
    return built(a_house(homes, [a_loop(1), a_loop(2)], sources=[boiler]))


def after(hours: float, told: Iterable[Told]) -> list[Told]:
    """The same so much later."""
    return [(at + hours, *rest) for at, *rest in told]  # type: ignore[misc]


def evidence_of(told: Iterable[Told]) -> list[Evidence]:
    """Each message with its facts."""
    found: list[Evidence] = []
    for hours, name, kind, room_f in told:
        at, home, source = MORNING + timedelta(hours=hours), ApartmentId(name), f"m_{hours}_{name}"
        if kind is not None:
            found.append(Evidence(source, at, Reported(home, frozenset({kind}))))
        if room_f is not None:
            found.append(Evidence(source, at, RoomRead(home, room_f)))
    return found


def diagnosed(
    plant, told: Sequence[Told], outdoor_f: float, later: float = 0.1, *more: Evidence
) -> Diagnosis:
    """Some minutes, or hours, after the last of it."""
    said = [*evidence_of(told), *more]
    now = max(e.at for e in said) + timedelta(hours=later)
    weather = [HourlyWeather(now + timedelta(hours=h), outdoor_f) for h in range(-30, 48)]
    return diagnose(plant, said, [Household(a.id) for a in plant.apartments], weather, now)


def together(diagnosis: Diagnosis) -> set[str]:
    """The homes of each group, in one word."""
    return {" ".join(group.apartments) for group in diagnosis.groups}


def of(diagnosis: Diagnosis, home: str):
    """The group of a home."""
    return next(g for g in diagnosis.groups if home in g.apartments)


@pytest.mark.parametrize("days", [0.5, 1, 4, 9, 30])
def test_an_old_report_does_not_hide_a_boiler_that_died(plant, days):
    """Four homes of two loops within an hour are the boiler, whatever one home has open since when."""
    alone = of(diagnosed(plant, BOILER, 36), "5A")
    found = diagnosed(plant, CHILLY + after(days * DAY, BOILER), 36)

    assert together(found) == {"1A", "2C 3A 5A 5D"}
    assert of(found, "5A").scope == alone.scope == "source"
    assert of(found, "5A").suspects[0].fault == alone.suspects[0].fault
    assert of(found, "1A").scope == "apartment"


@pytest.mark.parametrize(
    ("kind", "fault"), [(Kind.GAS_SMELL, "gas_leak"), (Kind.CO_ALARM, "combustion_spill_co")]
)
def test_a_danger_has_its_cause_beside_an_old_report(plant, kind, fault):
    """The first suspect is what it would be in a house where nothing is open."""
    danger: list[Told] = [(0.0, "2A", kind, None)]
    alone = of(diagnosed(plant, danger, 44), "2A").suspects[0]
    beside = of(diagnosed(plant, CHILLY + after(9 * DAY, danger), 44), "2A").suspects[0]

    assert alone.fault == beside.fault == fault
    assert beside.probability > alone.probability * 0.7


def test_taps_that_run_cold_are_one_trouble_beside_an_old_report(plant):
    """Four homes without hot water: the boiler's or the tank's, and no chilly home."""
    water = [
        (n / 3, home, Kind.NO_HOT_WATER, None) for n, home in enumerate(("2A", "3C", "4D", "5B"))
    ]
    found = diagnosed(plant, CHILLY + after(9 * DAY, water), 44)

    assert together(found) == {"1A", "2A 3C 4D 5B"}
    assert of(found, "2A").suspects[0].component == "boiler-1"


def test_a_shared_trouble_stays_what_it_is_when_others_come_on_top(plant):
    """A loop waits for its pump: a home elsewhere, then a boiler, are troubles of their own."""
    own = diagnosed(plant, [*LOOP, (10 * DAY, "2A", Kind.TOO_COLD, 62.0)], 28)
    top = [(hours, home, kind, f) for hours, home, kind, f in BOILER if home not in ("2C", "5D")]
    top += [(0.8, "1B", Kind.TOO_COLD, 64.0), (1.2, "2B", Kind.TOO_COLD, 65.0)]
    shared = diagnosed(plant, LOOP + after(10 * DAY, top), 28)

    assert together(own) == {"2A", "2C 3C 3D 4C 5D"}
    assert of(own, "2C").component == of(shared, "2C").component == "loop-2"
    assert together(shared) == {"1B 2B 3A 5A", "2C 3C 3D 4C 5D"}


@pytest.mark.parametrize("days", [0.7, 1.5, 3, 10])
def test_who_writes_late_of_a_dead_loop_is_on_its_ticket(plant, days):
    """A sixth home of a loop that five told of, as cold as rooms are by then."""
    found = diagnosed(plant, [*LOOP, (days * DAY, "1C", Kind.TOO_COLD, 48.0)], 28)

    assert together(found) == {"1C 2C 3C 3D 4C 5D"}
    assert of(found, "1C").component == "loop-2"


def test_a_slow_trouble_of_which_homes_write_one_by_one_is_one(plant):
    """Five homes of one loop within three mild days, each most of a day after the one before."""
    hours = (0.0, 0.9, 1.7, 2.4, 3.0)
    rooms = (66.0, 65.0, None, 64.0, None)
    told = [
        (day * DAY, home, Kind.TOO_COLD, room)
        for day, home, room in zip(hours, ("3C", "5D", "3D", "4C", "2C"), rooms, strict=True)
    ]
    found = diagnosed(plant, told, 48)

    assert together(found) == {"2C 3C 3D 4C 5D"}
    assert of(found, "2C").component == "loop-2"


@pytest.mark.parametrize("again", [(None, 60.0), (Kind.TOO_COLD, None), (Kind.TOO_COLD, 61.0)])
def test_who_told_of_an_old_trouble_and_tells_of_the_new_one_joins_it(plant, again):
    """The chilly home writes anew among those whom the boiler left cold."""
    told = [*CHILLY, *after(9 * DAY, [*BOILER, (1.5, "1A", *again)])]
    found = diagnosed(plant, told, 36)

    assert together(found) == {"1A 2C 3A 5A 5D"}
    assert of(found, "1A").scope == "source"


def test_nothing_new_told_changes_no_suspect_by_the_hour(plant):
    """Ten homes out, nobody comes for days: the list of suspects stands still, and so do the groups."""
    homes = ("5A", "3A", "2C", "5D", "4B", "2B", "1D", "4C", "5C", "1B")
    told = [(n * 0.4, home, Kind.TOO_COLD, 67.0 - n * 0.5) for n, home in enumerate(homes)]
    told = [*CHILLY, *after(9 * DAY, told)]
    lists = []
    for hours in (8, 12, 24, 36, 48, 72):
        found = diagnosed(plant, told, 36, hours)
        assert together(found) == {"1A", " ".join(sorted(homes))}
        group = of(found, "5A")
        lists.append([(s.fault, s.component, round(s.probability, 6)) for s in group.suspects])
    assert all(one == lists[0] for one in lists)


def test_the_order_of_evidence_does_not_matter(plant):
    """A chilly home, a boiler and a late word in any order are the same diagnosis."""
    told = [CHILLY, after(5 * DAY, BOILER), after(9 * DAY, [(0.0, "4B", Kind.NOISE, None)])]
    found = [diagnosed(plant, [*chain(*order)], 36) for order in permutations(told)]

    assert len(found[0].troubles) == 3
    for other in found[1:]:
        assert together(other) == together(found[0])
        for one, two in zip(found[0].troubles, other.troubles, strict=True):
            assert two.belief.states == pytest.approx(one.belief.states, abs=1e-12)


def test_every_complaint_is_weighed_once_and_all_chances_sum_to_one(plant):
    """Each home that wrote is in the causes and groups of one trouble; beliefs are distributions."""
    found = diagnosed(
        plant, [*LOOP, *after(10 * DAY, [*BOILER[:2], (0.5, "1B", Kind.LEAK, None)])], 28
    )

    complaining = sorted(home for part in found.troubles for home in part.causes)
    assert (
        complaining == sorted(found.causes) == sorted(a for g in found.groups for a in g.apartments)
    )
    assert len(complaining) == len(set(complaining)) == 8
    for part in found.troubles:
        assert float(part.belief.states.sum()) == pytest.approx(1, abs=1e-9)
        for cause in part.causes.values():
            assert float(cause.shared.sum() + cause.own.sum()) <= 1 + 1e-9


def test_a_later_trouble_is_what_it_would_be_if_the_older_homes_could_not_write(plant):
    """The posterior of the newest trouble is that of its own evidence, the older home not counted."""
    both = diagnosed(plant, CHILLY + after(9 * DAY, BOILER), 36)
    said = evidence_of(after(9 * DAY, BOILER))
    now = both.belief.times.now
    weather = [HourlyWeather(now + timedelta(hours=h), 36.0) for h in range(-30, 48)]
    people = [Household(a.id) for a in plant.apartments if a.id != "1A"]
    alone = diagnose(plant, said, people, weather, now)

    assert both.troubles[-1].belief.states == pytest.approx(alone.belief.states, abs=1e-12)


def test_a_reading_counts_for_the_trouble_whose_homes_it_is_about(plant):
    """A pump found silent is the loop's; a motor's winding in the chilly home moves no boiler."""
    told = [*LOOP, *after(10 * DAY, [(0.0, "2A", Kind.TOO_COLD, 62.0)])]
    at = MORNING + timedelta(hours=10 * DAY + 1)
    before = diagnosed(plant, told, 28, 1.5)
    winding = Found("motor_ohms", "2A.valve", 1e7, "ohm")
    after_it = diagnosed(plant, told, 28, 0.5, Evidence("finding:1", at, winding))

    assert together(after_it) == together(before)
    old, new = after_it.troubles
    assert old.findings == ()
    assert new.findings == (winding,)
    motor = next(s for s in of(after_it, "2A").suspects if s.fault == "valve_motor_dead")
    assert motor.probability > 0.5
    assert old.belief.states == pytest.approx(before.troubles[0].belief.states, abs=1e-9)


def test_what_rests_on_a_diagnosis_takes_that_of_its_trouble(plant):
    """Questions, checks, parts, notes, forecast and the phone's sheet, of both troubles."""
    found = diagnosed(plant, CHILLY + after(9 * DAY, BOILER), 36)
    alone = diagnosed(plant, CHILLY, 36)

    for home in ("1A", "5A"):
        group = of(found, home)
        assert question_values(found, ApartmentId(home))
        assert order_checks(found, group)
        assert load_list(found, group)
        assert [h["home"] for h in worksheet(found, group.apartments)["homes"]] == list(
            group.apartments
        )
        assert len(found.room_forecast(ApartmentId(home), [0.0, 6.0])) == 2
        assert found.has_told_room(ApartmentId(home))
        notes(found, group)
    assert not any(one_danger(t.belief, t.evidence) for t in found.troubles)
    assert of(found, "1A").suspects[0].fault == of(alone, "1A").suspects[0].fault
    assert np.isfinite(found.room_forecast(ApartmentId("1A"), [6.0])).all()

"""When a suspect is proved, where a technician stands, and which look comes before line voltage.

Common practice, no source, where a test names none: look before touch, low voltage before line voltage,
and what one dead transformer leaves without volts is not measured part by part.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

import pytest

from rules.checks import order_checks
from rules.checks.visit import has_shown, stands_at
from rules.diagnosis import Diagnosis, Group, diagnose
from rules.faults.catalogue import checks
from rules.model import (
    Answered,
    ApartmentId,
    CheckId,
    ComponentId,
    Evidence,
    Found,
    HourlyWeather,
    Household,
    Kind,
    Reported,
    TopicId,
)
from rules.plant import Plant
from tests.houses import a_boiler, a_home, a_house, a_loop, a_valve, built, places

NOW = datetime(2027, 1, 14, 23, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def plant() -> Plant:
    """Two loops of eight homes with zone valves, a transformer each, one boiler that heats taps."""
    homes = [
        a_home(f, line, on, valve=a_valve(f"xf-{on}"))
        for f, line in places(4, "ABCD")
        for on in [1 if f < 3 else 2]
    ]
    loops = [a_loop(1, "xf-1"), a_loop(2, "xf-2")]
    return built(
        a_house(
            homes, loops, sources=[a_boiler(hot_water="indirect")], transformers=("xf-1", "xf-2")
        )
    )


def found(check: str, at: str, read: float | str, unit: str | None = None, **call: bool) -> Found:
    """A reading: a word, or a figure with its unit."""
    if isinstance(read, str):
        return Found(CheckId(check), ComponentId(at), outcome=read, **call)
    return Found(CheckId(check), ComponentId(at), value=read, unit=unit, **call)


def told(
    plant: Plant, homes: Sequence[str], *readings: Found, kind: Kind = Kind.TOO_COLD, **answers: str
) -> tuple[Diagnosis, Group]:
    """Homes complain in a frost; the first one answers; what has been measured, minutes apart."""
    evidence = [
        Evidence(f"m{n}", NOW - timedelta(hours=4), Reported(ApartmentId(home), frozenset({kind})))
        for n, home in enumerate(homes)
    ]
    evidence += [
        Evidence(
            topic, NOW - timedelta(hours=3), Answered(ApartmentId(homes[0]), TopicId(topic), value)
        )
        for topic, value in answers.items()
    ]
    evidence += [
        Evidence(f"f{n}", NOW - timedelta(minutes=20 - n), each) for n, each in enumerate(readings)
    ]
    people = [Household(ApartmentId(a.id)) for a in plant.apartments]
    diagnosis = diagnose(plant, evidence, people, [HourlyWeather(NOW, 20.0)], NOW)
    return diagnosis, next(g for g in diagnosis.groups if homes[0] in g.apartments)


LOOP = ("3A", "3C", "4B", "4D")
FUSE = (
    found("pump_feel", "pump-2", "silent_cold"),
    found("fuse_check", "xf-2", 26.0, "V"),
    found("sec_volts", "xf-2", 0.0, "V", calling=True),
)


def test_a_blown_fuse_leaves_only_what_blew_it_to_be_found(plant: Plant) -> None:
    """Source volts across it, none behind it: nobody goes on to coil, contacts and pump, all dead."""
    diagnosis, group = told(plant, LOOP, *FUSE)

    assert group.suspects[0].fault == "fuse_blown"
    assert [str(s.check) for s in order_checks(diagnosis, group)] == ["short_hunt"]


def test_a_sure_suspect_is_proved_before_anything_has_been_shown(plant: Plant) -> None:
    """Low battery told is nearly certain; it is looked at all the same, and once seen, no more."""
    told_of, first = told(plant, ["3B"], q_screen="low_battery")
    seen, then = told(
        plant,
        ["3B"],
        found("stat_settings", "3B.thermostat", "low_battery"),
        q_screen="low_battery",
    )

    assert order_checks(told_of, first)[0].check == "stat_settings"
    assert has_shown(seen, then)
    assert not has_shown(told_of, first)
    assert order_checks(seen, then) == ()


def test_what_a_healthy_plant_shows_proves_nothing(plant: Plant) -> None:
    """12 to 25 psi and no code: the list of faults is as doubtful as before."""
    normal = (
        found("gauge_tp", "boiler-1", 17.0, "psi"),
        found("display_codes", "boiler-1", "no_lockout"),
    )

    assert not has_shown(*told(plant, LOOP, *normal))


def test_a_technician_stands_where_the_last_reading_was_made(plant: Plant) -> None:
    """In the home after its thermostat, in the boiler room after the pump, and nowhere at first."""
    home = found("stat_settings", "3B.thermostat", "heat_as_agreed")
    room = found("pump_feel", "pump-2", "light_hum")

    assert stands_at(*told(plant, ["3B"])) is None
    assert stands_at(*told(plant, ["3B"], room, home)) == "apartment"
    assert stands_at(*told(plant, ["3B"], home, room)) == "boiler_room"


def test_a_visit_of_yesterday_is_over(plant: Plant) -> None:
    """Whoever comes again stands outside."""
    evidence = [
        Evidence(
            "m", NOW - timedelta(days=2), Reported(ApartmentId("3B"), frozenset({Kind.TOO_COLD}))
        ),
        Evidence("f", NOW - timedelta(days=1), found("pump_feel", "pump-2", "light_hum")),
    ]
    people = [Household(ApartmentId(a.id)) for a in plant.apartments]
    diagnosis = diagnose(plant, evidence, people, [HourlyWeather(NOW, 20.0)], NOW)

    assert stands_at(diagnosis, diagnosis.groups[0]) is None


def test_a_breaker_is_looked_at_before_line_voltage_is_measured(plant: Plant) -> None:
    """The coil has its volts and the pump is silent: hands stay off 120 V until the breaker was seen."""
    diagnosis, group = told(
        plant,
        LOOP,
        found("pump_feel", "pump-2", "silent_cold"),
        found("fuse_check", "xf-2", 0.1, "V"),
        found("coil_volts", "relay-2", 25.2, "V", calling=True),
    )

    made = [str(s.check) for s in order_checks(diagnosis, group)]
    live = [
        n for n, name in enumerate(made) if "ine voltage, live" in checks()[CheckId(name)].caution
    ]

    assert "switch_breaker" in made
    assert live
    assert made.index("switch_breaker") < min(live)


def test_the_air_is_measured_before_anything_at_a_boiler_that_is_out(plant: Plant) -> None:
    """A CO meter is on from the door: all homes are cold and nothing has been looked at."""
    diagnosis, group = told(plant, ["1A", "2C", "3B", "4D"])

    assert order_checks(diagnosis, group)[0].check == "ambient_co"

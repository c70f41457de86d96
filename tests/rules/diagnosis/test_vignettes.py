"""What a heating technician would hold: suspects, first checks, load, one visit or several."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import yaml
from vignette_houses import house

from rules.checks import order_checks
from rules.diagnosis import Diagnosis, Group, Suspect, diagnose
from rules.faults.catalogue import checks, faults
from rules.model import (
    Answered,
    ApartmentId,
    CheckId,
    ComponentId,
    Evidence,
    Fact,
    Found,
    HourlyWeather,
    Household,
    Kind,
    Noise,
    Reported,
    RoomRead,
    TopicId,
)
from rules.parts import load_list
from rules.plant import Plant

VIGNETTES = yaml.safe_load((Path(__file__).parent / "vignettes.yaml").read_text(encoding="utf-8"))
FIRST = 3
# Three suspects are always shown; one below this chance is there to fill the list.
SERIOUS = 0.05
FIRST_CHECKS = 2
LOOKS = frozenset({"eyes", "hand", "phone"})


def _reported(line: str) -> tuple[Fact, float]:
    home, what, hours_ago = line.split()
    kinds, _, noise = what.partition("/")
    fact = Reported(
        ApartmentId(home),
        frozenset(Kind(k) for k in kinds.split("+")),
        Noise(noise) if noise else None,
    )
    return fact, float(hours_ago)


def _answered(line: str) -> Fact:
    home, topic, means = line.split()
    return Answered(ApartmentId(home), TopicId(topic), means)


def _room(line: str) -> Fact:
    home, room, wanted = line.split()
    return RoomRead(ApartmentId(home), float(room), float(wanted))


def _found(line: str) -> Fact:
    check, component, value, *call = line.split()
    calling = {"calling": True, "idle": False}[call[0]] if call else None
    row = checks()[CheckId(check)]
    if row.outcomes:
        return Found(row.id, ComponentId(component), calling=calling, outcome=value)
    unit = row.healthy[0].unit
    return Found(row.id, ComponentId(component), float(value), unit, calling)


def _now(scene: dict[str, Any], plant: Plant) -> datetime:
    day: date = scene["day"]
    local = datetime(day.year, day.month, day.day, scene["hour"], tzinfo=ZoneInfo(plant.timezone))
    return local.astimezone(ZoneInfo("UTC"))


def _evidence(told: dict[str, Any], now: datetime) -> list[Evidence]:
    facts = [_reported(line) for line in told["said"]]
    facts += [(_answered(line), 0.0) for line in told.get("answers", ())]
    facts += [(_room(line), 0.0) for line in told.get("rooms", ())]
    facts += [(_found(line), 0.0) for line in told.get("found", ())]
    return [
        Evidence(f"e{n}", now - timedelta(hours=ago), fact) for n, (fact, ago) in enumerate(facts)
    ]


def _is(plant: Plant, suspect: Suspect, name: str) -> bool:
    """Whether a suspect is what an expectation names: a fault, a component, what is in a home."""
    home = plant.component(suspect.component).apartment
    return name in {suspect.fault, suspect.component, home}


def _is_one_of(plant: Plant, suspects: Sequence[Suspect], names: str) -> bool:
    return any(_is(plant, suspect, name) for suspect in suspects for name in names.split("|"))


def _first_checks(diagnosis: Diagnosis, group: Group) -> list[CheckId]:
    """The checks up to the second one that takes more than a look, which always comes first."""
    made: list[CheckId] = []
    with_tools = 0
    for step in order_checks(diagnosis, group):
        with_tools += not LOOKS.issuperset(checks()[step.check].tools)
        made.append(step.check)
        if with_tools == FIRST_CHECKS:
            break
    return made


def missed(told: dict[str, Any]) -> list[str]:
    """Everything in which the program holds otherwise than the technician."""
    plant = house(told["scene"]["house"])
    now = _now(told["scene"], plant)
    weather = [
        HourlyWeather(now + timedelta(hours=h), told["scene"]["outdoor"]) for h in range(-24, 25)
    ]
    people = [Household(a.id) for a in plant.apartments]
    diagnosis = diagnose(plant, _evidence(told, now), people, weather, now)
    homes = [line.split()[0] for line in told["said"]]
    group = next(g for g in diagnosis.groups if homes[0] in g.apartments)
    first, suspects = group.suspects[:FIRST], group.suspects
    made = _first_checks(diagnosis, group)
    loaded = {load.part for load in load_list(diagnosis, group)}
    says = ", ".join(f"{s.fault}@{s.component} {s.probability:.3f}" for s in suspects[:8])
    wrong = [f"not first: {x}" for x in told.get("must", ()) if not _is_one_of(plant, first, x)]
    serious = [s for s in first if s.probability >= SERIOUS]
    wrong += [f"first: {x}" for x in told.get("never", ()) if _is_one_of(plant, serious, x)]
    wrong += [f"suspect: {x}" for x in told.get("nowhere", ()) if _is_one_of(plant, suspects, x)]
    wrong += [
        f"no suspect: {x}" for x in told.get("somewhere", ()) if not _is_one_of(plant, suspects, x)
    ]
    if "check" in told and not set(told["check"]) & set(made):
        wrong.append(f"checks first: {made}")
    wrong += [
        f"not loaded: {x} in {sorted(loaded)}"
        for x in told.get("load", ())
        if not set(x.split("|")) & loaded
    ]
    if set(group.apartments) != set(told.get("with", homes)):
        wrong.append(f"one ticket: {group.apartments}")
    return [*wrong, f"suspects: {says}"] if wrong else []


@pytest.mark.parametrize("told", VIGNETTES, ids=[told["id"] for told in VIGNETTES])
def test_the_technician_would_agree(told):
    """Suspects, first checks and load are those that an experienced technician would name."""
    assert missed(told) == []


def test_every_vignette_expects_something_that_exists():
    """A misspelt fault, check or part in an expectation would never be missed."""
    known_checks = set(checks())
    for told in VIGNETTES:
        plant = house(told["scene"]["house"])
        homes = {a.id for a in plant.apartments}
        known = set(faults()) | set(plant.components) | homes
        keys = ("must", "never", "nowhere", "somewhere")
        names = {n for key in keys for x in told.get(key, ()) for n in x.split("|")}
        assert names, told["id"]
        assert names <= known, (told["id"], names - known)
        assert set(told.get("check", ())) <= known_checks, told["id"]

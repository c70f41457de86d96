"""What to measure, in which order, and what each reading would mean.

Theory of operation
-------------------
Each suspect says what a check would read if it were the fault; suspects that do not mention a check
leave it healthy. A check therefore sorts the suspects into heaps, one per distinct reading. The next
check is the one that takes most uncertainty (bits of entropy over suspects) per minute, given the
heaps that earlier checks already made; minutes count the walk to another place and the hazard of what
is opened. The order stops when nothing is left to separate.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from rules.checks.figures import caution_here, healthy_here
from rules.diagnosis import Diagnosis, Group, Suspect
from rules.diagnosis.exact import Floats
from rules.faults.catalogue import Check, CheckReading, Fault, checks, faults
from rules.model import ApartmentId, CheckId, ComponentId
from rules.plant import Plant

__all__ = [
    "CHANGE_OF_PLACE_MINUTES",
    "LEAST_BITS",
    "LINE_VOLTAGE_MINUTES",
    "MOST_CHECKS",
    "CheckStep",
    "component_for",
    "order_checks",
    "reading_of",
    "reading_words",
]

MOST_CHECKS = 7
LEAST_BITS = 0.01
CHANGE_OF_PLACE_MINUTES = {"apartment": 10.0, "boiler_room": 3.0, "outside": 10.0}
LINE_VOLTAGE_MINUTES = 3.0


@dataclass(frozen=True, slots=True)
class CheckStep:
    """One measurement: what to do where, the healthy reading, what the others tell."""

    check: CheckId
    component: ComponentId
    do: str
    healthy: str
    tells: str
    minutes: float
    place: str
    before: str
    caution: str
    unit: str | None
    outcomes: tuple[str, ...]
    needs_call_state: bool


def order_checks(diagnosis: Diagnosis, group: Group) -> tuple[CheckStep, ...]:
    """The checks for one group, the best first; checks already made are left out."""
    suspects = group.suspects
    if not suspects:
        return ()
    weight = np.array([s.probability for s in suspects])
    weight = weight / weight.sum()
    made = {f.check for f in diagnosis.findings}
    candidates = {
        row.check: checks()[row.check]
        for s in suspects
        for row in faults()[s.fault].checks
        if row.check not in made
    }
    heaps = ["" for _ in suspects]
    place: str | None = None
    steps: list[CheckStep] = []
    while candidates and len(steps) < MOST_CHECKS:
        scored = {
            c: _bits_gained(weight, heaps, _readings(check, suspects))
            / (check.minutes + _extra_minutes(check, place))
            for c, check in candidates.items()
        }
        best = max(scored, key=lambda c: (scored[c], c))
        check = candidates.pop(best)
        readings = _readings(check, suspects)
        if _bits_gained(weight, heaps, readings) < LEAST_BITS:
            break
        heaps = [f"{heap}|{reading}" for heap, reading in zip(heaps, readings, strict=True)]
        place = check.place
        steps.append(_step(diagnosis, check, suspects, readings, group.apartments))
    return tuple(steps)


def component_for(
    plant: Plant, check: Check, suspect: Suspect, apartments: Sequence[ApartmentId]
) -> ComponentId:
    """Where this check is made for that suspect: its own component or the one beside it."""
    part = plant.component(suspect.component)
    home = plant.apartment(
        part.apartment
        or next((a for a in apartments if a in suspect.reaches), None)
        or next(iter(suspect.reaches))
    )
    loop = plant.loop(part.loop or home.loop)
    valve_power = home.valve.transformer if home.valve else None
    relay_power = loop.relay.transformer if loop.relay else None
    power = valve_power or relay_power
    places: dict[str, ComponentId | None] = {
        "valve": home.valve.id if home.valve else None,
        "thermostat": home.thermostat.id if home.thermostat else None,
        "apartment": ComponentId(home.id),
        "circulator": loop.circulator.id,
        "relay": loop.relay.id if loop.relay else None,
        "loop": ComponentId(loop.id),
        "transformer": power,
        "source": ComponentId(loop.source),
        "building": ComponentId(plant.id),
    }
    at_suspect = suspect.component if part.kind.value == check.at else None
    return at_suspect or places[check.at] or suspect.component


def reading_words(row: CheckReading) -> str:
    """A reading as a technician would say it."""
    if row.outcome is not None:
        return row.outcome.replace("_", " ")
    assert row.reads is not None  # noqa: S101 - a row has reads or an outcome
    low, high = row.reads
    if high >= 1e6:
        return "open circuit"
    figures = f"{low:g}" if low == high else f"{low:g}-{high:g}"
    call = {True: " calling", False: " not calling", None: ""}[row.calling]
    return f"{figures} {row.unit}{call}"


def _readings(check: Check, suspects: Sequence[Suspect]) -> list[str]:
    """Which heap each suspect falls into: its own reading, or the healthy one."""
    return [reading_of(check, faults()[suspect.fault]) for suspect in suspects]


def reading_of(check: Check, fault: Fault) -> str:
    """What a check would read if this were the fault, in words: its own reading, or ``healthy``."""
    own = [r for r in fault.checks if r.check == check.id]
    if not own or all(_as_healthy(r, check) for r in own):
        return "healthy"
    return "; ".join(sorted(reading_words(r) for r in own if not _as_healthy(r, check)))


def _as_healthy(row: CheckReading, check: Check) -> bool:
    if row.outcome is not None:
        return bool(check.outcomes) and row.outcome == check.outcomes[0]
    return any(
        good.reads is not None
        and row.reads is not None
        and (good.calling is None or row.calling is None or good.calling == row.calling)
        and good.reads[0] <= row.reads[0]
        and row.reads[1] <= good.reads[1]
        for good in check.healthy
    )


def _bits_gained(weight: Floats, heaps: Sequence[str], readings: Sequence[str]) -> float:
    after = [f"{heap}|{reading}" for heap, reading in zip(heaps, readings, strict=True)]
    return _bits(weight, after) - _bits(weight, list(heaps))


def _bits(weight: Floats, heaps: Sequence[str]) -> float:
    """Entropy of which heap the true fault lies in: what the checks so far would tell."""
    mass: dict[str, float] = {}
    for heap, part in zip(heaps, weight, strict=True):
        mass[heap] = mass.get(heap, 0.0) + float(part)
    return -sum(m * float(np.log2(m)) for m in mass.values() if m > 0)


def _extra_minutes(check: Check, place: str | None) -> float:
    walk = 0.0 if place == check.place else CHANGE_OF_PLACE_MINUTES[check.place]
    return walk + (LINE_VOLTAGE_MINUTES if "120 V" in check.caution else 0.0)


def _step(
    diagnosis: Diagnosis,
    check: Check,
    suspects: Sequence[Suspect],
    readings: Sequence[str],
    apartments: Sequence[ApartmentId],
) -> CheckStep:
    owner = next(
        (s for s, r in zip(suspects, readings, strict=True) if r != "healthy"), suspects[0]
    )
    units = {r.unit for r in check.healthy if r.unit} | {
        r.unit for s in suspects for r in faults()[s.fault].checks if r.check == check.id and r.unit
    }
    component = component_for(diagnosis.plant, check, owner, apartments)
    return CheckStep(
        check=check.id,
        component=component,
        do=check.do,
        healthy=healthy_here(diagnosis.plant, diagnosis.belief.space.climate, check, component),
        tells=_tells(suspects, readings),
        minutes=check.minutes,
        place=check.place,
        before=check.before,
        caution=caution_here(check, (faults()[s.fault] for s in suspects)),
        unit=None if check.outcomes else next(iter(sorted(units)), None),
        outcomes=check.outcomes,
        needs_call_state=any(r.calling is not None for r in check.healthy),
    )


def _tells(suspects: Sequence[Suspect], readings: Sequence[str]) -> str:
    """Reading by reading, whom it points to."""
    heaps: dict[str, list[str]] = {}
    for suspect, reading in zip(suspects, readings, strict=True):
        names = heaps.setdefault(reading, [])
        name = suspect.says.split(";")[0]
        if name not in names:
            names.append(name)
    ordered: Mapping[str, list[str]] = dict(
        sorted(heaps.items(), key=lambda kv: (kv[0] == "healthy", kv[0]))
    )
    return "; ".join(f"{r}: {_or(names)}" for r, names in ordered.items())


def _or(names: Sequence[str]) -> str:
    listed = [n[:1].lower() + n[1:] if n[1:2].islower() else n for n in names[:3]]
    return " or ".join(listed) + (" or another" if len(names) > 3 else "")

"""What to measure, in which order, and what each reading would mean.

Theory of operation
-------------------
Each suspect says what a check would read if it were the fault; suspects that do not mention a check
leave it healthy, and so do those that share no home with the component it is made at. A check at one
component therefore sorts the suspects into heaps, one per distinct reading. The next is the one that
takes most uncertainty (bits of entropy over suspects) per minute, given the heaps that earlier ones
already made; minutes count the walk to another place and the hazard of what is opened. The order stops
when nothing is left to separate. A check is proposed only where the plant has the part that it is made
at, and may be proposed again at a second part.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from rules.checks.figures import caution_here, healthy_here
from rules.checks.places import component_for, doing_at, is_made, row_of
from rules.diagnosis import Diagnosis, Group, Suspect
from rules.diagnosis.exact import Floats
from rules.diagnosis.measuring import concerned_by
from rules.faults.catalogue import checks
from rules.faults.rows import Check, CheckReading, Fault
from rules.model import CheckId, ComponentId

__all__ = [
    "CHANGE_OF_PLACE_MINUTES",
    "HEALTHY",
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
HEALTHY = "healthy"


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


@dataclass(frozen=True, slots=True)
class _Measurement:
    """A check at one component, and what it would read there under each suspect."""

    check: Check
    component: ComponentId
    readings: tuple[str, ...]

    @property
    def key(self) -> tuple[str, str]:
        return str(self.check.id), str(self.component)


def order_checks(diagnosis: Diagnosis, group: Group) -> tuple[CheckStep, ...]:
    """The checks for one group, the best first; what has been measured already is left out."""
    suspects = group.suspects
    if not suspects:
        return ()
    weight = np.array([s.probability for s in suspects])
    weight = weight / weight.sum()
    left = {m.key: m for m in _measurements(diagnosis, group)}
    heaps = ["" for _ in suspects]
    place: str | None = None
    steps: list[CheckStep] = []
    while left and len(steps) < MOST_CHECKS:
        scored = {
            key: _bits_gained(weight, heaps, m.readings)
            / (m.check.minutes + _extra_minutes(m.check, place))
            for key, m in left.items()
        }
        best = left.pop(max(scored, key=lambda key: (scored[key], key)))
        if _bits_gained(weight, heaps, best.readings) < LEAST_BITS:
            break
        heaps = [f"{heap}|{reading}" for heap, reading in zip(heaps, best.readings, strict=True)]
        place = best.check.place
        steps.append(_step(diagnosis, best, suspects))
    return tuple(steps)


def _measurements(diagnosis: Diagnosis, group: Group) -> Iterator[_Measurement]:
    """Every check that some suspect does not leave healthy, where it would be made, once a place."""
    plant = diagnosis.plant
    rows = [row_of(plant, suspect) for suspect in group.suspects]
    seen: set[tuple[CheckId, ComponentId]] = set()
    for suspect, fault in zip(group.suspects, rows, strict=True):
        for check in (checks()[reading.check] for reading in fault.checks):
            component = component_for(plant, check, suspect, group.apartments)
            if component is None or (check.id, component) in seen:
                continue
            if reading_of(check, fault) == HEALTHY:
                continue
            seen.add((check.id, component))
            if is_made(plant, check, component, diagnosis.findings):
                continue
            concerned = concerned_by(plant, component)
            yield _Measurement(
                check,
                component,
                tuple(
                    reading_of(check, row) if concerned(other.component, other.reaches) else HEALTHY
                    for other, row in zip(group.suspects, rows, strict=True)
                ),
            )


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


def reading_of(check: Check, fault: Fault) -> str:
    """What a check would read if this were the fault, in words: its own reading, or ``healthy``."""
    own = [r for r in fault.checks if r.check == check.id]
    if not own or all(_as_healthy(r, check) for r in own):
        return HEALTHY
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


def _step(diagnosis: Diagnosis, made: _Measurement, suspects: Sequence[Suspect]) -> CheckStep:
    check, plant = made.check, diagnosis.plant
    rows = [row_of(plant, suspect) for suspect in suspects]
    units = {r.unit for r in check.healthy if r.unit} | {
        r.unit for row in rows for r in row.checks if r.check == check.id and r.unit
    }
    return CheckStep(
        check=check.id,
        component=made.component,
        do=doing_at(plant, check, made.component),
        healthy=healthy_here(plant, diagnosis.belief.space.climate, check, made.component),
        tells=_tells(suspects, made.readings),
        minutes=check.minutes,
        place=check.place,
        before=check.before,
        caution=caution_here(check, rows),
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
        sorted(heaps.items(), key=lambda kv: (kv[0] == HEALTHY, kv[0]))
    )
    return "; ".join(f"{r}: {_or(names)}" for r, names in ordered.items())


def _or(names: Sequence[str]) -> str:
    listed = [n[:1].lower() + n[1:] if n[1:2].islower() else n for n in names[:3]]
    return " or ".join(listed) + (" or another" if len(names) > 3 else "")

"""One check as a ticket has it: what to do where, what it should read, what else it would mean."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from rules.checks.figures import caution_here, healthy_here
from rules.checks.places import doing_at
from rules.checks.units import units_of
from rules.diagnosis import Diagnosis
from rules.faults.rows import Check, Fault
from rules.model import CheckId, ComponentId

__all__ = ["CheckStep", "made_step"]


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
    unit: str | None  # the usual one of its readings; None where it is answered in words
    outcomes: tuple[str, ...]
    needs_call_state: bool


def made_step(
    diagnosis: Diagnosis,
    check: Check,
    component: ComponentId,
    suspects: Iterable[Fault],
    tells: str,
) -> CheckStep:
    """A check at a component, for a ticket with these suspects."""
    plant = diagnosis.plant
    return CheckStep(
        check=check.id,
        component=component,
        do=doing_at(plant, check, component),
        healthy=healthy_here(plant, diagnosis.belief.space.climate, check, component),
        tells=tells,
        minutes=check.minutes,
        place=check.place,
        before=check.before,
        caution=caution_here(check, suspects),
        unit=next(iter(units_of(check)), None),
        outcomes=check.outcomes,
        needs_call_state=any(r.calling is not None for r in check.healthy),
    )

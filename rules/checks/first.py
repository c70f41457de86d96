"""What a technician begins with where nothing points anywhere yet."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Literal

from pydantic import BaseModel, ConfigDict

from rules.checks.kinds import kinds_told
from rules.checks.places import is_made, part_near
from rules.checks.step import CheckStep, made_step
from rules.data import table
from rules.diagnosis import Diagnosis, Group
from rules.faults.catalogue import checks
from rules.model import CheckId, Kind

__all__ = [
    "WITHOUT_POWER",
    "FirstCheck",
    "before_all_else",
    "first_checks",
    "first_rows",
    "while_power_is_off",
]

STEAM = "steam_boiler"
# Until that has been looked at, where it sparked, the power stays off.
WITHOUT_POWER = CheckId("scorch_look")


class FirstCheck(BaseModel):
    """A check that is made in any case, for which complaints and houses, and what it tells."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    check: CheckId
    about: tuple[Kind, ...]
    house: Literal["water", "steam"] | None = None  # None: either
    before_all: bool = False  # whatever is suspected
    needs_power: bool = True  # of the heating, or that something runs
    tells: tuple[str, ...]


@cache
def first_rows() -> tuple[FirstCheck, ...]:
    """All of them in the order in which they are made."""
    return tuple(FirstCheck.model_validate(row) for row in table("first_checks"))


def first_checks(diagnosis: Diagnosis, group: Group) -> Iterator[CheckStep]:
    """Those for what the homes of a group complain of, where the house has the part, not made yet."""
    plant = diagnosis.plant
    told = {home: kinds_told(diagnosis, [home]) for home in group.apartments}
    for row in first_rows():
        telling = [
            plant.apartment(a) for a, kinds in told.items() if not kinds.isdisjoint(row.about)
        ]
        if not telling:
            continue
        # Water runs down: of several homes the topmost; of all else the first.
        home = max(telling, key=lambda a: a.floor) if Kind.LEAK in row.about else telling[0]
        house = "steam" if plant.source(plant.loop(home.loop).source).kind == STEAM else "water"
        if row.house not in (None, house):
            continue
        check = checks()[row.check]
        component = part_near(plant, check.at, plant.component(group.component), home)
        if component is not None and not is_made(plant, check, component, diagnosis.findings):
            yield made_step(diagnosis, check, component, (), "; ".join(row.tells))


def before_all_else(diagnosis: Diagnosis, group: Group) -> tuple[CheckStep, ...]:
    """What is looked at before anything is opened: the air, what is scorched, where it is wet."""
    names = {row.check for row in first_rows() if row.before_all}
    return tuple(s for s in first_checks(diagnosis, group) if s.check in names)


def while_power_is_off(diagnosis: Diagnosis, group: Group) -> tuple[CheckStep, ...]:
    """All that is made where it sparked until it has been looked at there; none elsewhere."""
    steps = tuple(first_checks(diagnosis, group))
    if all(step.check != WITHOUT_POWER for step in steps):
        return ()
    names = {row.check for row in first_rows() if not row.needs_power}
    return tuple(step for step in steps if step.check in names)

"""What a technician begins with where nothing points anywhere yet."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Literal

from pydantic import BaseModel, ConfigDict

from rules.checks.places import is_made, part_near
from rules.checks.step import CheckStep, made_step
from rules.data import table
from rules.diagnosis import Diagnosis, Group
from rules.faults.catalogue import checks
from rules.model import CheckId, Kind

__all__ = ["FirstCheck", "first_checks", "first_rows", "safety_checks"]

STEAM = "steam_boiler"
_AIR = frozenset({Kind.GAS_SMELL, Kind.CO_ALARM, Kind.SMOKE})
_OF_THE_AIR = frozenset({CheckId("ambient_co"), CheckId("sniff_soap")})


class FirstCheck(BaseModel):
    """A check that is made in any case, for which complaints and houses, and what it tells."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    check: CheckId
    about: tuple[Kind, ...]
    house: Literal["water", "steam"] | None = None  # None: either
    tells: tuple[str, ...]


@cache
def first_rows() -> tuple[FirstCheck, ...]:
    """All of them in the order in which they are made."""
    return tuple(FirstCheck.model_validate(row) for row in table("first_checks"))


def first_checks(diagnosis: Diagnosis, group: Group) -> Iterator[CheckStep]:
    """Those for what the homes of a group complain of, where the house has the part, not made yet."""
    plant = diagnosis.plant
    home = plant.apartment(group.apartments[0])
    kinds = _kinds(diagnosis, group)
    house = "steam" if plant.source(plant.loop(home.loop).source).kind == STEAM else "water"
    for row in first_rows():
        if kinds.isdisjoint(row.about) or row.house not in (None, house):
            continue
        check = checks()[row.check]
        component = part_near(plant, check.at, plant.component(group.component), home)
        if component is not None and not is_made(plant, check, component, diagnosis.findings):
            yield made_step(diagnosis, check, component, (), "; ".join(row.tells))


def safety_checks(diagnosis: Diagnosis, group: Group) -> tuple[CheckStep, ...]:
    """What is measured before all else where a home smells gas or smoke, or an alarm has sounded."""
    if _AIR.isdisjoint(_kinds(diagnosis, group)):
        return ()
    return tuple(s for s in first_checks(diagnosis, group) if s.check in _OF_THE_AIR)


def _kinds(diagnosis: Diagnosis, group: Group) -> set[Kind]:
    said = (diagnosis.belief.homes[a].reported for a in group.apartments)
    return {kind for reported in said if reported is not None for kind in reported.kinds}

"""From the complaints of a building, and the silence of the rest, to what explains them.

``diagnose`` is a pure function of plant, evidence, households, weather and time. To change its mind,
change the evidence and ask again.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime

from rules.diagnosis.ahead import room_ahead, room_told
from rules.diagnosis.belief import Belief
from rules.diagnosis.causes import Causes, causes_of
from rules.diagnosis.exact import ImpossibleEvidenceError
from rules.diagnosis.groups import Group, Scope, Suspect, group_within, groups_of
from rules.diagnosis.moment import outdoor_f, timeline
from rules.diagnosis.space import make_space
from rules.diagnosis.weighing import believe
from rules.diagnosis.why import Why
from rules.faults.lives import NOTHING_LEARNED, LearnedLives
from rules.model import ApartmentId, Evidence, Found, HourlyWeather, Household
from rules.plant import Plant

__all__ = [
    "Diagnosis",
    "Group",
    "ImpossibleEvidenceError",
    "Scope",
    "Suspect",
    "Why",
    "causes_of_complaints",
    "diagnose",
    "groups_of",
]


@dataclass(frozen=True, eq=False, slots=True)
class Diagnosis:
    """The groups of a building's complaints, and the belief they were drawn from."""

    plant: Plant
    belief: Belief
    groups: tuple[Group, ...]
    causes: dict[ApartmentId, Causes]
    findings: tuple[Found, ...]
    evidence: tuple[Evidence, ...] = ()

    def narrowed(self, group: Group, apartments: Collection[ApartmentId]) -> Group:
        """The group as those of its apartments see it that are among ``apartments``, at least one.

        A danger has a ticket of its own, and people take tickets apart: what is suspected there is what
        is behind the complaints that are on it.
        """
        members = [a for a in group.apartments if a in apartments]
        if len(members) == len(group.apartments):
            return group
        return group_within(self.belief, self.causes, self.evidence, members)

    def room_forecast(self, apartment: ApartmentId, hours: Sequence[float]) -> tuple[float, ...]:
        """Expected room temperature of one home, in F, after each number of hours from now."""
        return room_ahead(self.belief, self.evidence, apartment, hours)

    def has_told_room(self, apartment: ApartmentId) -> bool:
        """Whether the forecast of a home starts from a thermometer."""
        return room_told(self.belief, self.evidence, apartment) is not None


def diagnose(
    plant: Plant,
    evidence: Sequence[Evidence],
    households: Sequence[Household],
    weather: Sequence[HourlyWeather],
    now: datetime,
    lives: LearnedLives = NOTHING_LEARNED,
) -> Diagnosis:
    """What explains all open complaints of a building together.

    Args:
        plant: the building.
        evidence: facts of all open complaints and checks.
        households: homes that could write; only their silence counts.
        weather: observed and forecast outdoor temperatures; may be empty.
        now: aware time.
        lives: how long one's own parts have lasted against what the tables say.

    Raises:
        ImpossibleEvidenceError: the evidence contradicts itself beyond any state of the model.
    """
    space = make_space(plant, now.date(), outdoor_f(weather, now), lives)
    reachable = {h.apartment for h in households}
    belief = believe(space, evidence, reachable, timeline(evidence, now, plant.timezone))
    causes = causes_of_complaints(belief)
    groups = groups_of(belief, causes, evidence)
    findings = tuple(e.fact for e in evidence if isinstance(e.fact, Found))
    return Diagnosis(plant, belief, groups, causes, findings, tuple(evidence))


def causes_of_complaints(belief: Belief) -> dict[ApartmentId, Causes]:
    """Who is behind each complaint."""
    return {
        apartment: causes_of(belief, apartment)
        for apartment, home in belief.homes.items()
        if home.reported is not None
    }

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
from rules.diagnosis.space import Space, make_space
from rules.diagnosis.troubles import Trouble, troubles_of
from rules.diagnosis.turned import as_told_last
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
    """The groups of a building's complaints, and the belief they were drawn from.

    Where reports came in waves there may be several troubles, each with a diagnosis in ``parts``, the
    oldest first; the belief of the whole is that of the newest.
    """

    plant: Plant
    belief: Belief
    groups: tuple[Group, ...]
    causes: dict[ApartmentId, Causes]
    findings: tuple[Found, ...]
    evidence: tuple[Evidence, ...] = ()
    parts: tuple[Diagnosis, ...] = ()

    @property
    def troubles(self) -> tuple[Diagnosis, ...]:
        """The diagnosis of each trouble; of a building that has one, this one."""
        return self.parts or (self,)

    def of(self, apartments: Collection[ApartmentId]) -> Diagnosis:
        """That of the trouble of which most of these homes complain, else of the newest."""
        if not self.parts:
            return self
        return max(reversed(self.parts), key=lambda part: sum(a in part.causes for a in apartments))

    def narrowed(self, group: Group, apartments: Collection[ApartmentId]) -> Group:
        """The group as those of its apartments see it that are among ``apartments``, at least one.

        A danger has a ticket of its own, and people take tickets apart: what is suspected there is what
        is behind the complaints that are on it.
        """
        members = [a for a in group.apartments if a in apartments]
        if len(members) == len(group.apartments):
            return group
        part = self.of(members)
        return group_within(part.belief, part.causes, part.evidence, members)

    def room_forecast(self, apartment: ApartmentId, hours: Sequence[float]) -> tuple[float, ...]:
        """Expected room temperature of one home, in F, after each number of hours from now."""
        part = self.of([apartment])
        return room_ahead(part.belief, part.evidence, apartment, hours)

    def has_told_room(self, apartment: ApartmentId) -> bool:
        """Whether the forecast of a home starts from a thermometer."""
        part = self.of([apartment])
        return room_told(part.belief, part.evidence, apartment) is not None


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
    evidence = as_told_last(evidence)
    space = make_space(plant, now.date(), outdoor_f(weather, now), lives)
    reachable = [h.apartment for h in households]
    troubles = troubles_of(space, evidence, reachable, plant.timezone)
    parts = tuple(_of_trouble(space, trouble, now) for trouble in troubles)
    if len(parts) == 1:
        return parts[0]
    return Diagnosis(
        plant,
        parts[-1].belief,
        tuple(sorted((g for part in parts for g in part.groups), key=lambda g: g.apartments)),
        {home: cause for part in parts for home, cause in part.causes.items()},
        tuple(e.fact for e in evidence if isinstance(e.fact, Found)),
        tuple(evidence),
        parts,
    )


def _of_trouble(space: Space, trouble: Trouble, now: datetime) -> Diagnosis:
    plant, evidence = space.plant, trouble.evidence
    times = timeline(evidence, now, plant.timezone, trouble.quiet_until)
    belief = believe(space, evidence, trouble.reachable, times)
    causes = causes_of_complaints(belief)
    findings = tuple(e.fact for e in evidence if isinstance(e.fact, Found))
    return Diagnosis(plant, belief, groups_of(belief, causes, evidence), causes, findings, evidence)


def causes_of_complaints(belief: Belief) -> dict[ApartmentId, Causes]:
    """Who is behind each complaint."""
    return {
        apartment: causes_of(belief, apartment)
        for apartment, home in belief.homes.items()
        if home.reported is not None
    }

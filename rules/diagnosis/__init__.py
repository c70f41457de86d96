"""From the complaints of a building, and the silence of the rest, to what explains them.

``diagnose`` is a pure function of plant, evidence, households, weather and time. To change its mind,
change the evidence and ask again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

import numpy as np

from rules.diagnosis.belief import Belief, believe
from rules.diagnosis.causes import Causes, average, causes_of, connected
from rules.diagnosis.exact import ImpossibleEvidenceError
from rules.diagnosis.moment import outdoor_f, timeline
from rules.diagnosis.space import make_space
from rules.diagnosis.why import Why, why
from rules.faults.candidates import Candidate
from rules.model import ApartmentId, ComponentId, Evidence, FaultId, Found, HourlyWeather, Household
from rules.plant import ComponentKind, Plant

__all__ = ["Diagnosis", "Group", "ImpossibleEvidenceError", "Scope", "Suspect", "Why", "diagnose"]

Scope = Literal["apartment", "loop", "transformer", "source", "building", "riser"]

# A suspect below this chance is left to "something else".
_WORTH_NAMING = 0.005
_MOST_SUSPECTS = 12
_MOSTLY = 0.5
_FIRST_PLACES = 3


@dataclass(frozen=True, slots=True)
class Suspect:
    """A fault of a component, the chance that it is behind a complaint of the group.

    ``explains`` are the group's apartments whose complaint it would explain, ``reaches`` all
    apartments that it serves.
    """

    fault: FaultId
    says: str
    component: ComponentId
    probability: float
    explains: tuple[ApartmentId, ...]
    reaches: tuple[ApartmentId, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """Complaints with one root cause: one thing to go and fix.

    ``suspects`` begin with the leading fault of each of the three likeliest components; the rest
    follow by probability.
    """

    apartments: tuple[ApartmentId, ...]
    scope: Scope
    component: ComponentId
    suspects: tuple[Suspect, ...]
    why: tuple[Why, ...]

    @property
    def unknown(self) -> float:
        """The share left for something that is not listed."""
        return max(0.0, 1.0 - sum(s.probability for s in self.suspects))


@dataclass(frozen=True, eq=False, slots=True)
class Diagnosis:
    """The groups of a building's complaints, and the belief they were drawn from."""

    plant: Plant
    belief: Belief
    groups: tuple[Group, ...]
    causes: dict[ApartmentId, Causes]
    findings: tuple[Found, ...]
    evidence: tuple[Evidence, ...] = ()

    def room_forecast(self, apartment: ApartmentId, hours: Sequence[float]) -> tuple[float, ...]:
        """Expected room temperature of one home, in F, after each number of hours from now."""
        if apartment not in self.belief.homes:
            return tuple(70.0 for _ in hours)
        home, mass = self.belief.by_key(apartment)
        times, kind, keys = self.belief.times, home.kind, home.keys
        patterns = kind.pattern_of_look[keys.look]
        by_pattern = np.zeros((len(mass), *kind.course.final_f.shape))
        for onset, part in enumerate(mass):
            np.add.at(by_pattern[onset], (patterns[:, None], kind.pattern_of_own[None, :]), part)
        return tuple(
            sum(
                float((part * kind.course.room_f(o.hours(times.now) + h)).sum())
                for o, part in zip(times.onsets, by_pattern, strict=True)
            )
            for h in hours
        )


def diagnose(
    plant: Plant,
    evidence: Sequence[Evidence],
    households: Sequence[Household],
    weather: Sequence[HourlyWeather],
    now: datetime,
) -> Diagnosis:
    """What explains all open complaints of a building together.

    Args:
        plant: the building.
        evidence: facts of all open complaints and checks.
        households: homes that could write; only their silence counts.
        weather: observed and forecast outdoor temperatures; may be empty.
        now: aware time.

    Raises:
        ImpossibleEvidenceError: the evidence contradicts itself beyond any state of the model.
    """
    space = make_space(plant, now.date(), outdoor_f(weather, now))
    reachable = {h.apartment for h in households}
    belief = believe(space, evidence, reachable, timeline(evidence, now, plant.timezone))
    causes = {
        apartment: causes_of(belief, apartment)
        for apartment, home in belief.homes.items()
        if home.reported is not None
    }
    groups = tuple(_group(belief, causes, members) for members in connected(belief, causes))
    groups = tuple(_with_why(belief, evidence, group) for group in groups)
    findings = tuple(e.fact for e in evidence if isinstance(e.fact, Found))
    return Diagnosis(plant, belief, groups, causes, findings, tuple(evidence))


def _with_why(belief: Belief, evidence: Sequence[Evidence], group: Group) -> Group:
    lines = why(
        belief,
        evidence,
        group.apartments,
        [(s.fault, s.component) for s in group.suspects[:2]],
    )
    return Group(group.apartments, group.scope, group.component, group.suspects, lines)


def _group(
    belief: Belief, causes: dict[ApartmentId, Causes], members: Sequence[ApartmentId]
) -> Group:
    suspects = _suspects(belief, [causes[m] for m in members])
    scope, component = _scope(belief.space.plant, suspects, members)
    return Group(tuple(members), scope, component, suspects, ())


def _suspects(belief: Belief, causes: Sequence[Causes]) -> tuple[Suspect, ...]:
    found: list[Suspect] = []
    means = average(causes)
    for n, candidate in enumerate(belief.space.shared):
        mean = means[n]
        if mean >= _WORTH_NAMING:
            homes = [c.apartment for c in causes if c.shared[n] > _WORTH_NAMING]
            found.append(_suspect(candidate, float(mean), homes))
    for cause in causes:
        for k, placed in enumerate(belief.space.local(cause.apartment), start=1):
            mean = float(cause.own[k]) / len(causes)
            if mean >= _WORTH_NAMING:
                found.append(_suspect(placed, mean, [cause.apartment]))
    return _in_order(found)


def _in_order(found: Sequence[Suspect]) -> tuple[Suspect, ...]:
    """First the leading fault of each of the likeliest components, then the rest by probability.

    Whoever reads the first three wants to know where to look; four faults of one valve in a row
    would hide that it may be the thermostat.
    """
    ranked = sorted(found, key=lambda s: (-s.probability, s.fault, s.component))
    weight: dict[ComponentId, float] = {}
    leading: dict[ComponentId, Suspect] = {}
    for suspect in ranked:
        weight[suspect.component] = weight.get(suspect.component, 0.0) + suspect.probability
        leading.setdefault(suspect.component, suspect)
    places = sorted(weight, key=lambda c: (-weight[c], c))[:_FIRST_PLACES]
    first = [leading[component] for component in places]
    return (*first, *(s for s in ranked if s not in first))[:_MOST_SUSPECTS]


def _suspect(candidate: Candidate, probability: float, homes: Sequence[ApartmentId]) -> Suspect:
    assert candidate.row is not None  # noqa: S101 - something else is never a suspect
    return Suspect(
        fault=candidate.fault,
        says=candidate.row.says,
        component=candidate.component,
        probability=probability,
        explains=tuple(sorted(homes)),
        reaches=tuple(sorted(candidate.homes)),
    )


def _scope(
    plant: Plant, suspects: Sequence[Suspect], members: Sequence[ApartmentId]
) -> tuple[Scope, ComponentId]:
    """The part of the plant that holds most of the suspicion."""
    weight: dict[tuple[Scope, ComponentId], float] = {}
    for suspect in suspects:
        root = _root(plant, suspect.component)
        if root[0] == "apartment" and len(members) > 1:
            continue
        weight[root] = weight.get(root, 0.0) + suspect.probability
    best = max(weight, key=lambda root: (weight[root], root[1]), default=None)
    # One complaint is one apartment's until the rest of the plant holds most of the suspicion.
    if best is None or (len(members) == 1 and weight[best] < _MOSTLY):
        return "apartment", ComponentId(members[0])
    return best


def _root(plant: Plant, component: ComponentId) -> tuple[Scope, ComponentId]:
    part = plant.component(component)
    if part.apartment is not None:
        return "apartment", ComponentId(part.apartment)
    if part.kind is ComponentKind.TRANSFORMER:
        return "transformer", component
    if part.kind is ComponentKind.SOURCE:
        return "source", component
    if part.kind is ComponentKind.BUILDING:
        return "building", component
    return "loop", ComponentId(part.loop or component)

"""Groups of complaints with one cause: what is suspected, where in the plant, and why.

Whoever reads the first suspects wants to know where to look, so the likeliest components come first,
each with its leading fault.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal, NamedTuple

import numpy as np

from rules.diagnosis.belief import Belief
from rules.diagnosis.causes import Causes, connected
from rules.diagnosis.exact import Floats
from rules.diagnosis.why import Why, why
from rules.faults.candidates import Candidate
from rules.model import ApartmentId, ComponentId, Evidence, FaultId
from rules.plant import ComponentKind, Plant

__all__ = ["Group", "Scope", "Suspect", "groups_of"]

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
    follow by probability. ``components`` are those three, then the others by their chance: that any
    fault worth naming of the component is behind the complaints, whether or not it is on the list.
    """

    apartments: tuple[ApartmentId, ...]
    scope: Scope
    component: ComponentId
    suspects: tuple[Suspect, ...]
    components: tuple[tuple[ComponentId, float], ...]
    why: tuple[Why, ...]

    @property
    def unknown(self) -> float:
        """The share left for something that is not listed."""
        return max(0.0, 1.0 - sum(s.probability for s in self.suspects))


def groups_of(
    belief: Belief, causes: dict[ApartmentId, Causes], evidence: Sequence[Evidence]
) -> tuple[Group, ...]:
    """Complaints with one cause, their suspects, and why."""
    groups = connected(belief, causes)
    return tuple(group_within(belief, causes, evidence, members) for members in groups)


def group_within(
    belief: Belief,
    causes: dict[ApartmentId, Causes],
    evidence: Sequence[Evidence],
    members: Sequence[ApartmentId],
) -> Group:
    """What these complaints suggest by themselves, where they stand on their own."""
    # Whoever sees the water of a home above has its trouble, and none of its own.
    below = {m: above for m in members if (above := belief.runs_down.get(m)) is not None}
    troubled = belief.troubled(members)
    of_members = [causes[m] for m in troubled]
    ranked = _ranked(belief, of_members)
    components = _components(ranked)
    suspects = _suspects(ranked, [c for c, _ in components[:_FIRST_PLACES]], of_members)
    suspects = tuple(_seen_below(suspect, below, members) for suspect in suspects)
    scope, component = _scope(belief.space.plant, suspects, troubled)
    first = [(s.fault, s.component) for s in suspects[:2]]
    says = why(belief, evidence, troubled, first)
    return Group(tuple(members), scope, component, suspects, components, says)


def _suspects(
    ranked: Sequence[_Found], places: Sequence[ComponentId], causes: Sequence[Causes]
) -> tuple[Suspect, ...]:
    """First the leading fault of each of the likeliest components, then the rest by probability.

    Whoever reads the first three wants to know where to look; four faults of one valve in a row
    would hide that it may be the thermostat.
    """
    leading: dict[ComponentId, int] = {}
    for place, found in enumerate(ranked):
        leading.setdefault(found.candidate.component, place)
    first = dict.fromkeys(leading[component] for component in places)
    ordered = [ranked[place] for place in (first | dict.fromkeys(range(len(ranked))))]
    # The list does not end between equals, such as two boilers of a cascade.
    least = _digits(ordered[:_MOST_SUSPECTS][-1].probability) if ordered else 0
    listed = (
        found
        for place, found in enumerate(ordered)
        if place < _MOST_SUSPECTS or _digits(found.probability) == least
    )
    return tuple(_suspect(found, causes) for found in listed)


def _components(ranked: Sequence[_Found]) -> tuple[tuple[ComponentId, float], ...]:
    """The components with their chances, in the order in which to look.

    The first is where most of the blame lies; the next two go by the chance that they are behind any
    of the complaints: were those two troubles after all, both are there to be found.
    """
    blame: dict[ComponentId, float] = {}
    behind_any: dict[ComponentId, float] = {}
    for found in ranked:
        component = found.candidate.component
        blame[component] = blame.get(component, 0.0) + found.probability
        behind_any[component] = behind_any.get(component, 0.0) + found.behind_any
    by_blame = _falling(blame)
    first = list(dict.fromkeys((*by_blame[:1], *_falling(behind_any))))[:_FIRST_PLACES]
    return tuple((c, blame[c]) for c in dict.fromkeys((*first, *by_blame)))


def _falling(chances: Mapping[ComponentId, float]) -> list[ComponentId]:
    """By chance, equal ones by name."""
    return sorted(chances, key=lambda c: (-_digits(chances[c]), c))


def _digits(chance: float) -> int:
    """Twelve digits of it: equal chances differ in their last ones by the order of a sum."""
    return int(chance * 1e12 + 0.5)


class _Found(NamedTuple):
    """A candidate worth naming; ``shared`` is its number, ``home`` whose own fault it is.

    ``probability`` is the mean over the complaints, ``behind_any`` what the one says that speaks
    for it most.
    """

    candidate: Candidate
    probability: float
    behind_any: float
    shared: int | None
    home: ApartmentId | None


def _ranked(belief: Belief, causes: Sequence[Causes]) -> list[_Found]:
    shared, candidates = np.array([c.shared for c in causes]), belief.space.shared
    means, most = shared.sum(axis=0) / len(causes), shared.max(axis=0)
    found = [
        _Found(candidates[n], mean, behind_any, n, None)
        for n, mean, behind_any in _worth_naming(means, most)
    ]
    for cause in causes:
        local = belief.space.local(cause.apartment)
        found += [
            _Found(local[k - 1], part, behind_any, None, cause.apartment)
            for k, part, behind_any in _worth_naming(cause.own / len(causes), cause.own)
        ]
    # Names decide between equal chances.
    return sorted(
        found,
        key=lambda f: (-_digits(f.probability), f.candidate.fault, f.candidate.component),
    )


def _worth_naming(chances: Floats, behind_any: Floats) -> Iterator[tuple[int, float, float]]:
    at = np.flatnonzero(chances >= _WORTH_NAMING)
    columns = (at, chances.take(at), behind_any.take(at))
    return zip(*(column.tolist() for column in columns), strict=True)


def _suspect(found: _Found, causes: Sequence[Causes]) -> Suspect:
    candidate, shared = found.candidate, found.shared
    assert candidate.row is not None  # noqa: S101 - something else is never a suspect
    if shared is None:
        homes = [found.home] if found.home is not None else []
    else:
        homes = [c.apartment for c in causes if c.shared.item(shared) > _WORTH_NAMING]
    return Suspect(
        fault=candidate.fault,
        says=candidate.row.says,
        component=candidate.component,
        probability=found.probability,
        explains=tuple(sorted(homes)),
        reaches=_in_order(candidate.homes),
    )


def _seen_below(
    suspect: Suspect,
    below: Mapping[ApartmentId, ApartmentId],
    members: Sequence[ApartmentId],
) -> Suspect:
    """The same, explaining what is seen of it in homes below; of them and of ``members`` only."""
    if not below:
        return suspect
    seen = {home for home, above in below.items() if above in suspect.explains}
    return replace(suspect, explains=tuple(sorted(seen | {*suspect.explains} & {*members})))


@lru_cache(maxsize=4096)
def _in_order(homes: frozenset[ApartmentId]) -> tuple[ApartmentId, ...]:
    return tuple(sorted(homes))


def _scope(
    plant: Plant, suspects: Sequence[Suspect], members: Sequence[ApartmentId]
) -> tuple[Scope, ComponentId]:
    """The part of the plant that holds most of the suspicion."""
    weight: dict[tuple[Scope, ComponentId], float] = {}
    for suspect in suspects:
        root = _root(plant, suspect)
        if root[0] == "apartment" and len(members) > 1:
            continue
        weight[root] = weight.get(root, 0.0) + suspect.probability
    best = max(weight, key=lambda root: (weight[root], root[1]), default=None)
    # One complaint is one apartment's until the rest of the plant holds most of the suspicion.
    if best is None or (len(members) == 1 and weight[best] < _MOSTLY):
        return "apartment", ComponentId(members[0])
    return best[0], _narrowed(plant, suspects, best[1])


def _narrowed(plant: Plant, suspects: Sequence[Suspect], component: ComponentId) -> ComponentId:
    """The one boiler of a cascade that holds most of the suspicion on it, else the cascade."""
    boilers = next((c.sources for c in plant.cascades if c.id == component), ())
    at = {boiler.id: 0.0 for boiler in boilers} | {component: 0.0}
    for suspect in suspects:
        if suspect.component in at:
            at[suspect.component] += suspect.probability
    first = max(at, key=lambda c: at[c])
    return first if at[first] > _MOSTLY * sum(at.values()) else component


def _root(plant: Plant, suspect: Suspect) -> tuple[Scope, ComponentId]:
    component = suspect.component
    part = plant.component(component)
    # What stops the water at one home of a series run is felt by those after it.
    if part.apartment is not None and len(suspect.reaches) == 1:
        return "apartment", ComponentId(part.apartment)
    if part.kind is ComponentKind.TRANSFORMER:
        return "transformer", component
    if part.kind is ComponentKind.RISER:
        return "riser", component
    if part.kind in (ComponentKind.SOURCE, ComponentKind.CASCADE):
        cascade = plant.cascade_of(component)
        return "source", component if cascade is None else cascade.id
    if part.kind is ComponentKind.BUILDING:
        return "building", component
    return "loop", ComponentId(part.loop or component)

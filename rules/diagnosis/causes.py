"""Whose fault each complaint is, and which complaints have one cause.

Theory of operation
-------------------
Given the shared state and the home's own state, a complaint is put down to the home's own fault, to the
shared faults that make what the home said at least twice as likely as a healthy plant does (in equal
parts where several do), or else to something that no row describes. Where an own and a shared fault
meet, each has a part by how well it explains alone: equal parts if the own fault adds nothing, next to
none for the shared one if what was said needs the own fault. Averaged over the posterior this gives
every complaint a distribution over causes that sums to one. Two complaints belong together
if the chance that one and the same shared fault is behind both exceeds one half; tickets are the
connected groups of that relation.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from rules.diagnosis.belief import Belief, HomeBelief
from rules.diagnosis.exact import Floats, Indices, gathered, product
from rules.diagnosis.home import summed_by
from rules.faults.candidates import SOMETHING_ELSE
from rules.model import ApartmentId

__all__ = ["Causes", "average", "causes_of", "connected"]

_TWICE = float(np.log(2.0))
_TOGETHER = 0.5
# States this unlikely in all cannot decide whether two complaints have one cause.
_NEGLIGIBLE = 1e-4


@dataclass(frozen=True, eq=False, slots=True)
class Causes:
    """One complaint: chance of each shared candidate, of each own fault, of anything else."""

    apartment: ApartmentId
    shared: Floats  # (candidates,)
    own: Floats  # (own states,); entry 0 is not used and 0
    explains: Floats  # (candidates + 1,): 1 for those that explain it; the last serves member -1
    described: Floats  # (candidates + own states,): 0 for something else


def causes_of(belief: Belief, apartment: ApartmentId) -> Causes:
    """Who is behind one home's complaint."""
    home = belief.homes[apartment]
    kind, keys = home.kind, home.keys
    count = len(belief.space.shared)
    explains = _explaining(belief, home)
    first, second = kind.members.T % (count + 1)
    one, other = explains.take(first), explains.take(second)
    how_many = one + other
    weight = belief.by_row(home)
    to_each = np.einsum("nl,nl->l", home.left_to_shared.take(keys.of_look, axis=1), weight)
    to_each /= np.maximum(how_many, 1)
    shared = gathered(first, one * to_each, count + 1) + gathered(
        second, other * to_each, count + 1
    )
    # Own faults: the whole of the mass where no shared fault explains, else their part.
    explained = weight * (how_many > 0)
    by_key = summed_by(keys.of_look, np.concatenate([weight, explained]), keys.shape[0])
    own = np.einsum("nk,nkj->j", by_key[: len(weight)], home.own_given_key)
    own -= np.einsum("nk,nkj->j", by_key[len(weight) :], home.shared_given_key)
    own[0] = 0.0
    described = _described(belief, home)
    return Causes(
        apartment=apartment,
        shared=shared[:count] * described[:count],
        own=np.maximum(own, 0.0) * described[count:],
        explains=explains,
        described=described,
    )


def _described(belief: Belief, home: HomeBelief) -> Floats:
    """Something else is a cause for grouping, but no suspect."""
    own = home.kind.once(
        "described", lambda: np.array([float(c.fault != SOMETHING_ELSE) for c in home.kind.local])
    )
    return np.concatenate([belief.space.states.described, [0.0], own])


def _explaining(belief: Belief, home: HomeBelief) -> Floats:
    """Per candidate (and 0 for member -1): does it explain what this home said."""
    # P(said | look, nothing of its own), over the onsets as they are believed now
    at = home.log_nothing_own[:, home.kind.singles[1]]
    healthy = home.log_nothing_own[:, home.kind.nothing]
    top = float(max(at.max(initial=-np.inf), healthy.max()))
    said = belief.onsets @ np.exp(at - top)
    found = np.zeros(len(belief.space.shared) + 1)
    found[home.kind.singles[0]] = said > 2.0 * float(belief.onsets @ np.exp(healthy - top))
    return found


def connected(
    belief: Belief, complaints: Mapping[ApartmentId, Causes]
) -> tuple[tuple[ApartmentId, ...], ...]:
    """Complaints by common cause, each group and the groups in order of apartment."""
    names = sorted(complaints)
    group = {name: name for name in names}

    def root(name: ApartmentId) -> ApartmentId:
        while group[name] != name:
            name = group[name]
        return name

    if len(names) > 1:
        same = _same_cause(belief, [complaints[n] for n in names])
        for first, second in zip(*np.nonzero(np.triu(same > _TOGETHER, k=1)), strict=True):
            one, other = root(names[first]), root(names[second])
            if one != other:
                group[other] = one
    members: dict[ApartmentId, list[ApartmentId]] = {}
    for name in names:
        members.setdefault(root(name), []).append(name)
    return tuple(tuple(m) for _, m in sorted(members.items()))


def _same_cause(belief: Belief, complaints: Sequence[Causes]) -> Floats:
    """Chance that one shared fault is behind both of two complaints; (complaints, complaints)."""
    first, second = belief.space.members.T
    weighty = _weighty(belief.states)
    state = weighty % len(first)
    # Only states with a fault that may be behind two complaints can count.
    in_two = np.sum([c.explains for c in complaints], axis=0) >= 2
    weighty = weighty[in_two[first[state]] | in_two[second[state]]]
    onset, state = np.divmod(weighty, len(first))
    members = first[state], second[state]
    slots = np.stack([_behind(belief, c, onset, state, members) for c in complaints])
    weighed = slots * belief.states[weighty]
    return product(weighed.reshape(len(slots), -1), slots.reshape(len(slots), -1).T)


def _weighty(states: Floats) -> Indices:
    """Few states that hold all but a negligible part of the mass."""
    least = 1e-5
    while True:
        weighty = np.flatnonzero(states > least)
        if 1 - float(states[weighty].sum()) < _NEGLIGIBLE or len(weighty) == len(states):
            return weighty
        least /= 10


def _behind(
    belief: Belief,
    cause: Causes,
    onset: Indices,
    state: Indices,
    members: tuple[Indices, Indices],
) -> Floats:
    """Chance given the state that each of its members is behind a complaint; (2, states)."""
    behind = np.stack([cause.explains[m] for m in members])
    if not cause.explains.any():
        return behind
    home = belief.homes[cause.apartment]
    key = home.keys.of_look[home.kind.look_of_state[state]]
    behind *= home.left_to_shared[onset, key] / np.maximum(behind[0] + behind[1], 1)
    return behind


def average(causes: Sequence[Causes]) -> Floats:
    """Mean chance of each shared candidate over several complaints."""
    mean: Floats = np.mean([c.shared for c in causes], axis=0)
    return mean

"""Whose fault each complaint is, and which complaints have one cause.

Theory of operation
-------------------
In each state a complaint is put down to the home's own fault, or to the shared faults that explain it
(``blame``): those that make what the home said at least twice as likely as a healthy plant does.
Averaged over the posterior this gives every complaint a distribution over causes that sums to one.

Two complaints belong together if the chance that one and the same shared fault is behind both, even if
only behind a part of what was said, exceeds one half: who is cold and hears a tick is cold because of
the boiler, whatever ticks. Tickets are the connected groups of that relation.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from rules.diagnosis.belief import Belief
from rules.diagnosis.blame import blame_of
from rules.diagnosis.exact import Floats, Indices, product
from rules.diagnosis.home import HomeBelief
from rules.faults.candidates import SOMETHING_ELSE
from rules.model import ApartmentId

__all__ = ["Causes", "average", "causes_of", "connected"]

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
    explains = _explaining(belief, home)
    blame, weight = blame_of(home, explains), belief.by_row(home)
    count, described = len(belief.space.shared), _described(belief, home)
    shared = blame.by_candidate(home, weight, count)
    own = home.by_own_state(blame.by_own_key(weight))
    own[0] = 0.0
    return Causes(
        apartment=apartment,
        shared=shared[:count] * described[:count],
        own=np.maximum(own, 0.0) * described[count:],
        explains=explains,
        described=described,
    )


def _described(belief: Belief, home: HomeBelief) -> Floats:
    """Something else is a cause for grouping, but no suspect."""

    def make() -> Floats:
        own = [float(c.fault != SOMETHING_ELSE) for c in home.kind.local]
        return np.concatenate([belief.space.states.described, [0.0], own])

    return home.kind.once("described", make)


def _explaining(belief: Belief, home: HomeBelief) -> Floats:
    """Per candidate (and 0 for member -1): does it explain what this home said."""
    # P(said | look, nothing of its own), over the onsets as they are believed now
    candidates, alone = home.kind.singles
    at, healthy = home.memo.once("alone", lambda: _alone(home, alone))
    said = np.einsum("n,nl->l", belief.onsets, at)
    found = np.zeros(len(belief.space.shared) + 1)
    found[candidates] = said > 2.0 * float(np.einsum("n,n->", belief.onsets, healthy))
    return found


def _alone(home: HomeBelief, looks: Indices) -> tuple[Floats, Floats]:
    """P(said | onset, look, nothing of its own) of some looks, and of no shared fault.

    Both over the largest of them.
    """
    at = home.log_nothing_own.take(looks, axis=1)
    healthy = home.log_nothing_own[:, home.kind.nothing]
    top = float(max(at.max(initial=-np.inf), healthy.max()))
    return np.exp(at - top), np.exp(healthy - top)


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
    (first, second), states = belief.listing.pair, belief.chances.as_felt.reshape(-1)
    weighty = _weighty(states)
    state = weighty % len(first)
    # Only states with a fault that may be behind two complaints can count.
    in_two = np.sum([c.explains for c in complaints], axis=0) >= 2
    weighty = weighty[in_two.take(first.take(state)) | in_two.take(second.take(state))]
    onset, state = weighty // len(first), weighty % len(first)
    members = np.stack([first.take(state), second.take(state)])
    homes = [belief.homes[c.apartment] for c in complaints]
    looks = {kind: belief.listing.looks(kind).take(state) for kind in {h.kind for h in homes}}
    slots = np.stack(
        [
            _behind(h, c, onset, looks[h.kind], members)
            for h, c in zip(homes, complaints, strict=True)
        ]
    )
    weighed = slots * states.take(weighty)
    return product(weighed.reshape(len(slots), -1), slots.reshape(len(slots), -1).T)


def _weighty(states: Floats) -> Indices:
    """Few states that hold all but a negligible part of the mass."""
    whole = float(states.sum())
    for among in (1e-7, 0.0):
        likely = np.flatnonzero(states > among)
        mass = states.take(likely)
        for least in (10.0**-n for n in range(5, 13)):
            weighty = np.flatnonzero(mass > least)
            if whole - float(mass.take(weighty).sum()) < _NEGLIGIBLE:
                return likely.take(weighty)
    return np.arange(len(states))


def _behind(
    home: HomeBelief, cause: Causes, onset: Indices, look: Indices, members: Indices
) -> Floats:
    """Chance given some states that each of their members is behind a complaint; (2, states).

    ``onset`` and ``look`` of each state, and its ``members`` (2, states).
    """
    behind = cause.explains.take(members)
    if not cause.explains.any():
        return behind
    touched = blame_of(home, cause.explains).touched
    behind *= touched.take(onset * touched.shape[1] + look) / np.maximum(behind[0] + behind[1], 1)
    return behind


def average(causes: Sequence[Causes]) -> Floats:
    """Mean chance of each shared candidate over several complaints."""
    return np.asarray(sum(c.shared for c in causes) / len(causes))

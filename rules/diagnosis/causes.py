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
    own = home.by_own_state(blame.by_own_key(home, weight))
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
    more = home.memo.once("more", lambda: _more_than_healthy(home, alone))
    found = np.zeros(len(belief.space.shared) + 1)
    found[candidates] = belief.onsets.dot(more) > 0
    return found


def _more_than_healthy(home: HomeBelief, looks: Indices) -> Floats:
    """By how much some looks make what was said likelier than twice what no shared fault does.

    P(said | onset, look, nothing of its own), over the largest of them; (onsets, looks).
    """
    at = home.log_nothing_own(np.append(looks, home.kind.nothing))
    chances = np.exp(at - at.max())
    more: Floats = chances[:, :-1] - 2.0 * chances[:, -1:]
    return more


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

    # What no shared fault explains has its cause for itself.
    shared = [name for name in names if complaints[name].explains.any()]
    if len(shared) > 1:
        same = _same_cause(belief, [complaints[n] for n in shared])
        for first, second in np.argwhere(same > _TOGETHER).tolist():
            if first < second:
                one, other = root(shared[first]), root(shared[second])
                group[other] = one
    for below, above in belief.runs_down.items():
        group[root(below)] = root(above)
    members: dict[ApartmentId, list[ApartmentId]] = {}
    for name in names:
        members.setdefault(root(name), []).append(name)
    return tuple(tuple(m) for _, m in sorted(members.items()))


def _same_cause(belief: Belief, complaints: Sequence[Causes]) -> Floats:
    """Chance that one shared fault is behind both of two complaints; (complaints, complaints)."""
    states = belief.chances.as_felt.reshape(-1)
    explains = np.array([c.explains for c in complaints])
    weighty = _weighty(states)
    onset, state = np.divmod(weighty, len(belief.listing.at))
    members = np.array([member.take(state) for member in belief.listing.pair])
    # Only states with a fault that may be behind two complaints can count.
    counts = np.flatnonzero((explains.sum(axis=0) >= 2).take(members).any(axis=0))
    onset, state, members = onset.take(counts), state.take(counts), members.take(counts, axis=1)
    # Chance given each state that each of its members is behind a complaint.
    behind = explains.take(members, axis=1)
    touched = np.array([_touched(belief, c, onset, state) for c in complaints])
    touched /= np.maximum(behind[:, 0] + behind[:, 1], 1)
    behind *= touched[:, None]
    weighed = behind * states.take(weighty.take(counts))
    return product(weighed.reshape(len(behind), -1), behind.reshape(len(behind), -1).T)


def _weighty(states: Floats) -> Indices:
    """Those that hold all but a negligible part of the mass."""
    whole = float(states.sum())
    for least in (1e-7, 1e-9, 1e-12):
        weighty = np.flatnonzero(states > least)
        if whole - float(states.take(weighty).sum()) < _NEGLIGIBLE:
            return weighty
    return np.arange(len(states))


def _touched(belief: Belief, cause: Causes, onset: Indices, state: Indices) -> Floats:
    """Chance given some onsets with states that a shared fault is behind a complaint; (states,)."""
    home = belief.homes[cause.apartment]
    touched = blame_of(home, cause.explains).touched
    look = belief.listing.looks(home.kind).take(state)
    return np.asarray(touched.take(onset * touched.shape[1] + look))


def average(causes: Sequence[Causes]) -> Floats:
    """Mean chance of each shared candidate over several complaints."""
    mean: Floats = np.stack([c.shared for c in causes]).sum(axis=0) / len(causes)
    return mean

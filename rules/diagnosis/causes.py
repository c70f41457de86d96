"""Whose fault each complaint is, and which complaints have one cause.

Theory of operation
-------------------
Given the shared state and the home's own state, a complaint is put down to the home's own fault, to the
shared faults that make what the home said at least twice as likely as a healthy plant does (in equal
parts where several do; half to each side where an own and a shared fault meet), or else to something
that no row describes. Averaged over the posterior this gives every complaint a distribution over causes
that sums to one. Two complaints belong together if the chance that one and the same shared fault is
behind both exceeds one half; tickets are the connected groups of that relation.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from rules.diagnosis.belief import Belief
from rules.diagnosis.exact import Floats, Indices, log_sum_exp
from rules.faults.candidates import SOMETHING_ELSE
from rules.model import ApartmentId

__all__ = ["Causes", "average", "causes_of", "connected"]

_TWICE = float(np.log(2.0))
_TOGETHER = 0.5


@dataclass(frozen=True, eq=False, slots=True)
class Causes:
    """One complaint: chance of each shared candidate, of each own fault, of anything else.

    Rows are (onsets x looks). ``mass`` is the posterior over them and own states; ``split`` puts any
    such mass down to causes.
    """

    apartment: ApartmentId
    shared: Floats  # (candidates,)
    own: Floats  # (own states,); entry 0 is not used and 0
    mass: Floats
    slots: Floats  # (rows, 2): chance given the look that its member 0 / 1 is behind the complaint
    members: Indices  # (rows, 2), -1 for none
    behind: Floats  # (rows, 2): 1 where that member explains the complaint
    described: Floats  # (candidates + own states,): 0 for something else

    def split(self, mass: Floats) -> Floats:
        """Mass over (rows, own states) as mass over causes: candidates, own states."""
        how_many = self.behind.sum(axis=1)
        share = self.behind / np.maximum(how_many, 1)[:, None]
        own_present = mass[:, 1:]
        to_shared = share * (mass[:, 0] + 0.5 * own_present.sum(axis=1))[:, None]
        shared = np.zeros(len(self.shared) + 1)
        np.add.at(shared, self.members, to_shared)
        to_own = (own_present * np.where(how_many > 0, 0.5, 1.0)[:, None]).sum(axis=0)
        causes: Floats = np.concatenate([shared[:-1], [0.0], to_own]) * self.described
        return causes


def causes_of(belief: Belief, apartment: ApartmentId) -> Causes:
    """Who is behind one home's complaint."""
    home = belief.homes[apartment]
    count = len(belief.space.shared)
    members = np.tile(home.kind.members, (len(belief.times.onsets), 1))
    behind = _explaining(belief, apartment)[members]
    own_given_look = home.table.own_given_look
    share = behind / np.maximum(behind.sum(axis=1), 1)[:, None]
    left = own_given_look[:, 0] + 0.5 * own_given_look[:, 1:].sum(axis=1)
    made = Causes(
        apartment=apartment,
        shared=np.zeros(count),
        own=np.zeros(len(home.log_prior)),
        mass=belief.by_look(apartment),
        slots=share * left[:, None],
        members=members,
        behind=behind,
        described=_described(belief, apartment),
    )
    causes = made.split(made.mass)
    made.shared[:], made.own[:] = causes[:count], causes[count:]
    return made


def _described(belief: Belief, apartment: ApartmentId) -> Floats:
    """Something else is a cause for grouping, but no suspect."""
    own = belief.homes[apartment].kind.local
    named = [c.fault != SOMETHING_ELSE for c in belief.space.shared]
    return np.array([*named, False, *(c.fault != SOMETHING_ELSE for c in own)], dtype=np.float64)


def _explaining(belief: Belief, apartment: ApartmentId) -> Floats:
    """Per candidate (and 0 for member -1): does it explain what this home said."""
    home = belief.homes[apartment]
    index = home.kind.look_index
    # P(said | look, nothing of its own), over the onsets as they are believed now
    of_onset = (home.table.log_joint - home.log_prior)[:, 0].reshape(len(belief.onsets), -1)
    with np.errstate(divide="ignore"):
        said = log_sum_exp((of_onset + np.log(belief.onsets)[:, None]).T)
    healthy = said[index[()]]
    found = np.zeros(len(belief.space.shared) + 1)
    for n in range(len(belief.space.shared)):
        at = index.get((n,))
        found[n] = at is not None and said[at] - healthy > _TWICE
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

    of_state = np.tile(belief.space.members, (len(belief.times.onsets), 1))
    slots = {n: _slot_of_state(belief, complaints[n], of_state) for n in names if len(names) > 1}
    for at, first in enumerate(names):
        for second in names[at + 1 :]:
            if root(first) == root(second):
                continue
            # chance that one shared fault is behind both
            same = float((belief.states * (slots[first] * slots[second]).sum(axis=1)).sum())
            if same > _TOGETHER:
                group[root(second)] = root(first)
    members: dict[ApartmentId, list[ApartmentId]] = {}
    for name in names:
        members.setdefault(root(name), []).append(name)
    return tuple(tuple(m) for _, m in sorted(members.items()))


def _slot_of_state(belief: Belief, cause: Causes, of_state: Indices) -> Floats:
    """``slots`` per shared state, in the order of that state's members (a look drops some)."""
    look = belief.homes[cause.apartment].look
    slots, members = cause.slots[look], cause.members[look]
    aligned = np.zeros((len(look), 2))
    for place in (0, 1):
        for slot in (0, 1):
            same = (of_state[:, place] == members[:, slot]) & (members[:, slot] >= 0)
            aligned[:, place] += np.where(same, slots[:, slot], 0.0)
    return aligned


def average(causes: Sequence[Causes]) -> Floats:
    """Mean chance of each shared candidate over several complaints."""
    mean: Floats = np.mean([c.shared for c in causes], axis=0)
    return mean

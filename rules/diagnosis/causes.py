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
from rules.diagnosis.exact import Floats, Indices, gathered
from rules.faults.candidates import SOMETHING_ELSE
from rules.model import ApartmentId

__all__ = ["Causes", "average", "causes_of", "connected"]

_TWICE = float(np.log(2.0))
_TOGETHER = 0.5
# States this unlikely in all cannot decide whether two complaints have one cause.
_NEGLIGIBLE = 1e-4


@dataclass(frozen=True, eq=False, slots=True)
class Causes:
    """One complaint: chance of each shared candidate, of each own fault, of anything else.

    ``split`` puts mass over looks and own states down to causes, ``part_shared`` being the part of a
    shared explanation where one meets an own fault.
    """

    apartment: ApartmentId
    shared: Floats  # (candidates,)
    own: Floats  # (own states,); entry 0 is not used and 0
    slots: Floats  # (onsets, looks, 2): chance given the look that its member 0 / 1 is behind it
    members: Indices  # (looks, 2), -1 for none
    behind: Floats  # (looks, 2): 1 where that member explains the complaint
    described: Floats  # (candidates + own states,): 0 for something else
    part_shared: Floats  # (onsets, look keys, own states)

    def split(self, mass: Floats, looks: Indices, part_shared: Floats) -> Floats:
        """Mass over some looks and all own states, as mass over causes: candidates, own states.

        Args:
            mass: shape (..., some looks, own states).
            looks: which looks those are.
            part_shared: part of a shared explanation; (some looks, own states).
        """
        behind = self.behind[looks]
        how_many = behind.sum(axis=1)
        share = behind / np.maximum(how_many, 1)[:, None]
        left = np.einsum("...ij,ij->...i", mass, part_shared)
        part_own = np.where((how_many > 0)[:, None], 1 - part_shared, 1.0)
        to_own = np.einsum("...ij,ij->...j", mass[..., 1:], part_own[:, 1:])
        made = np.zeros((*mass.shape[:-2], len(self.described)))
        flat = made.reshape(-1, made.shape[-1])
        for slot in (0, 1):
            used = np.flatnonzero(behind[:, slot])
            mass_there = (left[..., used] * share[used, slot]).reshape(len(flat), len(used))
            np.add.at(flat.T, self.members[looks[used], slot], mass_there.T)
        made[..., len(self.shared) + 1 :] = to_own
        causes: Floats = made * self.described
        return causes


def causes_of(belief: Belief, apartment: ApartmentId) -> Causes:
    """Who is behind one home's complaint."""
    home = belief.homes[apartment]
    kind, keys = home.kind, home.keys
    count = len(belief.space.shared)
    explains = _explaining(belief, apartment)
    behind = explains[kind.members]
    how_many = behind.sum(axis=1)
    part = _part_shared(home)
    given = home.own_given_key
    left = (given * part).sum(axis=2)[:, keys.of_look]
    share = behind / np.maximum(how_many, 1)[:, None]
    slots = share * left[:, :, None]
    weight = belief.by_row(home)
    shared = np.zeros(count + 1)
    for slot in (0, 1):
        shared += gathered(
            kind.members[:, slot] % (count + 1), (slots[:, :, slot] * weight).sum(axis=0), count + 1
        )
    # Own faults: the whole of the mass where no shared fault explains, else their part.
    alone, both = (
        np.stack([gathered(keys.of_look, row, keys.shape[0]) for row in weight * where])
        for where in (how_many == 0, how_many > 0)
    )
    own = np.einsum("nk,nkj->j", alone, given) + np.einsum("nk,nkj->j", both, given * (1 - part))
    own[0] = 0.0
    described = _described(belief, apartment)
    return Causes(
        apartment=apartment,
        shared=shared[:count] * described[:count],
        own=own * described[count:],
        slots=slots,
        members=kind.members,
        behind=behind,
        described=described,
        part_shared=part,
    )


def _part_shared(home: HomeBelief) -> Floats:
    """Part of a shared explanation where an own fault is there as well; 1 where none is.

    r / (1 + r), where r is how likely the shared fault alone makes what was said against both.
    """
    likely = home.own_given_key * np.exp(-home.log_prior)
    ratio = np.minimum(likely[:, :, :1] / np.maximum(likely, 1e-300), 1.0)
    part: Floats = ratio / (1 + ratio)
    part[:, :, 0] = 1.0
    return part


def _described(belief: Belief, apartment: ApartmentId) -> Floats:
    """Something else is a cause for grouping, but no suspect."""
    own = belief.homes[apartment].kind.local
    named = [c.fault != SOMETHING_ELSE for c in belief.space.shared]
    return np.array([*named, False, *(c.fault != SOMETHING_ELSE for c in own)], dtype=np.float64)


def _explaining(belief: Belief, apartment: ApartmentId) -> Floats:
    """Per candidate (and 0 for member -1): does it explain what this home said."""
    home = belief.homes[apartment]
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
    weighty = np.flatnonzero(belief.states > _NEGLIGIBLE / len(belief.states))
    onset, state = np.divmod(weighty, len(belief.space.members))
    of_state = belief.space.members[state]
    slots = np.stack([_slot_of_state(belief, c, onset, state, of_state) for c in complaints])
    weighed = slots * belief.states[weighty][None, :, None]
    flat = (len(complaints), -1)
    same: Floats = weighed.reshape(flat) @ slots.reshape(flat).T
    return same


def _slot_of_state(
    belief: Belief, cause: Causes, onset: Indices, state: Indices, of_state: Indices
) -> Floats:
    """``slots`` per shared state, in the order of that state's members (a look drops some)."""
    look = belief.homes[cause.apartment].kind.look_of_state[state]
    slots, members = cause.slots[onset, look], cause.members[look]
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

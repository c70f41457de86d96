"""How what a home said is put down to shared faults and to its own, in each state of it.

Theory of operation
-------------------
Given the shared state and the home's own state, a complaint is put down to the home's own fault, to the
shared faults that explain what was said (in equal parts where several do), or else to something that no
row describes. Where an own and a shared fault meet, each has what it explains alone and half of what
took both (``split_of``). Looks that differ neither in key nor in whether a fault explains
them are one case.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np

from rules.diagnosis.exact import Floats, Indices, blocks_of, gathered
from rules.diagnosis.home import HomeBelief
from rules.diagnosis.keys import numbered

__all__ = ["Blame", "blame_of", "split_of"]

_LEAST = 1e-300
_MOST_LOG = 600.0


@dataclass(frozen=True, eq=False, slots=True)
class Blame:
    """Of one home, for the shared faults that explain what it said."""

    share: Floats  # (2, looks): part of each member in what is put down to shared faults
    key: Indices  # (cases,): look key of each case
    case: Indices  # (looks,): number of the case of each look
    place: Indices  # (onsets x looks,): the same of onsets and looks, onset by onset
    shared: (
        Floats  # (onsets, cases, own keys): P(own key, put down to shared faults | look), unscaled
    )
    own: Floats  # (onsets, cases, own keys): the rest, put down to own faults
    prior: Floats  # (own keys,): times this
    scale: Floats  # (onsets, cases): and this both are the chances that they stand for
    left: Floats  # (onsets, looks): what is put down to shared faults in all
    touched: Floats  # (onsets, looks): chance that one of them is behind some of what was said

    def by_candidate(self, home: HomeBelief, weight: Floats, count: int) -> Floats:
        """Mass on each of so many candidates, given P(onset, look); the last serves member -1."""
        to_each = self.share * np.einsum("nl,nl->l", self.left, weight)
        members = home.kind.once("of both", lambda: home.kind.pair.reshape(-1) % (count + 1))
        return gathered(members, to_each.reshape(-1), count + 1)

    def by_own_key(self, weight: Floats) -> Floats:
        """Mass on each own key of the home; (own keys,)."""
        by_case = gathered(self.place, weight.reshape(-1), self.scale.size)
        by_case *= self.scale.reshape(-1)
        # Not "@": its threads wait for each other longer than this takes.
        mass: Floats = np.einsum("c,co->o", by_case, self.own.reshape(len(by_case), -1))
        mass *= self.prior
        return mass

    def rows(self, onset: Indices, case: Indices) -> tuple[Floats, Floats]:
        """What is put down to shared faults, and to own ones, in some states: (states, own keys)."""
        at = onset * len(self.key) + case
        scale = np.multiply.outer(self.scale.take(at), self.prior)
        shared, own = (
            part.reshape(-1, len(self.prior)).take(at, axis=0) for part in (self.shared, self.own)
        )
        return shared * scale, own * scale


def blame_of(home: HomeBelief, explains: Floats) -> Blame:
    """Kept until the home says more, or other faults explain it.

    ``explains`` is 1 for the candidates that do, the last serving member -1.
    """
    return home.large.once(("blame", explains.tobytes()), lambda: _blame_of(home, explains))


def _blame_of(home: HomeBelief, explains: Floats) -> Blame:
    share = explains.take(home.kind.pair)
    how_many = share[0] + share[1]
    share /= np.maximum(how_many, 1)
    keys = home.keys.shape[0]
    first, case = numbered((how_many > 0) * keys + home.keys.of_look)
    key = home.keys.of_look.take(first)
    # Cases that a shared fault explains come after all others.
    explained = slice(int(np.searchsorted(how_many.take(first) > 0, True)), None)
    both, chance = split_of(home)
    own = home.total.likely.take(key, axis=1)
    shared, touched = np.zeros_like(own), np.zeros(own.shape[:2])
    shared[:, explained] = both.take(key[explained], axis=1)
    touched[:, explained] = chance.take(key[explained], axis=1)
    own[:, explained] -= shared[:, explained]
    prior, scale = home.prior_of_key, 1 / home.likely_of_key.take(key, axis=1)
    left = scale * np.einsum("nco,o->nc", shared, prior)
    place = np.add.outer(np.arange(len(own)) * len(key), case).reshape(-1)
    return Blame(
        share=share,
        key=key,
        case=case,
        place=place,
        shared=shared,
        own=own,
        prior=prior,
        scale=scale,
        left=left.take(case, axis=1),
        touched=touched.take(case, axis=1),
    )


def split_of(home: HomeBelief) -> tuple[Floats, Floats]:
    """What of each own key goes to shared faults, if any explains what was said.

    Of a shared and an own fault that are there together, what was said may be the one's doing alone, the
    other's alone, or take both: in proportion to how likely each alone makes it, against both, and what
    is left of one. What took both is put down to each by half. All of it is a shared fault's where the
    home has none of its own.

    Returns:
        That part of the home's likelihoods, (onsets, look keys, own keys), and the chance that a shared
        fault is behind some of it, (onsets, look keys): more than what is put down to it where it took
        both.
    """
    none, prior = home.keys.of_look[home.kind.nothing], home.prior_of_key
    likely, scale, total = home.total.likely, home.total.scale, home.likely_of_key
    against = np.exp(np.minimum(scale[:, none, None] - scale, _MOST_LOG))[:, :, None]
    shared, touched = np.empty(likely.shape), np.empty(total.shape)
    for onset, block in product(range(len(likely)), blocks_of(*likely.shape[1:])):
        shared[onset, block], touched[onset, block] = _split(
            likely[onset, block],
            against[onset, block] * likely[onset, none],
            total[onset, block],
            prior,
            home.keys.of_own[0],
        )
    return shared, touched


def _split(
    likely: Floats, without: Floats, total: Floats, prior: Floats, nothing: int
) -> tuple[Floats, Floats]:
    """The same for some look keys at one onset; own key ``nothing`` is no fault of one's own.

    Args:
        likely: P(what was said | look, own state), (look keys, own keys).
        without: the same were no shared fault there.
        total: of each look key what it comes to with ``prior``.
        prior: P(own key).
        nothing: number of an own key.
    """
    by_shared = np.minimum(likely[:, nothing, None], likely)
    by_home = np.minimum(without, likely, out=without)
    by_home[:, nothing] = 0.0
    # The parts of the one, the other and both add up to this.
    whole = by_home + by_shared
    np.maximum(whole, likely, out=whole)
    np.maximum(whole, _LEAST, out=whole)
    np.divide(likely, whole, out=whole)
    touched = 1 - np.einsum("ko,ko,o->k", by_home, whole, prior) / total
    # What the shared one did alone, and half of what took both.
    by_shared -= by_home
    by_shared *= whole
    by_shared += likely
    by_shared *= 0.5
    return by_shared, touched

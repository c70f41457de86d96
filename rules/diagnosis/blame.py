"""How what a home said is put down to shared faults and to its own, in each state of it.

Theory of operation
-------------------
Given the shared state and the home's own state, a complaint is put down to the home's own fault, to the
shared faults that explain what was said (in equal parts where several do), or else to something that no
row describes. Where an own and a shared fault meet, what was said may be the one's doing alone, the
other's alone, or take both: in proportion to how likely each alone makes it, against both, and what is
left of one. What took both is put down to each by half. All of it is a shared fault's where the home has
none of its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np

from rules.diagnosis.exact import Floats, Indices, blocks_of, gathered
from rules.diagnosis.home import HomeBelief
from rules.diagnosis.keys import numbered

__all__ = ["Blame", "blame_of"]

_LEAST = 1e-300
_MOST_LOG = 600.0


@dataclass(frozen=True, eq=False, slots=True)
class Blame:
    """Of one home, for the shared faults that explain what it said.

    Cases are the look keys of looks that none of them explains, then those of looks that one does.
    """

    share: Floats  # (2, looks): part of each member in what is put down to shared faults
    key: Indices  # (cases,): look key of each
    case: Indices  # (looks,): number of the case
    place: Indices  # (onsets x looks,): the same of all cases, onset by onset
    own: (
        Floats  # (onsets, cases, own keys): that part of likelihoods that is put down to own faults
    )
    left: Floats  # (onsets, looks): chance of all the rest, which is put down to shared ones
    touched: Floats  # (onsets, looks): chance that one of them is behind some of what was said

    def by_candidate(self, home: HomeBelief, weight: Floats, count: int) -> Floats:
        """Mass on each of so many candidates, given P(onset, look); the last serves member -1."""
        kind = home.kind
        to_each = self.share * np.einsum("nl,nl->l", self.left, weight)
        members = kind.once("of both", lambda: kind.pair.reshape(-1) % (count + 1))
        return gathered(members, to_each.reshape(-1), count + 1)

    def by_own_key(self, home: HomeBelief, weight: Floats) -> Floats:
        """Mass on each own key of the home; (own keys,)."""
        onsets, cases, own_keys = self.own.shape
        by_case = gathered(self.place, weight.reshape(-1), onsets * cases).reshape(onsets, cases)
        by_case /= home.likely_of_key.take(self.key, axis=1)
        mass: Floats = by_case.reshape(-1) @ self.own.reshape(-1, own_keys)
        mass *= home.prior_of_key
        return mass

    def rows(self, home: HomeBelief, onset: Indices, look: Indices) -> tuple[Floats, Floats]:
        """P(own key) in some states, and what of it is put down to shared faults: (states, own keys)."""
        case = self.case.take(look)
        key = onset * home.keys.shape[0] + self.key.take(case)
        scale = np.multiply.outer(1 / home.likely_of_key.take(key), home.prior_of_key)
        both, own = (
            part.reshape(-1, len(home.prior_of_key)).take(at, axis=0) * scale
            for part, at in ((home.total.likely, key), (self.own, onset * len(self.key) + case))
        )
        return both, both - own


def blame_of(home: HomeBelief, explains: Floats) -> Blame:
    """Kept until the home says more, or other faults explain it.

    ``explains`` is 1 for the candidates that do, the last serving member -1.
    """
    return home.large.once(("blame", explains.tobytes()), lambda: _blame_of(home, explains))


def _blame_of(home: HomeBelief, explains: Floats) -> Blame:
    share = explains.take(home.kind.pair)
    how_many = share[0] + share[1]
    share /= np.maximum(how_many, 1)
    onsets, keys = home.likely_of_key.shape
    first, case = numbered(home.keys.of_look + keys * (how_many > 0))
    key = home.keys.of_look.take(first)
    own = home.total.likely.take(key, axis=1)
    by_home = own @ home.prior_of_key
    begin = int(np.sum(how_many.take(first) == 0))
    by_home[:, begin:] = _split(home, key[begin:], own[:, begin:])
    left, touched = (
        (1 - part / home.likely_of_key.take(key, axis=1)).take(case, axis=1)
        for part in (own @ home.prior_of_key, by_home)
    )
    place = np.add.outer(np.arange(onsets) * len(key), case).reshape(-1)
    return Blame(share, key, case, place, own, left, touched)


def _split(home: HomeBelief, key: Indices, own: Floats) -> Floats:
    """Take from likelihoods, in place, what is put down to shared faults.

    Args:
        home: whose they are.
        key: look key of each case; shared faults explain what was said in all of them.
        own: (onsets, cases, own keys).

    Returns:
        Sum over own states, with their prior, of what own faults explain alone; (onsets, cases).
    """
    none, nothing = home.keys.of_look[home.kind.nothing], home.keys.of_own[0]
    scale, alone = home.total.scale, np.empty(own.shape[:2])
    against = np.exp(np.minimum(scale[:, none, None] - scale, _MOST_LOG)).take(key, axis=1)
    for onset, block in product(range(len(own)), blocks_of(*own.shape[1:])):
        likely = own[onset, block]
        # The same were no shared fault there, and were there no fault of its own.
        by_home = np.multiply.outer(against[onset, block], home.total.likely[onset, none])
        np.minimum(by_home, likely, out=by_home)
        by_home[:, nothing] = 0.0
        by_shared = np.minimum(likely[:, nothing, None], likely)
        # The parts of the one, the other and both add up to this.
        whole = by_home + by_shared
        np.maximum(whole, likely, out=whole)
        whole += _LEAST
        np.divide(likely, whole, out=whole)
        by_home *= whole
        alone[onset, block] = by_home @ home.prior_of_key
        # What its own did alone, and half of what took both.
        by_shared *= whole
        likely += by_home
        likely -= by_shared
        likely *= 0.5
    return alone

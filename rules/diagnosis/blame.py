"""How what a home said is put down to shared faults and to its own, in each state of it.

Theory of operation
-------------------
Given the shared state and the home's own state, a complaint is put down to the home's own fault, to the
shared faults that explain what was said (in equal parts where several do), or else to something that no
row describes. Where an own and a shared fault meet, each has what it explains alone and half of what
took both (``split_of``).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np

from rules.diagnosis.exact import Floats, Indices, blocks_of, gathered
from rules.diagnosis.home import HomeBelief
from rules.diagnosis.keys import numbered

__all__ = ["Blame", "Split", "blame_of", "split_of"]

_LEAST = 1e-300
_MOST_LOG = 600.0


@dataclass(frozen=True, eq=False, slots=True)
class Split:
    """What becomes of a home's likelihoods where a shared fault explains what was said."""

    own: Floats  # (onsets, look keys, own keys): that part of them that is put down to own faults
    left: Floats  # (onsets, looks): chance of all the rest, which is put down to shared ones
    touched: Floats  # (onsets, looks): chance that one of them is behind some of what was said


@dataclass(frozen=True, eq=False, slots=True)
class Blame:
    """Of one home, for the shared faults that explain what it said.

    Cases are the look keys of looks that none of them explains, then all look keys where one does.
    """

    share: Floats  # (2, looks): part of each member in what is put down to shared faults
    case: Indices  # (onsets x looks,): number of the case, onset by onset
    key: Indices  # (cases,): look key of each
    unexplained: Floats  # (onsets, cases that none explains, own keys): likelihoods of the home
    is_any: bool  # whether one of them explains any look
    split: Split

    def by_candidate(self, home: HomeBelief, weight: Floats, count: int) -> Floats:
        """Mass on each of so many candidates, given P(onset, look); the last serves member -1."""
        kind = home.kind
        to_each = self.share * np.einsum("nl,nl->l", self.split.left, weight)
        members = kind.once("of both", lambda: kind.pair.reshape(-1) % (count + 1))
        return gathered(members, to_each.reshape(-1), count + 1)

    def by_own_key(self, home: HomeBelief, weight: Floats) -> Floats:
        """Mass on each own key of the home; (own keys,)."""
        onsets, cases = len(weight), len(self.key)
        by_case = gathered(self.case, weight.reshape(-1), onsets * cases).reshape(onsets, cases)
        by_case /= home.likely_of_key.take(self.key, axis=1)
        first = self.unexplained.shape[1]
        # Not "@": its threads wait for each other longer than this takes.
        mass: Floats = np.einsum("nk,nko->o", by_case[:, :first], self.unexplained)
        if self.is_any:
            mass += np.einsum("nk,nko->o", by_case[:, first:], self.split.own)
        mass *= home.prior_of_key
        return mass

    def rows(self, home: HomeBelief, onset: Indices, look: Indices) -> tuple[Floats, Floats]:
        """P(own key) in some states, and what of it is put down to shared faults: (states, own keys)."""
        at = onset * home.keys.shape[0] + home.keys.of_look.take(look)
        scale = np.multiply.outer(1 / home.likely_of_key.take(at), home.prior_of_key)
        both, own = (
            part.reshape(-1, len(home.prior_of_key)).take(at, axis=0) * scale
            for part in (home.total.likely, self.split.own)
        )
        is_explained = self.case.take(look) >= self.unexplained.shape[1]
        return both, (both - own) * is_explained[:, None]


def blame_of(home: HomeBelief, explains: Floats) -> Blame:
    """Kept until the home says more, or other faults explain it.

    ``explains`` is 1 for the candidates that do, the last serving member -1.
    """
    return home.large.once(("blame", explains.tobytes()), lambda: _blame_of(home, explains))


def _blame_of(home: HomeBelief, explains: Floats) -> Blame:
    share = explains.take(home.kind.pair)
    how_many = share[0] + share[1]
    share /= np.maximum(how_many, 1)
    keys, onsets, of_look = home.keys.shape[0], len(home.times.onsets), home.keys.of_look
    is_explained = how_many > 0
    unexplained, number = numbered(of_look[~is_explained])
    key = np.concatenate([of_look[~is_explained].take(unexplained), np.arange(keys)])
    case = of_look + len(unexplained)
    case[~is_explained] = number
    return Blame(
        share=share,
        case=np.add.outer(np.arange(onsets) * len(key), case).reshape(-1),
        key=key,
        unexplained=home.total.likely.take(key[: len(unexplained)], axis=1),
        is_any=bool(is_explained.any()),
        split=split_of(home),
    )


def split_of(home: HomeBelief) -> Split:
    """Kept until the home says more.

    Of a shared and an own fault that are there together, what was said may be the one's doing alone, the
    other's alone, or take both: in proportion to how likely each alone makes it, against both, and what
    is left of one. What took both is put down to each by half. All of it is a shared fault's where the
    home has none of its own.
    """
    return home.memo.once("split", lambda: _split_of(home))


def _split_of(home: HomeBelief) -> Split:
    keys, likely, scale = home.keys, home.total.likely, home.total.scale
    none = keys.of_look[home.kind.nothing]
    against = np.exp(np.minimum(scale[:, none, None] - scale, _MOST_LOG))[:, :, None]
    own, by_home = np.empty(likely.shape), np.empty(scale.shape)
    for onset, block in product(range(len(likely)), blocks_of(*likely.shape[1:])):
        by_home[onset, block] = _split(
            likely[onset, block],
            against[onset, block] * likely[onset, none],
            home.prior_of_key,
            keys.of_own[0],
            own[onset, block],
        )
    left, touched = (
        (1 - part / home.likely_of_key).take(keys.of_look, axis=1)
        for part in (np.einsum("nko,o->nk", own, home.prior_of_key), by_home)
    )
    return Split(own, left, touched)


def _split(likely: Floats, without: Floats, prior: Floats, nothing: int, own: Floats) -> Floats:
    """The same for some look keys at one onset; own key ``nothing`` is no fault of one's own.

    Args:
        likely: P(what was said | look, own state), (look keys, own keys).
        without: the same were no shared fault there.
        prior: P(own key).
        nothing: number of an own key.
        own: to be filled with the part of own faults.

    Returns:
        Sum with ``prior`` of what own faults explain alone; (look keys,).
    """
    by_shared = np.minimum(likely[:, nothing, None], likely)
    by_home = np.minimum(without, likely, out=without)
    by_home[:, nothing] = 0.0
    # The parts of the one, the other and both add up to this.
    whole = np.add(by_home, by_shared, out=own)
    np.maximum(whole, likely, out=whole)
    whole += _LEAST
    np.divide(likely, whole, out=whole)
    by_home *= whole
    # What its own did alone, and half of what took both.
    by_shared *= whole
    np.subtract(by_home, by_shared, out=own)
    own += likely
    own *= 0.5
    return np.asarray(np.einsum("ko,o->k", by_home, prior))

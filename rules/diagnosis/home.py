"""What is believed of one home: its table over looks and own states, kept small by keys.

Everything here depends on what this home said and on the onsets, not on what others said: it stays as
it is until the home says more.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from rules.diagnosis.exact import Floats, Indices, gathered
from rules.diagnosis.household import Answers
from rules.diagnosis.keys import Keys, collapse, physics
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.memo import Memo
from rules.diagnosis.moment import Timeline
from rules.diagnosis.noticing import silence_by_key, silence_features, silence_log_totals
from rules.diagnosis.terms import Said, Term
from rules.model import Reported

__all__ = ["SILENCE", "HomeBelief", "believed"]

SILENCE = "silence"
_LEAST = 1e-300


@dataclass(frozen=True, eq=False, slots=True)
class _Tables:
    """What the likelihoods of one home amount to."""

    top: Floats  # (onsets, look keys): log of the largest likelihood
    key_total: Floats  # (onsets, look keys): P(evidence | look) over that
    own_given_key: Floats  # (onsets, look keys, own states)
    shared_given_key: Floats  # (onsets, look keys, own states)


@dataclass(frozen=True, eq=False)
class HomeBelief:
    """What one home, or several that are equal in all, said or did not say."""

    kind: HomeClass
    log_prior: Floats  # (own states,)
    times: Timeline
    keys: Keys
    said: Mapping[str, Said]  # by source
    reported: Reported | None
    answers: Answers | None
    silent: bool  # whether this home could have written and did not
    memo: Memo = field(default_factory=lambda: Memo(64))  # for what others make of it

    @cached_property
    def total(self) -> Said:
        """All sources together, silence among them; the three parts have their whole shapes."""
        onsets, (looks, own) = len(self.times.onsets), self.kind.shape
        first, *others = self.said.values() or [Said(np.zeros((1, 1, 1)))]
        summed = sum(others, first)
        return Said(
            np.broadcast_to(summed.by_key, (onsets, *self.keys.shape)),
            np.broadcast_to(summed.by_look, (onsets, looks)),
            np.broadcast_to(summed.by_own, (onsets, own)),
        )

    @cached_property
    def log_total(self) -> Floats:
        """Log probability of all sources; (onsets, looks)."""
        if self.silent and not self.said:
            quiet: Floats = silence_log_totals(self.kind, self.log_prior[None], self.times)[0]
            return quiet
        by_key = np.log(self._tables.key_total) + self._tables.top
        total: Floats = self.total.by_look + by_key.take(self.keys.of_look, axis=1)
        return total

    @property
    def own_given_key(self) -> Floats:
        """P(own state | onset, look, evidence) by look key: (onsets, look keys, own states)."""
        return self._tables.own_given_key

    @property
    def shared_given_key(self) -> Floats:
        """The part of it that goes to shared faults, if any explains what was said; same shape.

        Where an own fault is there as well that is r / (1 + r) of it, r being how likely the shared
        fault alone makes what was said against both; all of it where none is.
        """
        return self._tables.shared_given_key

    @cached_property
    def left_to_shared(self) -> Floats:
        """The same, own states summed out; (onsets, look keys)."""
        left: Floats = self.shared_given_key.sum(axis=2)
        return left

    def part_shared(self, keys: Indices) -> Floats:
        """The same as a part of each own state, for some keys; (onsets, these keys, own states)."""
        given = np.maximum(self.own_given_key.take(keys, axis=1), _LEAST)
        part: Floats = self.shared_given_key.take(keys, axis=1) / given
        return part

    @cached_property
    def _tables(self) -> _Tables:
        """Computed together: what lies between them is large and not wanted again."""
        keys, by_key, by_own = self.keys, self.total.by_key, self.total.by_own
        top = by_key.max(axis=2)
        likely = np.exp(by_key - top[:, :, None])
        weight = np.exp(self.log_prior + by_own)
        key_total = np.einsum("nij,nj->ni", likely, summed_by(keys.of_own, weight, keys.shape[1]))
        given = (likely / key_total[:, :, None]).take(keys.of_own, axis=2)
        given *= weight[:, None, :]
        alone = np.exp(by_own)
        ratio = likely[:, :, keys.of_own[0]][:, :, None] / np.maximum(likely, _LEAST)
        part = ratio.take(keys.of_own, axis=2)
        part *= (alone[:, :1] / np.maximum(alone, _LEAST))[:, None, :]
        np.minimum(part, 1.0, out=part)
        part /= 1 + part
        part[:, :, 0] = 1.0
        part *= given
        return _Tables(top, key_total, given, part)

    @cached_property
    def log_nothing_own(self) -> Floats:
        """Log P(evidence | onset, look, no fault of its own); (onsets, looks)."""
        healthy = self.total.by_key[:, :, self.keys.of_own[0]]
        alone: Floats = (
            self.total.by_look + healthy[:, self.keys.of_look] + self.total.by_own[:, :1]
        )
        return alone

    @property
    def log_likelihood(self) -> Floats:
        """Log P(evidence | onset, look, own state), the table that the keys stand for; large."""
        total = self.opened.total
        by_key = total.by_key[:, self.opened.keys.of_look][:, :, self.opened.keys.of_own]
        spread: Floats = by_key + total.by_look[:, :, None] + total.by_own[:, None, :]
        return spread

    @cached_property
    def careless(self) -> Floats:
        """Chance that the household answers without care, given onset and state, by keys."""
        if self.answers is None:
            return np.zeros((1, 1, 1))
        return self.answers.careless(self.keys, self.times)

    @cached_property
    def opened(self) -> HomeBelief:
        """The same home with a silence, if it is all we have, as a source like others."""
        if self.said or not self.silent:
            return self
        return believed(
            self.kind, self.log_prior, self.times, [], None, None, silent=True, quick=False
        )

    def without_silence(self) -> HomeBelief:
        """The same home could it not have written."""
        spoken = {name: said for name, said in self.said.items() if name != SILENCE}
        return replace(self, said=spoken, silent=False)


def summed_by(index: Indices, mass: Floats, length: int) -> Floats:
    """Mass by number in each row: entry n is the sum of the mass whose index is n.

    Shapes: index (entries,), mass (rows, entries), result (rows, length).
    """
    return np.stack([gathered(index, row, length) for row in mass])


def believed(
    kind: HomeClass,
    log_prior: Floats,
    times: Timeline,
    terms: Sequence[Term],
    reported: Reported | None,
    answers: Answers | None,
    *,
    silent: bool,
    quick: bool = True,
) -> HomeBelief:
    """Weigh what one home said.

    Args:
        kind: its class.
        log_prior: log P(own state).
        times: candidate onsets and now.
        terms: what it said and what was measured at it.
        reported: its report, if there is one.
        answers: its answers, if it is a home that was asked.
        silent: whether it could have written and did not.
        quick: a silence that stands alone may be summed without a table.
    """
    features = [f for term in terms for f in term.features] or [physics(kind)]
    tabled = silent and not (quick and not terms)
    keys = collapse(kind, [*features, *(silence_features(kind) if tabled else ())])
    said: dict[str, Said] = {}
    for term in terms:
        for source, weighed in term.weigh(keys):
            said[source] = said[source] + weighed if source in said else weighed
    if tabled:
        said[SILENCE] = Said(silence_by_key(kind, keys, times))
    return HomeBelief(kind, log_prior, times, keys, said, reported, answers, silent)

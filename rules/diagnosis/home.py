"""What is believed of one home: its table over looks and own states, kept small by keys."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from rules.diagnosis.exact import Floats, Indices, gathered
from rules.diagnosis.household import Answers
from rules.diagnosis.keys import Keys, collapse, physics
from rules.diagnosis.moment import Timeline
from rules.diagnosis.noticing import silence_by_key, silence_features, silence_log_total
from rules.diagnosis.space import HomeClass
from rules.diagnosis.terms import Term
from rules.model import Reported

__all__ = ["SILENCE", "HomeBelief", "Said", "believed"]

SILENCE = "silence"


@dataclass(frozen=True, eq=False, slots=True)
class Said:
    """Log likelihood of one source, the sum of three parts."""

    by_key: Floats  # (onsets, look keys, own keys)
    by_look: Floats  # (onsets, looks)
    by_own: Floats  # (onsets, own states)

    def __add__(self, other: Said) -> Said:
        """Both together."""
        return Said(
            self.by_key + other.by_key, self.by_look + other.by_look, self.by_own + other.by_own
        )


@dataclass(frozen=True, eq=False)
class HomeBelief:
    """What one home, or several that are equal in all, said or did not say.

    Rows of its table are (onsets x looks), in this order; ``look`` gives the row of each
    (onset, shared state).
    """

    kind: HomeClass
    log_prior: Floats  # (own states,)
    times: Timeline
    keys: Keys
    said: Mapping[str, Said]  # by source
    reported: Reported | None
    answers: Answers | None
    silent: bool  # whether this home could have written and did not

    @property
    def look(self) -> Indices:
        """Row of the table for every (onset, shared state)."""
        return self.kind.look_of_onset(len(self.times.onsets))

    @cached_property
    def total(self) -> Said:
        """All sources together, silence among them."""
        onsets = len(self.times.onsets)
        looks, own = self.kind.shape
        nothing = Said(
            np.zeros((onsets, *self.keys.shape)), np.zeros((onsets, looks)), np.zeros((onsets, own))
        )
        return sum(self.said.values(), nothing)

    @cached_property
    def log_total(self) -> Floats:
        """Log probability of all sources, by row."""
        if self.said:
            return self._summed.reshape(-1)
        if not self.silent:
            return np.zeros(len(self.times.onsets) * self.kind.shape[0])
        by_onset = [
            silence_log_total(self.kind, self.log_prior, o, self.times) for o in self.times.onsets
        ]
        return np.concatenate(by_onset)

    @cached_property
    def _own_weight(self) -> Floats:
        """Prior of own states times what they alone decide; (onsets, own states)."""
        weight: Floats = np.exp(self.log_prior + self.total.by_own)
        return weight

    @cached_property
    def _likely(self) -> tuple[Floats, Floats]:
        """Likelihood by keys over its largest in the row, and the log of that largest."""
        by_key = self.total.by_key
        top = by_key.max(axis=2, keepdims=True)
        return np.exp(by_key - top), top[:, :, 0]

    @cached_property
    def _key_total(self) -> Floats:
        """Sum of likelihood times weight over own states, by key, over the row's largest."""
        likely, _ = self._likely
        own_keys = self.keys.shape[1]
        by_key = [gathered(self.keys.of_own, w, own_keys) for w in self._own_weight]
        total: Floats = np.einsum("nij,nj->ni", likely, np.stack(by_key))
        return total

    @cached_property
    def _summed(self) -> Floats:
        """Log probability of what was said; (onsets, looks)."""
        by_key = np.log(self._key_total) + self._likely[1]
        summed: Floats = self.total.by_look + by_key[:, self.keys.of_look]
        return summed

    @cached_property
    def own_given_key(self) -> Floats:
        """P(own state | onset, look, evidence) by look key: (onsets, look keys, own states)."""
        likely, _ = self._likely
        spread = likely[:, :, self.keys.of_own] * self._own_weight[:, None, :]
        given: Floats = spread / self._key_total[:, :, None]
        return given

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
        """Log P(evidence | row, own state), the whole table that the keys stand for; large."""
        total = self.opened.total
        by_key = total.by_key[:, self.opened.keys.of_look][:, :, self.opened.keys.of_own]
        spread = by_key + total.by_look[:, :, None] + total.by_own[:, None, :]
        return spread.reshape(-1, len(self.log_prior))

    @cached_property
    def careless(self) -> Floats:
        """Chance that the household answers without care, given onset and state, by keys."""
        if self.answers is None:
            return np.zeros((len(self.times.onsets), *self.keys.shape))
        return np.stack([self.answers.careless(self.keys, o) for o in self.times.onsets])

    @cached_property
    def opened(self) -> HomeBelief:
        """The same home with a silence, if it is all we have, as a source like others."""
        if self.said or not self.silent:
            return self
        return believed(
            self.kind, self.log_prior, self.times, [], None, None, silent=True, quick=False
        )

    def without(self, source: str) -> HomeBelief:
        """The same home had this source not been there."""
        fewer = {name: said for name, said in self.said.items() if name != source}
        return replace(self, said=fewer, silent=self.silent and source != SILENCE)


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
        weighed = _weigh(kind, keys, times, term)
        said[term.source] = said[term.source] + weighed if term.source in said else weighed
    if tabled:
        by_key = np.stack([silence_by_key(kind, keys, o, times) for o in times.onsets])
        said[SILENCE] = _said(kind, by_key)
    return HomeBelief(kind, log_prior, times, keys, said, reported, answers, silent)


def _weigh(kind: HomeClass, keys: Keys, times: Timeline, term: Term) -> Said:
    if term.changes_with_time:
        by_key = np.stack([term.by_key(keys, onset) for onset in times.onsets])
    else:
        once = term.by_key(keys, times.onsets[0])
        by_key = np.broadcast_to(once, (len(times.onsets), *keys.shape))
    if term.aside is None:
        return _said(kind, by_key)
    aside = [term.aside(onset) for onset in times.onsets]
    return Said(by_key, np.stack([a[0] for a in aside]), np.stack([a[1] for a in aside]))


def _said(kind: HomeClass, by_key: Floats) -> Said:
    looks, own = kind.shape
    return Said(by_key, np.zeros((len(by_key), looks)), np.zeros((len(by_key), own)))

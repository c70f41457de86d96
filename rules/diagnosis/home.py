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
from rules.diagnosis.keys import Keys, its_own, physics
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.memo import Memo
from rules.diagnosis.moment import Timeline
from rules.diagnosis.noticing import silence_log_totals, silence_said
from rules.diagnosis.said import Said, together
from rules.model import Reported

__all__ = ["SILENCE", "HomeBelief", "believed"]

SILENCE = "silence"
_LEAST = 1e-300
_MOST_LOG = 600.0


@dataclass(frozen=True, eq=False, slots=True)
class _Tables:
    """What the likelihoods of one home amount to."""

    log_total: Floats  # (onsets, look keys): log P(what goes by keys | look)
    given: Floats  # (onsets, look keys, own keys)
    shared: Floats  # (onsets, look keys, own keys)
    touched: Floats  # (onsets, look keys)


@dataclass(frozen=True, eq=False)
class HomeBelief:
    """What one home, or several that are equal in all, said or did not say."""

    kind: HomeClass
    log_prior: Floats  # (own states,)
    times: Timeline
    said: Mapping[str, Said]  # by source
    reported: Reported | None
    answers: Answers | None
    silent: bool  # whether this home could have written and did not
    memo: Memo = field(default_factory=lambda: Memo(64))  # for what others make of it

    @cached_property
    def total(self) -> Said:
        """All sources together, silence among them; its parts have their whole shapes.

        Its keys also keep apart where the temperature goes, and "nothing" from every own fault.
        """
        said = together(self.kind, self.said.values(), physics(self.kind), its_own(self.kind))
        onsets, (looks, own) = len(self.times.onsets), said.keys.shape
        return Said(
            said.keys,
            _whole(said.likely, (onsets, looks, own)),
            _whole(said.scale, (onsets, looks)),
            _whole(said.by_look, (onsets, self.kind.shape[0])),
        )

    @property
    def keys(self) -> Keys:
        """What all sources together do not tell apart."""
        return self.total.keys

    @cached_property
    def prior_of_key(self) -> Floats:
        """P(own key); (own keys,)."""
        return gathered(self.keys.of_own, np.exp(self.log_prior), self.keys.shape[1])

    @cached_property
    def part_of_key(self) -> Floats:
        """P(own state | its own key): own states of one key are told apart by their prior alone."""
        part: Floats = np.exp(self.log_prior) / self.prior_of_key[self.keys.of_own]
        return part

    @cached_property
    def states_of_key(self) -> Floats:
        """The same as a matrix, 0 where a state has another key; (own keys, own states)."""
        made = np.zeros((self.keys.shape[1], len(self.log_prior)))
        made[self.keys.of_own, np.arange(len(self.log_prior))] = self.part_of_key
        return made

    @cached_property
    def log_total(self) -> Floats:
        """Log probability of all sources; (onsets, looks)."""
        if self.silent and not self.said:
            quiet: Floats = silence_log_totals(self.kind, self.log_prior[None], self.times)[0]
            return quiet
        total = self._tables.log_total.take(self.keys.of_look, axis=1)
        total += self.total.by_look
        return total

    @property
    def given(self) -> Floats:
        """P(own key | onset, look key, evidence): (onsets, look keys, own keys)."""
        return self._tables.given

    @property
    def shared(self) -> Floats:
        """The part of it that goes to shared faults, if any explains what was said; same shape.

        All of it where the home has no fault of its own; else by how far each makes what was said
        alone (``_tables``).
        """
        return self._tables.shared

    @property
    def own_given_key(self) -> Floats:
        """P(own state | onset, look key, evidence): (onsets, look keys, own states); large."""
        return self.by_own_state(self.given)

    def by_own_state(self, by_own_key: Floats) -> Floats:
        """Mass by own state from mass by own key; the last axis."""
        spread: Floats = by_own_key.take(self.keys.of_own, axis=-1) * self.part_of_key
        return spread

    @cached_property
    def left_to_shared(self) -> Floats:
        """What goes to shared faults, own states summed out; (onsets, looks)."""
        left: Floats = np.einsum("nko->nk", self.shared)
        return left.take(self.keys.of_look, axis=1)

    @cached_property
    def touched_by_shared(self) -> Floats:
        """Chance that a shared fault, if any explains what was said, is behind some of it.

        Shape (onsets, looks); more than ``left_to_shared`` where it took both faults.
        """
        return self._tables.touched.take(self.keys.of_look, axis=1)

    @cached_property
    def _tables(self) -> _Tables:
        """Computed together: what lies between them is large and not wanted again.

        Of a shared and an own fault that are there together, what was said may be the one's doing
        alone, the other's alone, or take both: in proportion to how likely each alone makes it, against
        both, and what is left of one. What took both is put down to each by half.
        """
        likely, scale, nothing = self.total.likely, self.total.scale, self.keys.of_own[0]
        none = self.keys.of_look[self.kind.nothing]
        against = 1 / np.maximum(likely, _LEAST)
        by_shared = np.minimum(likely[:, :, nothing, None] * against, 1.0)
        factor = np.exp(np.minimum(scale[:, none, None] - scale, _MOST_LOG))
        by_home = np.multiply(likely[:, none, None, :], factor[:, :, None])
        by_home *= against
        np.minimum(by_home, 1.0, out=by_home)
        by_home[:, :, nothing], by_shared[:, :, nothing] = 0.0, 1.0
        given = likely * self.prior_of_key
        total = np.einsum("nko->nk", given)
        given *= (1 / total)[:, :, None]
        # The parts of the one, the other and both add up to this.
        whole = by_home + by_shared
        np.maximum(whole, 1.0, out=whole)
        np.divide(given, whole, out=whole)
        touched = 1 - np.einsum("nko,nko->nk", by_home, whole)
        # What the shared one did alone, and half of what took both.
        by_shared -= by_home
        by_shared *= whole
        by_shared += given
        by_shared *= 0.5
        return _Tables(np.log(total) + scale, given, by_shared, touched)

    @cached_property
    def log_nothing_own(self) -> Floats:
        """Log P(evidence | onset, look, no fault of its own); (onsets, looks)."""
        healthy = np.log(self.total.likely[:, :, self.keys.of_own[0]]) + self.total.scale
        alone: Floats = self.total.by_look + healthy.take(self.keys.of_look, axis=1)
        return alone

    @property
    def log_likelihood(self) -> Floats:
        """Log P(evidence | onset, look, own state), the table that the keys stand for; large."""
        total = self.opened.total
        looks, own = (np.arange(length) for length in self.kind.shape)
        spread: Floats = total.keys.pick(total.logs, looks, own) + total.by_look[:, :, None]
        return spread

    def careless(self, looks: Indices) -> Floats:
        """Chance that the household answers without care, given onset and state.

        Shape (1 or onsets, these look keys, own keys), or (1, 1, 1) of who has not answered.
        """
        if self.answers is None:
            return np.zeros((1, 1, 1))
        careless = self.answers.careless(self.times)
        if not self.answers.given:
            return careless
        return self.answers.keys.pick(careless, self.keys.look[looks], self.keys.own)

    @property
    def opened(self) -> HomeBelief:
        """The same home with a silence, if it is all we have, as a source like others."""
        # Nothing may keep itself: tables of megabytes would wait for the garbage collector.
        return self if self.said or not self.silent else self._told_by_silence

    @cached_property
    def _told_by_silence(self) -> HomeBelief:
        return replace(self, said={SILENCE: silence_said(self.kind, self.times)})

    def without_silence(self) -> HomeBelief:
        """The same home could it not have written."""
        spoken = {name: said for name, said in self.said.items() if name != SILENCE}
        return replace(self, said=spoken, silent=False)


def _whole(part: Floats, shape: tuple[int, ...]) -> Floats:
    return part if part.shape == shape else np.broadcast_to(part, shape)


def believed(
    kind: HomeClass,
    log_prior: Floats,
    times: Timeline,
    sources: Sequence[tuple[str, Said]],
    reported: Reported | None,
    answers: Answers | None,
    *,
    silent: bool,
) -> HomeBelief:
    """Weigh what one home said.

    Args:
        kind: its class.
        log_prior: log P(own state).
        times: candidate onsets and now.
        sources: what it said and what was measured at it, by source.
        reported: its report, if there is one.
        answers: its answers, if it is a home that was asked.
        silent: whether it could have written and did not; a silence that stands alone is summed
            without a table.
    """
    said: dict[str, Said] = {}
    for source, weighed in sources:
        said[source] = together(kind, [said[source], weighed]) if source in said else weighed
    if silent and sources:
        said[SILENCE] = silence_said(kind, times)
    return HomeBelief(kind, log_prior, times, said, reported, answers, silent)

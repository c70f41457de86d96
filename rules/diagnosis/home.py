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
from rules.diagnosis.said import Said, together
from rules.diagnosis.silence import silence_said
from rules.model import Reported

__all__ = ["SILENCE", "HomeBelief", "believed"]

SILENCE = "silence"


@dataclass(frozen=True, eq=False)
class HomeBelief:
    """What one home, or several that are equal in all, said or did not say."""

    kind: HomeClass
    log_prior: Floats  # (own states,)
    times: Timeline
    said: Mapping[str, Said]  # by source
    reported: Reported | None
    answers: Answers | None
    # Of a home that could have written and did not, the share of the time since each onset in which
    # its tank gave hot water; None of another.
    tank_lasted: Floats | None
    memo: Memo = field(default_factory=lambda: Memo(64))  # for what others make of it
    large: Memo = field(default_factory=lambda: Memo(1))  # the same, some megabytes

    @property
    def silent(self) -> bool:
        """Whether this home could have written and did not."""
        return self.tank_lasted is not None

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
            return self.opened.log_total
        by_key = np.log(self.likely_of_key) + self.total.scale
        total = by_key.take(self.keys.of_look, axis=1)
        total += self.total.by_look
        return total

    @cached_property
    def likely_of_key(self) -> Floats:
        """P(what goes by keys | look), but for its scale; (onsets, look keys)."""
        return np.asarray(self.total.likely @ self.prior_of_key)

    @property
    def given(self) -> Floats:
        """P(own key | onset, look key, evidence): (onsets, look keys, own keys)."""
        given: Floats = self.total.likely * self.prior_of_key
        given /= self.likely_of_key[:, :, None]
        return given

    def given_state(self, own: int) -> Floats:
        """P(one own state | onset, look key, evidence): (onsets, look keys)."""
        likely = self.total.likely[:, :, self.keys.of_own[own]]
        given: Floats = likely * np.exp(self.log_prior[own]) / self.likely_of_key
        return given

    @property
    def own_given_key(self) -> Floats:
        """P(own state | onset, look key, evidence): (onsets, look keys, own states); large."""
        return self.by_own_state(self.given)

    def by_own_state(self, by_own_key: Floats) -> Floats:
        """Mass by own state from mass by own key; the last axis."""
        spread: Floats = by_own_key.take(self.keys.of_own, axis=-1) * self.part_of_key
        return spread

    def log_nothing_own(self, looks: Indices) -> Floats:
        """Log P(evidence | onset, look, no fault of its own) for some looks; (onsets, looks)."""
        healthy = np.log(self.total.likely[:, :, self.keys.of_own[0]]) + self.total.scale
        alone: Floats = healthy.take(self.keys.of_look.take(looks), axis=1)
        alone += self.total.by_look.take(looks, axis=1)
        return alone

    def careless(self, onset: Indices, look: Indices) -> Floats:
        """Chance that the household answers without care, in some states of the home.

        Shape (states, own keys), or (1, 1) of who has not answered.
        """
        if self.answers is None or not self.answers.given:
            return np.full((1, 1), 0.0 if self.answers is None else self.answers.share)
        (careful, careless), keys = self.answers.chances(self.times), self.answers.keys
        at = onset % len(careless) * keys.shape[0] + keys.of_look.take(look)
        with_care, without = (
            part.reshape(-1, keys.shape[1]).take(at, axis=0) for part in (careful, careless)
        )
        share: Floats = without / (with_care + without)
        return share.take(keys.of_own.take(self.keys.own), axis=1)

    @property
    def opened(self) -> HomeBelief:
        """The same home with a silence, if it is all we have, as a source like others."""
        # Nothing may keep itself: tables of megabytes would wait for the garbage collector.
        return self if self.said or not self.silent else self._told_by_silence

    @cached_property
    def _told_by_silence(self) -> HomeBelief:
        assert self.tank_lasted is not None  # noqa: S101 - who is not silent has no such table
        return replace(self, said={SILENCE: silence_said(self.kind, self.times, self.tank_lasted)})

    @property
    def unheard(self) -> HomeBelief:
        """The same home could it not have written."""
        return self._without_silence if self.silent else self

    @cached_property
    def _without_silence(self) -> HomeBelief:
        spoken = {name: said for name, said in self.said.items() if name != SILENCE}
        return replace(self, said=spoken, tank_lasted=None)


def _whole(part: Floats, shape: tuple[int, ...]) -> Floats:
    return part if part.shape == shape else np.broadcast_to(part, shape)


def believed(
    kind: HomeClass,
    log_prior: Floats,
    times: Timeline,
    sources: Sequence[tuple[str, Said]],
    reported: Reported | None,
    answers: Answers | None,
    tank_lasted: Floats | None = None,
) -> HomeBelief:
    """Weigh what one home said.

    Args:
        kind: its class.
        log_prior: log P(own state).
        times: candidate onsets and now.
        sources: what it said and what was measured at it, by source.
        reported: its report, if there is one.
        answers: its answers, if it is a home that was asked.
        tank_lasted: of a home that could have written and did not, the share of the time since each
            onset in which its tank gave hot water; a silence that stands alone is summed without a
            table.
    """
    said: dict[str, Said] = {}
    for source, weighed in sources:
        said[source] = together(kind, [said[source], weighed]) if source in said else weighed
    if tank_lasted is not None and sources:
        said[SILENCE] = silence_said(kind, times, tank_lasted)
    return HomeBelief(kind, log_prior, times, said, reported, answers, tank_lasted)

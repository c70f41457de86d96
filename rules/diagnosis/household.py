"""The answers of one household, which are right or wrong together.

Theory of operation
-------------------
Most people answer with care; some answer anything to be done with it, and do so in every answer. With
care an answer has the chance that its table gives; without, half of it is a draw from the choices. Given
the state of the home and the care taken, answers are independent, so

    P(answers | state) = (1 - c) * product of P(a | state, care) + c * product of P(a | state, no care).

The weight of an answer is what it adds to those before it. Two answers that no single state explains
therefore speak for a careless household rather than for two rare faults.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property

import numpy as np

from rules.data import table
from rules.diagnosis.answers import answer_values, replies
from rules.diagnosis.exact import Floats
from rules.diagnosis.keys import Keys, collapse
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.memo import Memo
from rules.diagnosis.moment import Since, Timeline
from rules.diagnosis.said import Said
from rules.diagnosis.space import Space
from rules.diagnosis.tanks import NOTHING_TOLD, Tank
from rules.model import Answered, Evidence

__all__ = ["Answers", "without_care"]


def without_care(chance: Floats, choices: int, weight: Floats) -> Floats:
    """Chance of an answer, out of so many choices, of who does not take care; times a weight."""
    drawn = float(table("answers")["careless"]["drawn"])
    careless = (weight * (1 - drawn)) * chance
    careless += weight * (drawn / choices)
    return careless


@dataclass(frozen=True, eq=False)
class Answers:
    """All answers of one household, in the order in which they came."""

    space: Space
    kind: HomeClass
    given: Sequence[tuple[Answered, str, datetime]]  # with source and time
    tank: Tank = NOTHING_TOLD
    _all: Memo = field(default_factory=lambda: Memo(1))

    @staticmethod
    def of(
        space: Space, kind: HomeClass, said: Sequence[Evidence], tank: Tank = NOTHING_TOLD
    ) -> Answers:
        """The usable answers among what was said; a later answer replaces an earlier one."""
        latest = {
            e.fact.topic: (e.fact, e.source, e.at) for e in said if isinstance(e.fact, Answered)
        }
        usable = [a for a in latest.values() if a[0].means in answer_values(a[0].topic)]
        given = sorted(usable, key=lambda a: (a[2], a[1], a[0].topic))
        return Answers(space, kind, given, tank)

    @property
    def share(self) -> float:
        """How many households take no care, beforehand."""
        return float(table("answers")["careless"]["share"])

    @cached_property
    def keys(self) -> Keys:
        """What the answers do not tell apart."""
        return collapse(
            self.kind,
            [
                f
                for a, _, _ in self.given
                for f in replies(self.space, self.kind, a.topic).keys.features
            ],
        )

    def added(self, times: Timeline) -> Iterator[tuple[str, Said]]:
        """Each source with the chance of its answer given those before it."""
        parts = [*self._chances(times)]
        self._all.once(times.onsets, lambda: parts[-1])
        before: Floats | None = None
        for (_, source, _), (careful, careless) in zip(self.given, parts[1:], strict=True):
            both = careful + careless
            yield source, Said(self.keys, both if before is None else both / before)
            before = both

    def chances(self, times: Timeline) -> tuple[Floats, Floats]:
        """Chance of all answers and of care, and of no care, given the state.

        Shapes (1 or onsets, look keys, own keys), or (1, 1, 1) of who has not answered.
        """
        return self._all.once(times.onsets, lambda: [*self._chances(times)][-1])

    def careless(self, times: Timeline) -> Floats:
        """Chance that the household takes no care, given the state and all its answers."""
        careful, careless = self.chances(times)
        return np.asarray(careless / (careful + careless))

    def _chances(self, times: Timeline) -> Iterator[tuple[Floats, Floats]]:
        """The same before any answer, then of the first answers, of one more each time."""
        keys, share = self.keys, self.share
        careful, careless = np.full((1, 1, 1), 1 - share), np.full((1, 1, 1), share)
        yield careful, careless
        for answered, source, at in self.given:
            reply = replies(self.space, self.kind, answered.topic)
            hours = times.hours(at)
            since = Since(hours, self.tank.empty(times, at, source) if reply.of_tank else hours)
            chance = reply.keys.spread(reply.chance(answered.means, since), keys)
            careful = careful * chance
            careless = without_care(chance, len(reply.values), careless)
            yield careful, careless

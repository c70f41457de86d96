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

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

import numpy as np

from rules.data import table
from rules.diagnosis.answers import answer_chances, answer_features, answer_values
from rules.diagnosis.exact import Floats
from rules.diagnosis.keys import Feature, Keys
from rules.diagnosis.moment import Onset
from rules.diagnosis.space import HomeClass, Space
from rules.model import Answered, Evidence

__all__ = ["Answers", "without_care"]


def without_care(chance: Floats, choices: int) -> Floats:
    """Chance of an answer from somebody who does not take care, out of so many choices."""
    drawn = float(table("answers")["careless"]["drawn"])
    return np.asarray((1 - drawn) * chance + drawn / choices)


@dataclass(frozen=True, eq=False, slots=True)
class Answers:
    """All answers of one household, in the order in which they came."""

    space: Space
    kind: HomeClass
    given: Sequence[tuple[Answered, str, datetime]]  # with source and time
    _joint: dict[tuple[int, int, datetime], tuple[Floats, Floats]] = field(default_factory=dict)

    @staticmethod
    def of(space: Space, kind: HomeClass, said: Sequence[Evidence]) -> Answers:
        """The usable answers among what was said; a later answer replaces an earlier one."""
        latest = {
            e.fact.topic: (e.fact, e.source, e.at) for e in said if isinstance(e.fact, Answered)
        }
        usable = [a for a in latest.values() if a[0].means in answer_values(a[0].topic)]
        return Answers(space, kind, sorted(usable, key=lambda a: (a[2], a[1], a[0].topic)))

    def features(self, number: int) -> tuple[Feature, ...]:
        """What the weight of one answer depends on: itself and those before it."""
        before = self.given[: number + 1]
        return tuple(
            f for a, _, _ in before for f in answer_features(self.space, self.kind, a.topic)
        )

    def log_added(self, number: int, keys: Keys, onset: Onset) -> Floats:
        """Log chance of one answer given those before it; (look keys, own keys)."""
        now, before = self._logs(number + 1, keys, onset), self._logs(number, keys, onset)
        added: Floats = np.logaddexp(*now) - np.logaddexp(*before)
        return added

    def careless(self, keys: Keys, onset: Onset) -> Floats:
        """Chance that the household takes no care, given the state and all its answers."""
        careful, careless = self._logs(len(self.given), keys, onset)
        chance: Floats = np.exp(careless - np.logaddexp(careful, careless))
        return chance

    def _logs(self, number: int, keys: Keys, onset: Onset) -> tuple[Floats, Floats]:
        """Log chance of the first answers and of care, and of no care."""
        name = (number, id(keys), onset.at)
        if name not in self._joint:
            self._joint[name] = self._compute(number, keys, onset)
        return self._joint[name]

    def _compute(self, number: int, keys: Keys, onset: Onset) -> tuple[Floats, Floats]:
        share = float(table("answers")["careless"]["share"])
        if number == 0:
            none = np.zeros(keys.shape)
            return none + np.log(1 - share), none + np.log(share)
        careful, careless = self._logs(number - 1, keys, onset)
        answered, _, at = self.given[number - 1]
        chances = answer_chances(self.space, self.kind, keys, answered.topic, onset.hours(at))
        chance = chances[answered.means]
        return careful + np.log(chance), careless + np.log(without_care(chance, len(chances)))

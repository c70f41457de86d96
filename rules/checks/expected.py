"""What faults say of a check, written down as data, so that a phone can weigh readings by it.

Theory of operation
-------------------
``rules.diagnosis.measuring.chance`` gives the likelihood of a finding under the expectations of a fault.
Here the same is data: every distinct set of expectations once, as rules with a range and what a meter
and a hand are worth beside it.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rules.checks.readings import readings_in_words
from rules.diagnosis.measuring import (
    EXPECTED,
    FAULTY_WORDS,
    HEALTHY_WORDS,
    NO_OPINION,
    NOTED_AS_USUAL,
    SLIP,
    is_healthy,
    tolerance,
)
from rules.faults.rows import Check, CheckReading, Fault

__all__ = ["LIKELIHOODS", "ExpectedSets", "rule_of"]

# What ``chance`` gives: as expected, no way to compare. How often a figure is far off is its rule's.
LIKELIHOODS = {
    "expected": EXPECTED,
    "no_opinion": NO_OPINION,
    "noted_as_usual": NOTED_AS_USUAL,
    "slip": SLIP,
    "healthy_words": sorted(HEALTHY_WORDS),
    "faulty_words": sorted(FAULTY_WORDS),
}


class ExpectedSets:
    """Distinct sets of expectations for one check, numbered as they come up."""

    def __init__(self, check: Check) -> None:
        """None yet."""
        self._check = check
        self._numbers: dict[str, int] = {}
        self.rules: list[list[Mapping[str, Any]]] = []
        self.words: list[str] = []  # of each, as ``reading_of`` has it

    def of(self, fault: Fault | None, *, elsewhere: bool = False) -> int | None:
        """The number of a fault's set; None if it says nothing of this check, made elsewhere."""
        own = () if fault is None else fault.checks
        rows = [r for r in own if r.check == self._check.id and not (elsewhere and r.at_own)]
        if not rows:
            return None
        rules = [rule_of(r, self._check) for r in rows]
        number = self._numbers.setdefault(repr(rules), len(self.rules))
        if number == len(self.rules):
            self.rules.append(rules)
            self.words.append(readings_in_words(self._check, rows))
        return number


def rule_of(row: CheckReading, check: Check) -> Mapping[str, Any]:
    """One expectation: a range with what a meter is worth, or a word; and when it holds."""
    rule: dict[str, Any] = {"good": True} if is_healthy(row, check) else {}
    if row.calling is not None:
        rule["calling"] = row.calling
    if row.lacking:
        rule["lacking"] = True
    if row.unit is not None:
        rule["unit"] = row.unit
    if row.outcome is not None:
        rule["word"] = row.outcome
    if row.reads is not None:
        # Beside these a tenth of the bound, but where the check says what it is worth.
        rule["reads"] = [*row.reads, tolerance(row), *(() if check.slack is None else (0,))]
    return rule

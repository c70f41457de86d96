"""What faults say of a check, written down as data, so that a phone can weigh readings by it.

Theory of operation
-------------------
``rules.diagnosis.measuring.chance`` gives the likelihood of a finding under the expectations of a fault.
Here the same is data: every distinct set of expectations once, as rules with a range and how far beside
it a reading is still as expected.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rules.checks.telling import widened
from rules.diagnosis.measuring import (
    EXPECTED,
    FAULTY_WORDS,
    HEALTHY_WORDS,
    NO_OPINION,
    is_healthy,
    slip,
    tolerance,
)
from rules.faults.rows import Check, CheckReading, Fault

__all__ = ["LIKELIHOODS", "ExpectedSets", "rule_of"]

# What ``chance`` gives: as expected, no way to compare. How often a figure is far off is its rule's.
LIKELIHOODS = {
    "expected": EXPECTED,
    "no_opinion": NO_OPINION,
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
        return number


def rule_of(row: CheckReading, check: Check) -> Mapping[str, Any]:
    """One expectation: a range with slack on either side and slips, or a word; and when it holds."""
    rule: dict[str, Any] = {"good": is_healthy(row, check)}
    if row.calling is not None:
        rule["calling"] = row.calling
    if row.unit is not None:
        rule["unit"] = row.unit
    if row.outcome is not None:
        rule["word"] = row.outcome
    if row.reads is not None:
        low, high = row.reads
        slack = tolerance(row) + 1e-6
        rule["widened"] = widened(row)
        rule["reads"] = [low, high, slack + 0.1 * abs(low), slack + 0.1 * abs(high), slip(row)]
    return rule

"""What a visit has come to: where somebody stands, and whether a reading has shown anything yet.

Theory of operation
-------------------
However sure the diagnosis is, a suspect is proved before it is changed: until a reading shows what a
healthy plant seldom does, the list of faults itself is doubted. Once one has, a doubt so small is none:
to raise it anew after each reading would ask for the next seven that follow from the same dead
transformer. A walk is counted from where the last reading was made.
"""

from __future__ import annotations

from datetime import timedelta

from rules.diagnosis import Diagnosis, Group
from rules.diagnosis.measuring import chance, homes_touched
from rules.faults.catalogue import checks
from rules.model import Found

__all__ = ["LEAST_DOUBT", "UNHEALTHY", "doubt_of", "has_shown", "stands_at"]

# The list of faults may miss what is the matter this often (common practice, no source).
LEAST_DOUBT = 0.1
# A healthy plant shows such a reading no oftener (common practice, no source).
UNHEALTHY = 0.25
# Whoever has measured so lately is still there (common practice, no source).
_ONE_VISIT = timedelta(hours=2)


def doubt_of(unknown: float, *, shown: bool) -> float:
    """How much something else is doubted beside the suspects; little is nothing once all is shown."""
    if unknown > LEAST_DOUBT:
        return unknown
    return 0.0 if shown else LEAST_DOUBT


def stands_at(diagnosis: Diagnosis, group: Group) -> str | None:
    """The place where somebody measures for these homes just now; None if nobody does."""
    homes, now = frozenset(group.apartments), diagnosis.belief.times.now
    made = [
        (item.at, n, checks()[item.fact.check].place)
        for n, item in enumerate(diagnosis.evidence)
        if isinstance(item.fact, Found)
        and now - _ONE_VISIT <= item.at <= now
        and homes_touched(diagnosis.plant, item.fact.component) & homes
    ]
    return max(made)[2] if made else None


def has_shown(diagnosis: Diagnosis, group: Group) -> bool:
    """Whether a reading for these homes has shown what a healthy plant seldom does."""
    homes = frozenset(group.apartments)
    return any(
        chance((), found) < UNHEALTHY
        for found in diagnosis.findings
        if homes_touched(diagnosis.plant, found.component) & homes
    )

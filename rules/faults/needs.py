"""What a check needs before its reading means anything, and which faults take that away.

Theory of operation
-------------------
A flame's current is read while a flame burns, a flue's draft while the burner runs, what a tap gives
while something heats the tap water. A fault that keeps the burner from lighting makes such a reading
impossible: what is seen then stands with the check (``without``), and every fault that takes away what
is needed and says nothing of the check itself expects that. So a meter on a flame that is not there
does not part faults of which none lights, and whoever notes "no flame" has said all that there is.
"""

from __future__ import annotations

from collections.abc import Iterable

from rules.faults.rows import Check, CheckReading, Fault, Need

__all__ = ["lacks", "with_what_it_lacks"]


def lacks(fault: Fault) -> frozenset[Need]:
    """What is not there while a fault is."""
    change, gone = fault.change, set[Need]()
    if change.capacity == 0 or change.demand == "open":
        gone.add("fire")
    if change.hot_water == "none":
        gone.add("hot_water")
    return frozenset(gone)


def with_what_it_lacks(fault: Fault, checks: Iterable[Check]) -> Fault:
    """A fault's row with what is seen at checks that it makes impossible."""
    gone = lacks(fault)
    told = tuple(fault.checks)
    for check in checks:
        if check.needs not in gone:
            continue
        if all(row.check != check.id for row in told):
            told += tuple(_lacking(row) for row in check.without)
        else:  # it may be either: the row says so itself, in the word for it
            words = {row.outcome for row in check.without} - {None}
            told = tuple(
                _lacking(row) if row.check == check.id and row.outcome in words else row
                for row in told
            )
    return fault if told == fault.checks else fault.model_copy(update={"checks": told})


def _lacking(row: CheckReading) -> CheckReading:
    return row.model_copy(update={"lacking": True})

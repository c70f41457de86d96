"""Under which name a fault is told to programs outside, and what they mean by it.

Theory of operation
-------------------
The trade's list of faults has one name for some things of which the catalogue has two rows, because
tenants feel them differently: a strainer that is clogged and one that lets next to nothing through.
Such a row names the listed one in ``told_as``. Inside both stay what they are; outside there is only the
listed name, with the chances of its rows added up, and who gives it means whichever of them it is.
A check that is not on the trade's list of tests is for people: no name there stands for it.
"""

from __future__ import annotations

from functools import cache

from rules.faults.catalogue import checks, faults
from rules.faults.rows import Fault
from rules.model import CheckId, FaultId

__all__ = ["is_listed", "rows_told_as", "told_name"]


def told_name(fault: str) -> FaultId:
    """The listed name of a fault; a name that no row has is its own."""
    row = faults().get(FaultId(fault))
    return FaultId(fault) if row is None else row.told_as or row.id


@cache
def rows_told_as(name: str) -> tuple[Fault, ...]:
    """The rows that a name may stand for, that of the name itself first; none for an unknown name."""
    found = [row for row in faults().values() if name in (row.id, row.told_as)]
    return tuple(sorted(found, key=lambda row: row.id != name))


def is_listed(check: str) -> bool:
    """Whether programs outside know a check by its name."""
    row = checks().get(CheckId(check))
    return row is None or row.listed

"""What all homes say of every shared state, added up: given the shared state they are independent."""

from __future__ import annotations

from collections.abc import Iterable

from rules.diagnosis.exact import Floats
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.listing import Listing

__all__ = ["with_homes"]


def with_homes(
    listing: Listing, log_joint: Floats, totals: Iterable[tuple[HomeClass, Floats]]
) -> Floats:
    """Log weight of each onset and listed state, with what these homes said or did not besides.

    Args:
        listing: of the states of the building.
        log_joint: log weight without these homes; (onsets, listed).
        totals: of each home its class, and log P(what it said | onset, look), (onsets, looks).
    """
    # Homes of one class are added up first and spread over the states once.
    by_class: dict[HomeClass, Floats] = {}
    for kind, rows in totals:
        by_class[kind] = by_class[kind] + rows if kind in by_class else rows
    spread = (rows.take(listing.looks(kind), axis=1) for kind, rows in by_class.items())
    joint = next(spread, None)
    if joint is None:
        return log_joint
    for part in spread:
        joint += part
    joint += log_joint
    return joint

"""What all homes say of every shared state, added up: given the shared state they are independent."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from rules.diagnosis.exact import Floats
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.listing import Listing
from rules.diagnosis.moment import Timeline

__all__ = ["log_weights"]


def log_weights(
    listing: Listing,
    times: Timeline,
    checks: Iterable[Floats],
    homes: Iterable[tuple[HomeClass, Floats]],
) -> Floats:
    """Log weight of each onset and listed state, not normalised; (onsets, listed).

    Args:
        listing: of the states of the building.
        times: candidate onsets.
        checks: log likelihoods of what several homes share; (shared states,).
        homes: of each its class, and log P(what it said or did not | onset, look), (onsets, looks).
    """
    joint = np.add.outer(np.log(times.chances), listing.log_prior)
    for term in checks:
        joint += term.take(listing.at)
    # Homes of one class are added up first and spread over the states once.
    by_class: dict[HomeClass, Floats] = {}
    for kind, rows in homes:
        by_class[kind] = by_class[kind] + rows if kind in by_class else rows
    for kind, rows in by_class.items():
        joint += rows.take(listing.looks(kind), axis=1)
    return joint

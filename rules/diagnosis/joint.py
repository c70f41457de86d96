"""What all homes say of every shared state, added up.

Theory of operation
-------------------
The joint state of what homes share is enumerated, and given it the homes are independent. Within a home
its own state l is enumerated too, so that of all shared states s

    P(s | E)     is proportional to  P(s) * product over homes of sum over l of P(l) P(E_home | s, l)
    P(l | s, E)  is proportional to  P(l) P(E_home | s, l)

in log space. The sum over l is the home's (``home``); many shared states look alike from it, so it has
one row for each distinct look, which are added up here. Nothing is approximated.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from rules.diagnosis.exact import Floats
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.listing import Listing
from rules.diagnosis.moment import Timeline

__all__ = ["add_homes", "log_weights"]


def log_weights(listing: Listing, times: Timeline, checks: Iterable[Floats]) -> Floats:
    """Log weight of each onset and listed state before any home speaks; (onsets, listed).

    Args:
        listing: of the states of the building.
        times: candidate onsets.
        checks: log likelihoods of what several homes share; (shared states,).
    """
    joint = np.add.outer(np.log(times.chances), listing.log_prior)
    for term in checks:
        joint += term.take(listing.at)
    return joint


def add_homes(joint: Floats, listing: Listing, homes: Iterable[tuple[HomeClass, Floats]]) -> Floats:
    """Add to such weights what homes say; in place.

    ``homes`` are of each its class, and log P(what it said or did not | onset, look), (onsets, looks).
    """
    # Homes of one class are added up first and spread over the states once.
    by_class: dict[HomeClass, Floats] = {}
    for kind, rows in homes:
        by_class[kind] = by_class[kind] + rows if kind in by_class else rows
    for kind, rows in by_class.items():
        joint += rows.take(listing.looks(kind), axis=1)
    return joint

"""How long parts last: what the tables say, and what one's own parts have taught since.

Theory of operation
-------------------
Lives follow a Weibull law whose shape k belongs to the way a part wears and is kept; what differs
between makes, water and buildings is the rate, and that is learned. With ``theta`` = scale**-k, a life
to the power of k is exponential with rate theta, so a Gamma prior on theta is updated exactly (for
k = 1 this is the gamma-exponential model of the NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.6):

    failures' = failures + number of parts that failed
    exposure' = exposure + sum of (age at the end)**k - (age when first watched)**k

A part that still works, or was changed for another reason, adds its exposure and no failure (right
censoring). One that was old when its building came to us counts from that age on (left truncation): the
ones of its age that had failed before were never seen, and would be missed.

With theta integrated out, a part reaches age t with chance (1 + t**k / exposure)**-failures.
Before anything is seen half are gone at the median life of the table, and the prior weighs as much as
``PRIOR_FAILURES`` parts that one has seen fail.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from rules.faults.catalogue import faults, parts
from rules.faults.rows import Wear
from rules.model import PartId

__all__ = ["PRIOR_FAILURES", "Life", "Lives", "learned", "stated_lives", "wear_of"]

# One or two make-believe failures let the first few real ones speak (common practice, no source).
PRIOR_FAILURES = 2.0
_LEAST_YEARS = 1 / 365.25  # a part that failed on its first day has lived a day


@dataclass(frozen=True, slots=True)
class Life:
    """One part: its age in years at the end, or now; whether it failed; its age when first watched."""

    years: float
    failed: bool
    watched_from_years: float = 0.0


@dataclass(frozen=True, slots=True)
class Lives:
    """What is known of the lives of one class of parts.

    ``failures`` and ``exposure`` (years to the power of ``shape``) are the Gamma law's parameters.
    """

    shape: float
    failures: float
    exposure: float

    def survival(self, age_years: float) -> float:
        """Chance that a new part reaches this age."""
        lived: float = max(age_years, 0.0) ** self.shape
        return float((1 + lived / self.exposure) ** -self.failures)

    def median_years(self) -> float:
        """The age that half of the parts reach."""
        quantile: float = 2 ** (1 / self.failures) - 1
        return float((self.exposure * quantile) ** (1 / self.shape))

    def failure_within_a_year(self, age_years: float) -> float:
        """Chance that a part of this age, working today, fails in the next year."""
        return 1 - self.survival(age_years + 1) / self.survival(age_years)


def stated_lives(wear: Wear, failures: float = PRIOR_FAILURES) -> Lives:
    """What the table says, before any part of one's own has been seen."""
    quantile = 2 ** (1 / failures) - 1
    return Lives(wear.shape, failures, wear.median_years**wear.shape / quantile)


def learned(before: Lives, seen: Iterable[Life]) -> Lives:
    """What is known after parts have been seen to fail or to go on working; order does not matter."""
    failures, exposure = before.failures, before.exposure
    for life in seen:
        years = max(life.years, _LEAST_YEARS)
        start = min(max(life.watched_from_years, 0.0), years)
        failures += life.failed
        exposure += years**before.shape - start**before.shape
    return Lives(before.shape, failures, exposure)


def wear_of(kind: str, variant: str | None = None) -> Wear | None:
    """How a component ages: as its likeliest failure that is mended by a new one does.

    ``kind`` is a component's kind, ``variant`` the kind of valve, thermostat or heat source in the
    building file. None where no fault of it wears.
    """
    ages = [
        (fault.rate_per_100_years or 0.0, str(fault.id), fault.wear)
        for fault in faults().values()
        if fault.at == kind
        and fault.wear is not None
        and fault.parts
        and parts()[PartId(fault.parts[0])].renews == kind
        and _occurs(getattr(fault.where, kind, ()), variant)
    ]
    # Of two equally likely ones the first by name, so that the answer never changes by itself.
    return min(ages, key=lambda row: (-row[0], row[1]))[2] if ages else None


def _occurs(variants: tuple[str, ...], variant: str | None) -> bool:
    return not variants or variant is None or variant in variants

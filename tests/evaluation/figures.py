"""Shares with their uncertainty, medians, and the reliability of stated chances."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import mean, median

__all__ = ["Bin", "Share", "brier", "mean_of", "median_of", "reliability", "share"]

_Z = 1.96
_EDGES = (0.0, 0.02, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.0)


@dataclass(frozen=True)
class Share:
    """Hits of a number, with the Wilson interval at 95 %."""

    hits: int
    of: int

    @property
    def value(self) -> float:
        """The share itself; not a number without cases."""
        return self.hits / self.of if self.of else math.nan

    @property
    def interval(self) -> tuple[float, float]:
        """Where the true share lies in 19 of 20 such evaluations (Wilson 1927)."""
        if not self.of:
            return 0.0, 1.0
        n, p = self.of, self.value
        middle = (p + _Z**2 / (2 * n)) / (1 + _Z**2 / n)
        half = _Z * math.sqrt(p * (1 - p) / n + _Z**2 / (4 * n**2)) / (1 + _Z**2 / n)
        return max(0.0, middle - half), min(1.0, middle + half)

    def __str__(self) -> str:
        if not self.of:
            return "no cases"
        low, high = self.interval
        return f"{100 * self.value:.0f} % ({100 * low:.0f}-{100 * high:.0f}), {self.hits}/{self.of}"


@dataclass(frozen=True)
class Bin:
    """Stated chances of about one size: their mean, how often it was so, how many."""

    stated: float
    seen: Share


def share(values: Iterable[bool | None]) -> Share:
    """Share of true among what is known."""
    known = [v for v in values if v is not None]
    return Share(sum(known), len(known))


def median_of(values: Sequence[float]) -> str:
    """The median, or a dash."""
    return f"{median(values):g}" if values else "-"


def mean_of(values: Sequence[float], form: Callable[[float], str] = "{:.1f}".format) -> str:
    """The mean with its 95 % interval from the spread, or a dash."""
    if not values:
        return "-"
    middle = mean(values)
    spread = math.sqrt(sum((v - middle) ** 2 for v in values) / max(len(values) - 1, 1))
    half = _Z * spread / math.sqrt(len(values))
    return f"{form(middle)} ({form(max(middle - half, 0))}-{form(middle + half)})"


def brier(pairs: Sequence[tuple[float, bool]]) -> float:
    """Mean squared distance of stated chances from what was so."""
    return mean((p - hit) ** 2 for p, hit in pairs) if pairs else math.nan


def reliability(pairs: Sequence[tuple[float, bool]]) -> list[Bin]:
    """Stated chances in bins against how often they came true."""
    bins = []
    for low, high in pairwise(_EDGES):
        here = [(p, hit) for p, hit in pairs if low <= p < high or p == high == 1.0]
        if here:
            bins.append(Bin(mean(p for p, _ in here), share(hit for _, hit in here)))
    return bins

"""How much a check would tell: what it may show under each suspect, and the bits that are in it.

Theory of operation
-------------------
A suspect expects a word, or a range in a state of the call; one that says nothing of a check expects
what a healthy plant shows. Ranges of suspects overlap, and where they do a reading tells little: the
ends of all ranges cut the scale into pieces, and a range spreads its chance over its pieces by their
length, widened by what a meter is worth. As in the diagnosis, one reading in ten is not as expected.
Where a suspect leaves nothing to read (``rules.faults.needs``) that is a reading of its own. Something
else leaves every part healthy, but lets the burner light no oftener than the suspects do: what all of
them rule out says nothing of it either.
What a check tells is the mutual information of suspect and reading, given those of the checks before.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np

from rules.diagnosis.exact import Floats, Indices
from rules.diagnosis.measuring import EXPECTED, seen_without, tolerance, wrong_word
from rules.faults.catalogue import checks
from rules.faults.rows import Check, CheckReading
from rules.model import CheckId

__all__ = ["SideBySide", "Told", "chances_with_else", "reading_chances", "widened"]

Expected = tuple[CheckReading, ...]

# Courses of readings less likely than this decide nothing about what is measured next.
_RARE = 5e-3
_LEAST = 1e-300


@dataclass(frozen=True, eq=False, slots=True)
class SideBySide:
    """What several checks may show, one beside the other."""

    chances: Floats  # (suspects, readings of all checks)
    first: Indices  # (checks,): first reading of each
    certain: Floats  # (suspects, checks): minus the entropy of its reading, in bits

    @staticmethod
    def of(several: Sequence[Floats]) -> SideBySide:
        """From their chances of shape (suspects, readings); one check at least."""
        chances = np.concatenate(several, axis=1)
        first = np.cumsum([0, *(part.shape[1] for part in several)])[:-1]
        return SideBySide(chances, first, np.add.reduceat(_times_log(chances), first, axis=1))


class Told:
    """What the checks so far may have shown: a weight of the suspects for each course of readings."""

    def __init__(self, weight: Floats) -> None:
        """Start with nothing measured; ``weight`` sums to one over suspects and something else."""
        self._courses = weight[None, :]

    def bits(self, chances: Floats) -> float:
        """Expected bits of one more check; ``chances`` of shape (suspects, readings)."""
        return float(self.bits_of_each(SideBySide.of([chances]))[0])

    def bits_of_each(self, checks: SideBySide) -> Floats:
        """Expected bits of each of several checks, were it made next; (checks,).

        What the reading is not known by less what of it is not known under each suspect.
        """
        by_suspect, by_course = self._courses.sum(axis=0), self._courses.sum(axis=1)
        readings = _times_log(self._courses @ checks.chances).sum(axis=0)
        known = by_suspect @ checks.certain + _times_log(by_course).sum()
        bits: Floats = known - np.add.reduceat(readings, checks.first)
        return bits

    def measure(self, chances: Floats) -> None:
        """Go on as if this check had been made, whatever it shows."""
        after = np.einsum("cs,sr->crs", self._courses, chances).reshape(-1, len(chances))
        kept = after[after.sum(axis=1) > _RARE]
        self._courses = kept / kept.sum()


def _times_log(chances: Floats) -> Floats:
    """Each chance times its logarithm to base 2; 0 of 0."""
    times: Floats = chances * np.log2(np.maximum(chances, _LEAST))
    return times


@lru_cache(maxsize=4096)
def reading_chances(check_id: CheckId, expected: tuple[Expected, ...]) -> Floats:
    """P(reading | suspect), suspects down, readings across; each row sums to one.

    Args:
        check_id: the check.
        expected: what each suspect says of it; empty for a suspect that leaves it healthy.
    """
    check = checks()[check_id]
    if check.outcomes:
        return _of_words(check, expected)
    figures = [tuple(r for r in readings if r.outcome is None) for readings in expected]
    if check.nothing is not None:  # what is then read is as good as nothing read
        figures = [tuple(r for r in readings if not r.lacking) for readings in figures]
    made = np.ones((len(expected), 1))
    for unit, calling in _states(check, figures):
        part = _of_ranges(check, figures, unit, calling)
        made = np.einsum("sa,sb->sab", made, part).reshape(len(expected), -1)
    return made if check.nothing is None else _or_nothing(made, expected, figures)


def chances_with_else(
    check_id: CheckId, expected: Sequence[Expected], weights: Sequence[float]
) -> Floats:
    """The same with a last row for something else.

    Args:
        check_id: the check.
        expected: what each suspect says of it.
        weights: of the suspects.
    """
    check = checks()[check_id]
    gone = sum(
        weight
        for weight, rows in zip(weights, expected, strict=True)
        if any(row.lacking for row in rows)
    )
    if not gone:
        return reading_chances(check_id, (*expected, ()))
    lacking = tuple(row.model_copy(update={"lacking": True}) for row in check.without)
    every = reading_chances(check_id, (*expected, (), lacking))
    share = gone / sum(weights)
    return np.vstack([every[:-2], (1 - share) * every[-2] + share * every[-1]])


def _or_nothing(figures: Floats, expected: Sequence[Expected], own: Sequence[Expected]) -> Floats:
    """Figures and, last, that there was nothing to read; who may show both shows each half the time."""
    lacks = np.array([any(r.lacking for r in rows) for rows in expected])
    reads = ~lacks | np.array([bool(rows) for rows in own])
    nothing = np.where(lacks, np.where(reads, 0.5, EXPECTED), 1 - EXPECTED)[:, None]
    either: Floats = np.concatenate([figures * (1 - nothing), nothing], axis=1)
    return either


def _of_words(check: Check, expected: Sequence[Expected]) -> Floats:
    made = np.full((len(expected), len(check.outcomes)), wrong_word(check))
    for row, readings in zip(made, expected, strict=True):
        if readings and all(r.lacking for r in readings):
            row[:] = list(seen_without(check).values())
            continue
        words = {r.outcome for r in readings if r.outcome} or {check.outcomes[0]}
        for word in words:
            row[check.outcomes.index(word)] = EXPECTED
    normalised: Floats = made / made.sum(axis=1, keepdims=True)
    return normalised


def _states(check: Check, expected: Iterable[Expected]) -> list[tuple[str | None, bool | None]]:
    """Units and states of the call in which some suspect expects a figure of its own."""
    held = {(r.unit, r.calling) for r in check.healthy}
    wanted = {(r.unit, r.calling) for readings in expected for r in readings}
    states = {
        (unit, state)
        for unit, calling in wanted
        for state in (
            [calling]
            if calling is not None
            else sorted({c for u, c in held if u == unit}, key=str) or [None]
        )
    }
    return sorted(states, key=str)


def _of_ranges(
    check: Check, expected: Sequence[Expected], unit: str | None, calling: bool | None
) -> Floats:
    usual = _ranges(check.healthy, unit, calling)
    ranges = [_ranges(readings, unit, calling) or usual for readings in expected]
    ends = sorted({end for suspect in ranges for low, high in suspect for end in (low, high)})
    if len(ends) < 2:  # nobody, a healthy plant included, expects anything in this state
        return np.ones((len(expected), 1))
    pieces = list(pairwise(ends))
    lengths = np.array([high - low for low, high in pieces])
    inside = np.array(
        [
            [any(a <= low and high <= b for a, b in suspect) for low, high in pieces]
            for suspect in ranges
        ]
    )
    within = inside * lengths
    totals = within.sum(axis=1, keepdims=True)
    shares = np.where(totals > 0, within / np.maximum(totals, 1e-12), 1 / len(pieces))
    made: Floats = EXPECTED * shares + (1 - EXPECTED) / len(pieces)
    return made


def _ranges(
    readings: Iterable[CheckReading], unit: str | None, calling: bool | None
) -> list[tuple[float, float]]:
    return [
        widened(r)
        for r in readings
        if r.reads is not None
        and r.unit == unit
        and (r.calling is None or calling is None or r.calling == calling)
    ]


def widened(row: CheckReading) -> tuple[float, float]:
    """A range with what a meter is worth on either side.

    Raises:
        ValueError: the reading is a word.
    """
    if row.reads is None:
        raise ValueError(f"{row.check} is answered in words")
    slack = tolerance(row) + 1e-6
    return row.reads[0] - slack, row.reads[1] + slack

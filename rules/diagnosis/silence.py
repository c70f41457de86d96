"""What it says that nobody of a home wrote until now.

Theory of operation
-------------------
A home that could have written and did not has the chance that nothing came in all the waking hours
since the onset. Some households never write, so silence is never proof. The rate of reports is a part by
course of temperature, one by look and one by own state. Homes that are equal in all and silent are
counted; the courses of all their classes, which are mostly the same ones, are gone through together, and
the sum over own states is done once for each physical pattern.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np

from rules.data import table
from rules.diagnosis.exact import Floats, gathered
from rules.diagnosis.keys import collapse, feature, physics
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.moment import Timeline
from rules.diagnosis.physics import Physics
from rules.diagnosis.reporting import steady_rates, thermal_rates, waking_days
from rules.diagnosis.said import Said
from rules.diagnosis.space import Space

__all__ = ["silence_of", "silence_said"]


def silence_said(home: HomeClass, times: Timeline) -> Said:
    """Nobody of this home wrote until now."""
    steady = feature(home, "steady rates", lambda: steady_rates(home))
    keys, never = collapse(home, [physics(home), steady]), table("reporting")["never_writes"]
    thermal = thermal_rates(home.physics.courses, times.now, times).take(keys.of_course, axis=1)
    days = waking_days(times.now, times)[:, None, None]
    by_look, by_own = steady_rates(home)
    rate = thermal + days * (by_look[keys.look][:, None] + by_own[keys.own][None, :])
    return Said(keys, never + (1 - never) * np.exp(-rate))


def silence_of(
    space: Space, homes: Iterable[tuple[HomeClass, Floats, int]], times: Timeline
) -> list[tuple[HomeClass, Floats]]:
    """The same of homes that have nothing else to say, summed over their own states.

    Args:
        space: of their building.
        homes: those that are equal in all by class, log P(own state) and how many they are.
        times: onsets and now.

    Returns:
        Each class with log P(silence of its homes | onset, look); (onsets, looks).
    """
    by_kind: dict[HomeClass, list[tuple[Floats, int]]] = {}
    for kind, log_prior, count in homes:
        by_kind.setdefault(kind, []).append((log_prior, count))
    unmoved = _unmoved(space, tuple(dict.fromkeys(kind.physics for kind in by_kind)), times)
    days, found = waking_days(times.now, times)[:, None], dict[object, Floats]()
    totals: list[tuple[HomeClass, Floats]] = []
    for kind, equal in by_kind.items():
        # Loops of one size have classes that differ in the numbers of their candidates only.
        name = (kind.physics, kind.silence, *(log_prior.tobytes() for log_prior, _ in equal))
        if name not in found:
            priors = np.exp([log_prior for log_prior, _ in equal])
            found[name] = _log_totals(kind, priors, unmoved[kind.physics], days)
        of_each = zip(equal, found[name], strict=True)
        totals += [(kind, count * log_total) for (_, count), log_total in of_each]
    return totals


def _log_totals(home: HomeClass, priors: Floats, unmoved: Floats, days: Floats) -> Floats:
    """Log P(silence | onset, look) of homes of a class; (homes, onsets, looks).

    ``priors`` of their own states, (homes, own states); ``unmoved`` (onsets, look, own patterns);
    ``days`` awake since each onset, (onsets, 1).
    """
    never, (by_look, by_own) = table("reporting")["never_writes"], steady_rates(home)
    alone = priors[:, None, :] * np.exp(-days * by_own)
    homes, onsets, _ = alone.shape
    rows = np.arange(homes * onsets)[:, None] * unmoved.shape[2] + home.pattern_of_own
    quiet = gathered(rows.reshape(-1), alone.reshape(-1), homes * onsets * unmoved.shape[2])
    inner = np.einsum("npq,hnq->hnp", unmoved, quiet.reshape(homes, onsets, -1))
    total = inner.take(home.pattern_of_look, axis=2)
    total *= (1 - never) * np.exp(-days * by_look)
    total += never * priors.sum(axis=1)[:, None, None]
    log_totals: Floats = np.log(total, out=total)
    return log_totals


def _unmoved(
    space: Space, several: tuple[Physics, ...], times: Timeline
) -> Mapping[Physics, Floats]:
    """Chance that temperature made nobody write until now; (onsets, look, own patterns) of each."""
    if not several:
        return {}
    courses, of_pattern = space.courses(several)
    chance = np.exp(-thermal_rates(courses, times.now, times))
    return {of: chance.take(course, axis=1) for of, course in of_pattern.items()}

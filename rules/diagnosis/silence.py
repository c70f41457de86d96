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
from rules.diagnosis.exact import Floats, Indices
from rules.diagnosis.keys import Keys, collapse, feature, physics
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.moment import Timeline
from rules.diagnosis.physics import Physics
from rules.diagnosis.reporting import steady_rates, tank_rates, thermal_rates, waking_days
from rules.diagnosis.said import Said
from rules.diagnosis.space import Space

__all__ = ["silence_of", "silence_said"]


def silence_said(home: HomeClass, times: Timeline, tank_lasted: Floats) -> Said:
    """Nobody of this home wrote until now.

    ``tank_lasted`` is the share of the time since each onset in which its tank gave hot water.
    """
    keys, never = _keys(home), table("reporting")["never_writes"]
    until = times.quiet_until
    thermal = thermal_rates(home.physics.courses, until, times).take(keys.of_course, axis=1)
    days = waking_days(until, times)[:, None, None]
    by_look, by_own = steady_rates(home)
    look = by_look - np.multiply.outer(tank_lasted, tank_rates(home))
    rate = thermal + days * (look[:, keys.look, None] + by_own[keys.own][None, :])
    return Said(keys, never + (1 - never) * np.exp(-rate))


def silence_of(
    space: Space, homes: Iterable[tuple[HomeClass, Floats, int, Floats]], times: Timeline
) -> dict[HomeClass, Floats]:
    """The same of homes that have nothing else to say, summed over their own states.

    Args:
        space: of their building.
        homes: those that are equal in all by class, log P(own state), how many they are, and the share
            of the time since each onset in which their tank gave hot water.
        times: onsets and now.

    Returns:
        Of each class log P(silence of its homes | onset, look), (onsets, looks); the same array
        where it is equal.
    """
    by_kind: dict[HomeClass, list[tuple[Floats, int]]] = {}
    waits = dict[HomeClass, Floats]()
    for kind, log_prior, count, tank_lasted in homes:
        by_kind.setdefault(kind, []).append((log_prior, count))
        waits[kind] = tank_lasted[:, None]
    unmoved = _unmoved(space, tuple(dict.fromkeys(kind.physics for kind in by_kind)), times)
    days = waking_days(times.quiet_until, times)[:, None]
    by_priors, found = dict[object, Floats](), dict[object, Floats]()
    totals: dict[HomeClass, Floats] = {}
    for kind, equal in by_kind.items():
        # Loops of one size have classes that differ in the numbers of their candidates only.
        log_priors, counts = zip(*equal, strict=True)
        name = (
            kind.physics,
            kind.silence,
            waits[kind].tobytes(),
            *(log_prior.tobytes() for log_prior in log_priors),
        )
        if name not in by_priors:
            by_priors[name] = _log_totals(
                kind, np.exp(log_priors), unmoved[kind.physics], days, waits[kind]
            )
        if (name, counts) not in found:
            together = np.einsum("h,hnk->nk", np.array(counts, dtype=float), by_priors[name])
            found[name, counts] = together.take(_keys(kind).of_look, axis=1)
        totals[kind] = found[name, counts]
    return totals


def _keys(home: HomeClass) -> Keys:
    """What silence does not tell apart of looks and own states."""

    def steady() -> tuple[Floats, Floats]:
        by_look, by_own = steady_rates(home)
        return np.stack([by_look, tank_rates(home)], axis=1), by_own

    return home.once(
        "silence keys", lambda: collapse(home, [physics(home), feature(home, "steady", steady)])
    )


def _by_look_key(home: HomeClass) -> tuple[Floats, Floats, Indices]:
    """Steady rates, what of them waits for a tank, and the physical pattern; each (look keys,)."""

    def of_keys() -> tuple[Floats, Floats, Indices]:
        look = _keys(home).look
        by_look = steady_rates(home)[0]
        return by_look[look], tank_rates(home)[look], home.pattern_of_look[look]

    return home.once("silence by look key", of_keys)


def _log_totals(
    home: HomeClass, priors: Floats, unmoved: Floats, days: Floats, waits: Floats
) -> Floats:
    """Log P(silence | onset, look) of homes of a class; (homes, onsets, look keys).

    ``priors`` of their own states, (homes, own states); ``unmoved`` (onsets, look, own patterns);
    ``days`` awake since each onset, and the share of them that a tank lasted, (onsets, 1).
    """
    never, (steady, waiting, pattern) = table("reporting")["never_writes"], _by_look_key(home)
    alone = priors[:, None, :] * np.exp(-days * steady_rates(home)[1])
    own = home.once("own patterns", lambda: np.eye(unmoved.shape[2])[home.pattern_of_own])
    inner = unmoved @ (alone @ own)[..., None]
    total = inner.take(pattern, axis=2)[..., 0]
    total *= (1 - never) * np.exp(-days * (steady - waits * waiting))
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
    chance = np.exp(-thermal_rates(courses, times.quiet_until, times))
    return {of: chance.take(course, axis=1) for of, course in of_pattern.items()}

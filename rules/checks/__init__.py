"""What to measure, in which order, and what each reading would mean.

Theory of operation
-------------------
Each suspect says what a check would read if it were the fault; suspects that do not mention a check
leave it healthy, and so do those that share no home with the component it is made at. The next check is
the one that tells most (``rules.checks.telling``, bits) per minute, given what earlier ones may have
shown; minutes count what any check takes beside its own, the walk to another place, what has to be seen
to first and the hazard of what is opened. Before a manometer or a microammeter comes what shows in a
moment whether it will be needed (a check's ``after``), as long as that tells anything. A walk that the
repair takes anyway costs nothing: as surely as the cause is in the home the technician goes there. The
order stops when nothing is left to separate. Until a reading has shown what no healthy plant does, the
list of faults itself is doubted, so that even a sure suspect is proved before it is changed; after that
only as much as the diagnosis doubts it. A check is proposed only where the plant has the part that it is
made at, and may be proposed again at a second part. Before all else
comes what ``first_checks.yaml`` says of a complaint: the air where somebody smells gas or an alarm has
sounded, where it is wet, and what is scorched where it sparked; until that has been looked at, no check
is made that needs power.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import cache

import numpy as np

from rules.checks.first import before_all_else, first_checks, while_power_is_off
from rules.checks.measurements import Measurement, measurements
from rules.checks.places import place_of, row_of
from rules.checks.readings import HEALTHY
from rules.checks.step import CheckStep, made_step
from rules.checks.telling import SideBySide, Told
from rules.checks.visit import doubt_of, has_shown, stands_at
from rules.diagnosis import Diagnosis, Group, Suspect
from rules.diagnosis.exact import Floats
from rules.faults.catalogue import checks
from rules.model import ApartmentId, CheckId, ComponentId

__all__ = [
    "ANY_CHECK_MINUTES",
    "CHANGE_OF_PLACE_MINUTES",
    "LEAST_BITS",
    "LEAST_BITS_A_MINUTE",
    "LINE_VOLTAGE_MINUTES",
    "LIVE",
    "MOSTLY_UNKNOWN",
    "MOST_CHECKS",
    "ON_ENTRY",
    "QUIET_MINUTES",
    "CheckStep",
    "checks_between",
    "looks_near",
    "order_checks",
]

MOST_CHECKS = 7
LEAST_BITS = 0.02
# Nobody puts up loggers for a tenth of a bit (common practice, no source).
LEAST_BITS_A_MINUTE = 0.002
# Out with the instrument, the reading into the phone, and on: else a look that tells next to nothing
# would come before the one check that decides (common practice, no source). A CO meter is always on.
ANY_CHECK_MINUTES = 2.0
CHANGE_OF_PLACE_MINUTES = {"apartment": 10.0, "boiler_room": 3.0, "outside": 10.0}
LINE_VOLTAGE_MINUTES = 3.0
# Until none of several homes calls: rung up, or leads lifted (common practice, no source).
QUIET_MINUTES = 10.0
MOSTLY_UNKNOWN = 0.5
LIVE = "line voltage, live"
ON_ENTRY = CheckId("ambient_co")  # whoever measures it at all does so before all else


def order_checks(
    diagnosis: Diagnosis, group: Group, *, listed_alone: bool = False
) -> tuple[CheckStep, ...]:
    """The checks for one group, the best first; what has been measured already is left out.

    ``listed_alone``: as if there were none but those of the trade's list, for programs outside.
    """
    trouble = diagnosis.of(group.apartments)
    found = _worth_making(trouble, group, listed_alone=listed_alone)
    return tuple(sorted(found, key=lambda step: step.check != ON_ENTRY))


def _worth_making(
    diagnosis: Diagnosis, group: Group, *, listed_alone: bool
) -> tuple[CheckStep, ...]:
    def allowed(steps: Iterable[CheckStep]) -> tuple[CheckStep, ...]:
        return tuple(s for s in steps if not listed_alone or checks()[s.check].listed)

    dead = allowed(while_power_is_off(diagnosis, group))
    if dead:
        return dead
    steps = _by_bits(
        diagnosis,
        diagnosis.belief.troubled(group.apartments),
        group.suspects,
        doubt_of(group.unknown, shown=has_shown(diagnosis, group)),
        stands_at(diagnosis, group),
        listed_alone=listed_alone,
    )
    more = first_checks(diagnosis, group) if group.unknown > MOSTLY_UNKNOWN else ()
    first = before_all_else(diagnosis, group)
    return _once(allowed([*first, *steps, *more]))[:MOST_CHECKS]


def _once(steps: Iterable[CheckStep]) -> tuple[CheckStep, ...]:
    """The steps in their order, each check at a component once."""
    listed: dict[tuple[CheckId, ComponentId], CheckStep] = {}
    for step in steps:
        listed.setdefault((step.check, step.component), step)
    return tuple(listed.values())


def checks_between(
    diagnosis: Diagnosis, group: Group, suspects: Sequence[Suspect]
) -> tuple[CheckStep, ...]:
    """The checks that tell some suspects of a group apart, as if it were one of them for sure."""
    trouble, place = diagnosis.of(group.apartments), stands_at(diagnosis, group)
    homes = trouble.belief.troubled(group.apartments)
    return _by_bits(trouble, homes, suspects, 0.0, place)


def _by_bits(
    diagnosis: Diagnosis,
    apartments: Sequence[ApartmentId],
    suspects: Sequence[Suspect],
    unknown: float,
    place: str | None,
    *,
    listed_alone: bool = False,
) -> tuple[CheckStep, ...]:
    """Those that tell suspects apart, by bits a minute."""
    # The last is something else, which leaves every part healthy.
    weight = np.array([s.probability for s in suspects])
    weight = np.append(weight * (1 - unknown) / max(weight.sum(), 1e-12), unknown)
    every = measurements(diagnosis, apartments, suspects)
    found = [m for m in every if m.check.listed or not listed_alone]
    if not found:
        return ()
    chances = [m.chances for m in found]
    side_by_side, told = SideBySide.of(chances), Told(weight)
    rows = [row_of(diagnosis.plant, suspect) for suspect in suspects]
    mended = _mended_at(diagnosis, suspects, weight)
    left = set(range(len(found)))
    steps: list[CheckStep] = []
    while len(steps) < MOST_CHECKS:
        bits = told.bits_of_each(side_by_side).tolist()
        minutes = [m.check.minutes + _extra_minutes(m, place, mended) for m in found]
        telling = [n for n in sorted(left) if bits[n] >= _least_bits(found[n], minutes[n])]
        if not telling:
            break
        first = {n: _before(found, n, telling) for n in telling}
        on_entry = [] if steps else [n for n in telling if found[n].check.id == ON_ENTRY]
        scored = {
            n: bits[n] / (minutes[n] + sum(minutes[m] for m in first[n]))
            for n in on_entry or telling
        }
        # Equal ones differ in their last digits by the order of a sum; names decide between them.
        n = max(scored, key=lambda n: (round(scored[n], 9), *found[n].key, not found[n].in_quiet))
        n = next(iter(first[n]), n)
        best, place = found[n], found[n].check.place
        left = {n for n in left if found[n].key != best.key}
        told.measure(chances[n])
        tells = _tells(suspects, best.readings)
        steps.append(made_step(diagnosis, best.check, best.component, rows, tells))
    return tuple(steps)


def _least_bits(one: Measurement, minutes: float) -> float:
    """A danger in the air is looked for where it is half as likely as other things are."""
    if one.check.id == ON_ENTRY:
        return LEAST_BITS / 2
    return max(LEAST_BITS, LEAST_BITS_A_MINUTE * minutes)


def _before(found: Sequence[Measurement], n: int, telling: Iterable[int]) -> list[int]:
    """What is looked at before a check is made, as far as it tells anything."""
    one = found[n]
    if not one.check.after:
        return []
    near = looks_near(one.check.id)
    looks = [
        m
        for m in telling
        if not found[m].in_quiet
        and (found[m].component == one.component or found[m].check.id in near)
    ]
    return [m for name in one.check.after for m in looks if found[m].check.id == name]


@cache
def looks_near(name: CheckId) -> frozenset[CheckId]:
    """The looks before a check that are made at another kind of part, in the same room."""
    check = checks()[name]
    rows = (checks()[look] for look in check.after)
    return frozenset(r.id for r in rows if r.at != check.at and r.place == check.place)


def _mended_at(
    diagnosis: Diagnosis, suspects: Sequence[Suspect], weight: Floats
) -> dict[str, float]:
    """The chance by place that the cause is mended there; something else may be anywhere."""
    mended: dict[str, float] = {}
    for suspect, share in zip(suspects, weight[:-1].tolist(), strict=True):
        place = place_of(diagnosis.plant, suspect.component)
        mended[place] = mended.get(place, 0.0) + share
    return mended


def _extra_minutes(one: Measurement, place: str | None, mended: Mapping[str, float]) -> float:
    there = one.check.place
    walk = CHANGE_OF_PLACE_MINUTES[there] * (1 - mended.get(there, 0.0)) if place != there else 0.0
    quiet = QUIET_MINUTES if one.in_quiet else 0.0
    own = 0.0 if one.check.id == ON_ENTRY else ANY_CHECK_MINUTES
    return own + walk + quiet + (LINE_VOLTAGE_MINUTES if LIVE in one.check.caution.lower() else 0.0)


def _tells(suspects: Sequence[Suspect], readings: Sequence[str]) -> str:
    """Reading by reading, whom it points to."""
    heaps: dict[str, list[str]] = {}
    for suspect, reading in zip(suspects, readings[:-1], strict=True):
        names = heaps.setdefault(reading, [])
        name = suspect.says.split(";")[0]
        if name not in names:
            names.append(name)
    ordered: Mapping[str, list[str]] = dict(
        sorted(heaps.items(), key=lambda kv: (kv[0] == HEALTHY, kv[0]))
    )
    return "; ".join(f"{r}: {_or(names)}" for r, names in ordered.items())


def _or(names: Sequence[str]) -> str:
    listed = [n[:1].lower() + n[1:] if n[1:2].islower() or n[1:2] == " " else n for n in names[:3]]
    return " or ".join(listed) + (" or another" if len(names) > 3 else "")

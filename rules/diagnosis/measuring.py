"""What a technician's reading says about a fault.

Theory of operation
-------------------
A fault row lists what each check would show if the fault were there; a fault that does not list a check
leaves it as it is in a healthy plant. A reading inside the expected range (widened by what a meter and
a hand are worth) is likely, one far from it is rare but never impossible: meters slip, states of the
thermostat are mistaken. Where a check is answered in words, what is noted wrongly is shared by its
other words: one of twelve that fits a single fault says more than one of two. Where a fault leaves
nothing to read (``rules.faults.needs``), one in ten notes what is usual all the same. A fault speaks
for a check only if the two touch: the check's component and the fault's serve a common home.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence

from rules.faults.catalogue import checks
from rules.faults.rows import Check, CheckReading, Fault
from rules.model import ApartmentId, ComponentId, Found
from rules.plant import ComponentKind, Graph, Plant

__all__ = [
    "EXPECTED",
    "FAULTY_WORDS",
    "HEALTHY_WORDS",
    "NOTED_AS_USUAL",
    "NO_OPINION",
    "SLIP",
    "chance",
    "concerned_by",
    "homes_touched",
    "is_healthy",
    "seen_without",
    "slack_at",
    "slip",
    "speaks_for",
    "tolerance",
    "wrong_word",
]

Concerned = Callable[[ComponentId, Iterable[ApartmentId]], bool]
HEALTHY_WORDS = frozenset({"healthy", "ok", "good", "normal", "pass"})
FAULTY_WORDS = frozenset({"faulty", "bad", "fail", "failed", "abnormal"})
# What a meter and a hand are worth, by unit; a check that is finer says so itself (``slack``).
_TOLERANCE = {"V": 1.0, "A": 0.05, "ohm": 1.0, "F": 3.0, "psi": 1.0, "s": 5.0}
EXPECTED, NO_OPINION = 0.9, 0.3
# How often a healthy reading is noted where there was nothing to read (common practice, no source).
NOTED_AS_USUAL = 0.1
# Chance of a figure far from what is to be expected, where the check does not say one. Probes slip off a
# terminal and a state of the call is mistaken (common practice, no source).
SLIP = 0.02


def speaks_for(
    fault: Fault | None, found: Found, component: ComponentId | None = None
) -> tuple[CheckReading, ...]:
    """The fault's own expectations for this check in this state of the call; empty if it has none.

    ``component`` is where the fault is: some things are shown by that part alone.
    """
    if fault is None:
        return ()
    return tuple(
        r
        for r in fault.checks
        if r.check == found.check
        and _comparable(r, found)
        and (not r.at_own or component in (None, found.component))
    )


def chance(expected: Sequence[CheckReading], found: Found) -> float:
    """Likelihood of a finding under a fault's expectations, or a healthy plant's if it has none."""
    check = checks()[found.check]
    rows = tuple(expected) or tuple(r for r in check.healthy if _comparable(r, found))
    if not rows:
        return _by_first_outcome(check, found)
    if all(row.lacking for row in rows) and found.outcome in check.outcomes:
        return seen_without(check)[found.outcome]
    words = len({row.outcome for row in rows if row.outcome is not None})
    words += words > 0 and any(row.outcome is None and not row.lacking for row in rows)
    likely = max(_match(row, check, found, words) for row in rows)
    lacking = likely < NOTED_AS_USUAL and any(r.lacking for r in rows)
    if lacking and chance((), found) > EXPECTED - 1e-9:
        return NOTED_AS_USUAL
    return likely


def homes_touched(plant: Plant, component: ComponentId) -> frozenset[ApartmentId]:
    """The homes that a component serves or belongs to."""
    part = plant.component(component)
    if part.apartment is not None:
        return frozenset({part.apartment})
    if part.kind is ComponentKind.BUILDING:
        return frozenset(a.id for a in plant.apartments)
    if part.kind is ComponentKind.RISER:
        return plant.apartments_downstream(component, Graph.WATER)
    if part.kind is ComponentKind.TRANSFORMER:
        started = ((a.id, plant.relay_of(a)) for a in plant.apartments)
        served = frozenset(a for a, relay in started if relay and relay.transformer == component)
        return served | plant.apartments_downstream(component, Graph.POWER)
    if part.loop is not None:
        return frozenset(a.id for a in plant.apartments if a.loop == part.loop)
    return plant.apartments_downstream(component, Graph.WATER)


def concerned_by(plant: Plant, place: ComponentId) -> Concerned:
    """Which faults a check made at a place speaks of, by their component and the homes they reach.

    Those that share a home with it; but what one boiler of a cascade shows says nothing of the one
    beside it, and volts say nothing of a transformer that does not feed them.
    """
    touched, cascade = homes_touched(plant, place), plant.cascade_of(place)
    beside = {s.id for s in cascade.sources} - {place} if cascade is not None else set()
    beside |= _other_transformers(plant, place)
    return lambda component, homes: component not in beside and not touched.isdisjoint(homes)


def _other_transformers(plant: Plant, place: ComponentId) -> set[ComponentId]:
    """The transformers that do not feed what is measured at a place, where that has 24 V of its own."""
    part = plant.component(place)
    home = None if part.apartment is None else plant.apartment(part.apartment)
    relay = plant.loop(part.loop).relay if part.loop is not None else None
    relay = (home.relay if home is not None else None) or relay
    of_relay = None if relay is None else relay.transformer
    valve = None if home is None else home.valve
    of_valve = of_relay if valve is None else valve.transformer
    feeding = {
        ComponentKind.TRANSFORMER: place,
        ComponentKind.RELAY: of_relay,
        ComponentKind.CIRCULATOR: of_relay,
        ComponentKind.VALVE: of_valve,
        ComponentKind.THERMOSTAT: of_valve,
    }.get(part.kind)
    return set() if feeding is None else {t.id for t in plant.transformers} - {feeding}


def _comparable(row: CheckReading, found: Found) -> bool:
    """Whether an expectation is about this state of the call and, for figures, this unit."""
    if row.unit is not None and found.unit is not None and row.unit != found.unit:
        return False
    if row.calling is None:
        return True
    calling = checks()[row.check].untold_call if found.calling is None else found.calling
    return calling is None or row.calling == calling


def _by_first_outcome(check: Check, found: Found) -> float:
    """A healthy plant's word for a check that is answered in words; the first one is healthy."""
    if found.outcome is None or not check.outcomes:
        return NO_OPINION
    word = found.outcome.strip().lower()
    return (_right_word if word in HEALTHY_WORDS | {check.outcomes[0]} else wrong_word)(check)


def seen_without(check: Check) -> dict[str, float]:
    """Chance of each word of a check that is answered in words, where what it needs is not there."""
    word, wrong = check.without[0].outcome, wrong_word(check)
    found = dict.fromkeys(check.outcomes, wrong)
    usual = {check.outcomes[0]: NOTED_AS_USUAL, str(word): EXPECTED - NOTED_AS_USUAL + wrong}
    return found | usual


def wrong_word(check: Check, expected: int = 1) -> float:
    """Chance of one word of a check where one other, or several, are to be expected."""
    return _mistaken(check) / max(len(check.outcomes) - expected, 1)


def _right_word(check: Check, expected: int = 1) -> float:
    """Chance of one of the words that are to be expected; they share what is not noted wrongly."""
    no_other = len(check.outcomes) == expected
    return (1.0 if no_other else 1 - _mistaken(check)) / expected


def _mistaken(check: Check) -> float:
    return 1 - EXPECTED if check.mistaken is None else check.mistaken


def _match(row: CheckReading, check: Check, found: Found, words: int) -> float:
    word = None if found.outcome is None else found.outcome.strip().lower()
    if word in HEALTHY_WORDS | FAULTY_WORDS:
        agrees = is_healthy(row, check) == (word in HEALTHY_WORDS)
        return EXPECTED if agrees else 1 - EXPECTED
    if row.outcome is not None:
        if word is None:
            return SLIP if row.lacking else NO_OPINION
        return (_right_word if word == row.outcome else wrong_word)(check, words)
    if row.reads is None or found.value is None:
        # Nobody may have called just then.
        return 1 - EXPECTED if word is not None and word == check.nothing else NO_OPINION
    low, high = row.reads
    outside, bound = max((low - found.value, low), (found.value - high, high))
    slack = slack_at(row, bound)
    if outside <= slack:
        return EXPECTED
    return max(EXPECTED * math.exp(-(outside - slack) / slack), slip(row))


def tolerance(row: CheckReading) -> float:
    """How far beside a range a figure is still as expected, a tenth of the bound aside."""
    own = checks()[row.check].slack
    return _TOLERANCE.get(row.unit or "", 0.0) if own is None else own


def slack_at(row: CheckReading, bound: float) -> float:
    """How far beside a bound a figure is still as expected, in its unit.

    Plants differ by a tenth; a check that says what it is worth is held to that alone.
    """
    own = checks()[row.check].slack
    return (tolerance(row) + 0.1 * abs(bound) if own is None else own) + 1e-6


def slip(row: CheckReading) -> float:
    """Chance of a figure far outside what a row expects."""
    own = checks()[row.check].slip
    return SLIP if own is None else own


def is_healthy(row: CheckReading, check: Check) -> bool:
    """Whether what a row expects is what a healthy plant shows too, in every state it is about."""
    if row.outcome is not None:
        held = [good for good in check.healthy if good.outcome is not None]
        states = (g for g in held if row.calling is None or g.calling in (None, row.calling))
        return bool(held) and all(good.outcome == row.outcome for good in states)
    assert row.reads is not None  # noqa: S101 - a row has reads or an outcome
    low, high = row.reads
    ranges = [
        good.reads
        for good in check.healthy
        if good.reads is not None
        and good.unit == row.unit
        and (row.calling is None or good.calling in (None, row.calling))
    ]
    return bool(ranges) and all(least <= high and low <= most for least, most in ranges)

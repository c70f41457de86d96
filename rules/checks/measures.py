"""The checks that travel with a ticket, each with what any reading of it would mean.

Theory of operation
-------------------
``rules.diagnosis.measuring.chance`` gives the likelihood of a finding under the expectations of a fault.
Here the same is written down as data: every distinct set of expectations once, as rules with a range
and how far beside it a reading is still as expected, and which fault holds which set.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from rules.checks.places import component_for, doing_at, is_about
from rules.checks.probes import probes
from rules.checks.readings import HEALTHY, reading_of
from rules.checks.telling import widened
from rules.checks.units import units_of
from rules.diagnosis import Diagnosis, Suspect
from rules.diagnosis.measuring import (
    EXPECTED,
    FAULTY_WORDS,
    HEALTHY_WORDS,
    NO_OPINION,
    TOLERANCE,
    concerned_by,
    homes_touched,
    is_healthy,
    slip,
)
from rules.faults.candidates import Candidate
from rules.faults.catalogue import checks
from rules.faults.rows import Check, CheckReading, Fault
from rules.model import ApartmentId, ComponentId

__all__ = ["LIKELIHOODS", "Nameable", "measures"]

# What ``chance`` gives: as expected, no way to compare. How often a figure is far off is its rule's.
LIKELIHOODS = {
    "expected": EXPECTED,
    "no_opinion": NO_OPINION,
    "healthy_words": sorted(HEALTHY_WORDS),
    "faulty_words": sorted(FAULTY_WORDS),
}


@dataclass(frozen=True, slots=True)
class Nameable:
    """A fault that may be named as a suspect: a shared one by number, or own state k of a home."""

    shared: int | None
    home: int | None
    own: int | None
    candidate: Candidate
    chance: float

    @property
    def key(self) -> str:
        """How the tables of the worksheet name it: ``s12``, or ``h0.5``."""
        return f"s{self.shared}" if self.shared is not None else f"h{self.home}.{self.own}"


def measures(
    diagnosis: Diagnosis,
    members: Sequence[ApartmentId],
    nameable: Sequence[Nameable],
    worth: Callable[[Nameable], bool],
) -> list[Mapping[str, Any]]:
    """The checks of the faults that are worth it, with what they tell of all faults and where."""
    found: list[Mapping[str, Any]] = []
    for check_id in dict.fromkeys(r.check for n in nameable if worth(n) for r in _row(n).checks):
        check = checks()[check_id]
        telling = {n.key: reading_of(check, _row(n)) for n in nameable}
        places = {
            n.key: str(place)
            for n in nameable
            if telling[n.key] != HEALTHY
            and (place := component_for(diagnosis.plant, check, _suspect(n), members)) is not None
        }
        telling = {key: telling[key] for key in places}
        if telling:
            found.append(_measure(diagnosis, members, check, telling, places, nameable))
    return found


def _row(nameable: Nameable) -> Fault:
    row = nameable.candidate.row
    assert row is not None  # noqa: S101 - something else is not nameable
    return row


def _suspect(nameable: Nameable) -> Suspect:
    candidate = nameable.candidate
    return Suspect(
        fault=candidate.fault,
        says=_row(nameable).says,
        component=candidate.component,
        probability=nameable.chance,
        explains=(),
        reaches=tuple(sorted(candidate.homes)),
    )


def _measure(
    diagnosis: Diagnosis,
    members: Sequence[ApartmentId],
    check: Check,
    telling: Mapping[str, str],
    places: Mapping[str, str],
    nameable: Sequence[Nameable],
) -> Mapping[str, Any]:
    sets = _Sets(check)
    told = [n for n in nameable if n.key in telling]
    expects = {n.key: sets.of(_row(n)) for n in nameable}
    return {
        "check": str(check.id),
        "do": check.do,
        "healthy": check.healthy_text,
        "minutes": check.minutes,
        "place": check.place,
        "before": check.before,
        "caution": check.caution,
        "probes": probes(check.id),
        "unit": next(iter(units_of(check)), None),
        "units": list(units_of(check)),
        "outcomes": list(check.outcomes),
        "needs_call_state": any(r.calling is not None for r in check.healthy),
        "range": list(check.range) if check.range else None,
        "tells": dict(telling),
        "expects": {key: number for key, number in expects.items() if number is not None},
        "at": dict(places),
        "healthy_rules": [_rule(r, check) for r in check.healthy],
        "where": {
            place: {
                **_where(diagnosis, members, ComponentId(place), sets),
                **_spoken_of(diagnosis, members, check, ComponentId(place), told),
            }
            for place in dict.fromkeys(places.values())
        },
        "rules": sets.rules,
    }


class _Sets:
    """Distinct sets of expectations for one check, numbered as they come up."""

    def __init__(self, check: Check) -> None:
        """None yet."""
        self._check = check
        self._numbers: dict[str, int] = {}
        self.rules: list[list[Mapping[str, Any]]] = []

    def of(self, fault: Fault | None, *, elsewhere: bool = False) -> int | None:
        """The number of a fault's set; None if it says nothing of this check, made elsewhere."""
        own = () if fault is None else fault.checks
        rows = [r for r in own if r.check == self._check.id and not (elsewhere and r.at_own)]
        if not rows:
            return None
        rules = [_rule(r, self._check) for r in rows]
        number = self._numbers.setdefault(repr(rules), len(self.rules))
        if number == len(self.rules):
            self.rules.append(rules)
        return number


def _where(
    diagnosis: Diagnosis,
    members: Sequence[ApartmentId],
    component: ComponentId,
    sets: _Sets,
) -> Mapping[str, Any]:
    """Which states a finding there weighs: one home's (its number), or the shared ones (None).

    A finding in a home that is not on the ticket (-1) moves nothing here.
    """
    belief = diagnosis.belief
    touched = homes_touched(belief.space.plant, component)
    concerned = concerned_by(belief.space.plant, component)
    home = _home_of(diagnosis, touched)
    speaking = {
        n: number
        for n, c in enumerate(belief.space.shared)
        if concerned(c.component, c.homes)
        and (number := sets.of(c.row, elsewhere=c.component != component)) is not None
    }
    if home is None:
        return {"home": None, "shared": list(speaking.items()), "own": []}
    if home not in members:
        return {"home": -1, "shared": [], "own": []}
    own = _own(belief.space.local(home), sets)
    felt = belief.homes[home].kind.singles[0].tolist()
    return {
        "home": members.index(home),
        "shared": [(n, number) for n, number in speaking.items() if n in felt],
        "own": list(own.items()),
    }


def _spoken_of(
    diagnosis: Diagnosis,
    members: Sequence[ApartmentId],
    check: Check,
    component: ComponentId,
    nameable: Iterable[Nameable],
) -> Mapping[str, Any]:
    """Of which faults a reading there says nothing though it is about such as they, if of any.

    Homes of the ticket that the component serves, ``reaches``, and shared faults that it does not
    concern, ``deaf``; and what is done there, ``do``, where that is not what is done elsewhere.
    """
    plant = diagnosis.plant
    touched, concerned = homes_touched(plant, component), concerned_by(plant, component)
    said: dict[str, Any] = {"reaches": [n for n, home in enumerate(members) if home in touched]}
    shared = [n for n in nameable if n.shared is not None]
    deaf = [
        n.shared
        for n in shared
        if not concerned(n.candidate.component, n.candidate.homes)
        or not is_about(check, _row(n), n.candidate.component, component)
    ]
    if deaf:
        said["deaf"] = deaf
    if doing_at(plant, check, component) != check.do:
        said["do"] = doing_at(plant, check, component)
    return said


def _own(local: Iterable[Candidate], sets: _Sets) -> dict[int, int]:
    numbered = {k: sets.of(c.row) for k, c in enumerate(local, start=1)}
    return {k: number for k, number in numbered.items() if number is not None}


def _home_of(diagnosis: Diagnosis, touched: frozenset[ApartmentId]) -> ApartmentId | None:
    """The one home that a finding belongs to, if it does not belong to several."""
    complaining = [a for a in touched if a in diagnosis.causes]
    if len(touched) == 1:
        return next(iter(touched))
    return complaining[0] if len(complaining) == 1 else None


def _rule(row: CheckReading, check: Check) -> Mapping[str, Any]:
    """One expectation: a range with slack on either side and slips, or a word; and when it holds."""
    rule: dict[str, Any] = {"good": is_healthy(row, check)}
    if row.calling is not None:
        rule["calling"] = row.calling
    if row.unit is not None:
        rule["unit"] = row.unit
    if row.outcome is not None:
        rule["word"] = row.outcome
    if row.reads is not None:
        low, high = row.reads
        slack = TOLERANCE.get(row.unit or "", 0.0) + 1e-6
        rule["widened"] = widened(row)
        rule["reads"] = [low, high, slack + 0.1 * abs(low), slack + 0.1 * abs(high), slip(row)]
    return rule

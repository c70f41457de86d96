"""The checks that travel with a ticket, each with what any reading of it would mean.

Theory of operation
-------------------
Each check stands there once, with where it is made for which fault, what it reads there in words, and
which set of expectations (``expected``) each fault holds; places say which states a reading weighs.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from rules.checks import looks_near
from rules.checks.expected import ExpectedSets, rule_of
from rules.checks.kinds import is_asked_for, kinds_told
from rules.checks.places import component_for, doing_at, is_about
from rules.checks.probes import probes
from rules.checks.readings import shows
from rules.checks.units import ranges_of, units_of
from rules.diagnosis import Diagnosis, Suspect
from rules.diagnosis.measuring import concerned_by, homes_touched
from rules.faults.candidates import Candidate
from rules.faults.catalogue import checks
from rules.faults.rows import Check, Fault
from rules.model import ApartmentId, ComponentId

__all__ = ["Nameable", "measures", "texts"]


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
    kinds = kinds_told(diagnosis, members)
    shown = dict.fromkeys(r.check for n in nameable if worth(n) for r in _row(n).checks)
    for check in (checks()[name] for name in shown):
        if not is_asked_for(check, kinds):
            continue
        places = {
            n.key: str(place)
            for n in nameable
            if shows(check, _row(n))
            and (place := component_for(diagnosis.plant, check, _suspect(n), members)) is not None
        }
        if places:
            found.append(_measure(diagnosis, members, check, places, nameable))
    return found


def texts(check: Check) -> Mapping[str, Any]:
    """What a card needs to say of a check; what is empty is left out."""
    said = {
        "check": str(check.id),
        "do": check.do,
        "healthy": check.healthy_text,
        "minutes": check.minutes,
        "place": check.place,
        "before": "" if probes(check.id) else check.before,  # the probes say what comes first
        "caution": check.caution,
        "probes": probes(check.id),
        "units": list(units_of(check)),
        "needs_call_state": any(r.calling is not None for r in check.healthy),
        "nothing": check.nothing,
        "ranges": ranges_of(check),
    }
    return {name: value for name, value in said.items() if value} | {"outcomes": check.outcomes}


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
    places: Mapping[str, str],
    nameable: Sequence[Nameable],
) -> Mapping[str, Any]:
    sets = ExpectedSets(check)
    keys: dict[int, list[str]] = {}
    at: dict[str, list[str]] = {}
    for key, place in places.items():
        at.setdefault(place, []).append(key)
    told = [n for n in nameable if any(r.check == check.id for r in _row(n).checks)]
    for n in told:
        number = sets.of(_row(n))
        if number is not None:
            keys.setdefault(number, []).append(n.key)
    return {
        **texts(check),
        **({} if check.mistaken is None else {"mistaken": check.mistaken}),
        **({} if check.slip is None else {"slip": check.slip}),
        **({} if check.untold_call is None else {"untold_call": check.untold_call}),
        "after": [str(name) for name in check.after],
        "after_near": sorted(str(name) for name in looks_near(check.id)),
        "expects": [" ".join(keys[number]) for number in range(len(keys))],
        "at": {place: " ".join(names) for place, names in at.items()},
        "healthy_rules": [rule_of(r, check) for r in check.healthy],
        "without": [{**rule_of(r, check), "lacking": True} for r in check.without],
        "where": {
            place: {
                **_where(diagnosis, members, ComponentId(place), sets),
                **_spoken_of(diagnosis, members, check, ComponentId(place), told),
            }
            for place in at
        },
        "rules": sets.rules,
        "words": sets.words,
    }


def _where(
    diagnosis: Diagnosis,
    members: Sequence[ApartmentId],
    component: ComponentId,
    sets: ExpectedSets,
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
        return {"home": None, "shared": list(speaking.items())}
    if home not in members:
        return {"home": -1, "shared": []}
    felt = belief.homes[home].kind.singles[0].tolist()
    return {
        "home": members.index(home),
        "shared": [(n, number) for n, number in speaking.items() if n in felt],
    }


def _spoken_of(
    diagnosis: Diagnosis,
    members: Sequence[ApartmentId],
    check: Check,
    component: ComponentId,
    nameable: Iterable[Nameable],
) -> Mapping[str, Any]:
    """Of which faults a reading there says nothing though it is about such as they, if of any.

    Homes of the ticket that the component serves, ``reaches``; shared faults that it does not concern,
    ``deaf``; ``several`` where it serves more homes than one and readings go by the call; and what is
    done there, ``do``, where that is not what is done elsewhere.
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
    if len(touched) > 1 and any(r.calling is not None for r in check.healthy):
        said["several"] = True
    if doing_at(plant, check, component) != check.do:
        said["do"] = doing_at(plant, check, component)
    return said


def _home_of(diagnosis: Diagnosis, touched: frozenset[ApartmentId]) -> ApartmentId | None:
    """The one home that a finding belongs to, if it does not belong to several."""
    complaining = [a for a in touched if a in diagnosis.causes]
    if len(touched) == 1:
        return next(iter(touched))
    return complaining[0] if len(complaining) == 1 else None

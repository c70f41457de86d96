"""The worksheet of a ticket: what a phone without signal needs to weigh readings as we would here.

Theory of operation
-------------------
The states of ``tables`` are multiplied, reading by reading, by the likelihood that the fault which
speaks for the check gives it (``measures``), and summed.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from typing import Any

from rules.checks import (
    ANY_CHECK_MINUTES,
    CHANGE_OF_PLACE_MINUTES,
    LEAST_BITS,
    LEAST_BITS_A_MINUTE,
    LINE_VOLTAGE_MINUTES,
    LIVE,
    MOST_CHECKS,
    MOSTLY_UNKNOWN,
    ON_ENTRY,
    QUIET_MINUTES,
)
from rules.checks.classes import Classes, classes_of, felt_by
from rules.checks.expected import LIKELIHOODS
from rules.checks.first import WITHOUT_POWER, before_all_else, first_checks, while_power_is_off
from rules.checks.measures import Nameable, measures, texts
from rules.checks.places import is_made, place_of
from rules.checks.step import CheckStep
from rules.checks.tables import home_table, shared_table
from rules.checks.visit import LEAST_DOUBT, UNHEALTHY, has_shown, stands_at
from rules.diagnosis import Diagnosis, Group
from rules.diagnosis.causes import Causes, average, causes_of
from rules.faults import catalogue
from rules.faults.candidates import SOMETHING_ELSE, Candidate
from rules.model import ApartmentId, ComponentId

__all__ = ["worksheet"]

JSON = Mapping[str, Any]
# A fault below this chance is weighed like all others, but its checks do not travel with the ticket.
_WORTH_CHECKING = 2e-3
_WORTH_CHECKING_OF_ONE_HOME = 5e-3


def worksheet(diagnosis: Diagnosis, members: Sequence[ApartmentId]) -> JSON:
    """Everything to weigh readings for the complaints of these homes, as plain JSON.

    Of homes that have two troubles, those of which most complain of one are weighed.

    Args:
        diagnosis: of the building, with all evidence that is known.
        members: homes of one ticket; each has a complaint in the diagnosis.
    """
    diagnosis = diagnosis.of(members)
    members = [m for m in members if m in diagnosis.causes]
    belief, ours = diagnosis.belief, _ours(diagnosis, members)
    members = belief.troubled(members)
    causes = [causes_of(belief, m) for m in members]
    nameable = list(_nameable(diagnosis, causes))
    checks = measures(diagnosis, members, nameable, lambda n: _is_worth(n, len(members)))
    speaking = {n for w in _places(checks) if w["home"] is None for n, _ in w["shared"]}
    classes = classes_of(belief, members, speaking)
    says: dict[str, int] = {}  # what faults are in words, each once
    return {
        "faults": [_names(belief.space.shared[n], says) for n in classes.kept],
        "shared": shared_table(classes),
        "homes": [
            {
                "home": str(member),
                "own": [_names(c, says) for c in belief.space.local(member)],
                **home_table(belief, classes, at, member),
            }
            for at, member in enumerate(members)
        ],
        "says": list(says),
        "checks": [_renumbered(check, classes) for check in checks],
        "first": list(_first(diagnosis, ours, {c["check"] for c in checks})),
        "before_all": [_name(s) for s in before_all_else(diagnosis, ours)],
        "power_off": {
            "until": str(WITHOUT_POWER),
            "checks": [_name(s) for s in while_power_is_off(diagnosis, ours)],
        },
        "made": sorted(_made(diagnosis, checks)),
        "in_homes": sorted(_in_homes(diagnosis, nameable)),
        "likelihoods": LIKELIHOODS,
        "order": {
            "most": MOST_CHECKS,
            "least_bits": LEAST_BITS,
            "least_bits_a_minute": LEAST_BITS_A_MINUTE,
            "any_check": ANY_CHECK_MINUTES,
            "change_of_place": CHANGE_OF_PLACE_MINUTES,
            "line_voltage": LINE_VOLTAGE_MINUTES,
            "live": LIVE,
            "quiet": QUIET_MINUTES,
            "mostly_unknown": MOSTLY_UNKNOWN,
            "least_doubt": LEAST_DOUBT,
            "unhealthy": UNHEALTHY,
            "has_shown": has_shown(diagnosis, ours),
            "place": stands_at(diagnosis, ours),
            "on_entry": str(ON_ENTRY),
        },
    }


def _name(step: CheckStep) -> str:
    return f"{step.check} {step.component}"


def _first(diagnosis: Diagnosis, ours: Group, travelling: Collection[str]) -> Iterator[JSON]:
    """What is begun with where something else holds most, as cards need it.

    Texts of a check are left out where the check itself travels with the ticket.
    """
    for step in first_checks(diagnosis, ours):
        check = catalogue.checks()[step.check]
        own = {"check": str(step.check)} if step.check in travelling else texts(check)
        here = {"do": step.do, "healthy": step.healthy}
        usual = {"do": check.do, "healthy": check.healthy_text}
        yield {
            **own,
            **{name: said for name, said in here.items() if said != usual[name]},
            "component": str(step.component),
            "means": step.tells.split("; "),
        }


def _ours(diagnosis: Diagnosis, members: Sequence[ApartmentId]) -> Group:
    """The group that holds most of these homes, as far as they are in it."""
    homes = set(members)
    most = max(diagnosis.groups, key=lambda g: len(homes.intersection(g.apartments)))
    return diagnosis.narrowed(most, homes)


def _made(diagnosis: Diagnosis, measured: Sequence[JSON]) -> Iterator[str]:
    """The checks that have been made, each with the place, as ``pump_amps pump-1``."""
    for check in measured:
        row = catalogue.checks()[check["check"]]
        for place in check["where"]:
            if is_made(diagnosis.plant, row, ComponentId(place), diagnosis.findings):
                yield f"{row.id} {place}"


def _in_homes(diagnosis: Diagnosis, nameable: Iterable[Nameable]) -> set[str]:
    """The parts that are mended in a home; all others in the boiler room."""
    parts = {n.candidate.component for n in nameable}
    return {str(part) for part in parts if place_of(diagnosis.plant, part) == "apartment"}


def _nameable(diagnosis: Diagnosis, causes: Sequence[Causes]) -> Iterator[Nameable]:
    """Every fault that could be a suspect, with its chance."""
    means = average(causes)
    felt = felt_by(diagnosis.belief, [cause.apartment for cause in causes])
    for n, candidate in enumerate(diagnosis.belief.space.shared):
        if candidate.fault != SOMETHING_ELSE and n in felt:
            yield Nameable(n, None, None, candidate, float(means[n]))
    for at, cause in enumerate(causes):
        local = diagnosis.belief.space.local(cause.apartment)
        for k, candidate in enumerate(local, start=1):
            if candidate.fault != SOMETHING_ELSE:
                chance = float(cause.own[k]) / len(causes)
                yield Nameable(None, at, k, candidate, chance)


def _is_worth(nameable: Nameable, homes: int) -> bool:
    shared = nameable.shared is not None
    least = _WORTH_CHECKING if shared or homes == 1 else _WORTH_CHECKING_OF_ONE_HOME
    return nameable.chance >= least


def _places(checks: Sequence[JSON]) -> Iterator[JSON]:
    for check in checks:
        yield from check["where"].values()


def _names(candidate: Candidate, says: dict[str, int]) -> list[str | int]:
    """Fault, component and number of its words; nothing for something else, never a suspect."""
    if candidate.row is None or candidate.fault == SOMETHING_ELSE:
        return [""]
    words = says.setdefault(candidate.row.says, len(says))
    return [str(candidate.fault), str(candidate.component), words]


def _renumbered(check: JSON, classes: Classes) -> JSON:
    """A check with shared faults by their numbers in the tables."""
    fault = {c: n for n, c in enumerate(classes.kept.tolist())}

    def key(name: str) -> str:
        return f"s{fault[int(name[1:])]}" if name.startswith("s") else name

    def keys(names: str) -> str:
        return " ".join(map(key, names.split()))

    def where(place: JSON) -> JSON:
        speaking = [[fault[n], number] for n, number in place["shared"] if n in fault]
        deaf = [f"s{fault[n]}" for n in place.get("deaf", ()) if n in fault]
        return {**place, "shared": speaking, **({"deaf": deaf} if deaf else {})}

    return {
        **check,
        "expects": [keys(names) for names in check["expects"]],
        "at": {place: keys(names) for place, names in check["at"].items()},
        "where": {name: where(place) for name, place in check["where"].items()},
    }

"""The worksheet of a ticket: what a phone without signal needs to weigh readings as we would here.

Theory of operation
-------------------
The states of ``tables`` are multiplied, reading by reading, by the likelihood that the fault which
speaks for the check gives it (``measures``), and summed. Own faults of a home in which no check of the
ticket is made stay apart only while they could be named.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from rules.checks import (
    CHANGE_OF_PLACE_MINUTES,
    LEAST_BITS,
    LINE_VOLTAGE_MINUTES,
    MOST_CHECKS,
)
from rules.checks.measures import LIKELIHOODS, Nameable, measures
from rules.checks.tables import Classes, classes_of, felt_by, home_table, shared_table
from rules.diagnosis import Diagnosis
from rules.diagnosis.causes import Causes, average, causes_of
from rules.faults.candidates import SOMETHING_ELSE, Candidate
from rules.model import ApartmentId

__all__ = ["worksheet"]

JSON = Mapping[str, Any]
# A fault below this chance is weighed like all others, but its checks do not travel with the ticket.
_WORTH_CHECKING = 5e-4
_WORTH_CHECKING_OF_ONE_HOME = 5e-3
# Own faults below this chance, of one home or several, are put together as far as checks allow.
_WORTH_KEEPING = {True: 1e-6, False: 1e-4}


def worksheet(diagnosis: Diagnosis, members: Sequence[ApartmentId]) -> JSON:
    """Everything to weigh readings for the complaints of these homes, as plain JSON.

    Args:
        diagnosis: of the building, with all evidence that is known.
        members: homes of one ticket; each has a complaint in the diagnosis.
    """
    belief = diagnosis.belief
    causes = [causes_of(belief, m) for m in members]
    nameable = list(_nameable(diagnosis, causes))
    checks = measures(diagnosis, members, nameable, lambda n: _is_worth(n, len(members)))
    speaking = {n for w in _places(checks) if w["home"] is None for n, _ in w["shared"]}
    classes = classes_of(belief, members, speaking)
    entries = [_entries(checks, at, cause, len(causes)) for at, cause in enumerate(causes)]
    return {
        "faults": [_names(belief.space.shared[n]) for n in classes.kept],
        "shared": shared_table(classes),
        "homes": [
            {
                "home": str(member),
                "own": _own_names(belief.space.local(member), entries[at]),
                **home_table(belief, classes, at, member, entries[at]),
            }
            for at, member in enumerate(members)
        ],
        "checks": [_renumbered(check, classes, entries) for check in checks],
        "made": sorted({str(f.check) for f in diagnosis.findings}),
        "likelihoods": LIKELIHOODS,
        "order": {
            "most": MOST_CHECKS,
            "least_bits": LEAST_BITS,
            "change_of_place": CHANGE_OF_PLACE_MINUTES,
            "line_voltage": LINE_VOLTAGE_MINUTES,
        },
    }


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


def _entries(checks: Sequence[JSON], at: int, cause: Causes, homes: int) -> list[list[int]]:
    """Own states of a home: nothing, each that counts, and the rest by what they speak for."""
    here = [dict(w["own"]) for w in _places(checks) if w["home"] == at]
    apart: list[list[int]] = [[0]]
    together: dict[tuple[int | None, ...], list[int]] = {}
    for k in range(1, len(cause.own)):
        if cause.own[k] / homes >= _WORTH_KEEPING[homes == 1]:
            apart.append([k])
        else:
            together.setdefault(tuple(w.get(k) for w in here), []).append(k)
    return [*apart, *together.values()]


def _own_names(local: Sequence[Candidate], entries: Sequence[Sequence[int]]) -> list[list[str]]:
    """Names by entry from the second on; several together have none."""
    return [_names(local[e[0] - 1]) if len(e) == 1 else ["", "", ""] for e in entries[1:]]


def _names(candidate: Candidate) -> list[str]:
    """Fault, component and plain words; nothing for something else, which is never a suspect."""
    if candidate.row is None or candidate.fault == SOMETHING_ELSE:
        return ["", "", ""]
    return [str(candidate.fault), str(candidate.component), candidate.row.says]


def _renumbered(check: JSON, classes: Classes, entries: Sequence[Sequence[Sequence[int]]]) -> JSON:
    """A check with faults and own states by their numbers in the tables."""
    fault = {c: n for n, c in enumerate(classes.kept.tolist())}
    own = [{k: n for n, e in enumerate(of_home) for k in e} for of_home in entries]

    def key(name: str) -> str | None:
        if name.startswith("s"):
            number = fault.get(int(name[1:]))
            return None if number is None else f"s{number}"
        at, k = (int(part) for part in name[1:].split("."))
        entry = own[at][k]
        return f"h{at}.{entry}" if len(entries[at][entry]) == 1 else None

    def where(place: JSON) -> JSON:
        at = place["home"]
        mine = own[at] if at is not None and at >= 0 else {}
        return {
            "home": at,
            "shared": [[fault[n], s] for n, s in place["shared"] if n in fault],
            "own": sorted({mine[k]: s for k, s in place["own"]}.items()),
        }

    return {
        **check,
        "tells": {new: says for n, says in check["tells"].items() if (new := key(n))},
        "at": {new: place for n, place in check["at"].items() if (new := key(n))},
        "where": {name: where(place) for name, place in check["where"].items()},
    }

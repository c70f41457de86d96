"""The catalogue of faults, checks and parts: what can break, how often, and what it does.

Theory of operation
-------------------
A row says *what changes* in the control chain, the water or the room when the fault is there (see
``Change``); what a tenant would notice is computed from that by ``rules.heat``, not written by hand.
Only what physics cannot give stands in the row itself: how often it happens, what a thermostat screen
shows, which noises are heard, what a meter reads, what mends it. All numbers are relative estimates
(common practice, no source, unless a row says otherwise) until closed tickets teach better ones.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from rules.data import rows, table
from rules.faults.needs import with_what_it_lacks
from rules.faults.rows import Check, Fault, OnRisers, Part
from rules.faults.shown import with_what_it_shows
from rules.model import CheckId, FaultId, PartId

__all__ = [
    "checks",
    "fault_at",
    "faults",
    "faults_on_risers",
    "named_only",
    "parts",
]


@cache
def faults() -> dict[FaultId, Fault]:
    """All fault rows by id.

    Raises:
        ValueError: a row is malformed, doubled, or names an unknown check, part or name to tell it by.
    """
    found = (Fault.model_validate(row) for row in rows("faults"))
    shown = (with_what_it_shows(fault) for fault in found)
    return _checked(tuple(with_what_it_lacks(fault, checks().values()) for fault in shown))


@cache
def faults_on_risers() -> Mapping[FaultId, Fault]:
    """The rows of what can be wrong with one riser, by id."""
    return {
        fault.id: _on_riser(fault, fault.on_risers) if fault.on_risers else fault
        for fault in faults().values()
        if fault.at == "riser" or fault.on_risers is not None
    }


def fault_at(fault_id: FaultId, kind: str) -> Fault:
    """The row of a fault at a kind of component; what is at a loop is different on a riser."""
    found = faults_on_risers() if kind == "riser" else faults()
    return found.get(fault_id) or faults()[fault_id]


def _on_riser(fault: Fault, there: OnRisers) -> Fault:
    there_too = {
        "at": "riser",
        "says": there.says,
        "change": there.change or fault.change,
        "checks": there.checks,
        "on_risers": None,
    }
    return with_what_it_shows(fault.model_copy(update=there_too))


@cache
def named_only() -> frozenset[FaultId]:
    """Faults a technician may name when closing, though the diagnosis has no row for them."""
    return frozenset(FaultId(row["id"]) for row in _list("faults_left_out"))


@cache
def checks() -> dict[CheckId, Check]:
    """All checks by id."""
    return {row.id: row for row in (Check.model_validate(r) for r in _list("checks"))}


@cache
def parts() -> dict[PartId, Part]:
    """All parts by id."""
    return {row.id: row for row in (Part.model_validate(r) for r in _list("parts"))}


def _list(name: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = table(name)
    return found


def _checked(found: tuple[Fault, ...]) -> dict[FaultId, Fault]:
    by_id: dict[FaultId, Fault] = {}
    problems: list[str] = []
    for fault in found:
        if fault.id in by_id:
            problems.append(f"{fault.id}: stands twice")
        by_id[fault.id] = fault
        problems += [
            f"{fault.id}: unknown check {r.check}" for r in fault.checks if r.check not in checks()
        ]
        problems += [f"{fault.id}: unknown part {p}" for p in fault.parts if p not in parts()]
    listed = {fault.id for fault in found if fault.told_as is None}
    problems += [
        f"{fault.id}: told as {fault.told_as}, which is no row of that name"
        for fault in found
        if fault.told_as is not None and fault.told_as not in listed
    ]
    if problems:
        raise ValueError("; ".join(problems))
    return by_id

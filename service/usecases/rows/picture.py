"""What a group of the diagnosis looks like on its ticket, as JSON."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rules.checks import CheckStep, order_checks
from rules.checks.notes import notes
from rules.diagnosis import Diagnosis, Group
from rules.faults.telling import is_listed
from rules.parts import causes_behind, loads

__all__ = [
    "EMPTY_PICTURE",
    "FIRST_PLACES",
    "leading_first",
    "picture_of",
    "picture_of_several",
    "told_checks",
]

# Fewer in a thousand visits than this move no part onto a list.
_NEGLIGIBLE = 2e-4
FIRST_PLACES = 3  # components whose leading fault comes before all other suspects

EMPTY_PICTURE: dict[str, Any] = {
    "suspects": [],
    "by_component": [],
    "checks": [],
    "listed_checks": None,
    "load": [],
    "causes": {},
    "waiting": {},
    "why": [],
    "notes": [],
    "unknown": 1.0,
}


def picture_of(diagnosis: Diagnosis, group: Group) -> dict[str, Any]:
    """Suspects, checks in order, the load and the reasons, as they stand now."""
    suspects = [_suspect(s) for s in group.suspects]
    causes, checks = causes_behind(diagnosis, group), order_checks(diagnosis, group)
    behind = [cause for cause in causes if cause.chance >= _NEGLIGIBLE]
    return {
        "suspects": suspects,
        "by_component": [_part(c, chance) for c, chance in group.components],
        "checks": [_check(c) for c in checks],
        "listed_checks": _listed_checks(diagnosis, group, checks),
        "load": [
            {
                "part": part.part,
                "says": part.says,
                "quantity": part.quantity,
                "chance_used": round(part.chance_used, 4),
                "homes_waiting": round(part.homes, 1),
            }
            for part in loads(causes)
        ],
        "causes": {cause.fault: round(cause.chance, 5) for cause in behind},
        "waiting": {cause.fault: round(cause.homes, 1) for cause in behind},
        "why": [_why(w) for w in group.why],
        "notes": [{"about": n.about, "says": n.says} for n in notes(diagnosis, group)],
        "unknown": round(group.unknown, 4),
    }


def _listed_checks(
    diagnosis: Diagnosis, group: Group, checks: Sequence[CheckStep]
) -> list[dict[str, Any]] | None:
    """Those for programs that know the trade's list alone; None where all are on it anyway."""
    if all(is_listed(step.check) for step in checks):
        return None
    return [_check(c) for c in order_checks(diagnosis, group, listed_alone=True)]


def picture_of_several(diagnosis: Diagnosis, groups: Sequence[tuple[Group, int]]) -> dict[str, Any]:
    """The same for homes that a person has put on one ticket against the diagnosis.

    A suspect's share is its share of its group, by the group's share of the homes. Checks are
    those of all groups, the group of most homes first; parts too, the likeliest first.
    """
    ranked = sorted(groups, key=lambda pair: -pair[1])
    pictures = [(picture_of(diagnosis, group), homes) for group, homes in ranked]
    if len(pictures) == 1:
        return pictures[0][0]
    every = sum(homes for _, homes in pictures)
    suspects = [
        {**suspect, "probability": int(suspect["probability"] * homes / every * 10_000) / 10_000}
        for picture, homes in pictures
        for suspect in picture["suspects"]
    ]
    parts = _by_component(ranked, every)
    suspects = leading_first(suspects, [part["component"] for part in parts])
    return {
        "suspects": suspects,
        "by_component": parts,
        "checks": _each_once(pictures, "checks", ("test", "component")),
        "listed_checks": _each_once(
            [({"checks": told_checks(picture)}, homes) for picture, homes in pictures],
            "checks",
            ("test", "component"),
        ),
        "load": sorted(
            _each_once(pictures, "load", ("part",)), key=lambda part: -part["chance_used"]
        ),
        "causes": _causes(pictures, every),
        "waiting": _waiting(pictures),
        "why": _each_once(pictures, "why", ("says", "message", "for")),
        "notes": _each_once(pictures, "notes", ("says",)),
        "unknown": round(max(0.0, 1.0 - sum(s["probability"] for s in suspects)), 4),
    }


def told_checks(picture: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The checks of a picture that programs outside are told of."""
    listed: list[dict[str, Any]] | None = picture.get("listed_checks")
    every: list[dict[str, Any]] = picture["checks"]
    return every if listed is None else listed


def _causes(pictures: Sequence[tuple[dict[str, Any], int]], every: int) -> dict[str, float]:
    """What may be behind all groups, by the share of the homes that each has."""
    chances: dict[str, float] = {}
    for picture, homes in pictures:
        for fault, chance in picture["causes"].items():
            chances[fault] = chances.get(fault, 0.0) + chance * homes / every
    return {fault: round(chance, 5) for fault, chance in chances.items()}


def _waiting(pictures: Sequence[tuple[dict[str, Any], int]]) -> dict[str, float]:
    """How many homes wait for each of them, in the group where most do."""
    waiting: dict[str, float] = {}
    for picture, _ in pictures:
        for fault, homes in picture["waiting"].items():
            waiting[fault] = max(waiting.get(fault, 0.0), homes)
    return waiting


def _by_component(groups: Sequence[tuple[Group, int]], every: int) -> list[dict[str, Any]]:
    """The components of all groups with the chance of each, the likeliest first.

    Among equals the one that is named first.
    """
    chances: dict[str, float] = {}
    for group, homes in groups:
        for component, chance in group.components:
            chances[component] = chances.get(component, 0.0) + chance * homes / every
    return sorted((_part(*part) for part in chances.items()), key=lambda p: -p["probability"])


def _part(component: str, chance: float) -> dict[str, Any]:
    # Rounded down like the shares of its faults, which are then never more than it.
    return {"component": component, "probability": int(chance * 10_000) / 10_000}


def leading_first(
    suspects: Sequence[dict[str, Any]], components: Sequence[str]
) -> list[dict[str, Any]]:
    """As a group orders its own: the leading fault of each likely component, then the rest.

    ``components`` are in the order in which to look.
    """
    ranked = sorted(suspects, key=lambda s: -s["probability"])
    listed = {suspect["component"] for suspect in suspects}
    likeliest = [c for c in components if c in listed][:FIRST_PLACES]
    first = [next(s for s in ranked if s["component"] == c) for c in likeliest]
    return first + [s for s in ranked if not any(s is lead for lead in first)]


def _each_once(
    pictures: Sequence[tuple[dict[str, Any], int]], part: str, key: tuple[str, ...]
) -> list[dict[str, Any]]:
    rows: dict[tuple[Any, ...], dict[str, Any]] = {}
    for picture, _ in pictures:
        for row in picture[part]:
            rows.setdefault(tuple(row[k] for k in key), row)
    return list(rows.values())


def _suspect(suspect: Any) -> dict[str, Any]:
    return {
        "fault": suspect.fault,
        "says": suspect.says,
        "component": suspect.component,
        # Rounded down, so that the shares of a long list never add up to more than one.
        "probability": int(suspect.probability * 10_000) / 10_000,
        "explains": [str(a) for a in suspect.explains],
    }


def _check(step: Any) -> dict[str, Any]:
    return {
        "test": step.check,
        "component": step.component,
        "do": step.do,
        "healthy": step.healthy,
        "tells": step.tells,
        "minutes": step.minutes,
        "place": step.place,
        "before": step.before,
        "caution": step.caution,
        "unit": step.unit,
        "outcomes": list(step.outcomes),
        "needs_call_state": step.needs_call_state,
    }


def _why(why: Any) -> dict[str, Any]:
    source = str(why.source)
    return {
        "says": why.says,
        "message": source if source.startswith("m_") else None,
        "for": why.fault,
        "weight": round(why.weight, 3),
    }

"""What a group of the diagnosis looks like on its ticket, as JSON."""

from __future__ import annotations

from typing import Any

from rules.checks import order_checks
from rules.diagnosis import Diagnosis, Group
from rules.parts import load_list

__all__ = ["EMPTY_PICTURE", "picture_of"]

EMPTY_PICTURE: dict[str, Any] = {
    "suspects": [],
    "checks": [],
    "load": [],
    "why": [],
    "unknown": 1.0,
}


def picture_of(diagnosis: Diagnosis, group: Group) -> dict[str, Any]:
    """Suspects, checks in order, the load and the reasons, as they stand now."""
    return {
        "suspects": [_suspect(s) for s in group.suspects],
        "checks": [_check(c) for c in order_checks(diagnosis, group)],
        "load": [
            {
                "part": part.part,
                "says": part.says,
                "quantity": part.quantity,
                "chance_used": round(part.chance_used, 4),
            }
            for part in load_list(diagnosis, group)
        ],
        "why": [_why(w) for w in group.why],
        "unknown": round(group.unknown, 4),
    }


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

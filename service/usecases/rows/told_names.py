"""What a ticket says in the names of the trade's list, for whoever knows only those."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rules.faults.telling import told_name
from service.usecases.rows.picture import leading_first

__all__ = ["told_body", "told_suspects", "told_why"]

Row = dict[str, Any]


def told_suspects(suspects: Sequence[Row]) -> list[Row]:
    """Suspects as a picture or a forecast holds them; rows of one name at one component are one.

    Its chance is theirs together, its words are those of the likelier, and it stands where such a
    chance would.
    """
    found: dict[tuple[str, str], Row] = {}
    for suspect in suspects:
        name = str(told_name(suspect["fault"]))
        key = (name, suspect["component"])
        found[key] = _together(found[key], suspect) if key in found else {**suspect, "fault": name}
    told = list(found.values())
    if len(told) == len(suspects):
        return told
    return leading_first(told, list(dict.fromkeys(s["component"] for s in suspects)))


def told_why(why: Sequence[Row]) -> list[Row]:
    """Reasons, the strongest first; where two rows of one name have the same, the first is told."""
    first: dict[tuple[object, ...], str] = {}
    told = []
    for line in why:
        name = str(told_name(line["for"]))
        if first.setdefault((line["says"], line["message"], name), line["for"]) == line["for"]:
            told.append({**line, "for": name})
    return told


def told_body(body: Mapping[str, Any]) -> Row:
    """What a line of a ticket's history holds."""
    named = body.get("fault")
    return dict(body) if named is None else {**body, "fault": str(told_name(named))}


def _together(likelier: Row, other: Row) -> Row:
    homes = {"explains": sorted({*likelier["explains"], *other["explains"]})}
    return {
        **likelier,
        "probability": round(likelier["probability"] + other["probability"], 4),
        **(homes if "explains" in likelier else {}),
    }

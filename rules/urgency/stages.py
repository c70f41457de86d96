"""What a household had told at each moment that it told more: a report in stages.

Theory of operation
-------------------
A report may stay open for days and become another story: "72 F, chilly" on Monday, "no heat, 60" on
Wednesday. Each rule counts from the first stage that meets it, so the second is due from Wednesday.
A stage knows the kinds and dangers told until then and the room told last by then, as far as it is
still so: of two temperatures the one nearer to what is comfortable, so that a room that has recovered
meets no rule for what it was. The first temperature stands for the time before it: who said "no heat"
and reads the thermometer later has been as cold all along. A forecast begins at the last temperature,
and serves stages from so shortly before that it could be due no sooner by them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from rules.model import Kind
from rules.urgency.triggers import Report, shortest

__all__ = ["stages"]

_Room = tuple[datetime, float]

# Between what all heat laws ask for and what any forbids.
_COMFORT_F = 72.0
_TEMPERATURE = frozenset({Kind.TOO_COLD, Kind.TOO_HOT})
# The kind that tells of a danger; others are told together with what they are about.
_KIND_OF_DANGER = {
    "gas": Kind.GAS_SMELL,
    "co": Kind.CO_ALARM,
    "fire": Kind.SMOKE,
    "electrical": Kind.ELECTRICAL,
    "water_electrics": Kind.ELECTRICAL,
}


def stages(
    report: Report, rooms: Sequence[_Room], first_told: Mapping[Kind, datetime]
) -> Iterator[Report]:
    """The report as it stood since each moment at which that changed, the oldest first.

    Args:
        report: all that is known now.
        rooms: temperatures told with it, in their order; none where one from before it counts.
        first_told: when each kind was first told with it.
    """
    more = {at for at in (*(at for at, _ in rooms[1:]), *first_told.values()) if at > report.since}
    moments, before = sorted({report.since, *more}), None
    for since in moments:
        is_now = since > moments[-1] - shortest()
        kinds = frozenset(k for k in report.kinds if first_told.get(k, since) <= since)
        stage = replace(
            report,
            since=since,
            kinds=kinds,
            danger=tuple(d for d in report.danger if _is_told(d, first_told, since)),
            room_f=_room_then(report, rooms, since, kinds),
            indoor=report.indoor if is_now else None,
            guessed=report.guessed if is_now else None,
        )
        if before is None or replace(stage, since=before.since) != before:
            yield stage
            before = stage


def _is_told(danger: str, first_told: Mapping[Kind, datetime], since: datetime) -> bool:
    kind = _KIND_OF_DANGER.get(danger)
    return kind is None or first_told.get(kind, since) <= since


def _room_then(
    report: Report, rooms: Sequence[_Room], since: datetime, kinds: frozenset[Kind]
) -> float | None:
    """The room told last by then, or first if that is what it was about, as far as it is still so."""
    if not rooms or report.room_f is None:
        return report.room_f
    told = [room_f for at, room_f in rooms if at <= since]
    if not told and kinds.isdisjoint(_TEMPERATURE):
        return None
    then = told[-1] if told else rooms[0][1]
    low, high = sorted((report.room_f, _COMFORT_F))
    return min(max(then, low), high)

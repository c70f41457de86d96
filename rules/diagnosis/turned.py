"""A home that told of cold tells of heat now, or the other way round: what it told before is over.

Theory of operation
-------------------
No one fault leaves a room at 62 F for a day and at 84 F the next; but a valve that stuck closed and was
freed is one story after another. Where a home tells of the opposite, hours after it told of the other
(and not of both in one breath, as who is hot by day and cold by night), its last word counts: what it
had said of rooms and radiators until then was of another time. What else it told of stays.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import datetime, timedelta

from rules.model import Answered, ApartmentId, Evidence, Kind, Reported, RoomRead

__all__ = ["as_told_last"]

_OPPOSITE = {Kind.TOO_COLD: Kind.TOO_HOT, Kind.TOO_HOT: Kind.TOO_COLD}
# A room does not go from one to the other and be told of within less (common practice, no source); what
# is told so is a slip, or both.
_HOURS_APART = timedelta(hours=6)


def as_told_last(evidence: Iterable[Evidence]) -> tuple[Evidence, ...]:
    """The evidence without what homes told of temperatures before it turned to the opposite."""
    evidence = tuple(evidence)
    turns = _turns([(e.at, e.fact) for e in evidence if isinstance(e.fact, Reported)])
    return tuple(_without(evidence, turns)) if turns else evidence


def _turns(
    reported: Iterable[tuple[datetime, Reported]],
) -> dict[ApartmentId, tuple[datetime, Kind]]:
    """By home that turned: when it first told of what it tells of now, and what is over."""
    last: dict[ApartmentId, tuple[datetime, Kind]] = {}
    turned: dict[ApartmentId, tuple[datetime, Kind]] = {}
    for at, report in sorted(reported, key=lambda told: (told[0], sorted(told[1].kinds))):
        home, thermal = report.apartment, report.kinds & _OPPOSITE.keys()
        if len(thermal) != 1:
            continue
        (now,) = thermal
        if home in last and last[home][1] is _OPPOSITE[now]:
            if at - last[home][0] < _HOURS_APART:
                continue
            turned[home] = at, last[home][1]
        last[home] = at, now
    return turned


def _without(
    evidence: Iterable[Evidence], turns: dict[ApartmentId, tuple[datetime, Kind]]
) -> Iterator[Evidence]:
    for item in evidence:
        fact = item.fact
        if not isinstance(fact, Reported | Answered | RoomRead) or fact.apartment not in turns:
            yield item
            continue
        since, over = turns[fact.apartment]
        if item.at >= since:
            yield item
        elif isinstance(fact, Reported) and (kinds := fact.kinds - {over}):
            yield replace(item, fact=replace(fact, kinds=kinds))

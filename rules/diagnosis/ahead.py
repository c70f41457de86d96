"""How warm a home will be: what it told last, carried on as the model says that it cools or warms."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rules.diagnosis.belief import Belief
from rules.model import ApartmentId, Evidence, RoomRead

__all__ = ["room_ahead", "room_told"]

# Of a home that nobody can say anything of.
_ROOM_F = 70.0


def room_ahead(
    belief: Belief,
    evidence: Iterable[Evidence],
    apartment: ApartmentId,
    hours: Sequence[float],
) -> tuple[float, ...]:
    """Expected room temperature of one home, in F, after each number of hours from now.

    The model knows how fast a room goes where it goes, the thermometer where it is: the course runs
    through the temperature that the household told last.
    """
    if apartment not in belief.homes:
        return tuple(_ROOM_F for _ in hours)
    told = room_told(belief, evidence, apartment)
    off_f = 0.0 if told is None else told[1] - _expected_f(belief, apartment, told[0])
    return tuple(_expected_f(belief, apartment, h) + off_f for h in hours)


def room_told(
    belief: Belief, evidence: Iterable[Evidence], apartment: ApartmentId
) -> tuple[float, float] | None:
    """Hours from now (not above 0) and F of the last room temperature that a household told."""
    told = [
        (e.at, e.fact.room_f)
        for e in evidence
        if isinstance(e.fact, RoomRead) and e.fact.apartment == apartment
        if e.fact.room_f is not None
    ]
    if not told:
        return None
    at, room_f = max(told, key=lambda reading: reading[0])
    return min((at - belief.times.now).total_seconds() / 3600, 0.0), room_f


def _expected_f(belief: Belief, apartment: ApartmentId, hours: float) -> float:
    """What a room is at, so many hours from now, over all that may be the matter."""
    home, mass = belief.by_key(apartment)
    times, course = belief.times, home.keys.course
    return sum(
        float((part * course.room_f(max(onset.hours(times.now) + hours, 0.0))).sum())
        for onset, part in zip(times.onsets, mass, strict=True)
    )

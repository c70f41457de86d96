"""How warm a home will be: what it told last, carried on as the model says that it cools or warms."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rules.diagnosis.belief import Belief
from rules.heat.rooms import ROOM_F
from rules.model import ApartmentId, Evidence, RoomRead

__all__ = ["room_ahead", "room_told"]


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
        return tuple(ROOM_F for _ in hours)
    home, mass = belief.by_key(apartment)
    course, onsets = home.keys.course, belief.times.onsets
    since = [onset.hours(belief.times.now) for onset in onsets]

    def expected_f(hour: float) -> float:
        """Over all that may be the matter."""
        parts = zip(since, mass, strict=True)
        return sum(float((part * course.room_f(max(h + hour, 0.0))).sum()) for h, part in parts)

    told = room_told(belief, evidence, apartment)
    off_f = 0.0 if told is None else told[1] - expected_f(told[0])
    return tuple(expected_f(hour) + off_f for hour in hours)


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

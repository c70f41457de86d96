"""What closed tickets have taught about the lives of parts, as the diagnosis takes it."""

from __future__ import annotations

from datetime import date
from weakref import WeakKeyDictionary

from sqlalchemy import Engine, func, select
from sqlalchemy.orm import Session

from rules.faults.lives import LearnedLives
from service.store.tables import Building, Closure, Install
from service.usecases.diagnosing.part_lives import PartClass, Seen, lives_seen

__all__ = ["lives_learned", "ratios_of"]

Stamp = tuple[object, ...]

# The last answer by database: parts come and go a few times a day, diagnoses many times an hour.
_KEPT: WeakKeyDictionary[Engine, tuple[Stamp, LearnedLives]] = WeakKeyDictionary()


def lives_learned(session: Session, today: date) -> LearnedLives:
    """Median lives of one's own parts against those of the tables, by class of parts."""
    engine = session.get_bind().engine
    stamp = _stamp(session, today)
    known = _KEPT.get(engine)
    if known is None or known[0] != stamp:
        known = (stamp, LearnedLives.of(ratios_of(lives_seen(session, today))))
        _KEPT[engine] = known
    return known[1]


def ratios_of(seen: dict[PartClass, Seen]) -> dict[PartClass, float]:
    """To two digits, so that what is computed from it need not be computed anew every day."""
    ratios = {
        name: round(each.lives.median_years() / each.stated.median_years(), 2)
        for name, each in seen.items()
    }
    return {name: ratio for name, ratio in ratios.items() if ratio != 1.0}


def _stamp(session: Session, today: date) -> Stamp:
    """Changes whenever a building, a fitted part or a closing is written."""
    counted = [
        tuple(session.execute(select(func.count(), func.max(column))).one())
        for column in (Building.updated_at, Install.id, Closure.id)
    ]
    return (today, *counted)

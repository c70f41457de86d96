"""What the rules are asked about a building, and what they last said to exactly that.

A diagnosis is a pure function of plant, evidence, households, weather and time. Pages that only show
what follows from it ask with the same evidence again and again; for them one that is minutes old is as
good. What is kept is compared with what would be asked, not with when something was written, so it
cannot be out of date in anything but the time.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import structlog
from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.diagnosis import Diagnosis, ImpossibleEvidenceError, diagnose
from rules.diagnosis.after_work import still_true
from rules.faults.lives import LearnedLives
from rules.model import ApartmentId, Care, Evidence, Fact, Found, HourlyWeather, Household
from rules.plant import Plant
from service.store.tables import Complaint, FactRow, HouseholdRow, NumberRow
from service.usecases.diagnosing.called_right import called_right
from service.usecases.diagnosing.lives_learned import lives_learned
from service.usecases.diagnosing.mended import with_lately_mended
from service.usecases.diagnosing.unproven import facts_of_unproven
from service.usecases.diagnosing.visits_known import visits_known
from service.usecases.loading.plants import plant_of
from service.usecases.loading.put_weather import weather_around
from service.usecases.rows.carried_over import waiting_for_proof
from service.usecases.rows.facts import evidence_from

__all__ = ["Asked", "Belief", "asked_in", "asked_of", "believe_lately", "believe_now", "forget_old"]

log = structlog.get_logger()

# Laws speak of quarters of an hour at the finest, and rooms change by tenths of a degree meanwhile.
LONGEST = timedelta(minutes=15)
MOST_BUILDINGS = 4  # the diagnosis of a house in which many have written holds a hundred megabytes


@dataclass(frozen=True, slots=True)
class Asked:
    """All that a diagnosis is a function of, but for the time."""

    plant: Plant
    evidence: tuple[Evidence, ...]
    households: tuple[Household, ...]
    weather: tuple[HourlyWeather, ...]
    lives: LearnedLives


@dataclass(frozen=True, slots=True)
class Belief:
    """A diagnosis, None where the evidence contradicts itself, and the moment it was made for."""

    diagnosis: Diagnosis | None
    at: datetime


_kept: OrderedDict[str, tuple[Asked, Belief]] = OrderedDict()
_lock = threading.Lock()


def asked_of(session: Session, now: datetime, building_id: str | None) -> Asked | None:
    """What the rules are asked about a building now; None without a plant."""
    plant = plant_of(session, building_id)
    if plant is None:
        return None
    return asked_in(session, plant, weather_around(session, plant.weather_station, now), now)


def believe_now(asked: Asked, now: datetime) -> Diagnosis | None:
    """What the rules say to that; None when the evidence contradicts itself."""
    diagnosis = None
    try:
        diagnosis = diagnose(
            asked.plant, asked.evidence, asked.households, asked.weather, now, asked.lives
        )
    except ImpossibleEvidenceError:
        # The tickets stay as they are until a person or a new fact resolves it.
        log.warning("evidence_contradicts_itself", building=str(asked.plant.id))
    _keep(asked, Belief(diagnosis, now))
    return diagnosis


def believe_lately(asked: Asked, now: datetime) -> Belief:
    """The same, unless exactly that was asked within the last quarter of an hour."""
    with _lock:
        kept = _kept.get(str(asked.plant.id))
    if kept is not None and not _is_old(kept[1], now) and _same(kept[0], asked):
        return kept[1]
    return Belief(believe_now(asked, now), now)


def forget_old(now: datetime) -> None:
    """Let go of what is too old to be said again: it would only hold its tables."""
    with _lock:
        for name in [name for name, (_, belief) in _kept.items() if _is_old(belief, now)]:
            del _kept[name]


def _is_old(belief: Belief, now: datetime) -> bool:
    return not timedelta() <= now - belief.at <= LONGEST


def _keep(asked: Asked, belief: Belief) -> None:
    forget_old(belief.at)
    name = str(asked.plant.id)
    with _lock:
        _kept[name] = (asked, belief)
        _kept.move_to_end(name)
        while len(_kept) > MOST_BUILDINGS:
            _kept.popitem(last=False)


def _same(one: Asked, other: Asked) -> bool:
    """Whether both ask the same; the window of weather moves on, its hours must be as they were."""
    known = {hour.at: hour for hour in one.weather}
    return (
        one.plant == other.plant
        and one.evidence == other.evidence
        and one.households == other.households
        and one.lives == other.lives
        and bool(one.weather) == bool(other.weather)
        and all(known.get(hour.at, hour) == hour for hour in other.weather)
    )


def asked_in(
    session: Session, plant: Plant, weather: Sequence[HourlyWeather], now: datetime
) -> Asked:
    """What the rules are asked about a plant in this weather."""
    rows = session.scalars(
        select(FactRow).where(FactRow.building_id == str(plant.id), FactRow.withdrawn_at.is_(None))
    )
    overruled = _overruled(session, plant)
    facts = [row for row in rows if row.complaint_id not in overruled]
    facts += facts_of_unproven(session, now, str(plant.id))
    told = (
        *evidence_from(facts),
        *visits_known(session, str(plant.id), facts),
        *called_right(session, str(plant.id)),
    )
    evidence = still_true(plant, [e for e in told if _is_about(plant, e.fact)])
    waiting = waiting_for_proof(session, now, str(plant.id))
    households = tuple(h for h in _households(session, plant) if h.apartment not in waiting)
    lives = with_lately_mended(session, plant, now, lives_learned(session, now.date()))
    return Asked(plant, evidence, households, tuple(weather), lives)


def _overruled(session: Session, plant: Plant) -> set[str]:
    """Complaints from phones nobody knows, of homes that have reported for themselves."""
    rows = session.scalars(
        select(Complaint).where(
            Complaint.building_id == str(plant.id), Complaint.closed_at.is_(None)
        )
    ).all()
    own = {c.apartment for c in rows if c.confirmed}
    return {c.id for c in rows if not c.confirmed and c.apartment in own}


def _is_about(plant: Plant, fact: Fact) -> bool:
    """Whether the home or component is still in the building file, which may have been replaced."""
    if isinstance(fact, Found):
        return fact.component in plant.components
    return any(a.id == fact.apartment for a in plant.apartments)


def _households(session: Session, plant: Plant) -> list[Household]:
    """Apartments whose silence means something: somebody there can be reached by text."""
    rows = session.execute(
        select(HouseholdRow.apartment, HouseholdRow.care)
        .outerjoin(NumberRow, NumberRow.number == HouseholdRow.mobile)
        .where(HouseholdRow.building_id == str(plant.id), HouseholdRow.mobile.is_not(None))
        .where(NumberRow.stopped_at.is_(None))
    )
    care: dict[str, set[Care]] = {}
    for apartment, cares in rows:
        care.setdefault(apartment, set()).update(Care(c) for c in cares)
    known = {str(a.id) for a in plant.apartments}
    return [Household(ApartmentId(a), frozenset(c)) for a, c in sorted(care.items()) if a in known]

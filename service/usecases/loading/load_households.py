"""Who lives where and how to reach them: the list of a building replaces the one before."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from rules.plant import HouseholdRow as Row
from rules.plant import read_household_rows
from service.errors import InvalidError, NotFoundError, PointedError
from service.store.tables import HouseholdRow
from service.usecases.loading.load_building import pointed
from service.usecases.loading.plants import plant_of

__all__ = ["homes_of", "load_households", "store_households"]


def load_households(session: Session, building_id: str, rows: object) -> tuple[PointedError, ...]:
    """Replace the households of a building; returns the warnings.

    Raises:
        NotFoundError: there is no such building.
        InvalidError: a row is refused; nothing is changed.
    """
    plant = plant_of(session, building_id)
    if plant is None:
        raise NotFoundError(f"there is no building {building_id!r}")
    found, problems = read_household_rows(rows, plant)
    if any(p.fatal for p in problems):
        raise InvalidError("the households are refused", pointed(problems))
    store_households(session, [building_id], found)
    return pointed(problems)


def store_households(session: Session, buildings: Iterable[str], rows: Sequence[Row]) -> None:
    """Replace the households of these buildings."""
    session.execute(delete(HouseholdRow).where(HouseholdRow.building_id.in_(list(buildings))))
    session.add_all(
        HouseholdRow(
            building_id=str(row.building),
            apartment=str(row.apartment),
            name=row.name,
            mobile=row.mobile or None,
            email=row.email or None,
            language=row.language,
            care=sorted(c.value for c in row.care),
        )
        for row in rows
    )
    session.flush()


def homes_of(session: Session, number: str) -> tuple[tuple[str, str], ...]:
    """The homes (building, apartment) a mobile number is registered for."""
    rows = session.execute(
        select(HouseholdRow.building_id, HouseholdRow.apartment)
        .where(HouseholdRow.mobile == number)
        .distinct()
        .order_by(HouseholdRow.building_id, HouseholdRow.apartment)
    )
    return tuple((building, apartment) for building, apartment in rows)

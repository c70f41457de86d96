"""Who lives where and how to reach them: the list of a building replaces the one before."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sqlalchemy import ColumnElement, delete, select
from sqlalchemy.orm import Session

from rules.plant import HouseholdRow as Row
from rules.plant import read_household_rows
from service.errors import InvalidError, NotFoundError, PointedError
from service.store.tables import HouseholdRow, NumberHome, NumberRow
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
    """Replace the households of these buildings; who is not on the list any more has moved out."""
    here = HouseholdRow.building_id.in_(list(buildings))
    before = _on_file(session, here)
    session.execute(delete(HouseholdRow).where(here))
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
    for gone in before - _on_file(session, here):
        _move_out(session, *gone)


def _on_file(session: Session, here: ColumnElement[bool]) -> set[tuple[str, str, str]]:
    """Mobiles with their homes."""
    rows = session.scalars(select(HouseholdRow).where(here, HouseholdRow.mobile.is_not(None)))
    return {(str(row.mobile), row.building_id, row.apartment) for row in rows}


def _move_out(session: Session, mobile: str, building: str, apartment: str) -> None:
    """The number belongs to this home no more, and talks of it no more."""
    session.execute(
        delete(NumberHome)
        .where(NumberHome.number == mobile, NumberHome.building_id == building)
        .where(NumberHome.apartment == apartment)
    )
    number = session.get(NumberRow, mobile)
    if number is not None and number.stopped_at is None and not homes_of(session, number.number):
        number.conversation = None


def homes_of(session: Session, number: str) -> tuple[tuple[str, str], ...]:
    """The homes (building, apartment) a mobile number is registered for."""
    rows = session.execute(
        select(HouseholdRow.building_id, HouseholdRow.apartment)
        .where(HouseholdRow.mobile == number)
        .distinct()
        .order_by(HouseholdRow.building_id, HouseholdRow.apartment)
    )
    return tuple((building, apartment) for building, apartment in rows)

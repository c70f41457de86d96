"""Whose phone a text comes from: on file for a home, shown by a code or a person, or nobody's yet.

A number by itself proves little. What an unknown one reports is taken and marked; it never touches
what the home itself has reported, and never ends it.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.errors import ConflictError, NotFoundError
from service.store.tables import Complaint, HomePhone, NumberHome
from service.usecases.loading.load_households import homes_of
from service.usecases.loading.page_names import is_page

__all__ = ["Home", "bind", "complaint_row", "homes_known", "is_known", "is_on_file", "is_theirs"]

Home = tuple[str, str]


def homes_known(session: Session, number: str) -> tuple[Home, ...]:
    """The homes a number is registered for, was shown to belong to, or was left on a page of."""
    shown = session.execute(
        select(NumberHome.building_id, NumberHome.apartment).where(NumberHome.number == number)
    )
    left = session.execute(
        select(HomePhone.building_id, HomePhone.apartment)
        .where(HomePhone.number == number, HomePhone.bound)
        .distinct()
    )
    more = {(building, apartment) for building, apartment in (*shown, *left)}
    return tuple(sorted({*homes_of(session, number), *more}))


def is_known(session: Session, number: str) -> bool:
    """Whether a number belongs to any home."""
    return is_page(number) or bool(homes_known(session, number))


def is_on_file(session: Session, number: str, home: Home | None) -> bool:
    """Whether a number belongs to this home; without a home, to any."""
    if home is None or is_page(number):
        return is_known(session, number)
    return home in homes_known(session, number)


def is_theirs(session: Session, complaint: Complaint) -> bool:
    """Whether whoever reported it still lives there, as far as we know.

    A number that was on file for the home, and is not any more, has moved out: neither it nor the next
    household goes on with that report.
    """
    if not complaint.confirmed or complaint.building_id is None or complaint.apartment is None:
        return True
    return is_on_file(session, complaint.number, (complaint.building_id, complaint.apartment))


def bind(session: Session, now: datetime, number: str, home: Home, how: str) -> None:
    """From now on the number belongs to the home."""
    if home in homes_known(session, number):
        return
    session.add(
        NumberHome(number=number, building_id=home[0], apartment=home[1], how=how, shown_at=now)
    )
    session.flush()


def complaint_row(session: Session, complaint_id: str) -> Complaint:
    """An open complaint that has a home.

    Raises:
        NotFoundError: there is no such complaint.
        ConflictError: it has ended, or its home is not known.
    """
    complaint = session.get(Complaint, complaint_id)
    if complaint is None:
        raise NotFoundError("there is no such complaint")
    if complaint.closed_at is not None or complaint.building_id is None:
        raise ConflictError("the complaint has ended, or its home is not known yet")
    return complaint

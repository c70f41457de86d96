"""Homes by what a caller says: a name, an address, the end of a number; with the ticket they are on."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Row, select
from sqlalchemy.orm import Session

from service.store.tables import Building, Complaint, HouseholdRow
from service.usecases.rows.ids import reference

__all__ = ["FoundHome", "find_homes"]

MOST_HOMES = 5  # more is no answer: another word is wanted
FEWEST_DIGITS = 4


@dataclass(frozen=True, slots=True)
class FoundHome:
    """A home that fits; nothing of who lives there."""

    building: str
    building_name: str
    apartment: str
    ticket: str | None = None
    reference: str = ""


def find_homes(session: Session, said: str) -> tuple[FoundHome, ...]:
    """The homes of which each word begins a word, or whose phone ends so; none where many fit.

    The words may be of the building's name, the apartment, or a name on file for the home.
    """
    begun = _words(said)
    if not begun:
        return ()
    digits = "".join(begun)
    by_phone = _on_phone(session, digits) if _is_number(digits) else set()
    named = _names(session, begun)
    rows = session.execute(
        select(
            Building.id,
            Building.document["name"].as_string().label("name"),
            Building.document["apartments"].label("apartments"),
        ).order_by(Building.id)
    ).all()
    fitting = [
        FoundHome(row.id, str(row.name), apartment)
        for row in rows
        for apartment in _apartments(row)
        if (row.id, apartment) in by_phone
        or _fits(begun, [str(row.name), apartment, named.get((row.id, apartment), "")])
    ]
    if len(fitting) > MOST_HOMES:
        return ()
    return tuple(_with_ticket(session, home) for home in fitting)


def _words(text: str) -> list[str]:
    return re.findall(r"\w+", text.casefold())


def _is_number(digits: str) -> bool:
    return digits.isascii() and digits.isdecimal() and len(digits) >= FEWEST_DIGITS


def _apartments(row: Row[Any]) -> list[str]:
    return [str(home["id"]) for home in row.apartments]


def _fits(begun: list[str], told: list[str]) -> bool:
    there = _words(" ".join(told))
    return all(any(word.startswith(part) for word in there) for part in begun)


def _on_phone(session: Session, digits: str) -> set[tuple[str, str]]:
    rows = session.execute(
        select(HouseholdRow.building_id, HouseholdRow.apartment).where(
            HouseholdRow.mobile.endswith(digits)
        )
    )
    return {(row.building_id, row.apartment) for row in rows}


def _names(session: Session, begun: list[str]) -> dict[tuple[str, str], str]:
    """Who lives where, of the homes in which some name holds some of the words."""
    found: dict[tuple[str, str], str] = {}
    rows = session.execute(
        select(HouseholdRow.building_id, HouseholdRow.apartment, HouseholdRow.name)
    )
    for row in rows:
        if any(part in row.name.casefold() for part in begun):
            home = row.building_id, row.apartment
            found[home] = f"{found.get(home, '')} {row.name}"
    return found


def _with_ticket(session: Session, home: FoundHome) -> FoundHome:
    ticket = session.scalar(
        select(Complaint.ticket_id)
        .where(Complaint.building_id == home.building, Complaint.apartment == home.apartment)
        .where(Complaint.closed_at.is_(None), Complaint.ticket_id.is_not(None))
        .order_by(Complaint.opened_at)
        .limit(1)
    )
    if ticket is None:
        return home
    return FoundHome(home.building, home.building_name, home.apartment, ticket, reference(ticket))

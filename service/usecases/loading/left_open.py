"""What a new building file has no place for any more, though it is still open or on file."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.model import ComponentId
from rules.plant import Plant, Problem
from service.store.tables import Complaint, FactRow, HouseholdRow

__all__ = ["left_open"]


def left_open(session: Session, plant: Plant) -> tuple[Problem, ...]:
    """A warning for each apartment with open complaints or people on file, each part with readings."""
    return (*_complaints(session, plant), *_households(session, plant), *_readings(session, plant))


def _complaints(session: Session, plant: Plant) -> Iterator[Problem]:
    rows = session.scalars(
        select(Complaint.apartment).where(
            Complaint.building_id == str(plant.id),
            Complaint.closed_at.is_(None),
            Complaint.apartment.not_in(_homes(plant)),
        )
    )
    for home, count in _counted(rows):
        yield _warning(
            "/apartments",
            f"The file has no apartment '{home}', whose complaints are open (count: {count}).",
            "They stay on their ticket, without suspects of their own, until it is closed.",
        )


def _households(session: Session, plant: Plant) -> Iterator[Problem]:
    rows = session.scalars(
        select(HouseholdRow.apartment).where(
            HouseholdRow.building_id == str(plant.id),
            HouseholdRow.apartment.not_in(_homes(plant)),
        )
    )
    for home, count in _counted(rows):
        yield _warning(
            "/apartments",
            f"The file has no apartment '{home}', for which people are on file (count: {count}).",
            "Send the households anew; until then their texts are taken to be about it.",
        )


def _readings(session: Session, plant: Plant) -> Iterator[Problem]:
    """Of findings on open tickets; those of closed ones are withdrawn."""
    rows = session.scalars(
        select(FactRow.body["component"].as_string()).where(
            FactRow.building_id == str(plant.id),
            FactRow.withdrawn_at.is_(None),
            FactRow.body["type"].as_string() == "found",
        )
    )
    for part, count in _counted(rows):
        if ComponentId(part) not in plant.components:
            yield _warning(
                "",
                f"The file has no '{part}', where readings of an open ticket were taken "
                f"(count: {count}).",
                "They do not count while the file does not name it.",
            )


def _homes(plant: Plant) -> list[str]:
    return [str(home.id) for home in plant.apartments]


def _counted(names: Iterable[str | None]) -> list[tuple[str, int]]:
    return sorted(Counter(name for name in names if name is not None).items())


def _warning(pointer: str, detail: str, remedy: str) -> Problem:
    return Problem(pointer, None, detail, remedy, fatal=False)

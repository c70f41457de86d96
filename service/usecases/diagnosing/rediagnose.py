"""Ask the rules again what explains all open complaints of a building, and bring its tickets in line.

Nothing is remembered from the last time: the diagnosis is computed from the facts that count now.
What is remembered are the tickets, because people act on them, and what people have decided about
them. Each move of a complaint between tickets is an event in the history of both and an act that a
person can undo; a pinned complaint is moved by nothing but a danger, which has a ticket of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import structlog
from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.diagnosis import Diagnosis, Group
from rules.model import ApartmentId
from service.store.tables import Complaint, Ticket
from service.usecases.diagnosing.ask_rules import asked_in, asked_of, believe_now
from service.usecases.diagnosing.bring_in_line import bring_in_line, let_dangers_go
from service.usecases.diagnosing.grouping_state import grouping_of, note_moves
from service.usecases.diagnosing.listen_on import listen_on, stop_listening
from service.usecases.loading.plants import plant_of
from service.usecases.loading.put_weather import weather_around
from service.usecases.rows.pressing import Scene, zone_of
from service.usecases.rows.ticket_rows import open_complaints_of, refresh_ticket

__all__ = ["believed", "diagnose_again", "rediagnose", "rediagnose_if_possible"]

log = structlog.get_logger()


def rediagnose(
    session: Session,
    now: datetime,
    building_id: str | None,
    *,
    only: str | None = None,
    plain: bool = False,
    within_act: bool = False,
) -> Diagnosis | None:
    """Bring the tickets of a building up to date; returns the diagnosis they rest on.

    Without a building, ``only`` names the one complaint to find a ticket for. ``plain`` leaves the
    diagnosis out: the last resort, so that a complaint gets a ticket even when computing fails.
    ``within_act``: a person's act is under way, which notes the moves as its own.
    """
    complaints = _open_complaints(session, building_id, only)
    plant = plant_of(session, building_id)
    weather = weather_around(session, plant.weather_station if plant else None, now)
    diagnosis = None
    if plant is not None and complaints and not plain:
        asked = asked_in(session, plant, weather, now)
        diagnosis = believe_now(asked, now)
        plain = diagnosis is None
        listen_on(session, now, asked, diagnosis)
    elif building_id is not None and not complaints:
        stop_listening(session, now, building_id)
    scene = Scene(now, plant, zone_of(session, building_id), weather, diagnosis)
    let_dangers_go(session, now, complaints)
    before = grouping_of(session, complaints)
    moves = bring_in_line(session, now, building_id, complaints, diagnosis, plain=plain)
    for ticket in _tickets_of(session, complaints):
        refresh_ticket(session, scene, ticket, _groups_of(session, ticket, diagnosis))
    if moves and not within_act:
        note_moves(session, now, moves, before, grouping_of(session, complaints))
    return diagnosis


def believed(session: Session, now: datetime, building_id: str | None) -> Diagnosis | None:
    """What the rules say of a building now; no ticket is touched. None without a plant."""
    asked = asked_of(session, now, building_id)
    return believe_now(asked, now) if asked is not None else None


def rediagnose_if_possible(
    session: Session, now: datetime, building_id: str | None, *, within_act: bool = False
) -> None:
    """The same where the work of a person must be kept even when computing fails."""
    if building_id is None:
        return
    try:
        with session.begin_nested():
            rediagnose(session, now, building_id, within_act=within_act)
    except Exception:
        log.exception("not_diagnosed_again", building=building_id)
        rediagnose(session, now, building_id, plain=True, within_act=within_act)


def diagnose_again(
    session: Session, now: datetime, ticket: Ticket, *, within_act: bool = False
) -> None:
    """The same for the building of a ticket, or for a ticket whose home is not known."""
    if ticket.building_id is not None:
        rediagnose_if_possible(session, now, ticket.building_id, within_act=within_act)
        return
    for complaint in open_complaints_of(session, ticket.id):
        rediagnose(session, now, None, only=complaint.id, within_act=within_act)


def _open_complaints(
    session: Session, building_id: str | None, only: str | None
) -> list[Complaint]:
    query = select(Complaint).where(Complaint.closed_at.is_(None))
    if building_id is not None:
        query = query.where(Complaint.building_id == building_id)
    else:
        query = query.where(Complaint.building_id.is_(None), Complaint.id == only)
    return list(session.scalars(query.order_by(Complaint.opened_at, Complaint.id)))


def _tickets_of(session: Session, complaints: Sequence[Complaint]) -> list[Ticket]:
    ids = dict.fromkeys(str(c.ticket_id) for c in complaints if c.ticket_id is not None)
    return [session.get_one(Ticket, ticket_id) for ticket_id in ids]


def _groups_of(
    session: Session, ticket: Ticket, diagnosis: Diagnosis | None
) -> list[tuple[Group, int]]:
    """The groups of a ticket's homes, as far as they are on it, each with how many of them."""
    if diagnosis is None:
        return []
    homes = {
        ApartmentId(c.apartment) for c in open_complaints_of(session, ticket.id) if c.apartment
    }
    shares = [(group, len(homes.intersection(group.apartments))) for group in diagnosis.groups]
    return [(diagnosis.narrowed(group, homes), share) for group, share in shares if share]

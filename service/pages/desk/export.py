"""The queue as a table to take away, for a meeting or a file; what is on the screen, no more."""

from __future__ import annotations

from fastapi import APIRouter, Depends, Request, Response

from service.auth.roles import Role
from service.pages.access import PageRoute, require, services_of
from service.pages.desk.queue import Shown
from service.pages.tables import Cell, csv_answer, local_cell
from service.pages.words import kind_words
from service.usecases.rows.views import QueueRow
from service.usecases.showing.show_queue import show_queue

__all__ = ["router"]

HEAD = (
    "ticket",
    "danger",
    "respond_by",
    "because",
    "building",
    "homes",
    "complaint",
    "first_suspect",
    "chance",
    "likeliest_fault",
    "chance_of_fault",
    "first_heard",
    "in_hand_of",
    "held_until",
    "hold_reason",
)

router = APIRouter(
    prefix="/desk",
    route_class=PageRoute,
    include_in_schema=False,
    dependencies=[Depends(require(Role.DESK))],
)


@router.get("/queue.csv")
def queue(request: Request, shown: Shown) -> Response:
    """The part of the queue that is asked for, in its order."""
    services = services_of(request)
    with services.db.reading() as session:
        view = show_queue(session, services.now())
    rows = (_cells(row) for row in view.rows if shown.lets_in(row))
    return csv_answer("queue.csv", HEAD, rows)


def _cells(row: QueueRow) -> tuple[Cell, ...]:
    suspected = not row.danger
    return (
        row.reference,
        "yes" if row.danger else "no",
        local_cell(row.respond_by, row.timezone),
        row.reason,
        row.building_name,
        " ".join(row.homes),
        kind_words(row.kinds),
        row.first_component if suspected else None,
        _share(row.probability) if suspected else None,
        row.first_suspect if suspected else None,
        _share(row.of_fault) if suspected else None,
        local_cell(row.opened_at, row.timezone),
        row.assigned_to,
        local_cell(row.held_until, row.timezone),
        row.hold_reason,
    )


def _share(chance: float | None) -> float | None:
    return None if chance is None else round(chance, 2)

"""Addresses of the desk: the queue and what keeps it live."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Path, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse, StreamingResponse
from sqlalchemy.orm import Session

from service.auth.roles import Role
from service.pages.access import PageRoute, require, services_of, still_here, who_here
from service.pages.desk.live import follow, watcher_of
from service.pages.desk.queue import Shown, render_queue_page, render_rows
from service.pages.desk.ticket import render_desk_ticket
from service.usecases.desk.find_ended import find_ended
from service.usecases.rows.alerts import acknowledge
from service.usecases.rows.views import QueueView
from service.usecases.showing.find_homes import find_homes
from service.usecases.showing.open_desk import open_desk
from service.usecases.showing.show_queue import show_queue
from service.usecases.showing.show_rows import show_rows
from service.usecases.showing.sketch_buildings import Lying, sketch_buildings
from service.usecases.showing.watch_desk import desk_stamp

__all__ = ["router"]

MOST_ROWS = 1000

router = APIRouter(
    prefix="/desk",
    route_class=PageRoute,
    include_in_schema=False,
    default_response_class=HTMLResponse,
    dependencies=[Depends(require(Role.DESK))],
)


@router.get("")
def queue(request: Request, shown: Shown) -> Response:
    """The queue, all of it or the part that is asked for."""
    services = services_of(request)
    with services.db.reading() as session:
        stamp = desk_stamp(session)
        view = show_queue(session, services.now())
        layouts = _layouts(session, view)
        ended = find_ended(session, shown.find)
        homes = find_homes(session, shown.find)
    page = render_queue_page(view, shown, layouts, stamp, ended, homes)
    return StreamingResponse(page, media_type="text/html")


@router.get("/rows")
def rows(request: Request, shown: Shown, only: str = "") -> str:
    """Some rows (ids with spaces between, none for all), the alerts and the counts."""
    services = services_of(request)
    tickets = only.split()[:MOST_ROWS] if only else None
    with services.db.reading() as session:
        stamp = desk_stamp(session)
        view = show_rows(session, services.now(), tickets)
        layouts = _layouts(session, view)
    return render_rows(view, shown, layouts, stamp)


@router.get("/changes")
async def changes(request: Request, seen: str = "") -> Response:
    """The live line: an event for each change, and a sign of life every fifteen seconds."""
    last = request.headers.get("last-event-id") or seen or None
    return StreamingResponse(
        follow(watcher_of(request), last, lambda: still_here(request)),
        media_type="text/event-stream",
        headers={"X-Accel-Buffering": "no"},
    )


@router.get("/tickets/{ticket_id}")
def ticket(request: Request, ticket_id: str, done: str = "", left: str = "") -> str:
    """One ticket with its evidence, its conversations and what can be done.

    ``left`` is the ticket that was dealt with before this one came up.
    """
    services, who = services_of(request), who_here(request)
    with services.db.reading() as session:
        page = open_desk(session, services.now(), ticket_id, left)
    return render_desk_ticket(page, who, done=done)


@router.post("/alerts/{alert_id}/acknowledge")
def seen(request: Request, alert_id: Annotated[int, Path(ge=1, le=2**31 - 1)]) -> Response:
    """Somebody has seen the alert."""
    services = services_of(request)
    with services.deciding() as session:
        acknowledge(session, services.now(), who_here(request), alert_id)
    return RedirectResponse("/desk", status_code=303)


def _layouts(session: Session, view: QueueView) -> dict[str, tuple[Lying, ...]]:
    return dict(sketch_buildings(session, (row.building for row in view.rows)))

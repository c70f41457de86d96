"""Addresses of the desk."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Path, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from service.auth.roles import Role
from service.pages.access import PageRoute, require, services_of
from service.pages.rendering import render_queue, render_ticket
from service.usecases.alerts import acknowledge
from service.usecases.confirm_sender import confirm_by_person
from service.usecases.show_queue import show_queue
from service.usecases.show_ticket import show_ticket

__all__ = ["router"]


router = APIRouter(
    prefix="/desk",
    route_class=PageRoute,
    include_in_schema=False,
    default_response_class=HTMLResponse,
    dependencies=[Depends(require(Role.DESK))],
)


@router.get("")
def queue(request: Request, building: str = "") -> str:
    """The queue, all of it or one building's part."""
    services = services_of(request)
    with services.db.reading() as session:
        view = show_queue(session, services.now())
    return render_queue(view, "desk", building)


@router.get("/tickets/{ticket_id}")
def ticket(request: Request, ticket_id: str) -> str:
    """One ticket with its evidence."""
    services = services_of(request)
    with services.db.reading() as session:
        view = show_ticket(session, services.now(), ticket_id)
    return render_ticket(view, "desk")


@router.post("/alerts/{alert_id}/acknowledge")
def seen(request: Request, alert_id: Annotated[int, Path(ge=1, le=2**31 - 1)]) -> Response:
    """Somebody has seen the alert."""
    services = services_of(request)
    with services.deciding() as session:
        acknowledge(session, services.now(), alert_id)
    return RedirectResponse("/desk", status_code=303)


@router.post("/complaints/{complaint_id}/confirm")
def confirm(request: Request, complaint_id: str) -> Response:
    """The desk knows that whoever reported belongs to the home."""
    services = services_of(request)
    with services.deciding() as session:
        complaint = confirm_by_person(session, services.now(), complaint_id)
        there = f"/desk/tickets/{complaint.ticket_id}" if complaint.ticket_id else "/desk"
    return RedirectResponse(there, status_code=303)

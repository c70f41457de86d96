"""Addresses of the desk."""

from __future__ import annotations

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse

from service.auth.roles import Role
from service.pages.access import PageRoute, require, services_of
from service.pages.rendering import render_queue, render_ticket
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

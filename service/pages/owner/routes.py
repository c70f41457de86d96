"""Addresses of the owner's door."""

from __future__ import annotations

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse

from service.auth.roles import Role
from service.pages.access import PageRoute, require, services_of
from service.pages.rendering import render_owner
from service.usecases.show_queue import show_queue

__all__ = ["router"]


router = APIRouter(
    prefix="/owner",
    route_class=PageRoute,
    include_in_schema=False,
    default_response_class=HTMLResponse,
    dependencies=[Depends(require(Role.OWNER))],
)


@router.get("")
def buildings(request: Request) -> str:
    """The buildings with open tickets."""
    services = services_of(request)
    with services.db.reading() as session:
        view = show_queue(session, services.now())
    return render_owner(view)

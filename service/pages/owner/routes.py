"""Addresses of the owner's door."""

from __future__ import annotations

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse

from service.auth.roles import Role
from service.pages.access import PageRoute, require, services_of
from service.pages.rendering import render, render_owner
from service.usecases.showing.show_building import list_buildings, show_building
from service.usecases.showing.show_queue import show_queue
from service.usecases.showing.show_record import show_record

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
    """The buildings, with what is open in them."""
    services = services_of(request)
    with services.db.reading() as session:
        view = show_queue(session, services.now())
        every = list_buildings(session)
    return render_owner(view, every)


@router.get("/buildings/{building}")
def building(request: Request, building: str) -> str:
    """A building's parts, those to be replaced first on top."""
    services = services_of(request)
    with services.db.reading() as session:
        view = show_building(session, services.now(), building)
    return render("owner/templates/building.html", view=view, door="owner")


@router.get("/record")
def record(request: Request) -> str:
    """What was stated, held against what was found."""
    with services_of(request).db.reading() as session:
        view = show_record(session)
    return render("owner/templates/record.html", record=view, door="owner")

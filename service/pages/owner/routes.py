"""Addresses of the owner's door."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse

from service.auth.roles import Role
from service.pages.access import PageRoute, require, services_of
from service.pages.rendering import render
from service.pages.times import zones_words
from service.usecases.rows.views import QueueRow, QueueView
from service.usecases.showing.cold_now import cold_now
from service.usecases.showing.show_building import list_buildings, show_building
from service.usecases.showing.show_queue import show_queue
from service.usecases.showing.show_record import show_record

__all__ = ["render_buildings", "router"]

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
        cold = cold_now(session)
    return render_buildings(view, every, cold)


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


def render_buildings(
    view: QueueView,
    every: tuple[tuple[str, str], ...] = (),
    cold: Mapping[str, tuple[str, ...]] = MappingProxyType({}),
) -> str:
    """The owner's plain list: what presses most first, then buildings in which nothing is open.

    ``cold``: the homes of a building that are colder than the heat law allows.
    """
    return render(
        "owner/templates/buildings.html",
        view=view,
        groups=_groups(view, every),
        cold=cold,
        cold_homes=sum(len(homes) for homes in cold.values()),
        dangers=sum(row.danger for row in view.rows),
        late=sum(row.respond_by < view.now and not row.danger for row in view.rows),
        zone_words=zones_words([view.timezone, *(row.timezone for row in view.rows)]),
        timezone=view.timezone,
        door="owner",
    )


def _groups(
    view: QueueView, every: tuple[tuple[str, str], ...]
) -> list[tuple[str, str, tuple[QueueRow, ...]]]:
    """Each building with its open tickets, in the order in which the first of each presses."""
    pressing = {row.building: row.building_name for row in view.rows if row.building}
    named = pressing | {building: name for building, name in every if building not in pressing}
    groups = [
        (building, name, tuple(row for row in view.rows if row.building == building))
        for building, name in named.items()
    ]
    nowhere = tuple(row for row in view.rows if not row.building)
    return [*groups, ("", nowhere[0].building_name, nowhere)] if nowhere else groups

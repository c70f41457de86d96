"""The page and the label of a component, and photos of repairs; for staff and the owner."""

from __future__ import annotations

from urllib.parse import quote

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import HTMLResponse
from markupsafe import Markup

from service.auth.roles import Role
from service.errors import NotFoundError
from service.pages.access import DOOR_OF, PageRoute, require, services_of, who_here
from service.pages.rendering import render
from service.pages.repairs.label import label_svg
from service.usecases.repairs.part_label import Label, part_label
from service.usecases.repairs.repair_photos import photo_content
from service.usecases.showing.show_component import show_component

__all__ = ["router"]

router = APIRouter(route_class=PageRoute, include_in_schema=False)
_STAFF = [Depends(require(Role.DESK, Role.TRUCK))]
_ALL = [Depends(require(Role.DESK, Role.TRUCK, Role.OWNER))]


@router.get(
    "/plant/{building}/{component:path}/label",
    response_class=HTMLResponse,
    dependencies=_STAFF,
)
def label(request: Request, building: str, component: str) -> str:
    """The label on a page of its own, to print."""
    shown, drawn = _label(request, building, component)
    return render("repairs/templates/label.html", label=shown, drawn=drawn, door=_door(request))


@router.get("/plant/{building}/{component:path}/label.svg", dependencies=_STAFF)
def label_file(request: Request, building: str, component: str) -> Response:
    """The label as a file, for a label printer."""
    _, drawn = _label(request, building, component)
    name = quote(f"{building}-{component}-label.svg", safe="")
    headers = {"Content-Disposition": f"attachment; filename*=UTF-8''{name}"}
    return Response(str(drawn), media_type="image/svg+xml", headers=headers)


@router.get("/plant/{building}/{component:path}", response_class=HTMLResponse, dependencies=_ALL)
def page(request: Request, building: str, component: str) -> str:
    """A component's page."""
    services = services_of(request)
    with services.db.reading() as session:
        view = show_component(session, services.now(), building, component)
    role = who_here(request).role
    return render(
        "repairs/templates/component.html",
        view=view,
        now=view.now,
        timezone=view.timezone,
        door=_door(request),
        tickets_at=None if role is Role.OWNER else f"/{_work_door(role)}/tickets/",
    )


@router.get("/repairs/photos/{photo_id}", dependencies=_STAFF)
def photo(request: Request, photo_id: str) -> Response:
    """A technician's picture as a plain JPEG.

    Raises:
        NotFoundError: there is no such photo.
    """
    with services_of(request).db.reading() as session:
        content = photo_content(session, photo_id)
    if content is None:
        raise NotFoundError("There is no such photo.")
    headers = {"Content-Disposition": "inline", "Cache-Control": "private, no-store"}
    return Response(content, media_type="image/jpeg", headers=headers)


def _label(request: Request, building: str, component: str) -> tuple[Label, Markup]:
    services = services_of(request)
    with services.db.reading() as session:
        shown = part_label(session, building, component)
    base = services.settings.base_url.rstrip("/")
    address = f"{base}/plant/{quote(building, safe='')}/{quote(component, safe='')}"
    return shown, label_svg(shown, address)


def _work_door(role: Role) -> str:
    return "truck" if role is Role.TRUCK else "desk"


def _door(request: Request) -> str | None:
    return DOOR_OF.get(who_here(request).role)

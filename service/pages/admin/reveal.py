"""A tenant's number, shown once to the desk; the page before it shows only how it ends."""

from __future__ import annotations

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import HTMLResponse

from service.auth.roles import Role
from service.pages.access import PageRoute, require, services_of, who_here
from service.pages.rendering import render
from service.usecases.staff.reveal_number import reveal_number

__all__ = ["router"]

router = APIRouter(
    prefix="/desk",
    route_class=PageRoute,
    include_in_schema=False,
    default_response_class=HTMLResponse,
    dependencies=[Depends(require(Role.DESK))],
)


@router.post("/complaints/{complaint_id}/number")
def number(request: Request, complaint_id: str) -> Response:
    """The number on the page that answers, and a row in the audit log."""
    services, who = services_of(request), who_here(request)
    with services.db.transaction() as session:
        found = reveal_number(session, services.now(), who, complaint_id)
    return HTMLResponse(render("admin/templates/number.html", door="desk", found=found))

"""How long the session lasts if nobody does anything: asked by pages that stay open, to warn in time.

Asking in the background keeps nobody signed in; pressing the button does, like any other act.
"""

from __future__ import annotations

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import JSONResponse

from service.auth.roles import Role
from service.auth.sessions import session_ends_at
from service.pages.access import PageRoute, cookie_here, require, services_of

__all__ = ["router"]

router = APIRouter(
    prefix="/desk",
    route_class=PageRoute,
    include_in_schema=False,
    dependencies=[Depends(require(Role.DESK))],
)


@router.get("/session")
def left(request: Request) -> Response:
    """The seconds that are left."""
    services = services_of(request)
    now = services.now()
    with services.db.reading() as session:
        ends = session_ends_at(session, cookie_here(request) or "", now)
    seconds = max(0, int((ends - now).total_seconds())) if ends is not None else 0
    return JSONResponse({"seconds": seconds}, headers={"Cache-Control": "no-store"})


@router.post("/session")
def stay(request: Request) -> Response:
    """Somebody is there: the idle time begins anew, as with every act of a person."""
    return left(request)

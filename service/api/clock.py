"""The manual clock."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Depends, Request

from service.api.access import allowed, services_of
from service.api.bodies import ClockBody, checked, described, json_body
from service.auth.policies import Act
from service.usecases.hearing.move_clock import move_clock, read_clock
from service.usecases.sending.outgoing import reply_json

__all__ = ["clock_router"]


def clock_router() -> APIRouter:
    """The routes of a clock that is moved by hand."""
    move = [Depends(allowed(Act.MOVE_CLOCK))]
    router = APIRouter(tags=["clock"], dependencies=move)

    @router.get("/clock")
    def get_clock(request: Request) -> dict[str, Any]:
        """Where the clock stands."""
        return {"now": read_clock(services_of(request)).isoformat()}

    @router.put("/clock", openapi_extra=described(ClockBody))
    def put_clock(request: Request, body: Any = Depends(json_body)) -> dict[str, Any]:
        """Move the clock forward; everything due on the way happens in order."""
        services = services_of(request)
        read_clock(services)  # with the system clock there is nothing here, whatever was sent
        sent = move_clock(services, checked(ClockBody, body).now)
        return {"now": services.now().isoformat(), "sent": [reply_json(row) for row in sent]}

    return router

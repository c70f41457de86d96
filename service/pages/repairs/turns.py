"""Asking a household to turn its thermostat, and following what comes of it."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Form, Path, Request, Response
from fastapi.responses import JSONResponse, RedirectResponse

from service.auth.roles import Role
from service.errors import InvalidError
from service.pages.access import PageRoute, require, services_of, who_here
from service.usecases.repairs.ask_household import Direction, ask_household
from service.usecases.repairs.end_turn import Seen, end_turn
from service.usecases.repairs.show_turns import show_turns

__all__ = ["router"]

TURNS: dict[str, Direction] = {"down": "down", "up": "up"}
SEEN: dict[str, Seen] = {"moved": "moved", "not_moved": "not_moved"}

router = APIRouter(
    prefix="/turns",
    route_class=PageRoute,
    include_in_schema=False,
    dependencies=[Depends(require(Role.DESK, Role.TRUCK))],
)


@router.post("/ask/{complaint_id}")
def ask(request: Request, complaint_id: str, turn: Annotated[str, Form()] = "") -> Response:
    """Text the household; from the truck somebody watches the valve meanwhile."""
    if turn not in TURNS:
        raise InvalidError("say whether to turn it down or up")
    services, who = services_of(request), who_here(request)
    with services.deciding() as session:
        ticket = ask_household(
            session,
            services.now(),
            services.sms,
            who,
            complaint_id,
            TURNS[turn],
            watched=who.role is Role.TRUCK,
        )
    return _back(who.role, ticket)


@router.post("/seen/{ask_id}")
def seen(
    request: Request,
    ask_id: Annotated[int, Path(ge=1, le=2**31 - 1)],
    valve: Annotated[str, Form()] = "",
) -> Response:
    """What the valve did; the household gets its thermostat back."""
    services, who = services_of(request), who_here(request)
    with services.deciding() as session:
        what = SEEN.get(valve, "unseen")
        ticket = end_turn(session, services.now(), services.sms, who, ask_id, what)
    return _back(who.role, ticket)


@router.get("/of/{ticket_id}")
def turns(request: Request, ticket_id: str) -> JSONResponse:
    """Where the turns of a ticket stand now, for the page that shows them."""
    services = services_of(request)
    with services.db.reading() as session:
        now = services.now()
        homes = show_turns(session, now, ticket_id)
    shown: list[dict[str, Any]] = [
        {
            "complaint": home.complaint,
            "says": home.says,
            "stroke_ends_at": home.stroke_ends_at.isoformat() if home.stroke_ends_at else None,
            "over": home.over,
        }
        for home in homes
    ]
    return JSONResponse({"now": now.isoformat(), "homes": shown})


def _back(role: Role, ticket: str) -> RedirectResponse:
    door = "truck" if role is Role.TRUCK else "desk"
    return RedirectResponse(f"/{door}/tickets/{ticket}#turns", status_code=303)

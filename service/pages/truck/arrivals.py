"""What phones carry and bring back: worksheets, pages without names, entries made without signal."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from typing import Any

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, JSONResponse
from starlette.concurrency import run_in_threadpool

from service.auth.roles import Role
from service.errors import ConflictError, InvalidError
from service.pages.access import PageRoute, require, services_of, who_here
from service.pages.truck.rendering import render_carried
from service.usecases.repairs.take_from_truck import Arrival, take_from_truck
from service.usecases.repairs.worksheet import ticket_worksheet
from service.usecases.rows.printable import printable_json
from service.usecases.showing.show_ticket import show_ticket
from service.usecases.showing.truck_day import truck_day

__all__ = ["router"]

_KINDS = {"reading", "note", "photo"}
_ID = re.compile(r"[0-9a-f-]{36}")

router = APIRouter(
    prefix="/truck",
    route_class=PageRoute,
    include_in_schema=False,
    dependencies=[Depends(require(Role.TRUCK))],
)


@router.get("/carried")
def carried(request: Request) -> JSONResponse:
    """Which tickets a phone should carry, and a word that differs from person to person."""
    services, who = services_of(request), who_here(request)
    with services.db.reading() as session:
        day = truck_day(session, services.now(), who)
    rows = [row for stop in day.stops for row in stop.rows]
    return JSONResponse(
        {
            "keeper": who.keeper,
            "tickets": [{"ticket": row.ticket, "version": row.version} for row in rows],
        }
    )


@router.get("/carried/{ticket_id}", response_class=HTMLResponse)
def carried_ticket(request: Request, ticket_id: str) -> str:
    """A ticket to keep on a phone: nothing that a person wrote, no history, no photos."""
    services = services_of(request)
    with services.db.reading() as session:
        view = show_ticket(session, services.now(), ticket_id)
    return render_carried(view)


@router.get("/worksheets/{ticket_id}")
def worksheet(request: Request, ticket_id: str) -> JSONResponse:
    """What a phone needs to weigh readings of this ticket."""
    services = services_of(request)
    with services.db.reading() as session:
        return JSONResponse(dict(ticket_worksheet(session, services.now(), ticket_id)))


@router.post("/arrivals")
async def arrival(request: Request) -> JSONResponse:
    """Take one entry; sent again it only answers again."""
    try:
        sent = printable_json(await request.json())
    except (ValueError, RecursionError):
        raise InvalidError("the body is no JSON") from None
    entry = _arrival(sent)
    if sent.get("keeper") not in (None, "", who_here(request).keeper):
        raise ConflictError("somebody else has entered this; they send it when they sign in here")
    return await _take(request, entry)


async def _take(request: Request, entry: Arrival) -> JSONResponse:
    services, who = services_of(request), who_here(request)

    def take() -> dict[str, Any]:
        with services.deciding() as session:
            taken = take_from_truck(session, services.now(), who, entry)
        return {
            "id": taken.id,
            "state": taken.state,
            "says": taken.says,
            "ticket": taken.ticket,
            "duplicate": taken.duplicate,
        }

    return JSONResponse(await run_in_threadpool(take))


def _arrival(sent: Any) -> Arrival:
    """The entry, if it is one.

    Raises:
        InvalidError: it is not.
    """
    if not isinstance(sent, dict) or not isinstance(sent.get("body"), dict):
        raise InvalidError("the entry has no body")
    known = isinstance(sent.get("id"), str) and _ID.fullmatch(sent["id"]) is not None
    if not known or sent.get("kind") not in _KINDS or not isinstance(sent.get("ticket"), str):
        raise InvalidError("the entry needs id, kind and ticket")
    entered = _instant(sent.get("entered_at"))
    if entered is None:
        raise InvalidError("the entry needs entered_at, a time with an offset")
    return Arrival(sent["id"], sent["ticket"][:40], sent["kind"], sent["body"], entered)


def _instant(text: Any) -> datetime | None:
    try:
        found = datetime.fromisoformat(str(text))
    except ValueError:
        return None
    return None if found.tzinfo is None else found.astimezone(UTC)

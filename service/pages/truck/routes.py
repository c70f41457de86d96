"""Addresses of the truck: the day, a ticket, a reading, a note."""

from __future__ import annotations

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from service.auth.roles import Role
from service.errors import ConflictError, InvalidError
from service.pages.access import PageRoute, require, services_of, who_here
from service.pages.rendering import FormProblem, render_ticket
from service.pages.truck.forms import problem_of, read_finding
from service.pages.truck.late import too_late
from service.pages.truck.rendering import render_day
from service.usecases.diagnosing.record_finding import record_finding
from service.usecases.repairs.take_from_truck import write_note
from service.usecases.rows.audit import note_act
from service.usecases.rows.views import TicketView
from service.usecases.showing.show_ticket import show_ticket
from service.usecases.showing.truck_day import truck_day

__all__ = ["router"]


def _view(request: Request, ticket_id: str) -> TicketView:
    services = services_of(request)
    with services.db.reading() as session:
        return show_ticket(session, services.now(), ticket_id)


async def _typed(request: Request) -> dict[str, str]:
    """The text fields of a form."""
    form = await request.form(max_files=0, max_fields=40)
    return {name: value.strip() for name, value in form.items() if isinstance(value, str)}


def _again(view: TicketView, problem: FormProblem) -> HTMLResponse:
    return HTMLResponse(render_ticket(view, "truck", problem), status_code=422)


router = APIRouter(
    prefix="/truck",
    route_class=PageRoute,
    include_in_schema=False,
    default_response_class=HTMLResponse,
    dependencies=[Depends(require(Role.TRUCK))],
)


@router.get("")
def day(request: Request) -> str:
    """Today's stops in order, and the load."""
    services = services_of(request)
    with services.db.reading() as session:
        return render_day(truck_day(session, services.now(), who_here(request)))


@router.get("/tickets/{ticket_id}")
def ticket(request: Request, ticket_id: str) -> str:
    """One ticket, ready to work on."""
    return render_ticket(_view(request, ticket_id), "truck")


@router.post("/tickets/{ticket_id}/findings")
def finding(request: Request, ticket_id: str, typed: dict[str, str] = Depends(_typed)) -> Response:
    """Take a reading, or show what is missing with everything typed still there."""
    view = _view(request, ticket_id)
    found = read_finding(view, typed)
    if isinstance(found, FormProblem):
        return _again(view, found)
    services = services_of(request)
    try:
        with services.deciding() as session:
            # The reading may have joined this ticket to another one: go where the work is.
            current = record_finding(session, services.now(), ticket_id, found).id
            details = {"test": found.check, "component": found.component}
            note_act(
                session, services.now(), who_here(request), "finding recorded", current, details
            )
    except InvalidError as refused:
        return _again(view, problem_of(refused, typed))
    except ConflictError as gone:
        return too_late(request, ticket_id, gone, typed)
    return RedirectResponse(f"/truck/tickets/{current}#checks", status_code=303)


@router.post("/tickets/{ticket_id}/notes")
def note(request: Request, ticket_id: str, typed: dict[str, str] = Depends(_typed)) -> Response:
    """Keep a note with the ticket."""
    services = services_of(request)
    try:
        with services.deciding() as session:
            write_note(session, services.now(), who_here(request), ticket_id, typed.get("text", ""))
    except InvalidError:
        problem = FormProblem("note-text", "Write the note first.", typed)
        return _again(_view(request, ticket_id), problem)
    return RedirectResponse(f"/truck/tickets/{ticket_id}#h-note", status_code=303)

"""Acts at the desk: forms that come in, are done in one transaction, and lead back to the ticket.

What cannot be done is answered with the ticket as it stands now, the reason beside the form, and
everything that was typed still in it.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Depends, Form, Path, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse
from sqlalchemy.orm import Session

from service.auth.roles import Role
from service.auth.who import Who
from service.errors import ConflictError, InvalidError
from service.pages.access import PageRoute, require, services_of, who_here
from service.pages.desk.forms import ActProblem, local_time, problem_of, version_of
from service.pages.desk.ticket import render_desk_ticket
from service.usecases.assign_ticket import assign_ticket
from service.usecases.audit import note_act
from service.usecases.broadcast import News
from service.usecases.change_respond_by import change_respond_by
from service.usecases.confirm_sender import confirm_by_person
from service.usecases.hold_ticket import hold_ticket, release_ticket
from service.usecases.merge_tickets import merge_tickets
from service.usecases.open_desk import open_desk
from service.usecases.pin_complaint import pin_complaint, unpin_complaint
from service.usecases.pressing import zone_of
from service.usecases.record_finding import ticket_row
from service.usecases.services import Services
from service.usecases.split_ticket import split_ticket
from service.usecases.take_over import hand_back, take_over
from service.usecases.undo_act import undo_act
from service.usecases.write_affected import write_affected
from service.usecases.write_household import write_household

__all__ = ["router"]

Act = Callable[[Session, datetime, Who], str]
Text = Annotated[str, Form()]

router = APIRouter(
    prefix="/desk",
    route_class=PageRoute,
    include_in_schema=False,
    default_response_class=HTMLResponse,
    dependencies=[Depends(require(Role.DESK))],
)


def _do(request: Request, ticket_id: str, form: str, act: Act, kept: dict[str, str]) -> Response:
    """Do it and show the ticket it leads to; or show why not, with what was typed."""
    services, who = services_of(request), who_here(request)
    try:
        with services.deciding() as session:
            there = act(session, services.now(), who)
    except (ConflictError, InvalidError) as error:
        problem = problem_of(form, error, kept)
        return HTMLResponse(_again(services, who, ticket_id, problem), status_code=error.status)
    return RedirectResponse(f"/desk/tickets/{quote(there, safe='')}?done=1", status_code=303)


def _again(services: Services, who: Who, ticket_id: str, problem: ActProblem) -> str:
    with services.db.reading() as session:
        page = open_desk(session, services.now(), ticket_id)
    return render_desk_ticket(page, who, problem=problem)


def _zone(session: Session, ticket_id: str) -> str:
    return zone_of(session, ticket_row(session, ticket_id).building_id)


@router.post("/tickets/{ticket_id}/assign")
def assign(
    request: Request, ticket_id: str, version: Text = "", to: Text = "", mine: Text = ""
) -> Response:
    """Give it to somebody, to oneself, or to nobody."""
    seen = version_of(version)

    def act(session: Session, now: datetime, who: Who) -> str:
        name = who.name if mine else to.strip() or None
        return assign_ticket(session, now, who, ticket_id, seen, name)

    return _do(request, ticket_id, "assign", act, {"to": to})


@router.post("/tickets/{ticket_id}/hold")
def hold(
    request: Request, ticket_id: str, version: Text = "", until: Text = "", reason: Text = ""
) -> Response:
    """Let it rest until a time, for a reason."""

    def act(session: Session, now: datetime, who: Who) -> str:
        at = local_time(until, _zone(session, ticket_id), "/until")
        return hold_ticket(session, now, who, ticket_id, version_of(version), at, reason)

    return _do(request, ticket_id, "hold", act, {"until": until, "reason": reason})


@router.post("/tickets/{ticket_id}/release")
def release(request: Request, ticket_id: str, version: Text = "") -> Response:
    """Take it up again before its time."""

    def act(session: Session, now: datetime, who: Who) -> str:
        return release_ticket(session, now, who, ticket_id, version_of(version))

    return _do(request, ticket_id, "release", act, {})


@router.post("/tickets/{ticket_id}/respond-by")
def respond_by(
    request: Request, ticket_id: str, version: Text = "", at: Text = "", reason: Text = ""
) -> Response:
    """Set the time by which somebody must act, with the reason."""

    def act(session: Session, now: datetime, who: Who) -> str:
        when = local_time(at, _zone(session, ticket_id), "/at")
        return change_respond_by(session, now, who, ticket_id, version_of(version), when, reason)

    return _do(request, ticket_id, "respond-by", act, {"at": at, "reason": reason})


@router.post("/tickets/{ticket_id}/merge")
def merge(request: Request, ticket_id: str, version: Text = "", into: Text = "") -> Response:
    """Bring its complaints to another ticket."""

    def act(session: Session, now: datetime, who: Who) -> str:
        if not into:
            raise InvalidError("Choose the ticket it belongs to.")
        return merge_tickets(session, now, who, ticket_id, version_of(version), into)

    return _do(request, ticket_id, "merge", act, {"into": into})


@router.post("/tickets/{ticket_id}/split")
def split(
    request: Request,
    ticket_id: str,
    version: Text = "",
    complaints: Annotated[list[str], Form()] = [],  # noqa: B006 - FastAPI copies it
) -> Response:
    """Give some complaints a ticket of their own."""

    def act(session: Session, now: datetime, who: Who) -> str:
        if not complaints:
            raise InvalidError("Choose at least one home.")
        return split_ticket(session, now, who, ticket_id, version_of(version), complaints)

    return _do(request, ticket_id, "split", act, {"complaints": " ".join(complaints)})


@router.post("/tickets/{ticket_id}/write")
def write(
    request: Request,
    ticket_id: str,
    en: Text = "",
    es: Text = "",
    once: Text = "",
    urgent: Text = "",
) -> Response:
    """Write to every household it affects, in its language."""
    services = services_of(request)

    def act(session: Session, now: datetime, who: Who) -> str:
        news = News(request_id=f"desk:{once}", en=en, es=es, urgent=bool(urgent))
        write_affected(session, now, who, ticket_id, news, sms=services.sms)
        return ticket_id

    return _do(request, ticket_id, "write", act, {"en": en, "es": es, "urgent": urgent})


@router.post("/complaints/{complaint_id}/pin")
def pin(
    request: Request, complaint_id: str, ticket: Text = "", version: Text = "", to: Text = ""
) -> Response:
    """Hold a complaint at a ticket, whatever grouping thinks."""

    def act(session: Session, now: datetime, who: Who) -> str:
        there = to or ticket
        return pin_complaint(session, now, who, complaint_id, version_of(version), there)

    return _do(request, ticket, f"pin-{complaint_id}", act, {"to": to})


@router.post("/complaints/{complaint_id}/unpin")
def unpin(request: Request, complaint_id: str, ticket: Text = "", version: Text = "") -> Response:
    """Let grouping decide about it again."""

    def act(session: Session, now: datetime, who: Who) -> str:
        return unpin_complaint(session, now, who, complaint_id, version_of(version))

    return _do(request, ticket, f"pin-{complaint_id}", act, {})


@router.post("/complaints/{complaint_id}/write")
def write_one(request: Request, complaint_id: str, ticket: Text = "", text: Text = "") -> Response:
    """Write to one household."""
    services = services_of(request)

    def act(session: Session, now: datetime, who: Who) -> str:
        return write_household(session, now, who, complaint_id, text, sms=services.sms)

    return _do(request, ticket, f"write-{complaint_id}", act, {"text": text})


@router.post("/complaints/{complaint_id}/take-over")
def take(request: Request, complaint_id: str, ticket: Text = "") -> Response:
    """From now on a person writes with the household."""

    def act(session: Session, now: datetime, who: Who) -> str:
        return take_over(session, now, who, complaint_id)

    return _do(request, ticket, f"write-{complaint_id}", act, {})


@router.post("/complaints/{complaint_id}/hand-back")
def hand(request: Request, complaint_id: str, ticket: Text = "") -> Response:
    """The machine goes on."""
    services = services_of(request)

    def act(session: Session, now: datetime, who: Who) -> str:
        return hand_back(session, now, who, complaint_id, sms=services.sms)

    return _do(request, ticket, f"write-{complaint_id}", act, {})


@router.post("/complaints/{complaint_id}/confirm")
def confirm(request: Request, complaint_id: str) -> Response:
    """The desk knows that whoever reported belongs to the home."""
    services, who = services_of(request), who_here(request)
    with services.deciding() as session:
        now = services.now()
        complaint = confirm_by_person(session, now, complaint_id)
        note_act(session, now, who, "sender confirmed", complaint.id, {})
        note_act(session, services.now(), who_here(request), "sender confirmed", complaint.id, {})
        there = f"/desk/tickets/{complaint.ticket_id}" if complaint.ticket_id else "/desk"
    return RedirectResponse(there, status_code=303)


@router.post("/acts/{act_id}/undo")
def undo(
    request: Request,
    act_id: Annotated[int, Path(ge=1, le=2**31 - 1)],
    ticket: Text = "",
) -> Response:
    """Take an act back."""

    def act(session: Session, now: datetime, who: Who) -> str:
        return undo_act(session, now, who, act_id)

    return _do(request, ticket, "undo", act, {})

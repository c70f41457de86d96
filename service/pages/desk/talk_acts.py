"""Acts on one household's complaint: pin it, write, take over, know the sender."""

from __future__ import annotations

from datetime import datetime

from fastapi import Request, Response
from fastapi.responses import RedirectResponse
from sqlalchemy.orm import Session

from service.auth.who import Who
from service.pages.access import services_of, who_here
from service.pages.desk.doing import Text, acts_router, do_act
from service.pages.desk.forms import version_of
from service.usecases.desk.confirm_sender import confirm_by_person
from service.usecases.desk.pin_complaint import pin_complaint, unpin_complaint
from service.usecases.desk.place_by_person import place_by_person
from service.usecases.desk.take_over import hand_back, take_over
from service.usecases.desk.write_household import write_household

__all__ = ["router"]

router = acts_router()


@router.post("/complaints/{complaint_id}/pin")
def pin(
    request: Request, complaint_id: str, ticket: Text = "", version: Text = "", to: Text = ""
) -> Response:
    """Hold a complaint at a ticket, whatever grouping thinks."""

    def act(session: Session, now: datetime, who: Who) -> str:
        there = to or ticket
        return pin_complaint(session, now, who, complaint_id, version_of(version), there)

    return do_act(request, ticket, f"pin-{complaint_id}", act, {"to": to})


@router.post("/complaints/{complaint_id}/unpin")
def unpin(request: Request, complaint_id: str, ticket: Text = "", version: Text = "") -> Response:
    """Let grouping decide about it again."""

    def act(session: Session, now: datetime, who: Who) -> str:
        return unpin_complaint(session, now, who, complaint_id, version_of(version))

    return do_act(request, ticket, f"pin-{complaint_id}", act, {})


@router.post("/complaints/{complaint_id}/write")
def write_one(request: Request, complaint_id: str, ticket: Text = "", text: Text = "") -> Response:
    """Write to one household."""
    services = services_of(request)

    def act(session: Session, now: datetime, who: Who) -> str:
        return write_household(session, now, who, complaint_id, text, sms=services.sms)

    return do_act(request, ticket, f"write-{complaint_id}", act, {"text": text})


@router.post("/complaints/{complaint_id}/take-over")
def take(request: Request, complaint_id: str, ticket: Text = "") -> Response:
    """From now on a person writes with the household."""

    def act(session: Session, now: datetime, who: Who) -> str:
        return take_over(session, now, who, complaint_id)

    return do_act(request, ticket, f"write-{complaint_id}", act, {})


@router.post("/complaints/{complaint_id}/hand-back")
def hand(request: Request, complaint_id: str, ticket: Text = "") -> Response:
    """The machine goes on."""
    services = services_of(request)

    def act(session: Session, now: datetime, who: Who) -> str:
        return hand_back(session, now, who, complaint_id, sms=services.sms)

    return do_act(request, ticket, f"write-{complaint_id}", act, {})


@router.post("/complaints/{complaint_id}/place")
def place(
    request: Request,
    complaint_id: str,
    ticket: Text = "",
    building: Text = "",
    apartment: Text = "",
) -> Response:
    """Say which home a report is about."""
    services = services_of(request)

    def act(session: Session, now: datetime, who: Who) -> str:
        return place_by_person(
            session, now, who, complaint_id, building, apartment, sms=services.sms
        )

    kept = {"building": building, "apartment": apartment}
    return do_act(request, ticket, f"place-{complaint_id}", act, kept)


@router.post("/complaints/{complaint_id}/confirm")
def confirm(request: Request, complaint_id: str) -> Response:
    """The desk knows that whoever reported belongs to the home."""
    services, who = services_of(request), who_here(request)
    with services.deciding() as session:
        complaint = confirm_by_person(session, services.now(), who, complaint_id)
        there = f"/desk/tickets/{complaint.ticket_id}" if complaint.ticket_id else "/desk"
    return RedirectResponse(there, status_code=303)

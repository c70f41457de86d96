"""Acts on tickets: forms that come in, are done in one transaction, and lead back or on."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from fastapi import Form, Path, Request, Response
from sqlalchemy.orm import Session

from service.auth.who import Who
from service.errors import InvalidError
from service.pages.access import services_of
from service.pages.desk.doing import Text, acts_router, do_act
from service.pages.desk.forms import local_time, version_of
from service.pages.desk.ready_words import READY_WORDS, ReadyWords
from service.usecases.desk.assign_ticket import assign_ticket
from service.usecases.desk.change_respond_by import change_respond_by
from service.usecases.desk.end_danger import NoDanger, end_danger
from service.usecases.desk.hold_ticket import hold_ticket, release_ticket
from service.usecases.desk.merge_tickets import merge_tickets
from service.usecases.desk.split_ticket import split_ticket
from service.usecases.desk.undo_act import undo_act
from service.usecases.diagnosing.record_finding import ticket_row
from service.usecases.rows.pressing import zone_of
from service.usecases.sending.broadcast import News
from service.usecases.sending.write_affected import write_affected

__all__ = ["router"]

router = acts_router()


def _zone(session: Session, ticket_id: str) -> str:
    return zone_of(session, ticket_row(session, ticket_id).building_id)


@router.post("/tickets/{ticket_id}/assign")
def assign(
    request: Request,
    ticket_id: str,
    version: Text = "",
    to: Text = "",
    mine: Text = "",
    then: Text = "",
) -> Response:
    """Give it to somebody, to oneself, or to nobody."""
    seen = version_of(version)

    def act(session: Session, now: datetime, who: Who) -> str:
        name = who.name if mine else to.strip() or None
        return assign_ticket(session, now, who, ticket_id, seen, name)

    return do_act(request, ticket_id, "assign", act, {"to": to}, then)


@router.post("/tickets/{ticket_id}/hold")
def hold(
    request: Request,
    ticket_id: str,
    version: Text = "",
    until: Text = "",
    reason: Text = "",
    then: Text = "",
) -> Response:
    """Let it rest until a time, for a reason."""

    def act(session: Session, now: datetime, who: Who) -> str:
        at = local_time(until, _zone(session, ticket_id), "/until")
        return hold_ticket(session, now, who, ticket_id, version_of(version), at, reason)

    return do_act(request, ticket_id, "hold", act, {"until": until, "reason": reason}, then)


@router.post("/tickets/{ticket_id}/release")
def release(request: Request, ticket_id: str, version: Text = "") -> Response:
    """Take it up again before its time."""

    def act(session: Session, now: datetime, who: Who) -> str:
        return release_ticket(session, now, who, ticket_id, version_of(version))

    return do_act(request, ticket_id, "release", act, {})


@router.post("/tickets/{ticket_id}/respond-by")
def respond_by(
    request: Request, ticket_id: str, version: Text = "", at: Text = "", reason: Text = ""
) -> Response:
    """Set the time by which somebody must act, with the reason."""

    def act(session: Session, now: datetime, who: Who) -> str:
        when = local_time(at, _zone(session, ticket_id), "/at")
        return change_respond_by(session, now, who, ticket_id, version_of(version), when, reason)

    return do_act(request, ticket_id, "respond-by", act, {"at": at, "reason": reason})


@router.post("/tickets/{ticket_id}/no-danger")
def no_danger(
    request: Request,
    ticket_id: str,
    version: Text = "",
    heard: Text = "",
    found_by: Text = "",
    name: Text = "",
    reason: Text = "",
    still: Text = "",
) -> Response:
    """End a danger that was none."""
    sms = services_of(request).sms
    said = NoDanger(found_by, name, reason, heard=version_of(heard), still_to_do=bool(still))

    def act(session: Session, now: datetime, who: Who) -> str:
        return end_danger(session, now, who, ticket_id, version_of(version), said, sms=sms)

    kept = {"found_by": found_by, "name": name, "reason": reason, "still": still}
    return do_act(request, ticket_id, "no-danger", act, kept)


@router.post("/tickets/{ticket_id}/merge")
def merge(request: Request, ticket_id: str, version: Text = "", into: Text = "") -> Response:
    """Bring its complaints to another ticket."""

    def act(session: Session, now: datetime, who: Who) -> str:
        if not into:
            raise InvalidError("Choose the ticket it belongs to.")
        return merge_tickets(session, now, who, ticket_id, version_of(version), into)

    return do_act(request, ticket_id, "merge", act, {"into": into})


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

    return do_act(request, ticket_id, "split", act, {"complaints": " ".join(complaints)})


@router.post("/tickets/{ticket_id}/write")
def write(
    request: Request,
    ticket_id: str,
    en: Text = "",
    es: Text = "",
    once: Text = "",
    urgent: Text = "",
    known: Text = "",
) -> Response:
    """Write to every household it affects, in its language."""
    services = services_of(request)
    said = READY_WORDS.get(known)

    def act(session: Session, now: datetime, who: Who) -> str:
        if said is None and not (en.strip() or es.strip()):
            raise InvalidError("Choose what to say, or write it in your own words.")
        words = said or ReadyWords(en, es)
        news = News(f"desk:{once}", words.en, words.es, urgent=bool(urgent))
        write_affected(session, now, who, ticket_id, news, sms=services.sms)
        return ticket_id

    kept = {"en": en, "es": es, "urgent": urgent, "known": known}
    return do_act(request, ticket_id, "write", act, kept)


@router.post("/acts/{act_id}/undo")
def undo(
    request: Request,
    act_id: Annotated[int, Path(ge=1, le=2**31 - 1)],
    ticket: Text = "",
) -> Response:
    """Take an act back."""
    sms = services_of(request).sms

    def act(session: Session, now: datetime, who: Who) -> str:
        return undo_act(session, now, who, act_id, sms=sms)

    return do_act(request, ticket, "undo", act, {})

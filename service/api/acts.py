"""What the desk does to tickets and conversations, and undoes."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Path, Request
from sqlalchemy.orm import Session

from service.api.access import allowed, services_of, who_calls
from service.api.act_bodies import (
    AssignBody,
    HoldBody,
    MergeBody,
    NoDangerBody,
    PinBody,
    PlaceBody,
    RespondByBody,
    SplitBody,
    VersionBody,
    WriteBody,
)
from service.api.bodies import described, sent
from service.auth.policies import Act
from service.auth.who import Who
from service.usecases.desk.assign_ticket import assign_ticket
from service.usecases.desk.change_respond_by import change_respond_by
from service.usecases.desk.end_danger import NoDanger, end_danger
from service.usecases.desk.hold_ticket import hold_ticket, release_ticket
from service.usecases.desk.merge_tickets import merge_tickets
from service.usecases.desk.pin_complaint import pin_complaint, unpin_complaint
from service.usecases.desk.place_by_person import place_by_person
from service.usecases.desk.split_ticket import split_ticket
from service.usecases.desk.take_over import hand_back, take_over
from service.usecases.desk.undo_act import undo_act
from service.usecases.desk.write_household import write_household
from service.usecases.diagnosing.record_finding import ticket_row
from service.usecases.showing.show_acts import acts_json
from service.usecases.showing.ticket_json import ticket_json

__all__ = ["acts_router"]

LARGEST_ID = 2**31 - 1

Shown = dict[str, Any]
# Does the act and returns the ticket to show next.
_Verb = Callable[[Session, datetime, Who], str]


def acts_router() -> APIRouter:
    """The routes for acts of the desk; each answers with the ticket to look at next."""
    router = APIRouter(tags=["acts"], dependencies=[Depends(allowed(Act.ACT_ON_TICKETS))])
    _add_tickets(router)
    _add_danger(router)
    _add_grouping(router)
    _add_pins(router)
    _add_talking(router)
    _add_undoing(router)
    return router


def _doing(request: Request) -> Callable[[_Verb], Shown]:
    """A dependency: does an act in one transaction and shows the ticket it leads to."""

    def do(verb: _Verb) -> Shown:
        services = services_of(request)
        with services.deciding() as session:
            shown = verb(session, services.now(), who_calls(request))
            session.flush()
            return ticket_json(session, ticket_row(session, shown))

    return do


Do = Annotated[Callable[[_Verb], Shown], Depends(_doing)]


def _add_tickets(router: APIRouter) -> None:
    @router.post("/tickets/{ticket}/assign", openapi_extra=described(AssignBody))
    def post_assign(ticket: str, do: Do, said: AssignBody = sent(AssignBody)) -> Shown:
        """Say who takes care of it; null for nobody."""
        return do(lambda s, now, who: assign_ticket(s, now, who, ticket, said.version, said.to))

    @router.post("/tickets/{ticket}/hold", openapi_extra=described(HoldBody))
    def post_hold(ticket: str, do: Do, said: HoldBody = sent(HoldBody)) -> Shown:
        """Put it off until a date, for a reason."""
        return do(
            lambda s, now, who: hold_ticket(
                s, now, who, ticket, said.version, said.until, said.reason
            )
        )

    @router.post("/tickets/{ticket}/release", openapi_extra=described(VersionBody))
    def post_release(ticket: str, do: Do, said: VersionBody = sent(VersionBody)) -> Shown:
        """Take it off hold."""
        return do(lambda s, now, who: release_ticket(s, now, who, ticket, said.version))

    @router.post("/tickets/{ticket}/respond-by", openapi_extra=described(RespondByBody))
    def post_respond_by(ticket: str, do: Do, said: RespondByBody = sent(RespondByBody)) -> Shown:
        """Set the time by which somebody must act, with a reason."""
        return do(
            lambda s, now, who: change_respond_by(
                s, now, who, ticket, said.version, said.at, said.reason
            )
        )


def _add_danger(router: APIRouter) -> None:
    @router.post("/tickets/{ticket}/no-danger", openapi_extra=described(NoDangerBody))
    def post_no_danger(
        request: Request, ticket: str, do: Do, said: NoDangerBody = sent(NoDangerBody)
    ) -> Shown:
        """End a danger that somebody who may say so has found to be none."""
        sms = services_of(request).sms
        told = NoDanger(
            said.found_by, said.name, said.reason, heard=said.heard, still_to_do=said.still_to_do
        )
        return do(lambda s, now, who: end_danger(s, now, who, ticket, said.version, told, sms=sms))


def _add_grouping(router: APIRouter) -> None:
    @router.post("/tickets/{ticket}/merge", openapi_extra=described(MergeBody))
    def post_merge(ticket: str, do: Do, said: MergeBody = sent(MergeBody)) -> Shown:
        """Put all its complaints on another ticket, where they stay."""
        return do(lambda s, now, who: merge_tickets(s, now, who, ticket, said.version, said.into))

    @router.post("/tickets/{ticket}/split", openapi_extra=described(SplitBody))
    def post_split(ticket: str, do: Do, said: SplitBody = sent(SplitBody)) -> Shown:
        """Give some of its complaints a ticket of their own, where they stay."""
        return do(
            lambda s, now, who: split_ticket(s, now, who, ticket, said.version, said.complaints)
        )


def _add_pins(router: APIRouter) -> None:
    @router.post("/complaints/{complaint}/pin", openapi_extra=described(PinBody))
    def post_pin(complaint: str, do: Do, said: PinBody = sent(PinBody)) -> Shown:
        """Put a complaint on a ticket, where it stays; `version` is of the one it is on now."""
        return do(
            lambda s, now, who: pin_complaint(s, now, who, complaint, said.version, said.ticket)
        )

    @router.post("/complaints/{complaint}/unpin", openapi_extra=described(VersionBody))
    def post_unpin(complaint: str, do: Do, said: VersionBody = sent(VersionBody)) -> Shown:
        """Let grouping decide about it again."""
        return do(lambda s, now, who: unpin_complaint(s, now, who, complaint, said.version))


def _add_talking(router: APIRouter) -> None:
    @router.post("/complaints/{complaint}/write", openapi_extra=described(WriteBody))
    def post_write(
        request: Request, complaint: str, do: Do, said: WriteBody = sent(WriteBody)
    ) -> Shown:
        """Send a text to the household."""
        sms = services_of(request).sms
        return do(lambda s, now, who: write_household(s, now, who, complaint, said.text, sms=sms))

    @router.post("/complaints/{complaint}/place", openapi_extra=described(PlaceBody))
    def post_place(
        request: Request, complaint: str, do: Do, said: PlaceBody = sent(PlaceBody)
    ) -> Shown:
        """Say which home a report is about whose sender has not said it."""
        sms, home = services_of(request).sms, (said.building, said.apartment)
        return do(lambda s, now, who: place_by_person(s, now, who, complaint, *home, sms=sms))

    @router.post("/complaints/{complaint}/take-over")
    def post_take_over(complaint: str, do: Do) -> Shown:
        """From now on the machine asks this household nothing."""
        return do(lambda s, now, who: take_over(s, now, who, complaint))

    @router.post("/complaints/{complaint}/hand-back")
    def post_hand_back(request: Request, complaint: str, do: Do) -> Shown:
        """The machine goes on with the conversation."""
        sms = services_of(request).sms
        return do(lambda s, now, who: hand_back(s, now, who, complaint, sms=sms))


def _add_undoing(router: APIRouter) -> None:
    @router.get("/tickets/{ticket}/acts")
    def get_acts(request: Request, ticket: str) -> list[dict[str, object]]:
        """What was done to a ticket, newest first, and what of it can be undone."""
        with services_of(request).db.reading() as session:
            return acts_json(session, ticket_row(session, ticket).id)

    @router.post("/acts/{act}/undo")
    def post_undo(
        request: Request, act: Annotated[int, Path(ge=1, le=LARGEST_ID)], do: Do
    ) -> Shown:
        """Undo an act that nothing later stands on."""
        sms = services_of(request).sms
        return do(lambda s, now, who: undo_act(s, now, who, act, sms=sms))

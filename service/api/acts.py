"""What the desk does to tickets and conversations, and undoes."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Path, Request
from pydantic import BaseModel
from sqlalchemy.orm import Session

from service.api.access import allowed, services_of, who_calls
from service.api.act_bodies import (
    AssignBody,
    HoldBody,
    MergeBody,
    PinBody,
    RespondByBody,
    SplitBody,
    VersionBody,
    WriteBody,
)
from service.api.bodies import checked, described, json_body
from service.auth.policies import Act
from service.auth.who import Who
from service.usecases.assign_ticket import assign_ticket
from service.usecases.change_respond_by import change_respond_by
from service.usecases.hold_ticket import hold_ticket, release_ticket
from service.usecases.merge_tickets import merge_tickets
from service.usecases.pin_complaint import pin_complaint, unpin_complaint
from service.usecases.record_finding import ticket_row
from service.usecases.show_acts import acts_json
from service.usecases.show_ticket import ticket_json
from service.usecases.split_ticket import split_ticket
from service.usecases.take_over import hand_back, take_over
from service.usecases.undo_act import undo_act
from service.usecases.write_household import write_household

__all__ = ["acts_router"]

LARGEST_ID = 2**31 - 1

# Does the act and returns the ticket to show next.
_Verb = Callable[[Session, datetime, Who], str]


def acts_router() -> APIRouter:
    """The routes for acts of the desk; each answers with the ticket to look at next."""
    router = APIRouter(tags=["acts"], dependencies=[Depends(allowed(Act.ACT_ON_TICKETS))])
    _add_tickets(router)
    _add_grouping(router)
    _add_pins(router)
    _add_talking(router)
    _add_undoing(router)
    return router


def _do(request: Request, verb: _Verb) -> dict[str, Any]:
    services = services_of(request)
    with services.deciding() as session:
        shown = verb(session, services.now(), who_calls(request))
        session.flush()
        return ticket_json(session, ticket_row(session, shown))


def _takes(model: type[BaseModel]) -> dict[str, Any]:
    return {"openapi_extra": described(model)}


def _add_tickets(router: APIRouter) -> None:
    @router.post("/tickets/{ticket}/assign", **_takes(AssignBody))
    def post_assign(
        request: Request, ticket: str, body: Any = Depends(json_body)
    ) -> dict[str, Any]:
        """Say who takes care of it; null for nobody."""
        said = checked(AssignBody, body)
        return _do(
            request, lambda s, now, who: assign_ticket(s, now, who, ticket, said.version, said.to)
        )

    @router.post("/tickets/{ticket}/hold", **_takes(HoldBody))
    def post_hold(request: Request, ticket: str, body: Any = Depends(json_body)) -> dict[str, Any]:
        """Put it off until a date, for a reason."""
        said = checked(HoldBody, body)
        return _do(
            request,
            lambda s, now, who: hold_ticket(
                s, now, who, ticket, said.version, said.until, said.reason
            ),
        )

    @router.post("/tickets/{ticket}/release", **_takes(VersionBody))
    def post_release(
        request: Request, ticket: str, body: Any = Depends(json_body)
    ) -> dict[str, Any]:
        """Take it off hold."""
        said = checked(VersionBody, body)
        return _do(request, lambda s, now, who: release_ticket(s, now, who, ticket, said.version))

    @router.post("/tickets/{ticket}/respond-by", **_takes(RespondByBody))
    def post_respond_by(
        request: Request, ticket: str, body: Any = Depends(json_body)
    ) -> dict[str, Any]:
        """Set the time by which somebody must act, with a reason."""
        said = checked(RespondByBody, body)
        return _do(
            request,
            lambda s, now, who: change_respond_by(
                s, now, who, ticket, said.version, said.at, said.reason
            ),
        )


def _add_grouping(router: APIRouter) -> None:
    @router.post("/tickets/{ticket}/merge", **_takes(MergeBody))
    def post_merge(request: Request, ticket: str, body: Any = Depends(json_body)) -> dict[str, Any]:
        """Put all its complaints on another ticket, where they stay."""
        said = checked(MergeBody, body)
        return _do(
            request, lambda s, now, who: merge_tickets(s, now, who, ticket, said.version, said.into)
        )

    @router.post("/tickets/{ticket}/split", **_takes(SplitBody))
    def post_split(request: Request, ticket: str, body: Any = Depends(json_body)) -> dict[str, Any]:
        """Give some of its complaints a ticket of their own, where they stay."""
        said = checked(SplitBody, body)
        return _do(
            request,
            lambda s, now, who: split_ticket(s, now, who, ticket, said.version, said.complaints),
        )


def _add_pins(router: APIRouter) -> None:
    @router.post("/complaints/{complaint}/pin", **_takes(PinBody))
    def post_pin(
        request: Request, complaint: str, body: Any = Depends(json_body)
    ) -> dict[str, Any]:
        """Put a complaint on a ticket, where it stays; `version` is of the one it is on now."""
        said = checked(PinBody, body)
        return _do(
            request,
            lambda s, now, who: pin_complaint(s, now, who, complaint, said.version, said.ticket),
        )

    @router.post("/complaints/{complaint}/unpin", **_takes(VersionBody))
    def post_unpin(
        request: Request, complaint: str, body: Any = Depends(json_body)
    ) -> dict[str, Any]:
        """Let grouping decide about it again."""
        said = checked(VersionBody, body)
        return _do(
            request, lambda s, now, who: unpin_complaint(s, now, who, complaint, said.version)
        )


def _add_talking(router: APIRouter) -> None:
    @router.post("/complaints/{complaint}/write", **_takes(WriteBody))
    def post_write(
        request: Request, complaint: str, body: Any = Depends(json_body)
    ) -> dict[str, Any]:
        """Send a text to the household."""
        said = checked(WriteBody, body)
        sms = services_of(request).sms
        return _do(
            request, lambda s, now, who: write_household(s, now, who, complaint, said.text, sms=sms)
        )

    @router.post("/complaints/{complaint}/take-over")
    def post_take_over(request: Request, complaint: str) -> dict[str, Any]:
        """From now on the machine asks this household nothing."""
        return _do(request, lambda s, now, who: take_over(s, now, who, complaint))

    @router.post("/complaints/{complaint}/hand-back")
    def post_hand_back(request: Request, complaint: str) -> dict[str, Any]:
        """The machine goes on with the conversation."""
        sms = services_of(request).sms
        return _do(request, lambda s, now, who: hand_back(s, now, who, complaint, sms=sms))


def _add_undoing(router: APIRouter) -> None:
    @router.get("/tickets/{ticket}/acts")
    def get_acts(request: Request, ticket: str) -> list[dict[str, object]]:
        """What was done to a ticket, newest first, and what of it can be undone."""
        with services_of(request).db.reading() as session:
            return acts_json(session, ticket_row(session, ticket).id)

    @router.post("/acts/{act}/undo")
    def post_undo(
        request: Request, act: Annotated[int, Path(ge=1, le=LARGEST_ID)]
    ) -> dict[str, Any]:
        """Undo an act that nothing later stands on."""
        return _do(request, lambda s, now, who: undo_act(s, now, who, act))

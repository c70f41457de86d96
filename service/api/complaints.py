"""The inbox and complaints."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Query, Request

from service.api.access import allowed, services_of, who_calls
from service.auth.policies import Act
from service.usecases.hearing.list_inbox import list_inbox, note_reading, reading_is_noted
from service.usecases.showing.show_complaint import show_complaint
from service.usecases.staff.reveal_number import reveal_number

__all__ = ["complaints_router"]


def complaints_router() -> APIRouter:
    """The routes of the desk."""
    router = APIRouter(tags=["complaints"])

    @router.get("/inbox", dependencies=[Depends(allowed(Act.SEE_INBOX))])
    def get_inbox(
        request: Request,
        after: Annotated[str | None, Query(max_length=64)] = None,
        limit: Annotated[int, Query(ge=1, le=1000)] = 100,
    ) -> dict[str, Any]:
        """Every stored inbound text in order of arrival; that it was read is noted once an hour."""
        services, who = services_of(request), who_calls(request)
        now = services.now()
        with services.db.reading() as session:
            found = list_inbox(session, after, limit)
            noted = reading_is_noted(session, now, who)
        if not noted:
            with services.db.transaction() as session:
                note_reading(session, now, who)
        return found

    @router.get("/complaints/{complaint}", dependencies=[Depends(allowed(Act.SEE_COMPLAINTS))])
    def get_complaint(request: Request, complaint: str) -> dict[str, Any]:
        """One complaint with its messages and facts; `from` says how its phone's number ends."""
        with services_of(request).db.reading() as session:
            return show_complaint(session, complaint)

    @router.post(
        "/complaints/{complaint}/number", dependencies=[Depends(allowed(Act.SEE_COMPLAINTS))]
    )
    def post_number(request: Request, complaint: str) -> dict[str, Any]:
        """The whole number to call about a complaint; counted, and noted in the audit log."""
        services = services_of(request)
        with services.db.transaction() as session:
            found = reveal_number(session, services.now(), who_calls(request), complaint)
        return {"complaint": found.complaint, "number": found.number}

    return router

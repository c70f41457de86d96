"""The inbox and complaints."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Query, Request

from service.api.access import allowed, services_of
from service.auth.policies import Act
from service.usecases.list_inbox import list_inbox
from service.usecases.show_complaint import show_complaint

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
        """Every stored inbound text in order of arrival."""
        with services_of(request).db.reading() as session:
            return list_inbox(session, after, limit)

    @router.get("/complaints/{complaint}", dependencies=[Depends(allowed(Act.SEE_COMPLAINTS))])
    def get_complaint(request: Request, complaint: str) -> dict[str, Any]:
        """One complaint with its messages and facts."""
        with services_of(request).db.reading() as session:
            return show_complaint(session, complaint)

    return router

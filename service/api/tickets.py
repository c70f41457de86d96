"""Tickets: the queue, one ticket, findings, closing."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Query, Request

from service.api.access import allowed, services_of, who_calls
from service.api.bodies import CloseBody, FindingBody, described, sent
from service.auth.policies import Act
from service.usecases.diagnosing.record_finding import Finding, record_finding, ticket_row
from service.usecases.repairs.close_ticket import Closing, close_ticket
from service.usecases.rows.audit import note_act
from service.usecases.showing.ticket_json import list_tickets, ticket_json

__all__ = ["tickets_router"]


def tickets_router() -> APIRouter:
    """The routes of desk and truck."""
    router = APIRouter(tags=["tickets"])
    _add_looking(router)
    _add_finding(router)
    _add_closing(router)
    return router


def _add_looking(router: APIRouter) -> None:
    see = [Depends(allowed(Act.SEE_TICKETS))]

    @router.get("/tickets", dependencies=see)
    def get_tickets(
        request: Request,
        state: Annotated[str | None, Query(max_length=16)] = None,
        building: Annotated[str | None, Query(max_length=200)] = None,
    ) -> list[dict[str, Any]]:
        """Tickets, most pressing first."""
        with services_of(request).db.reading() as session:
            return list_tickets(session, state, building)

    @router.get("/tickets/{ticket}", dependencies=see)
    def get_ticket(request: Request, ticket: str) -> dict[str, Any]:
        """One ticket."""
        with services_of(request).db.reading() as session:
            return ticket_json(session, ticket_row(session, ticket))


def _add_finding(router: APIRouter) -> None:
    @router.post(
        "/tickets/{ticket}/findings",
        dependencies=[Depends(allowed(Act.RECORD_FINDINGS))],
        openapi_extra=described(FindingBody),
    )
    def post_finding(
        request: Request, ticket: str, found: FindingBody = sent(FindingBody)
    ) -> dict[str, Any]:
        """Take a reading; the answer has the suspects brought up to date."""
        finding = Finding(
            check=found.test,
            component=found.component,
            value=found.value,
            unit=found.unit,
            calling=found.calling,
            outcome=found.outcome,
        )
        services = services_of(request)
        with services.deciding() as session:
            now, details = services.now(), {"test": finding.check, "component": finding.component}
            row = record_finding(session, now, ticket, finding)
            note_act(session, now, who_calls(request), "finding recorded", row.id, details)
            return ticket_json(session, row)


def _add_closing(router: APIRouter) -> None:
    @router.post(
        "/tickets/{ticket}/close",
        dependencies=[Depends(allowed(Act.CLOSE_TICKETS))],
        openapi_extra=described(CloseBody),
    )
    def post_close(
        request: Request, ticket: str, said: CloseBody = sent(CloseBody)
    ) -> dict[str, Any]:
        """Close the ticket; the household is asked next morning whether it is right."""
        closing = Closing(
            fault=said.fault,
            component=said.component,
            parts=tuple((p.part, p.quantity) for p in said.parts),
            installed_on=said.installed,
            note=said.note or "",
        )
        services = services_of(request)
        with services.deciding() as session:
            row = close_ticket(
                session, services.now(), services.sms, who_calls(request), ticket, closing
            )
            return ticket_json(session, row)

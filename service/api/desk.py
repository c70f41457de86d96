"""What only the desk does: acknowledge alerts, confirm senders, send news."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Path, Query, Request

from service.api.access import allowed, services_of, who_calls
from service.api.bodies import NewsBody, described, sent
from service.auth.policies import Act
from service.usecases.desk.confirm_sender import confirm_by_person
from service.usecases.rows.alerts import acknowledge, alert_json, list_alerts
from service.usecases.rows.audit import note_act
from service.usecases.sending.broadcast import News, tell_building
from service.usecases.sending.write_affected import write_affected
from service.usecases.showing.show_complaint import show_complaint

__all__ = ["desk_router"]

LARGEST_ID = 2**31 - 1


def desk_router() -> APIRouter:
    """The routes of the desk."""
    router = APIRouter(tags=["desk"])
    _add_alerts(router)
    _add_confirming(router)
    _add_news(router)
    return router


def _add_alerts(router: APIRouter) -> None:
    handle = [Depends(allowed(Act.HANDLE_ALERTS))]

    @router.get("/alerts", dependencies=handle)
    def get_alerts(
        request: Request, state: Annotated[str | None, Query(max_length=16)] = None
    ) -> list[dict[str, Any]]:
        """Alerts: what nobody has acknowledged first, dangers before others."""
        with services_of(request).db.reading() as session:
            return list_alerts(session, state)

    @router.post("/alerts/{alert}/acknowledge", dependencies=handle)
    def post_acknowledge(
        request: Request, alert: Annotated[int, Path(ge=1, le=LARGEST_ID)]
    ) -> dict[str, Any]:
        """Somebody has seen it; a danger is then not raised again."""
        services = services_of(request)
        with services.deciding() as session:
            row = acknowledge(session, services.now(), who_calls(request), alert)
            return alert_json(session, row)


def _add_confirming(router: APIRouter) -> None:
    @router.post(
        "/complaints/{complaint}/confirm",
        dependencies=[Depends(allowed(Act.CONFIRM_SENDERS))],
    )
    def post_confirm(request: Request, complaint: str) -> dict[str, Any]:
        """The desk knows that whoever reported belongs to the home."""
        services = services_of(request)
        with services.deciding() as session:
            row = confirm_by_person(session, services.now(), who_calls(request), complaint)
            return show_complaint(session, row.id)


def _add_news(router: APIRouter) -> None:
    tell = [Depends(allowed(Act.SEND_NEWS))]
    described_body = described(NewsBody)

    @router.post("/buildings/{building}/broadcast", dependencies=tell, openapi_extra=described_body)
    def post_to_building(
        request: Request, building: str, said: NewsBody = sent(NewsBody)
    ) -> dict[str, Any]:
        """Tell every household of a building; the same id is done once."""
        services = services_of(request)
        with services.deciding() as session:
            now, who = services.now(), who_calls(request)
            told = tell_building(session, now, services.sms, building, _news(said))
            if not told["duplicate"]:
                note_act(session, now, who, "news sent", building, {"texts": told["texts"]})
            return told

    @router.post("/tickets/{ticket}/broadcast", dependencies=tell, openapi_extra=described_body)
    def post_to_ticket(
        request: Request, ticket: str, said: NewsBody = sent(NewsBody)
    ) -> dict[str, Any]:
        """Tell every household that a ticket concerns; the same id is done once."""
        services = services_of(request)
        with services.deciding() as session:
            now, who = services.now(), who_calls(request)
            return write_affected(session, now, who, ticket, _news(said), sms=services.sms)


def _news(said: NewsBody) -> News:
    return News(said.id, said.texts.en, said.texts.es, said.until, said.urgent)

"""Texts in, and readings without consequences."""

from __future__ import annotations

import json
from collections.abc import Callable, Coroutine
from contextlib import suppress
from typing import Any

import structlog
from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import JSONResponse
from fastapi.routing import APIRoute
from starlette.concurrency import run_in_threadpool

from service.api.access import allowed, services_of
from service.api.bodies import ReadingBody, TextBody, checked, described, json_body, sent
from service.auth.policies import Act
from service.errors import InvalidError, PointedError, TryLaterError, problem
from service.telemetry.logs import where
from service.telemetry.metrics import Metrics
from service.usecases.hearing.danger_unstored import BROKEN, warn_unstored
from service.usecases.hearing.process_inbox import process_message, process_pending
from service.usecases.hearing.read_text import read_text
from service.usecases.hearing.receive_text import Inbound, store_text
from service.usecases.rows.services import Services
from service.usecases.sending.send_outbox import send_outbox

__all__ = ["texts_router"]

RETRY_SECONDS = 5
LONGEST_ID = 998
log = structlog.get_logger("endswitch.api")


def texts_router() -> APIRouter:
    """The routes of the gateway, and trying the reader out."""
    router = APIRouter(tags=["texts"], route_class=_DangerAnyway)

    @router.post(
        "/texts",
        dependencies=[Depends(allowed(Act.DELIVER_TEXTS))],
        openapi_extra=described(TextBody),
        responses={202: {"description": "stored; decided later"}},
    )
    def post_text(
        request: Request,
        response: Response,
        body: Any = Depends(json_body),
        raw: bytes = Depends(_raw),
    ) -> dict[str, Any]:
        """Take a text in; the same id is worked on once."""
        services = services_of(request)
        inbound = _inbound(services, checked(TextBody, body), raw)
        answer = _take(services, inbound, request.app.state.metrics)
        response.status_code = 202 if answer.get("pending") else 200
        return answer

    @router.post(
        "/readings",
        dependencies=[Depends(allowed(Act.READ_TEXTS))],
        openapi_extra=described(ReadingBody),
    )
    def post_reading(asked: ReadingBody = sent(ReadingBody)) -> dict[str, Any]:
        """Read a text; nothing is stored."""
        return read_text(asked.text, asked.asked)

    return router


class _DangerAnyway(APIRoute):
    """Where a text cannot be stored, people in danger are told to leave all the same.

    The leave-now text goes out by the adapter, once; the refusal carries it as an answer would. The
    gateway delivers the text again later.
    """

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """Wrap the usual handler."""
        handle = super().get_route_handler()

        async def handle_or_warn(request: Request) -> Response:
            try:
                return await handle(request)
            except BROKEN as error:
                log.warning("text_not_stored", error=where(error))
                raw = await request.body()
                return await run_in_threadpool(_refusal, services_of(request), raw)

        return handle_or_warn


def _refusal(services: Services, raw: bytes) -> JSONResponse:
    body = problem(503, "try_later", "the database cannot take it now")
    body["replies"] = _replies(services, raw)
    headers = {"Retry-After": str(RETRY_SECONDS)}
    return JSONResponse(body, 503, headers, media_type="application/problem+json")


def _replies(services: Services, raw: bytes) -> list[dict[str, Any]]:
    try:
        found = json.loads(raw)
        sender, text = str(found["from"])[:64], str(found["text"])
        sender_id = str(found.get("id") or f"{sender}/{text}")[:LONGEST_ID]
    except (ValueError, RecursionError, LookupError, TypeError, AttributeError):
        return []
    return warn_unstored(
        services,
        services.now(),
        via="http",
        sender_id=sender_id,
        sender=sender,
        text=text,
        raw=raw,
    )


async def _raw(request: Request) -> bytes:
    return await request.body()


def _inbound(services: Services, text: TextBody, raw: bytes) -> Inbound:
    number = services.sms.e164(text.sender)
    if number is None:
        wrong = PointedError("/from", "is no phone number that can be answered")
        raise InvalidError("the sender is refused", (wrong,))
    return Inbound(
        sender_id=text.id,
        via="http",
        from_number=number,
        raw=raw,
        text=text.text,
        to_address=text.to,
        sent_at=text.sent_at,
    )


def _take(services: Services, inbound: Inbound, metrics: Metrics) -> dict[str, Any]:
    """Store first, then decide; what cannot be decided now is decided later."""
    now = services.now()
    with services.db.transaction() as session:
        stored = store_text(session, now, inbound)
    with metrics.inbound_to_answer_seconds.time():
        if not stored.duplicate:
            process_pending(services, now, before=stored.message_id)
        outcome = process_message(services, now, stored.message_id)
    result = "duplicate" if stored.duplicate else "read" if outcome.answer else "pending"
    metrics.inbound_total.labels("http", result).inc()
    if services.settings.gateway == "file":
        # A file takes no time; texts for the other adapters, or while it is busy, go with the jobs.
        with suppress(TryLaterError):
            send_outbox(services, now)
    if outcome.answer is None:
        return {"message": outcome.message_id, "duplicate": stored.duplicate, "pending": True}
    return {**outcome.answer, "duplicate": stored.duplicate}

"""Is it up, can it work, how much is waiting."""

from __future__ import annotations

import shutil
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy import text
from sqlalchemy.exc import SQLAlchemyError

from service.api.access import services_of
from service.store.migrations import at_head
from service.telemetry.metrics import CONTENT_TYPE, Metrics
from service.usecases.hearing.count_state import count_state
from service.usecases.rows.services import Services

__all__ = ["health_router"]

FREE_BYTES = 200 * 1024 * 1024
HEARTBEAT_SECONDS = 120.0


def health_router() -> APIRouter:
    """The routes for whoever looks after the machine."""
    router = APIRouter(tags=["operations"])

    @router.get("/healthz")
    async def healthz() -> dict[str, Any]:
        """The process is up; nothing else is looked at."""
        return {"ok": True}

    @router.get("/readyz")
    def readyz(request: Request, response: Response) -> dict[str, Any]:
        """Each thing the service needs, by name; 503 when one is missing."""
        checks = _checks(services_of(request), request.app.state.jobs.heartbeat_age_seconds)
        ready = all(checks.values())
        response.status_code = 200 if ready else 503
        return {"ready": ready, "checks": checks}

    @router.get("/metrics")
    def metrics(request: Request) -> Response:
        """For Prometheus."""
        services, found = services_of(request), request.app.state.metrics
        _measure(services, found)
        return Response(found.exposition(), media_type=CONTENT_TYPE)

    return router


def _checks(services: Services, heartbeat_seconds: float) -> dict[str, bool]:
    return {
        "database": _can_write(services),
        "schema": _is_current(services),
        "disk": shutil.disk_usage(services.settings.state).free > FREE_BYTES,
        "jobs": heartbeat_seconds < HEARTBEAT_SECONDS,
    }


def _can_write(services: Services) -> bool:
    """A write that is rolled back."""
    try:
        with services.db.engine.connect() as connection:
            connection.execute(text("UPDATE clock_state SET id = id"))
            connection.rollback()
    except SQLAlchemyError:
        return False
    return True


def _is_current(services: Services) -> bool:
    try:
        return at_head(services.db.engine)
    except SQLAlchemyError:
        return False


def _measure(services: Services, metrics: Metrics) -> None:
    with services.db.reading() as session:
        counts = count_state(session, services.now())
    metrics.outbox_pending.set(counts.outbox_due)
    metrics.timers_late_seconds.set(counts.timers_late_seconds)
    metrics.tickets_open.set(counts.tickets_open)

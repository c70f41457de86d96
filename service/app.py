"""Puts the application together: the one place that knows all rooms."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from urllib.parse import urlsplit

from fastapi import FastAPI
from starlette.concurrency import run_in_threadpool
from starlette.middleware.gzip import GZipMiddleware

from service.api import make_api
from service.api.problems import LimitsAndLastResort, add_problem_handlers
from service.auth.csrf import RefuseForgedRequests
from service.clock import Clock, ManualClock, SystemClock
from service.jobs.work import jobs_for
from service.pages import SecurityHeaders, make_pages, page_for
from service.settings import Settings
from service.sms.gateways import make_gateway
from service.sms.intake import Intake
from service.sms.receive import mail_store, sms_rules
from service.store.database import Database
from service.store.migrations import migrate
from service.store.tables import ClockState
from service.telemetry.metrics import Metrics
from service.telemetry.requests import RequestLog
from service.usecases.diagnosing.warm_up import warm_up
from service.usecases.hearing.move_clock import first_time
from service.usecases.rows.danger_journal import DangerJournal
from service.usecases.rows.services import Gateway, Services

__all__ = ["clock_for", "create_app"]


def create_app(
    settings: Settings, clock: Clock | None = None, gateway: Gateway | None = None
) -> FastAPI:
    """The application; nothing listens or runs before its lifespan begins."""
    db = Database(settings.database)
    services = Services(
        db=db,
        clock=clock or clock_for(settings, db),
        settings=settings,
        gateway=gateway or make_gateway(settings),
        sms=sms_rules(),
        journal=DangerJournal(settings.state / "dangers.jsonl"),
    )
    app = FastAPI(
        title="Endswitch",
        version="1",
        summary="Heating complaints in, diagnosed tickets out.",
        lifespan=_lifespan,
        docs_url=None,
        redoc_url=None,
    )
    app.state.services = services
    app.state.metrics = Metrics()
    app.include_router(make_api())
    app.include_router(make_pages())
    add_problem_handlers(app, page_for)
    # The last one added is the outermost.
    app.add_middleware(LimitsAndLastResort, page=page_for)
    app.add_middleware(RefuseForgedRequests, own_hosts=_own_hosts(settings))
    # A truck's page and its worksheet come over poor links.
    app.add_middleware(GZipMiddleware, minimum_size=800, compresslevel=6)
    app.add_middleware(SecurityHeaders)
    app.add_middleware(RequestLog, metrics=app.state.metrics)
    return app


def clock_for(settings: Settings, db: Database) -> Clock:
    """The clock the settings ask for; a manual one goes on where it stood."""
    if settings.clock == "system":
        return SystemClock()
    settings.state.mkdir(parents=True, exist_ok=True)
    migrate(db.engine)
    with db.transaction() as session:
        start = first_time(session, settings.clock_start, SystemClock().now())
        if session.get(ClockState, 1) is None:
            session.add(ClockState(id=1, now=start))
    return ManualClock(start)


@asynccontextmanager
async def _lifespan(app: FastAPI) -> AsyncIterator[None]:
    """Bring the schema up to date, open the SMTP door, start the jobs; and the same backwards."""
    services: Services = app.state.services
    settings = services.settings
    settings.state.mkdir(parents=True, exist_ok=True)
    await run_in_threadpool(migrate, services.db.engine)
    await run_in_threadpool(warm_up)
    jobs = jobs_for(services)
    intake = Intake(
        address=settings.intake_address,
        store=mail_store(services, app.state.metrics),
        wake=jobs.wake,
        host=settings.host,
        port=settings.smtp_port,
    )
    app.state.jobs, app.state.intake = jobs, intake
    await run_in_threadpool(intake.start)
    jobs.start()
    try:
        yield
    finally:
        await run_in_threadpool(intake.stop)
        await run_in_threadpool(jobs.stop)
        services.db.close()


def _own_hosts(settings: Settings) -> tuple[str, ...]:
    return (urlsplit(settings.public_url).netloc,) if settings.public_url else ()

"""Which functions are woken: inbox, timers, outbox in this order of urgency, and a housekeeper."""

from __future__ import annotations

from datetime import datetime

from service.jobs.memory import memory_keeper
from service.jobs.scheduler import INBOX, Jobs
from service.usecases.hearing.fire_timers import fire_timers
from service.usecases.hearing.process_inbox import process_pending
from service.usecases.rows.services import Services
from service.usecases.sending.send_outbox import send_outbox

__all__ = ["jobs_for"]


def jobs_for(services: Services, interval_seconds: float = 1.0) -> Jobs:
    """The scheduler for one application; start and stop it with the application."""

    def work_inbox(now: datetime) -> None:
        process_pending(services, now)
        send_outbox(services, now)  # whoever wrote is waiting for the answer

    def work_timers(now: datetime) -> None:
        fire_timers(services, now)

    def work_outbox(now: datetime) -> None:
        send_outbox(services, now)

    work = {
        INBOX: work_inbox,
        "timers": work_timers,
        "outbox": work_outbox,
        "memory": memory_keeper(),
    }
    return Jobs(work, services.clock, interval_seconds)

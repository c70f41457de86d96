"""Wakes plain functions once a second, and the inbox at once when a text has arrived.

Theory of operation: everything that must happen at a time is a row in the database; the scheduler
only looks. So nothing is lost when it is late, and it keeps no jobs of its own. No function runs
twice at the same time; one that fails is logged and woken again a second later. Each function is
given the service's time, which is not the machine's when the clock is moved by hand.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Mapping
from datetime import UTC, datetime

import structlog
from apscheduler.executors.pool import ThreadPoolExecutor
from apscheduler.schedulers.background import BackgroundScheduler

from service.clock import Clock, SystemClock
from service.errors import TryLaterError
from service.telemetry.logs import where

__all__ = ["INBOX", "Jobs", "Work"]

Work = Callable[[datetime], object]
INBOX = "inbox"  # the name of the work that ``wake`` runs
_log = structlog.get_logger("endswitch.jobs")


class _Job:
    """One function, never run by two threads at once."""

    def __init__(self, name: str, work: Work, clock: Clock) -> None:
        self._name = name
        self._work = work
        self._clock = clock
        self._running = threading.Lock()
        self._done_at = time.monotonic()

    def run(self) -> None:
        """Run the work; a failure is a log line."""
        with self._running:
            try:
                self._work(self._clock.now())
            except TryLaterError as error:
                # Somebody is at it for long, such as whoever moves the clock by hours.
                _log.warning("job_waits", job=self._name, error=where(error))
            except Exception as error:  # noqa: BLE001 - the next tick tries again
                _log.error("job_failed", job=self._name, error=where(error))
            self._done_at = time.monotonic()

    @property
    def age_seconds(self) -> float:
        """How long ago the work last ended."""
        return time.monotonic() - self._done_at


class Jobs:
    """The scheduler of one application."""

    def __init__(
        self, work: Mapping[str, Work], clock: Clock, interval_seconds: float = 1.0
    ) -> None:
        """Prepare to run each piece of work every ``interval_seconds``."""
        self._jobs = {name: _Job(name, function, clock) for name, function in work.items()}
        self._interval_seconds = interval_seconds
        self._scheduler = BackgroundScheduler(
            timezone=UTC,
            executors={"default": ThreadPoolExecutor(len(self._jobs))},
            job_defaults={"coalesce": True, "max_instances": 1, "misfire_grace_time": None},
        )
        # A thread of our own waits for texts: the scheduler may not be given work while it stops.
        self._woken = threading.Event()
        self._stopping = threading.Event()
        self._waker = threading.Thread(target=self._wait_for_texts, name="endswitch-inbox")

    def start(self) -> None:
        """Begin; the first run of everything is at once, to catch up."""
        for name, job in self._jobs.items():
            self._scheduler.add_job(
                job.run,
                "interval",
                seconds=self._interval_seconds,
                id=name,
                next_run_time=SystemClock().now(),  # the scheduler itself lives in real time
            )
        self._scheduler.start()
        self._waker.start()

    def stop(self) -> None:
        """Let what runs come to its end, then stop. Safe to call twice."""
        self._stopping.set()
        self._woken.set()
        if self._waker.is_alive():
            self._waker.join()
        if self._scheduler.running:
            self._scheduler.shutdown(wait=True)

    def wake(self) -> None:
        """Work the inbox off now; any number of calls before it starts are one."""
        self._woken.set()

    def _wait_for_texts(self) -> None:
        while True:
            self._woken.wait()
            self._woken.clear()
            if self._stopping.is_set():
                return
            if INBOX in self._jobs:
                self._jobs[INBOX].run()

    @property
    def heartbeat_age_seconds(self) -> float:
        """How long ago the work that is furthest behind last ended."""
        return max((job.age_seconds for job in self._jobs.values()), default=0.0)

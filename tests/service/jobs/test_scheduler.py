"""The scheduler wakes functions, survives their failures and leaves nothing behind."""

from __future__ import annotations

import threading
from datetime import UTC, datetime

from service.clock import ManualClock
from service.jobs.scheduler import INBOX, Jobs

NOW = datetime(2026, 1, 10, 1, 0, tzinfo=UTC)
PATIENCE_SECONDS = 10  # only reached when something is broken


def test_everything_runs_at_once_and_again_with_the_services_time() -> None:
    """The first run comes with the start, later ones with the interval, at the service's now."""
    seen: list[datetime] = []
    thrice = threading.Event()

    def work(now: datetime) -> None:
        seen.append(now)
        if len(seen) == 3:
            thrice.set()

    jobs = Jobs({"timers": work}, ManualClock(NOW), interval_seconds=0.05)
    jobs.start()
    try:
        assert thrice.wait(PATIENCE_SECONDS)
    finally:
        jobs.stop()
    assert set(seen) == {NOW}
    assert jobs.heartbeat_age_seconds < PATIENCE_SECONDS


def test_a_woken_inbox_does_not_wait_for_its_interval() -> None:
    """With an interval of an hour, waking works the inbox off now."""
    ran = threading.Semaphore(0)
    jobs = Jobs({INBOX: lambda _now: ran.release()}, ManualClock(NOW), interval_seconds=3600)
    jobs.start()
    try:
        assert ran.acquire(timeout=PATIENCE_SECONDS)  # the run at start
        jobs.wake()
        assert ran.acquire(timeout=PATIENCE_SECONDS)
    finally:
        jobs.stop()


def test_a_text_that_arrives_while_the_inbox_is_worked_off_is_not_forgotten() -> None:
    """Waking during a run leads to one more run, never to two at once."""
    started, may_go = threading.Semaphore(0), threading.Semaphore(0)
    inside, most = 0, 0

    def work(_now: datetime) -> None:
        nonlocal inside, most
        inside += 1
        most = max(most, inside)
        started.release()
        may_go.acquire(timeout=PATIENCE_SECONDS)
        inside -= 1

    jobs = Jobs({INBOX: work}, ManualClock(NOW), interval_seconds=3600)
    jobs.start()
    try:
        assert started.acquire(timeout=PATIENCE_SECONDS)
        for _ in range(5):
            jobs.wake()
        may_go.release()
        assert started.acquire(timeout=PATIENCE_SECONDS)
        for _ in range(10):
            may_go.release()
    finally:
        jobs.stop()
    assert most == 1


def test_one_failing_function_stops_neither_itself_nor_the_others() -> None:
    """A failure is a log line; the next tick runs everything again."""
    failed, worked = threading.Semaphore(0), threading.Semaphore(0)

    def failing(_now: datetime) -> None:
        failed.release()
        raise RuntimeError("broken on purpose")

    work = {"timers": failing, "outbox": lambda _now: worked.release()}
    jobs = Jobs(work, ManualClock(NOW), interval_seconds=0.05)
    jobs.start()
    try:
        for _ in range(2):
            assert failed.acquire(timeout=PATIENCE_SECONDS)
            assert worked.acquire(timeout=PATIENCE_SECONDS)
    finally:
        jobs.stop()


def test_stopping_waits_for_the_work_and_leaves_no_thread() -> None:
    """What runs comes to its end; afterwards waking and stopping again do nothing."""
    before = set(threading.enumerate())
    started, may_go, ended = threading.Event(), threading.Event(), threading.Event()

    def work(_now: datetime) -> None:
        started.set()
        may_go.wait(PATIENCE_SECONDS)
        ended.set()

    jobs = Jobs({INBOX: work}, ManualClock(NOW), interval_seconds=3600)
    jobs.start()
    assert started.wait(PATIENCE_SECONDS)
    stopping = threading.Thread(target=jobs.stop)
    stopping.start()
    may_go.set()
    stopping.join(PATIENCE_SECONDS)
    assert ended.is_set()
    assert set(threading.enumerate()) <= before
    jobs.wake()
    jobs.stop()


def test_the_heartbeat_grows_while_one_function_hangs() -> None:
    """Health looks at the work that is furthest behind, not at the busiest."""
    hangs, may_go, others = threading.Event(), threading.Event(), threading.Semaphore(0)

    def hanging(_now: datetime) -> None:
        hangs.set()
        may_go.wait(PATIENCE_SECONDS)

    work = {"timers": hanging, "outbox": lambda _now: others.release()}
    jobs = Jobs(work, ManualClock(NOW), interval_seconds=0.05)
    jobs.start()
    try:
        assert hangs.wait(PATIENCE_SECONDS)
        for _ in range(4):
            assert others.acquire(timeout=PATIENCE_SECONDS)
        assert jobs.heartbeat_age_seconds >= 0.1  # at least two intervals passed between four runs
    finally:
        may_go.set()
        jobs.stop()

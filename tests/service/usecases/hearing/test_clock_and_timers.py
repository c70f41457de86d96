"""The manual clock, and timers on its way."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

from sqlalchemy import select
from whole_service import (
    EVENING,
    KeepingGateway,
    Running,
    running,
    settings_for,
    spoil_conversation,
)

from service.clock import ManualClock, SystemClock
from service.settings import Settings
from service.store.tables import TimerRow
from service.usecases.hearing.fire_timers import fire_timers

ZONE = "America/New_York"
STRANGER = "+12125550150"  # is always asked where it lives


def test_the_clock_is_read_and_moved(empty: Running) -> None:
    """It shows where it was put."""
    to = EVENING + timedelta(hours=3)

    assert empty.get("/api/v1/clock", "owner") == {"now": EVENING.isoformat()}
    assert empty.move(to) == []
    assert empty.get("/api/v1/clock", "owner") == {"now": to.isoformat()}


def test_the_clock_does_not_go_back(empty: Running) -> None:
    """A move into the past is a conflict."""
    past = (EVENING - timedelta(seconds=1)).isoformat()

    answer = empty.call("PUT", "/api/v1/clock", "owner", json={"now": past})

    assert answer.status_code == 409
    assert answer.headers["content-type"] == "application/problem+json"


def test_with_the_system_clock_there_is_nothing_to_move(
    tmp_path: Path, gateway: KeepingGateway
) -> None:
    """Both calls answer 404, whatever is sent."""
    settings = Settings(state=tmp_path, smtp_port=0)
    with running(settings, SystemClock(), gateway) as service:
        assert service.call("GET", "/api/v1/clock", "owner").status_code == 404
        answer = service.call("PUT", "/api/v1/clock", "owner", json={"now": EVENING.isoformat()})
        assert answer.status_code == 404


def test_the_clock_stands_where_it_stood_after_a_restart(
    tmp_path: Path, gateway: KeepingGateway
) -> None:
    """The time of a manual clock is kept with the data."""
    settings = settings_for(tmp_path)
    to = EVENING + timedelta(days=2)
    with running(settings, ManualClock(EVENING), gateway) as service:
        service.move(to)

    with running(settings, None, gateway) as service:
        assert service.services.now() == to


def test_an_unanswered_question_is_put_once_more(service: Running) -> None:
    """One reminder after 45 minutes, none after that."""
    first = service.text(STRANGER, "too cold in here")
    topic = first["replies"][-1]["asks"]["topic"]

    before = service.wait(minutes=44)
    at = service.wait(minutes=2)
    later = service.wait(days=2)

    assert before == []
    assert [t["asks"]["topic"] for t in at] == [topic]
    assert later == []


def test_the_clock_stops_at_every_timer_on_the_way(service: Running) -> None:
    """A reminder found on a long way is sent at its own time, not at the end."""
    service.text(STRANGER, "too cold in here")

    (reminder,) = service.wait(hours=1, minutes=30)

    assert datetime.fromisoformat(reminder["send_at"]) == EVENING + timedelta(minutes=45)


def test_timers_fire_once_after_a_standstill(service: Running) -> None:
    """A timer long due when the service comes back fires, and only once."""
    service.text(STRANGER, "too cold in here")
    late = EVENING + timedelta(hours=2, minutes=30)

    fired = fire_timers(service.services, late)
    again = fire_timers(service.services, late)

    assert fired == 2  # the reminder, and the end of the conversation
    assert again == 0
    with service.services.db.reading() as session:
        assert session.scalars(select(TimerRow.id).where(TimerRow.done_at.is_(None))).all() == []


def test_a_timer_that_always_fails_is_given_up(service: Running) -> None:
    """Three attempts, a minute apart; then the desk is told about which ticket, and others go on."""
    ticket = service.text(STRANGER, "too cold in here")["ticket"]
    spoil_conversation(service, STRANGER)
    due = EVENING + timedelta(minutes=45)

    fired = [fire_timers(service.services, due + timedelta(minutes=n)) for n in range(5)]

    assert fired == [1, 1, 1, 0, 0]
    with service.services.db.reading() as session:
        done = session.scalars(select(TimerRow).where(TimerRow.purpose == "remind")).one()
        assert done.done_at == due + timedelta(minutes=2)
    alerts = service.get("/api/v1/alerts?state=open", "desk")
    assert [a["ticket"] for a in alerts if a["what"] == "what was due was not done"] == [ticket]


def test_a_reminder_at_night_waits_for_the_morning(service: Running) -> None:
    """What would go out at 9:30 pm goes out at 8 am; the answer to a text at 8:45 pm at once."""
    service.move(EVENING + timedelta(hours=1, minutes=45))
    first = service.text(STRANGER, "too cold in here")
    assert first["replies"][-1]["send_at"] == service.services.now().isoformat()

    sent = service.wait(hours=14)

    assert [t["send_at"] for t in sent] == ["2026-01-10T13:00:00+00:00"]


def test_utc_is_kept_in_answers(empty: Running) -> None:
    """Times carry their offset."""
    found = datetime.fromisoformat(empty.get("/api/v1/clock", "owner")["now"])

    assert found.tzinfo is not None
    assert found.astimezone(UTC) == EVENING

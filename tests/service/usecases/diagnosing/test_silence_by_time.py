"""Open tickets are looked at again when time alone has made silence tell something."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select
from whole_service import (
    BUILDING,
    EVENING,
    KeepingGateway,
    Running,
    fill,
    household_rows,
    mobile,
    running,
    settings_for,
)

from rules.model import ApartmentId, Evidence, Kind, Reported
from service.clock import ManualClock
from service.store.tables import OutboxMessage, TicketEvent, TimerRow
from service.usecases.diagnosing.listen_on import LISTEN, looks_after, only_last_looks

ZONE = "America/New_York"
REPORT = Evidence("m", EVENING, Reported(ApartmentId("1A"), frozenset({Kind.TOO_COLD})))


def ticket(service: Running, ticket_id: str) -> dict[str, Any]:
    """The ticket as the desk sees it."""
    found: dict[str, Any] = service.get(f"/api/v1/tickets/{ticket_id}", "desk")
    return found


def shared_part(shown: dict[str, Any], home: str) -> float:
    """The share of suspects that are not one home's own."""
    return sum(s["probability"] for s in shown["suspects"] if not s["component"].startswith(home))


def looks(service: Running) -> list[TimerRow]:
    """The timers of this kind."""
    with service.services.db.reading() as session:
        rows = list(session.scalars(select(TimerRow).where(TimerRow.purpose == LISTEN)))
        session.expunge_all()
    return rows


def test_silence_alone_moves_the_ticket_from_the_shared_to_the_own(service: Running) -> None:
    """One home is cold and nobody else writes all night: it is less and less the boiler."""
    told = service.text(mobile("3A"), "no heat since this afternoon, 62 in here")["ticket"]

    shares = [shared_part(ticket(service, told), "3A")]
    for hours in (1, 2, 5):
        service.wait(hours=hours)
        shares.append(shared_part(ticket(service, told), "3A"))

    assert shares == sorted(shares, reverse=True)
    assert shares[-1] < shares[0] / 2


def test_looking_again_says_nothing_to_anybody_and_leaves_history_alone(service: Running) -> None:
    """Two days pass: no text beside the one reminder, no line of history but that of the talk."""
    told = service.text(mobile("3A"), "no heat since this afternoon, 62 in here")["ticket"]
    with service.services.db.reading() as session:
        before = len(session.scalars(select(OutboxMessage.id)).all())

    sent = service.wait(days=2)

    assert len(sent) == 1
    with service.services.db.reading() as session:
        assert len(session.scalars(select(OutboxMessage.id)).all()) == before + 1
        events = session.scalars(
            select(TicketEvent.what).where(TicketEvent.ticket_id == told).order_by(TicketEvent.id)
        ).all()
    assert events == ["opened", "joined", "person"]


def test_the_round_ends_and_new_evidence_begins_it_anew(service: Running) -> None:
    """One row a building: used up when silence has told what it can, set again by what comes in."""
    service.text(mobile("3A"), "no heat, 62 in here")
    service.wait(days=2)
    (row,) = looks(service)
    assert row.done_at is not None

    service.text(mobile("4A"), "no heat since this morning, 58 in here")

    (again,) = looks(service)
    assert (again.id, again.done_at) == (row.id, None)
    assert again.due_at == service.services.now() + timedelta(hours=1)


def test_where_nobody_is_left_who_could_write_nothing_is_looked_at(service: Running) -> None:
    """The only household of the list has written: silence of strangers tells nothing."""
    rows = [row for row in household_rows() if row["apartment"] == "3A"]
    path = f"/api/v1/buildings/{BUILDING}/households"
    assert service.call("PUT", path, "owner", json=rows).status_code == 200

    service.text(mobile("3A"), "no heat, 62 in here")

    assert looks(service) == []


def test_a_closed_ticket_is_not_looked_at(service: Running) -> None:
    """The repair is done within the hour: nothing is due for the building any more."""
    told = service.text(mobile("3A"), "no heat, 62 in here")["ticket"]

    service.close(told)

    assert [row.done_at for row in looks(service)] == [service.services.now()]


@pytest.mark.parametrize(
    ("minutes_on", "due"),
    [
        # 7 pm; a household that is cold writes within hours or next morning (common practice, no
        # source).
        (0, timedelta(hours=1)),
        (60, timedelta(hours=3)),
        (181, timedelta(hours=8)),
    ],
)
def test_it_is_looked_at_ever_more_rarely(minutes_on: int, due: timedelta) -> None:
    """After one, three and eight hours."""
    now = EVENING + timedelta(minutes=minutes_on)

    assert looks_after([REPORT], now, ZONE, BUILDING)[0] == EVENING + due


def test_the_last_look_is_next_morning_and_not_of_all_buildings_at_once() -> None:
    """Eighty buildings are spread over the hour after nine, by the clock of the house."""
    now = EVENING + timedelta(hours=9)
    nine = datetime(2026, 1, 10, 14, tzinfo=UTC)  # 9 am in New York

    looks = [looks_after([REPORT], now, ZONE, f"house-{n}") for n in range(80)]
    due = [at for (at,) in looks]

    assert all(nine <= at < nine + timedelta(hours=1) for at in due)
    assert max(due.count(at) for at in due) <= 6
    assert looks_after([REPORT], nine + timedelta(hours=1), ZONE, "house-1") == []


@pytest.mark.parametrize(("hours", "due"), [(0.5, 1), (1, 1), (2.9, 1), (3, 3), (12, 8), (40, 14)])
def test_of_several_looks_in_one_go_only_the_last_is_taken(
    service: Running, hours: float, due: int
) -> None:
    """What an hour of silence said is contained in what three, eight, and a night say."""
    service.text(mobile("3A"), "no heat since this afternoon, 62 in here")
    (before,) = looks(service)
    written = before.due_at - timedelta(hours=1)

    with service.services.db.transaction() as session:
        only_last_looks(session, written + timedelta(hours=hours))

    (row,) = looks(service)
    late = row.due_at - written - timedelta(hours=due)
    assert timedelta() <= late < timedelta(hours=1 if due == 14 else 0, minutes=1)


def test_one_long_wait_ends_where_many_short_ones_do(service: Running, tmp_path: Path) -> None:
    """Nine hours in one go or in nine: the ticket says the same."""
    with running(settings_for(tmp_path / "b"), ManualClock(EVENING), KeepingGateway()) as other:
        fill(other)
        shown = []
        for each, steps in ((service, 9), (other, 1)):
            told = each.text(mobile("3A"), "no heat since this afternoon, 62 in here")["ticket"]
            for _ in range(steps):
                each.wait(hours=9 / steps)
            shown.append([(s["fault"], s["probability"]) for s in ticket(each, told)["suspects"]])

    assert shown[0] == shown[1]

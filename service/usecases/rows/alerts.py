"""What a person at the desk must see: raised, listed, acknowledged; a danger is raised again.

An alert is a row. A danger that nobody has acknowledged within ten minutes is raised again as a new
row, by a timer of its own, until somebody acknowledges any row of the series.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import func, or_, select, update
from sqlalchemy.orm import Session

from service.auth.who import Who
from service.errors import InvalidError, NotFoundError, PointedError
from service.store.tables import Alert, Complaint, InboxMessage, TimerRow
from service.usecases.rows.alert_places import places_of
from service.usecases.rows.audit import note_act
from service.usecases.rows.ids import reference
from service.usecases.rows.ticket_rows import record_event
from service.usecases.rows.views import AlertLine

__all__ = [
    "DANGER",
    "acknowledge",
    "alert_json",
    "list_alerts",
    "open_alerts",
    "raise_again",
    "raise_alert",
    "raise_once",
    "settle_dangers",
]

DANGER = "danger: "  # how the words of such an alert begin
AGAIN = "alert"  # the purpose of the timer
# Common practice, no source: often while somebody may still be in there, then so that it is not lost.
OFTEN, OFTEN_FOR = timedelta(minutes=10), timedelta(hours=2)
HOURLY, HOURLY_FOR = timedelta(hours=1), timedelta(days=1)
DAILY = timedelta(days=1)
MOST_LISTED = 500


@dataclass(frozen=True, slots=True)
class _About:
    """What an alert is about, as far as whoever raises it knows."""

    message_id: str | None
    complaint_id: str | None
    ticket_id: str | None


def raise_alert(
    session: Session,
    now: datetime,
    what: str,
    message_id: str | None = None,
    *,
    complaint_id: str | None = None,
    ticket_id: str | None = None,
) -> Alert:
    """A new alert; a danger also sets the timer that raises it again.

    It is about what its text is about, or, where no text raised it, a complaint or a ticket.
    """
    about = _About(message_id, complaint_id, ticket_id)
    return _raise(session, now, what, about, first=None)


def raise_once(session: Session, now: datetime, what: str, within: timedelta) -> None:
    """The same for something that goes on: not again for a while."""
    query = select(func.count()).where(Alert.what == what, Alert.at > now - within)
    if not session.scalar(query):
        raise_alert(session, now, what)


def raise_again(session: Session, now: datetime, timer: TimerRow) -> None:
    """The timer is due: raise the danger again if nobody has acknowledged it."""
    alert = session.get(Alert, timer.body["alert"])
    if alert is None or alert.acknowledged_at is not None:
        return
    first = session.get_one(Alert, alert.first_id or alert.id)
    about = _About(alert.message_id, alert.complaint_id, alert.ticket_id)
    _raise(session, now, alert.what, about, first=first)


def acknowledge(session: Session, now: datetime, who: Who, alert_id: int) -> Alert:
    """Somebody at the desk has seen it: it and its whole series; the second time changes nothing.

    Raises:
        NotFoundError: there is no such alert.
    """
    alert = session.get(Alert, alert_id)
    if alert is None:
        raise NotFoundError("there is no such alert")
    if alert.acknowledged_at is not None:
        return alert
    first = alert.first_id or alert.id
    session.execute(
        update(Alert)
        .where(or_(Alert.id == first, Alert.first_id == first), Alert.acknowledged_at.is_(None))
        .values(acknowledged_at=now)
    )
    ticket_id = places_of(session, [alert])[alert.id].ticket
    if ticket_id is not None:
        record_event(session, now, ticket_id, "acknowledged", {"what": alert.what})
    note_act(session, now, who, "alert acknowledged", f"alert:{alert.id}", {})
    session.refresh(alert)
    return alert


def settle_dangers(
    session: Session, now: datetime, ticket_id: str, complaints: Iterable[Complaint]
) -> None:
    """Somebody has ended the dangers of a ticket: nobody has to acknowledge them any more."""
    ids = [complaint.id for complaint in complaints]
    messages = select(InboxMessage.id).where(InboxMessage.complaint_id.in_(ids))
    about = (
        Alert.ticket_id == ticket_id,
        Alert.complaint_id.in_(ids),
        Alert.message_id.in_(messages),
    )
    session.execute(
        update(Alert)
        .where(or_(*about), Alert.what.startswith(DANGER), Alert.acknowledged_at.is_(None))
        .values(acknowledged_at=now)
    )


def list_alerts(session: Session, state: str | None) -> list[dict[str, Any]]:
    """Alerts as JSON: what is not acknowledged first, dangers before others, then the newest.

    Raises:
        InvalidError: ``state`` is neither open nor acknowledged.
    """
    query = select(Alert)
    if state == "open":
        query = query.where(Alert.acknowledged_at.is_(None))
    elif state == "acknowledged":
        query = query.where(Alert.acknowledged_at.is_not(None))
    elif state is not None:
        wrong = PointedError("/state", "is either open or acknowledged")
        raise InvalidError("unknown state", (wrong,))
    alerts = session.scalars(_sorted(query)).all()
    places = places_of(session, alerts)
    return [_json(alert, places[alert.id].ticket) for alert in alerts]


def open_alerts(session: Session) -> tuple[AlertLine, ...]:
    """What the desk still has to acknowledge, one line a series."""
    rows = session.scalars(_sorted(select(Alert).where(Alert.acknowledged_at.is_(None)))).all()
    series: dict[int, Alert] = {}
    for alert in rows:
        series.setdefault(alert.first_id or alert.id, alert)
    raised = session.execute(select(Alert.id, Alert.at).where(Alert.id.in_(series)))
    since = {row.id: row.at for row in raised}
    places = places_of(session, series.values())
    return tuple(
        AlertLine(
            alert=alert.id,
            what=alert.what,
            danger=alert.what.startswith(DANGER),
            at=alert.at,
            since=since[first],
            ticket=places[alert.id].ticket,
            reference=reference(str(places[alert.id].ticket)) if places[alert.id].ticket else "",
            place=places[alert.id].words,
            apartment=places[alert.id].apartment,
            building_name=places[alert.id].building,
        )
        for first, alert in series.items()
    )


def alert_json(session: Session, alert: Alert) -> dict[str, Any]:
    """An alert in the form the API shows it."""
    return _json(alert, places_of(session, [alert])[alert.id].ticket)


def _json(alert: Alert, ticket_id: str | None) -> dict[str, Any]:
    found = alert.acknowledged_at
    return {
        "id": alert.id,
        "at": alert.at.isoformat(),
        "what": alert.what,
        "danger": alert.what.startswith(DANGER),
        "message": alert.message_id,
        "ticket": ticket_id,
        "raises_again": alert.first_id,
        "acknowledged_at": found.isoformat() if found else None,
    }


def _raise(
    session: Session, now: datetime, what: str, about: _About, *, first: Alert | None
) -> Alert:
    alert = Alert(
        at=now,
        what=what,
        message_id=about.message_id,
        complaint_id=about.complaint_id,
        ticket_id=about.ticket_id,
        first_id=first.id if first is not None else None,
    )
    session.add(alert)
    session.flush()
    if what.startswith(DANGER):
        age = now - first.at if first is not None else timedelta()
        session.add(
            TimerRow(
                purpose=AGAIN,
                key=f"{AGAIN}:{alert.id}",
                due_at=now + _pause(age),
                body={"alert": alert.id},
                attempts=0,
            )
        )
    return alert


def _pause(age: timedelta) -> timedelta:
    if age < OFTEN_FOR:
        return OFTEN
    return HOURLY if age < HOURLY_FOR else DAILY


def _sorted(query: Any) -> Any:
    order = (
        Alert.acknowledged_at.is_not(None),
        Alert.what.startswith(DANGER, autoescape=True).is_(False),
        Alert.at.desc(),
        Alert.id.desc(),
    )
    return query.order_by(*order).limit(MOST_LISTED)

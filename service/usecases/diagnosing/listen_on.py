"""When a building is looked at again though nothing came in, because silence tells something by then.

Theory of operation
-------------------
That neighbors have not written says little after ten minutes and much after a night. So after the
newest evidence of a building with open complaints it is diagnosed again a few times, ever more rarely,
while a suspect would be felt by homes that could have written and did not. One timer row a building is
used over and over: nothing piles up, and new evidence begins the round anew. What an hour of silence
says is contained in what three hours say: where time passes in one go, the last look of it is enough.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterable
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.diagnosis import Diagnosis
from rules.model import Evidence, Reported
from service.store.tables import TimerRow
from service.usecases.diagnosing.ask_rules import Asked

__all__ = ["LISTEN", "listen_on", "looks_after", "only_last_looks", "stop_listening"]

LISTEN = "listen"
# A household that is cold writes within hours or the morning after (common practice, no source).
AFTER = (timedelta(hours=1), timedelta(hours=3), timedelta(hours=8))
MORNING = time(9, 0)
MINUTES_APART = 60  # all buildings of a cold night are not looked at in one minute of the morning


def listen_on(session: Session, now: datetime, asked: Asked, diagnosis: Diagnosis | None) -> None:
    """Set the time at which a building that was diagnosed just now is diagnosed again, if any."""
    spoken = {e.fact.apartment for e in asked.evidence if isinstance(e.fact, Reported)}
    silent = {h.apartment for h in asked.households} - spoken
    suspects = [s for group in diagnosis.groups for s in group.suspects] if diagnosis else []
    tells = any(not silent.isdisjoint(suspect.reaches) for suspect in suspects)
    name, zone = str(asked.plant.id), asked.plant.timezone
    looks = looks_after(asked.evidence, now, zone, name) if tells else []
    if not looks:
        stop_listening(session, now, name)
        return
    due, body = looks[0], {"building": name, "looks": [at.isoformat() for at in looks]}
    row = _row(session, name)
    if row is None:
        session.add(TimerRow(purpose=LISTEN, key=_key(name), due_at=due, body=body, attempts=0))
    elif row.due_at != due or row.body != body or row.done_at is not None:
        row.due_at, row.body = due, body
        row.done_at, row.claimed_at, row.attempts = None, None, 0


def only_last_looks(session: Session, to: datetime) -> None:
    """Time goes on to ``to`` in one go: of a building's looks until then only the last is taken."""
    rows = session.scalars(
        select(TimerRow).where(
            TimerRow.purpose == LISTEN, TimerRow.done_at.is_(None), TimerRow.due_at <= to
        )
    )
    for row in rows:
        looks = (datetime.fromisoformat(at) for at in row.body.get("looks", ()))
        last = max((at for at in looks if at <= to), default=row.due_at)
        row.due_at = max(row.due_at, last)


def stop_listening(session: Session, now: datetime, building_id: str) -> None:
    """Nothing is open there any more, or nobody is left whose silence would tell anything."""
    row = _row(session, building_id)
    if row is not None and row.done_at is None:
        row.done_at = now


def looks_after(
    evidence: Iterable[Evidence], now: datetime, timezone: str, building_id: str
) -> list[datetime]:
    """The moments after ``now`` at which silence since the newest evidence says more, in order."""
    newest = max((e.at for e in evidence), default=None)
    if newest is None:
        return []
    looks = {*(newest + after for after in AFTER), _morning_after(newest, timezone, building_id)}
    return sorted(at for at in looks if at > now)


def _morning_after(at: datetime, timezone: str, building_id: str) -> datetime:
    zone = ZoneInfo(timezone)
    day = at.astimezone(zone).date() + timedelta(days=1)
    own = timedelta(minutes=zlib.crc32(building_id.encode()) % MINUTES_APART)
    return datetime.combine(day, MORNING, tzinfo=zone).astimezone(at.tzinfo) + own


def _row(session: Session, building_id: str) -> TimerRow | None:
    return session.scalar(select(TimerRow).where(TimerRow.key == _key(building_id)))


def _key(building_id: str) -> str:
    return f"{LISTEN}:{building_id}"

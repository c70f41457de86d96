"""What somebody sends from an apartment's page: stored as an inbound text, then heard like one."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from rules.asking.danger_meant import danger_meant
from rules.model import Kind
from rules.reading import danger_in
from service.errors import EndswitchError
from service.store.tables import InboxMessage
from service.usecases.hearing.danger_unstored import warn_unstored
from service.usecases.hearing.process_inbox import process_message, process_pending, tell_danger
from service.usecases.hearing.receive_text import Inbound, Stored, store_text
from service.usecases.hearing.web_doors import Door, key_hash
from service.usecases.hearing.web_speaker import prepare_conversation, speaker_of
from service.usecases.loading.page_names import VIA_PAGE, page_name
from service.usecases.rows.complaint_rows import find_complaint
from service.usecases.rows.services import Services

__all__ = [
    "Said",
    "Sent",
    "TooManyError",
    "dangers_here",
    "dangers_in",
    "finish",
    "keep_for_later",
    "say_on_page",
]

# Common practice, no source: nobody fills in more forms than this in earnest. What speaks of danger
# gets through for longer.
MOST = 10
MOST_WITH_DANGER = 30
WITHIN = timedelta(minutes=10)


class TooManyError(EndswitchError):
    """More than anybody sends in earnest; nothing was stored."""

    code = "too_many"
    status = 429


@dataclass(frozen=True, slots=True)
class Said:
    """One filled-in form: the text it stands for, and the fields as they came."""

    once: str  # made with the form, so that sending it again is not saying it again
    text: str
    language: str
    fields: Mapping[str, object]


@dataclass(frozen=True, slots=True)
class Sent:
    """What became of it."""

    message_id: str
    duplicate: bool
    dangers: tuple[str, ...]


def dangers_in(text: str) -> tuple[str, ...]:
    """The dangers a text speaks of; needs nothing but a table of words."""
    return danger_in(text)


def dangers_here(services: Services, door: Door, text: str) -> tuple[str, ...]:
    """The dangers a text speaks of, by itself or with what the home has reported."""
    told = danger_in(text)
    if told:
        return told  # needs no database
    with services.db.reading() as session:
        complaint = find_complaint(session, page_name(door.home), door.home)
        kinds = [Kind(kind) for kind in complaint.kinds] if complaint is not None else []
    return danger_meant(text, kinds)


def say_on_page(services: Services, now: datetime, door: Door, said: Said) -> Sent:
    """Store what was sent, then hear it; with danger, only the alarm is given before returning.

    Raises:
        TooManyError: this home has sent more than people do.
    """
    dangers = danger_in(said.text)
    with services.db.transaction() as session:
        stored = _store(session, now, door, said, most=MOST_WITH_DANGER if dangers else MOST)
    sent = Sent(stored.message_id, stored.duplicate, dangers)
    if dangers:
        tell_danger(services, now, sent.message_id)
    else:
        finish(services, now, sent)
    return sent


def keep_for_later(services: Services, now: datetime, key: str, said: Said) -> None:
    """A danger told on a page while the database is down: stored, with its alert, once it is back."""
    warn_unstored(
        services,
        now,
        via=VIA_PAGE,
        sender_id=said.once,
        sender="",
        text=said.text,
        raw=_raw(said),
        door=key_hash(key),
    )


def finish(services: Services, now: datetime, sent: Sent) -> None:
    """Hear what was stored; whatever cannot be decided now is decided later by the jobs."""
    if not sent.duplicate:
        process_pending(services, now, before=sent.message_id)
    process_message(services, now, sent.message_id)


def _store(session: Session, now: datetime, door: Door, said: Said, *, most: int) -> Stored:
    prefix = f"{door.building}/{door.apartment}/"
    speaker = speaker_of(session, now, door.home)
    inbound = Inbound(
        sender_id=prefix + said.once,
        via=VIA_PAGE,
        from_number=speaker,
        raw=_raw(said),
        text=said.text,
    )
    stored = store_text(session, now, inbound)
    if stored.duplicate:
        return stored
    if _recent(session, now, prefix) > most:
        raise TooManyError("too much was sent from this page")  # rolls the row back
    prepare_conversation(session, now, speaker, door.home, said.language)
    return stored


def _raw(said: Said) -> bytes:
    return json.dumps(dict(said.fields), ensure_ascii=True, sort_keys=True).encode()


def _recent(session: Session, now: datetime, prefix: str) -> int:
    query = (
        select(func.count())
        .select_from(InboxMessage)
        .where(InboxMessage.via == VIA_PAGE, InboxMessage.received_at > now - WITHIN)
        .where(InboxMessage.sender_id.startswith(prefix, autoescape=True))
    )
    return session.scalar(query) or 0

"""One text while it is being worked on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from rules.asking.conversation import Conversation, Heard
from rules.diagnosis import Diagnosis
from rules.model import Kind, TopicId
from rules.reading import Answer, Reading
from service.store.tables import Closure, Complaint, InboxMessage, NumberRow
from service.usecases.desk.confirm_sender import Outcome
from service.usecases.loading.whose_phone import Home
from service.usecases.rows.when_said import Said

__all__ = ["Turn", "Warming"]


@dataclass(frozen=True, slots=True)
class Warming:
    """A home that waits for the warmth of a repair, and until when it should be there."""

    closure: Closure
    complaint: Complaint
    until: datetime


@dataclass(slots=True)
class Turn:
    """One text while it is being worked on."""

    session: Session
    now: datetime
    message: InboxMessage
    number: NumberRow
    conversation: Conversation
    reading: Reading
    event: Heard
    dangers: tuple[str, ...]
    plain: bool
    said: Said
    is_earlier: bool = False  # written before what its sender is asked now
    repaired_since: Complaint | None = (
        None  # its report, about which its sender is or will be asked
    )
    volunteered: tuple[Answer, ...] = ()  # what it answers unasked
    corrected: TopicId | None = None  # the topic of an earlier answer that it puts right
    opened: bool = False  # it has opened its report
    placed: bool = False  # its report has just got its home
    over_lately: bool = False  # it has none, but one was closed lately
    told_more: bool = False  # it told of its report what was not known
    new_kinds: frozenset[Kind] = frozenset()  # troubles it told that its report was not about
    place_told: bool = False  # it told a part of where an unknown phone lives
    street_unknown: bool = False  # it names a street that is none of our buildings
    asides: tuple[str, ...] = ()  # sentences that answer what it asks in passing
    silent: bool = False  # this number gets no more answers for now
    code: Outcome | None = None
    new_here: bool = False  # the report has just got a home that the phone is not on file for
    homes: tuple[Home, ...] = ()
    complaint: Complaint | None = None
    diagnosis: Diagnosis | None = None
    warming: Warming | None = None  # nothing but the time since a repair is to be waited for

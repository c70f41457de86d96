"""What pages show of acts, complaints and conversations, as frozen values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

__all__ = ["ActLine", "ComplaintLine", "ConversationLine", "ConversationView", "OtherTicket"]


@dataclass(frozen=True, slots=True)
class ActLine:
    """Something a person, or grouping, has done to a ticket."""

    act: int
    at: datetime
    who: str
    what: str  # in words: "Assigned to R. Moreno"
    can_undo: bool
    why_not: str = ""  # why it cannot be undone, in words
    undone_at: datetime | None = None
    undone_by: str | None = None
    automatic: bool = False  # a move of grouping; undoing it pins the complaints where they were
    undo_says: str = "Undo"  # what the button says: where undoing writes to people, that it does


@dataclass(frozen=True, slots=True)
class ComplaintLine:
    """One complaint of a ticket, as far as acts need it."""

    complaint: str
    apartment: str | None
    kinds: tuple[str, ...]
    opened_at: datetime
    pinned: bool = False
    confirmed: bool = True
    danger: bool = False
    taken_over_by: str | None = None


@dataclass(frozen=True, slots=True)
class OtherTicket:
    """Another open ticket of the same building, to merge with or to pin to."""

    ticket: str
    reference: str
    homes: tuple[str, ...]
    suspect: str | None  # the first suspect in words
    danger: bool = False  # it has a ticket of its own, to be seen and not to be merged


@dataclass(frozen=True, slots=True)
class ConversationLine:
    """One text, in the words and the language in which it was written."""

    at: datetime
    speaker: Literal["tenant", "machine", "person"]
    text: str
    language: str | None  # None: nobody can tell, as with a bare number
    name: str | None = None  # of the person who wrote; of a tenant's call, who wrote it down
    waits: bool = False  # written, not sent yet: ``at`` is when it goes out
    failed: bool = False  # it could not be delivered
    written_at: datetime | None = None  # of a text that came much later


@dataclass(frozen=True, slots=True)
class ConversationView:
    """What was said about one complaint, and what is waited for."""

    complaint: str
    apartment: str | None
    building_name: str
    timezone: str
    ticket: str | None
    reference: str
    lines: tuple[ConversationLine, ...]
    language: str
    state: str  # of the conversation: new, asking, waiting, told, person, stopped, closed, ...
    waiting_for: str | None  # the topic of the question that is out
    waiting_until: datetime | None
    taken_over_by: str | None
    is_open: bool  # whether the complaint is
    cannot_write: str = ""  # why nobody can write to the household, in words; empty: one can

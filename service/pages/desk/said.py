"""What the households of a ticket wrote, in their own words, short enough to read first."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from service.usecases.rows.act_views import ConversationView
from service.usecases.showing.open_desk import DeskTicket

__all__ = ["Said", "Words", "said_by_homes"]

LONGEST = 180
SHORTEST = 3  # letters: "1" and "ok" answer a question; they tell nothing by themselves
FEWEST_WORDS = 3  # of a later text, for the same reason: "normal", "all rooms"

CARE = {
    "child": "a child",
    "infant": "an infant",
    "medical": "somebody ill",
    "over65": "somebody over 65",
    "pregnant": "somebody pregnant",
}


@dataclass(frozen=True, slots=True)
class Words:
    """A text, cut where it is too long to be read at a glance."""

    text: str
    language: str | None


@dataclass(frozen=True, slots=True)
class Said:
    """One home: what it complains of, its room temperature where it told one, and its own words."""

    complaint: str
    apartment: str | None
    kinds: tuple[str, ...]
    room: str  # "59 F", or empty
    care: tuple[str, ...]  # who is more at risk there, in words
    lines: tuple[Words, ...]  # the first that tells something, and the newest other one
    undelivered: bool  # our last text to it did not arrive
    answered_at: datetime | None  # when our first answer went out, or will


def said_by_homes(page: DeskTicket) -> tuple[Said, ...]:
    """The homes of a ticket in the order of its conversations, those that were not reached first."""
    rooms = {m.apartment: m.detail for m in page.view.drawing.apartments if m.ticket is None}
    kinds = {line.complaint: line.kinds for line in page.view.complaints}
    found = [
        Said(
            complaint=talk.complaint,
            apartment=talk.apartment,
            kinds=kinds.get(talk.complaint, ()),
            room=rooms.get(talk.apartment or "", ""),
            care=tuple(CARE.get(one, one) for one in page.care.get(talk.complaint, ())),
            lines=_telling(talk),
            undelivered=_undelivered(talk),
            answered_at=next((x.at for x in talk.lines if x.speaker != "tenant"), None),
        )
        for talk in page.conversations
    ]
    return tuple(sorted(found, key=lambda said: not said.undelivered))


def _short(text: str) -> str:
    if len(text) <= LONGEST:
        return text
    return f"{text[:LONGEST].rsplit(' ', 1)[0]} …"


def _telling(talk: ConversationView) -> tuple[Words, ...]:
    theirs = [
        line
        for line in talk.lines
        if line.speaker == "tenant" and sum(c.isalpha() for c in line.text) >= SHORTEST
    ]
    later = [line for line in theirs[1:] if len(line.text.split()) >= FEWEST_WORDS]
    return tuple(Words(_short(line.text), line.language) for line in theirs[:1] + later[-1:])


def _undelivered(talk: ConversationView) -> bool:
    ours = [line for line in talk.lines if line.speaker != "tenant"]
    return bool(ours) and ours[-1].failed

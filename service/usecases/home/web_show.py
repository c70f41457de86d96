"""What an apartment's page shows: the question that is out, a check to do, or where things stand.

Everything is looked up when the page is opened; the conversation itself is led by ``rules.asking``,
the same one as by text. Nothing here tells who said what, or anything of other homes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.asking.asks import wording_of
from rules.asking.conversation import (
    READ_BACK,
    RIGHT_NOW,
    Conversation,
    Situation,
    State,
    taken_back,
)
from rules.asking.questions import Question, question, questions
from rules.asking.read_back import understood
from rules.model import Kind, TopicId
from rules.reading import read
from service.store.tables import Complaint, HomePhoto, InboxMessage, NumberRow, TimerRow
from service.usecases.desk.situation import situation_of
from service.usecases.hearing.web_doors import Door
from service.usecases.hearing.web_speaker import latest_complaint, speaker_of
from service.usecases.home.web_danger import danger_told_at
from service.usecases.loading.page_names import VIA_PAGE
from service.usecases.rows.complaint_rows import facts_of
from service.usecases.rows.facts import evidence_from
from service.usecases.sending.broadcast import news_for_home
from service.usecases.sending.due_words import due_words
from service.usecases.sending.talk import conversation_of

__all__ = [
    "AskView",
    "CheckView",
    "HomeView",
    "asks_for_change",
    "choice_text",
    "language_kept",
    "show_home",
]

Stage = Literal["start", "ask", "check", "stands", "pending"]


@dataclass(frozen=True, slots=True)
class AskView:
    """One question; a question without choices asks for a temperature."""

    topic: str
    sentence: str
    choices: tuple[tuple[str, str], ...]  # what is sent, what is shown
    again: bool


@dataclass(frozen=True, slots=True)
class CheckView:
    """Something to do at the thermostat, and when to come back."""

    topic: str
    down: bool
    pipe: bool
    time: str  # empty when the time is up


@dataclass(frozen=True, slots=True)
class HomeView:
    """One apartment's page."""

    stage: Stage
    is_open: bool = False
    just_told: bool = False
    reference: str = ""
    by: str = ""
    known: bool = False
    person: bool = False
    reachable: bool = False  # somebody left a number
    danger: tuple[str, ...] = ()
    alarmed: bool = False  # a danger was told and is still being read
    told: tuple[str, ...] = ()  # what we understood, most telling first
    undo: bool = False  # there is an answer that can be taken back
    photo: bool = False
    news: str = ""  # what the desk has told the building or the homes of the ticket
    ended: str = ""  # how the last report ended
    ask: AskView | None = None
    check: CheckView | None = None


def asks_for_change(topic: str, number: str) -> bool:
    """Whether an answer says that we understood something wrong."""
    means = [choice.means for choice in question(READ_BACK).choices]
    return topic == READ_BACK and number == str(means.index("change") + 1)


def choice_text(topic: str, number: str, language: str) -> str:
    """The text that picking a choice stands for: its number, with its words where they add nothing."""
    labels = dict(enumerate(question(topic).choices, start=1)) if number.isdecimal() else {}
    choice = labels.get(int(number or 0)) if labels else None
    if choice is None:
        return number
    full = f"{number} {choice.label.in_language(language)}"
    found = read(full, TopicId(topic))
    same = found.answer is not None and found.answer.means == choice.means
    return full if same and not found.kinds and not found.danger_kinds else number


def language_kept(session: Session, now: datetime, door: Door) -> str | None:
    """The language in which this page was last written to."""
    row = session.get(NumberRow, speaker_of(session, now, door.home))
    return row.language if row is not None else None


def show_home(session: Session, now: datetime, door: Door, language: str) -> HomeView:
    """The page as it stands now."""
    speaker = speaker_of(session, now, door.home)
    row = session.get(NumberRow, speaker)
    conversation = conversation_of(session, row) if row is not None else Conversation()
    conversation = replace(conversation, language=language, home=door.home)
    complaint = latest_complaint(session, now, door.home)
    opened = complaint if complaint is not None and complaint.closed_at is None else None
    view = _stands(session, now, conversation, opened, speaker)
    ticket_id = opened.ticket_id if opened is not None else None
    view = replace(view, news=news_for_home(session, now, door.building, ticket_id, language))
    if opened is None and complaint is not None:
        view = replace(view, ended=complaint.outcome or "")
    if view.stage == "pending":
        view = replace(view, alarmed=danger_told_at(session, now, door))
    return _with_question(session, now, door, conversation, view, speaker)


def _stands(
    session: Session,
    now: datetime,
    conversation: Conversation,
    complaint: Complaint | None,
    speaker: str,
) -> HomeView:
    """What is known of the home's report; the question that is out comes on top of it."""
    waiting = _last_state(session, speaker)
    view = HomeView(
        stage="pending" if waiting == "pending" else "start",
        person=conversation.state is State.PERSON or waiting == "set_aside",
    )
    if complaint is None:
        return view
    known = situation_of(session, now, conversation, complaint)
    return replace(
        view,
        stage="pending" if waiting == "pending" else "stands",
        is_open=True,
        just_told=conversation.state is State.TOLD,
        reference=known.reference,
        by=known.respond_by_text.rstrip("."),
        known=known.known_to_us,
        reachable=not complaint.number.startswith(VIA_PAGE),
        danger=tuple(str(d) for d in complaint.danger),
        told=_told(session, complaint, conversation.language),
        undo=bool(known.reference) and taken_back(conversation) is not None,
        photo=_has_photo(session, complaint),
    )


def _with_question(
    session: Session,
    now: datetime,
    door: Door,
    conversation: Conversation,
    view: HomeView,
    speaker: str,
) -> HomeView:
    topic = conversation.current
    if view.stage == "pending" or topic is None or topic not in questions():
        return view
    asked = question(topic)
    complaint = latest_complaint(session, now, door.home)
    known = situation_of(session, now, conversation, complaint)
    if known.leave_now:
        return view  # nobody is asked to touch a radiator in a home they must stay out of
    if conversation.state is State.REPAIRED and topic == RIGHT_NOW and complaint is not None:
        return replace(view, stage="ask", ask=_ask(asked, conversation, known))
    if conversation.state in {State.WHAT, State.ASKING, State.READ_BACK} and view.is_open:
        return replace(view, stage="ask", ask=_ask(asked, conversation, known))
    if conversation.state is State.WAITING and view.is_open:
        time = _time_of_check(session, now, door, speaker, conversation.language)
        return replace(view, stage="check", check=_check(asked, known, time))
    return view


def _ask(asked: Question, conversation: Conversation, known: Situation) -> AskView:
    again = conversation.repeats > 0
    wording = wording_of(asked, known, again=again)
    language = conversation.language
    return AskView(
        topic=asked.id,
        sentence=_asked_on_page(asked, wording.in_language(language)),
        choices=tuple(
            (str(n), c.label.in_language(language)) for n, c in enumerate(asked.choices, start=1)
        ),
        again=again,
    )


def _asked_on_page(asked: Question, sentence: str) -> str:
    """A question for a number ends in how to send it, which a page shows as a box and a button."""
    return sentence[: sentence.rfind("?") + 1] or sentence if asked.number else sentence


def _check(asked: Question, known: Situation, time: str) -> CheckView:
    return CheckView(
        topic=asked.id,
        down=asked.id == "q_down",
        pipe=asked.asks_about_pipe(known.emitter),
        time=time,
    )


def _time_of_check(session: Session, now: datetime, door: Door, speaker: str, language: str) -> str:
    due = session.scalar(
        select(TimerRow.due_at)
        .where(TimerRow.number == speaker, TimerRow.purpose == "check")
        .where(TimerRow.done_at.is_(None))
        .limit(1)
    )
    return due_words(due, now, door.timezone, language) if due is not None else ""


def _last_state(session: Session, speaker: str) -> str | None:
    """What became of the last thing sent from a page."""
    return session.scalar(
        select(InboxMessage.state)
        .where(InboxMessage.via == VIA_PAGE, InboxMessage.from_number == speaker)
        .order_by(InboxMessage.seq.desc())
        .limit(1)
    )


def _told(session: Session, complaint: Complaint, language: str) -> tuple[str, ...]:
    """What was understood, in the words in which it is read back by text."""
    facts = [e.fact for e in evidence_from(facts_of(session, complaint))]
    kinds = [Kind(kind) for kind in complaint.kinds]
    return tuple(thing.in_language(language) for thing in understood(kinds, facts))


def _has_photo(session: Session, complaint: Complaint) -> bool:
    query = select(HomePhoto.id).where(HomePhoto.complaint_id == complaint.id).limit(1)
    return session.scalar(query) is not None

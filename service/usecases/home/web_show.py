"""What an apartment's page shows: the question that is out, a check to do, or where things stand.

Everything is looked up when the page is opened; the conversation itself is led by ``rules.asking``,
the same one as by text. Nothing here tells who said what, or anything of other homes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.asking.conversation import RIGHT_NOW, Conversation, Situation, State, taken_back
from rules.asking.helping import help_with
from rules.asking.questions import question, questions
from rules.asking.read_back import understood
from rules.model import Fact
from service.store.tables import Complaint, HomePhoto, InboxMessage, NumberRow
from service.usecases.desk.danger_texts import over_lately
from service.usecases.desk.situation import situation_of
from service.usecases.hearing.web_doors import Door
from service.usecases.hearing.web_speaker import latest_complaint, speaker_of
from service.usecases.home.web_danger import danger_told_at
from service.usecases.home.web_questions import ask_view, check_view, time_of_check
from service.usecases.home.web_views import HomeView
from service.usecases.loading.page_names import VIA_PAGE
from service.usecases.rows.complaint_rows import facts_of
from service.usecases.rows.facts import evidence_from
from service.usecases.sending.broadcast import news_for_home
from service.usecases.sending.talk import conversation_of

__all__ = ["language_kept", "show_home"]


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
    if complaint is not None:
        view = replace(view, over=over_lately(session, now, complaint, language))
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
    facts = tuple(e.fact for e in evidence_from(facts_of(session, complaint)))
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
        told=_told(facts, known, conversation.language),
        helps=()
        if complaint.danger or known.known_to_us
        else _helps(facts, known, conversation.language),
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
        return replace(view, stage="ask", ask=ask_view(asked, conversation, known))
    if conversation.state in {State.WHAT, State.ASKING, State.READ_BACK} and view.is_open:
        return replace(view, stage="ask", ask=ask_view(asked, conversation, known))
    if conversation.state is State.WAITING and view.is_open:
        time = time_of_check(session, now, door, speaker, conversation.language)
        return replace(view, stage="check", check=check_view(asked, known, time))
    return view


def _last_state(session: Session, speaker: str) -> str | None:
    """What became of the last thing sent from a page."""
    return session.scalar(
        select(InboxMessage.state)
        .where(InboxMessage.via == VIA_PAGE, InboxMessage.from_number == speaker)
        .order_by(InboxMessage.seq.desc())
        .limit(1)
    )


def _told(facts: Sequence[Fact], known: Situation, language: str) -> tuple[str, ...]:
    """What was understood, in the words in which it is read back by text."""
    return tuple(thing.in_language(language) for thing in understood(known.kinds, facts))


def _helps(facts: Sequence[Fact], known: Situation, language: str) -> tuple[str, ...]:
    """What the household can do about what it has told."""
    return help_with(facts, known, language)


def _has_photo(session: Session, complaint: Complaint) -> bool:
    query = select(HomePhoto.id).where(HomePhoto.complaint_id == complaint.id).limit(1)
    return session.scalar(query) is not None

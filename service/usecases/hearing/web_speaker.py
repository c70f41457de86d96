"""Who speaks on an apartment's page, and which report the page is about.

A page needs no phone number, so its conversation is kept under a name of the home. When somebody
leaves a number there, the conversation moves to that number: from then on news comes by text, and
the page shows the same conversation.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.asking.conversation import Conversation, State
from service.store.tables import Complaint, HomePhone
from service.usecases.loading.page_names import page_name
from service.usecases.rows.carried_over import REMEMBERED
from service.usecases.rows.complaint_rows import find_complaint
from service.usecases.sending.talk import conversation_of, number_row

__all__ = ["Home", "latest_complaint", "prepare_conversation", "speaker_of"]

Home = tuple[str, str]


def latest_complaint(session: Session, now: datetime, home: Home) -> Complaint | None:
    """The home's open complaint, else the one that ended last, not long ago."""
    found = find_complaint(session, page_name(home), home)
    if found is not None:
        return found
    return session.scalars(
        select(Complaint)
        .where(Complaint.building_id == home[0], Complaint.apartment == home[1])
        .where(Complaint.closed_at > now - REMEMBERED, Complaint.outcome != "joined")
        .where(Complaint.confirmed)
        .order_by(Complaint.closed_at.desc(), Complaint.id)
        .limit(1)
    ).first()


def speaker_of(session: Session, now: datetime, home: Home) -> str:
    """The number a page's conversation is kept under: one left on the page, else the page's own."""
    complaint = latest_complaint(session, now, home)
    if complaint is not None and _was_left_here(session, home, complaint.number):
        return complaint.number
    return page_name(home)


def prepare_conversation(
    session: Session, now: datetime, speaker: str, home: Home, language: str
) -> None:
    """Let the conversation know what the page knows: which home, and in which language.

    A page is read by whoever opens it, so on its own conversation there is no opting out.
    """
    row = number_row(session, now, speaker)
    before = conversation_of(session, row)
    after: Conversation = replace(before, home=home, language=language)
    if after.state is State.STOPPED and speaker == page_name(home):
        after = replace(after, state=State.CLOSED)
        row.stopped_at = None
    if after != before or row.conversation is None:
        row.conversation = after.to_dict()
        row.language = language
        row.updated_at = now


def _was_left_here(session: Session, home: Home, number: str) -> bool:
    return (
        session.scalar(
            select(HomePhone.id)
            .where(HomePhone.building_id == home[0], HomePhone.apartment == home[1])
            .where(HomePhone.number == number, HomePhone.bound)
            .limit(1)
        )
        is not None
    )

"""What was told of danger in a report, and who was told to leave because of it."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import ColumnElement, and_, func, or_, select
from sqlalchemy.orm import Session

from service.store.tables import Alert, Complaint, InboxMessage, OutboxMessage
from service.usecases.rows.alerts import DANGER
from service.usecases.rows.form_fields import DANGER_FIELD, form_fields

__all__ = ["first_alert", "newest_alert", "numbers_told", "was_pressed"]


def newest_alert(session: Session, complaints: Sequence[Complaint]) -> int:
    """The alert of the danger told last; 0 where none was raised."""
    return session.scalar(select(func.max(Alert.id)).where(_about(complaints))) or 0


def first_alert(session: Session, complaint: Complaint) -> Alert | None:
    """The alert of the danger told first."""
    query = select(Alert).where(_about([complaint])).order_by(Alert.id).limit(1)
    return session.scalars(query).first()


def numbers_told(session: Session, complaint: Complaint) -> list[str]:
    """The phones that were answered when they told of danger, and that of the report."""
    messages = select(Alert.message_id).where(_about([complaint]))
    answered = session.scalars(
        select(OutboxMessage.to_number)
        .where(OutboxMessage.message_id.in_(messages), OutboxMessage.urgent)
        .order_by(OutboxMessage.id)
    )
    return list(dict.fromkeys([complaint.number, *answered]))


def was_pressed(session: Session, complaints: Sequence[Complaint]) -> bool:
    """Whether a danger was told by a press on the tenant's page, which cannot be misread."""
    ids = select(Alert.message_id).where(_about(complaints))
    messages = session.scalars(select(InboxMessage).where(InboxMessage.id.in_(ids)))
    return any(DANGER_FIELD in form_fields(message) for message in messages)


def _about(complaints: Sequence[Complaint]) -> ColumnElement[bool]:
    """Alerts of dangers told in these reports, each once."""
    ids = [complaint.id for complaint in complaints]
    messages = select(InboxMessage.id).where(InboxMessage.complaint_id.in_(ids))
    mine = or_(Alert.complaint_id.in_(ids), Alert.message_id.in_(messages))
    return and_(mine, Alert.what.startswith(DANGER, autoescape=True), Alert.first_id.is_(None))

"""A report without its danger, and with it again: kinds, facts, conversation, its end."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from rules.asking.conversation import State
from rules.model import Kind
from rules.urgency.danger_over import left_of
from service.store.tables import Complaint, FactRow
from service.usecases.rows.complaint_rows import end_complaint, facts_of
from service.usecases.sending.talk import conversation_of, number_row

__all__ = ["ENDED", "Without", "kinds_left", "with_danger", "without_danger"]

ENDED = "no_danger"  # the outcome of a report of nothing else


@dataclass(frozen=True, slots=True)
class Without:
    """What was changed about one report, as an act keeps it."""

    complaint: str
    place: tuple[str | None, bool]
    before: Mapping[str, Any]
    after: Mapping[str, Any]


def kinds_left(complaint: Complaint, *, still_to_do: bool) -> tuple[str, ...]:
    """What a report complains of besides its danger."""
    kinds = {Kind(kind) for kind in complaint.kinds}
    return tuple(sorted(left_of(kinds, complaint.danger, still_to_do=still_to_do)))


def without_danger(
    session: Session, now: datetime, complaint: Complaint, *, still_to_do: bool
) -> Without:
    """Let what else it tells go on, or end it; it keeps what it complained of where it ends."""
    left = kinds_left(complaint, still_to_do=still_to_do)
    place = (complaint.ticket_id, complaint.pinned)
    before = {
        "danger": list(complaint.danger),
        "kinds": list(complaint.kinds),
        "taken_over_by": complaint.taken_over_by,
        "conversation": _talk_on(session, now, complaint, State.TOLD if left else State.CLOSED),
    }
    facts = facts_of(session, complaint)
    complaint.danger = []
    added: list[FactRow] = []
    if left:
        complaint.kinds = list(left)
        facts = [row for row in facts if not set(row.body.get("kinds", ())) <= set(left)]
        added = _narrowed(session, now, facts, left)
    else:
        end_complaint(session, now, complaint, ENDED)
    session.flush()
    after = {
        "kinds": list(complaint.kinds),
        "ended": not left,
        "withdrawn": [row.id for row in facts],
        "added": [row.id for row in added],
    }
    return Without(complaint.id, place, before, after)


def with_danger(
    session: Session,
    now: datetime,
    complaint: Complaint,
    was: Mapping[str, Any],
    since: Mapping[str, Any],
) -> None:
    """The report as it was, from ``before`` and ``after`` of what was done without."""
    complaint.danger, complaint.kinds = was["danger"], was["kinds"]
    complaint.closed_at, complaint.outcome = None, None
    complaint.taken_over_by = was["taken_over_by"]
    for fact_id in since["withdrawn"]:
        session.get_one(FactRow, fact_id).withdrawn_at = None
    for fact_id in since["added"]:
        session.get_one(FactRow, fact_id).withdrawn_at = now
    number = number_row(session, now, complaint.number)
    if was["conversation"] is not None and number.stopped_at is None:
        number.conversation = was["conversation"]
    session.flush()


def _narrowed(
    session: Session, now: datetime, rows: Iterable[FactRow], left: Sequence[str]
) -> list[FactRow]:
    """What was reported, told as before at the same time, without what was none."""
    made = []
    for row in rows:
        row.withdrawn_at = now
        kinds = [kind for kind in row.body["kinds"] if kind in left]
        if kinds:
            made.append(
                FactRow(
                    building_id=row.building_id,
                    complaint_id=row.complaint_id,
                    apartment=row.apartment,
                    source=row.source,
                    at=row.at,
                    body={**row.body, "kinds": kinds},
                )
            )
    session.add_all(made)
    session.flush()
    return made


def _talk_on(
    session: Session, now: datetime, complaint: Complaint, state: State
) -> dict[str, Any] | None:
    """The machine hears the household again, unless a person writes with it; as it was before."""
    number = number_row(session, now, complaint.number)
    conversation = conversation_of(session, number)
    home = (complaint.building_id, complaint.apartment)
    mine = conversation.home in {None, home} and conversation.state is State.PERSON
    if number.conversation is None or not mine or complaint.taken_over_by is not None:
        return None
    before = dict(number.conversation)
    number.conversation = replace(conversation, state=state, current=None, repeats=0).to_dict()
    return before

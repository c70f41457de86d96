"""No danger after all: somebody who may say so has found none, and a person at the desk ends it.

Nobody else ends a danger without a repair: no text does. What else the homes reported goes on as an
ordinary complaint; a report of nothing else is closed. Whoever was told to leave is told by whom it was
found. A danger told later is one again at once, on the same report or a new one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from rules.asking.danger_reply import must_leave
from rules.urgency.danger_over import (
    FoundBy,
    found_by_words,
    is_on_site,
    may_find,
    speaks_for_one_home,
)
from service.auth.who import Who
from service.errors import ChangedError, ConflictError, InvalidError, PointedError
from service.store.tables import Complaint, Ticket
from service.usecases.desk.danger_reports import Without, kinds_left, without_danger
from service.usecases.desk.danger_texts import NO_DANGER, found_words, tell_over
from service.usecases.desk.danger_told import newest_alert, numbers_told, was_pressed
from service.usecases.diagnosing.dangers_apart import home_key
from service.usecases.diagnosing.record_finding import ticket_row
from service.usecases.diagnosing.rediagnose import diagnose_again
from service.usecases.rows.act_rows import Deed, one_line, store_act, ticket_to_act_on
from service.usecases.rows.alerts import settle_dangers
from service.usecases.rows.ids import reference
from service.usecases.rows.services import SmsRules
from service.usecases.rows.ticket_rows import close_emptied, open_complaints_of

__all__ = ["DangerEnd", "Finder", "NoDanger", "danger_end", "end_danger"]

LONGEST_NAME = 100


@dataclass(frozen=True, slots=True)
class NoDanger:
    """What a person at the desk says."""

    found_by: str  # a value of FoundBy
    name: str  # of the crew or person on site; empty for a household
    reason: str
    heard: int  # the newest alert of a danger of this ticket that they have seen
    still_to_do: bool = False  # no danger, but something is to be looked at


@dataclass(frozen=True, slots=True)
class Finder:
    """Somebody who may end the dangers of a ticket."""

    found_by: str
    says: str
    on_site: bool
    tells: str  # the English text, without what becomes of the report; empty: nobody has to be told


@dataclass(frozen=True, slots=True)
class DangerEnd:
    """What a page shows of ending a danger."""

    heard: int
    finders: tuple[Finder, ...]
    not_enough: tuple[str, ...]  # who cannot end it
    only_on_site: bool
    left: tuple[tuple[str, tuple[str, ...]], ...]  # each home, with what else it reported


def danger_end(session: Session, ticket_id: str) -> DangerEnd | None:
    """How the danger of an open ticket can end; None where it has none."""
    ticket = ticket_row(session, ticket_id)
    if ticket.state != "open" or not ticket.danger:
        return None
    complaints = _in_danger(session, ticket)
    told = any(must_leave(c.danger) for c in complaints)
    able = _finders(session, complaints)
    finders = tuple(
        Finder(f.value, found_by_words(f), is_on_site(f), found_words(f, "en") if told else "")
        for f in able
    )
    return DangerEnd(
        heard=newest_alert(session, complaints),
        finders=finders,
        not_enough=tuple(found_by_words(f) for f in FoundBy if f not in able),
        only_on_site=all(finder.on_site for finder in finders),
        left=tuple(
            (c.apartment or "The home that is not known yet", kinds_left(c, still_to_do=False))
            for c in complaints
        ),
    )


def end_danger(
    session: Session,
    now: datetime,
    who: Who,
    ticket_id: str,
    version: int,
    said: NoDanger,
    *,
    sms: SmsRules,
) -> str:
    """End the danger of a ticket; returns the ticket to show next.

    Raises:
        NotFoundError: there is no such ticket.
        ConflictError: it is no danger, it is closed, or it has changed since the person looked, as when
            a danger was told again.
        InvalidError: whoever found so cannot end such a danger, or a name or the reason is missing.
    """
    ticket = ticket_to_act_on(session, ticket_id, version)
    complaints = _in_danger(session, ticket)
    if not ticket.danger:
        raise ConflictError(f"{reference(ticket.id)} is no danger")
    if newest_alert(session, complaints) > said.heard:
        again = "a danger was told again. Read it first"
        raise ChangedError(f"{reference(ticket.id)} has changed since you looked: {again}.")
    found_by = _found_by(session, complaints, said)
    name = one_line(said.name, "/name", LONGEST_NAME) if is_on_site(found_by) else ""
    reason = one_line(said.reason, "/reason")
    to_tell = [(c, numbers_told(session, c)) for c in complaints if must_leave(c.danger)]
    dangers = sorted({str(d) for c in complaints for d in c.danger})
    settle_dangers(session, now, ticket.id, complaints)
    ticket.danger = False
    ended = [without_danger(session, now, c, still_to_do=said.still_to_do) for c in complaints]
    close_emptied(session, now, ticket, "no danger after all")
    if ticket.state == "open":
        ticket.because = []  # its time is that of what is left
    deed = _deed(found_by, name, reason, dangers, ended)
    act = store_act(session, now, who, ticket, deed)
    diagnose_again(session, now, ticket)
    texts = tell_over(session, now, sms, found_by, to_tell)
    act.body = {**act.body, "told": [row.id for row in texts]}
    session.flush()
    return next((str(c.ticket_id) for c in complaints if c.closed_at is None), ticket.id)


def _in_danger(session: Session, ticket: Ticket) -> list[Complaint]:
    return [c for c in open_complaints_of(session, ticket.id) if c.danger]


def _finders(session: Session, complaints: Sequence[Complaint]) -> list[FoundBy]:
    """Who may end all dangers of these reports."""
    found = list(may_find({str(d) for c in complaints for d in c.danger}))
    if len({home_key(c) for c in complaints}) > 1:
        found = [f for f in found if not speaks_for_one_home(f)]
    if FoundBy.MISREAD in found and was_pressed(session, complaints):
        found.remove(FoundBy.MISREAD)
    return found


def _found_by(session: Session, complaints: Sequence[Complaint], said: NoDanger) -> FoundBy:
    finders = _finders(session, complaints)
    found = next((f for f in finders if f.value == said.found_by), None)
    if found is None:
        able = ", or ".join(found_by_words(f) for f in finders)
        wrong = PointedError("/found_by", f"has to be {able}")
        raise InvalidError("the danger goes on", (wrong,))
    return found


def _deed(
    found_by: FoundBy, name: str, reason: str, dangers: Sequence[str], ended: Sequence[Without]
) -> Deed:
    told = f"No danger after all, found by {found_by_words(found_by)}"
    # Whatever moves a report later stands on this act.
    places: dict[str, Any] = {f"complaint/{e.complaint}": e.place for e in ended}
    return Deed(
        NO_DANGER,
        "danger ended",
        f"{told} ({name}): {reason}" if name else f"{told}: {reason}",
        before={**places, **{f"danger/{e.complaint}": e.before for e in ended}},
        after={**places, **{f"danger/{e.complaint}": e.after for e in ended}},
        more={"found_by": found_by.value},
        noted={"found_by": found_by.value, "dangers": list(dangers)},
        told=told,
    )

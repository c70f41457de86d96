"""A ticket as its page shows it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.checks.entry import before_entry
from rules.checks.tools import tools_for
from rules.faults.catalogue import faults, parts
from rules.model import FaultId, Kind
from service.store.tables import Closure, FactRow, Ticket, TicketEvent
from service.usecases.diagnosing.record_finding import ticket_row
from service.usecases.home.web_photos import photos_of_ticket
from service.usecases.loading.plants import plant_of
from service.usecases.repairs.show_turns import show_turns
from service.usecases.rows.views import (
    CheckLine,
    HistoryLine,
    LoadLine,
    Reason,
    SuspectLine,
    TicketView,
    WhyLine,
)
from service.usecases.showing.access_told import access_told
from service.usecases.showing.access_words import access_words
from service.usecases.showing.draw_building import draw_building
from service.usecases.showing.past_visits import past_visits
from service.usecases.showing.show_acts import show_acts
from service.usecases.showing.show_closing import closed_out, closing_readings
from service.usecases.showing.show_queue import queue_row
from service.usecases.showing.ticket_choices import complaint_lines, fault_choices, other_tickets
from service.usecases.showing.ticket_rows import complaints_of, events_of, last_closure
from service.usecases.showing.ticket_words import finding_words, history_words
from service.usecases.showing.told_before import told_before
from service.usecases.showing.why_quotes import why_lines

__all__ = ["show_ticket"]


def show_ticket(session: Session, now: datetime, ticket_id: str) -> TicketView:
    """A ticket with everything its page shows.

    Raises:
        NotFoundError: there is no such ticket.
    """
    ticket = ticket_row(session, ticket_id)
    complaints = complaints_of(session, ticket)
    plant = plant_of(session, ticket.building_id)
    picture = ticket.picture
    of_part = {part["component"]: part["probability"] for part in picture["by_component"]}
    suspects = tuple(_suspect(s, of_part[s["component"]]) for s in picture["suspects"])
    checks = tuple(_check(c) for c in picture["checks"])
    closure = last_closure(session, ticket) if ticket.state == "closed" else None
    events = events_of(session, ticket)
    return TicketView(
        row=queue_row(session, ticket),
        now=now,
        scope=ticket.scope,
        component=ticket.component,
        reasons=tuple(
            Reason(b["rule"], b["source"], datetime.fromisoformat(b["at"])) for b in ticket.because
        ),
        suspects=suspects,
        checks=checks,
        load=tuple(_load(part) for part in picture["load"]),
        tools=tools_for(c["test"] for c in picture["checks"]),
        why=_why(session, picture["why"]),
        notes=tuple(note["says"] for note in picture.get("notes", [])),
        entry=before_entry({Kind(k) for c in complaints for k in c.kinds}) if ticket.danger else (),
        cautions=_cautions(suspects[:3]),
        findings=tuple(finding_words(row.body) for row in _findings(session, ticket)),
        history=tuple(HistoryLine(e.at, history_words(e)) for e in events),
        drawing=draw_building(session, plant, ticket, complaints),
        fault_choices=fault_choices(plant, complaints, suspects, now.date()),
        part_choices=tuple(sorted(((str(p.id), p.says) for p in parts().values()), key=_says)),
        closed_at=ticket.closed_at,
        closed_cause=_cause(closure) or (_why_closed(events) if ticket.state == "closed" else None),
        to_confirm=tuple(
            (c.id, c.apartment)
            for c in complaints
            if c.apartment is not None and not c.confirmed and c.closed_at is None
        ),
        photos=photos_of_ticket(session, ticket.id),
        access=access_words(plant, complaints),
        access_told=access_told(session, complaints),
        complaints=complaint_lines(complaints),
        others=other_tickets(session, ticket),
        acts=show_acts(session, ticket.id),
        respond_by_reason=(ticket.respond_by_set or {}).get("reason"),
        respond_by_name=(ticket.respond_by_set or {}).get("by"),
        turns=show_turns(session, now, ticket.id) if ticket.state == "open" else (),
        closing=closing_readings(_findings(session, ticket), checks),
        closed_out=closed_out(session, ticket),
        past=past_visits(session, plant, ticket, {s.component for s in suspects}, complaints),
        told_before=told_before(session, complaints),
    )


def _suspect(row: dict[str, Any], of_part: float) -> SuspectLine:
    fault = faults().get(FaultId(row["fault"]))
    return SuspectLine(
        fault=row["fault"],
        says=row["says"],
        component=row["component"],
        probability=row["probability"],
        of_part=of_part,
        explains=tuple(row["explains"]),
        repair=fault.repair.do if fault else "",
        temporary=fault.temporary if fault else "",
        caution=fault.caution if fault else "",
    )


def _cautions(suspects: Iterable[SuspectLine]) -> tuple[str, ...]:
    """Each danger once, though several suspects carry it."""
    said = (piece for s in suspects for piece in s.caution.split("; ") if piece)
    return tuple({piece.casefold(): piece for piece in said}.values())


def _check(row: dict[str, Any]) -> CheckLine:
    named = {**row, "check": row["test"], "outcomes": tuple(row["outcomes"])}
    del named["test"]
    return CheckLine(**named)


def _load(row: dict[str, Any]) -> LoadLine:
    return LoadLine(**row)


def _why(session: Session, rows: list[dict[str, Any]]) -> tuple[WhyLine, ...]:
    return why_lines(session, rows)


def _findings(session: Session, ticket: Ticket) -> list[FactRow]:
    return list(
        session.scalars(select(FactRow).where(FactRow.ticket_id == ticket.id).order_by(FactRow.id))
    )


def _cause(closure: Closure | None) -> str | None:
    if closure is None:
        return None
    fault = faults().get(FaultId(closure.fault)) if closure.fault else None
    says = fault.says if fault else "No named fault"
    return f"{says} ({closure.component})" if closure.component else says


def _why_closed(events: Sequence[TicketEvent]) -> str | None:
    """Why it was closed by itself or at the desk."""
    last = next((event for event in reversed(events) if event.what == "closed"), None)
    return str(last.body["why"]) if last is not None and last.body.get("why") else None


def _says(choice: tuple[str, str]) -> str:
    return choice[1]

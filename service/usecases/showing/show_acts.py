"""What was done to a ticket, newest first, and whether it can be undone."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.store.tables import ActedTicket, DeskAct
from service.usecases.desk.danger_texts import NO_DANGER
from service.usecases.desk.undo_act import UNDO, why_not
from service.usecases.rows.act_rows import AUTOMATIC
from service.usecases.rows.act_views import ActLine

__all__ = ["acts_json", "show_acts"]

MOST = 50
UNDOES = {NO_DANGER: "Undo: danger again, they are told to leave"}


def show_acts(session: Session, ticket_id: str) -> tuple[ActLine, ...]:
    """The last acts on a ticket, of people and of grouping."""
    mine = select(ActedTicket.act_id).where(ActedTicket.ticket_id == ticket_id)
    rows = session.scalars(
        select(DeskAct).where(DeskAct.id.in_(mine)).order_by(DeskAct.id.desc()).limit(MOST)
    ).all()
    return tuple(_line(session, row) for row in rows if row.act != UNDO)


def acts_json(session: Session, ticket_id: str) -> list[dict[str, object]]:
    """The same in the form the API shows it."""
    return [
        {
            "id": line.act,
            "at": line.at.isoformat(),
            "who": line.who,
            "what": line.what,
            "automatic": line.automatic,
            "can_undo": line.can_undo,
            "why_not": line.why_not,
            "undone_at": line.undone_at.isoformat() if line.undone_at else None,
            "undone_by": line.undone_by,
        }
        for line in show_acts(session, ticket_id)
    ]


def _line(session: Session, row: DeskAct) -> ActLine:
    reason = why_not(session, row)
    return ActLine(
        act=row.id,
        at=row.at,
        who=row.name,
        what=row.says,
        can_undo=not reason,
        why_not=reason,
        undone_at=row.undone_at,
        undone_by=row.undone_by,
        automatic=row.account == AUTOMATIC,
        undo_says=UNDOES.get(row.act, "Undo"),
    )

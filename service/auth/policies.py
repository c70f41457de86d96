"""Which role may do what, in one table."""

from __future__ import annotations

from enum import StrEnum

from service.auth.roles import Role

__all__ = ["Act", "may"]


class Act(StrEnum):
    """Something that can be done through the API or the pages."""

    KEEP_BUILDINGS = "keep_buildings"
    KEEP_WEATHER = "keep_weather"
    MOVE_CLOCK = "move_clock"
    DELIVER_TEXTS = "deliver_texts"
    READ_TEXTS = "read_texts"
    SEE_INBOX = "see_inbox"
    SEE_COMPLAINTS = "see_complaints"
    SEE_TICKETS = "see_tickets"
    RECORD_FINDINGS = "record_findings"
    CLOSE_TICKETS = "close_tickets"
    HANDLE_ALERTS = "handle_alerts"
    CONFIRM_SENDERS = "confirm_senders"
    SEND_NEWS = "send_news"
    ACT_ON_TICKETS = "act_on_tickets"  # assign, hold, merge, write, take over, undo


_DESK = frozenset(
    {
        Act.READ_TEXTS,
        Act.SEE_INBOX,
        Act.SEE_COMPLAINTS,
        Act.SEE_TICKETS,
        Act.HANDLE_ALERTS,
        Act.CONFIRM_SENDERS,
        Act.SEND_NEWS,
        Act.ACT_ON_TICKETS,
    }
)

_ALLOWED = {
    Role.GATEWAY: frozenset({Act.DELIVER_TEXTS}),
    Role.DESK: _DESK,
    Role.TRUCK: frozenset({Act.SEE_TICKETS, Act.RECORD_FINDINGS, Act.CLOSE_TICKETS}),
    Role.OWNER: frozenset({Act.KEEP_BUILDINGS, Act.KEEP_WEATHER, Act.MOVE_CLOCK}),
    Role.ADMIN: _DESK,
}


def may(role: Role, act: Act) -> bool:
    """Whether this role may do this."""
    return act in _ALLOWED[role]

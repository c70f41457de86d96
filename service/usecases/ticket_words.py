"""Findings and history of a ticket in words."""

from __future__ import annotations

from typing import Any

from service.store.tables import TicketEvent
from service.usecases.ids import reference

__all__ = ["finding_words", "history_words"]

PLAIN = {
    "opened": "Opened",
    "closed": "Closed",
    "reopened": "Opened again: the household says it is not right",
    "confirmed": "The household says it is right",
    "person": "A household wrote something a person has to answer",
    "respond_by": "Must be acted on earlier than before",
}


def history_words(event: TicketEvent) -> str:
    """One line of history."""
    body = event.body
    match event.what:
        case "joined":
            return f"A complaint came in from {_ref(body['from'])}" if body["from"] else "Complaint"
        case "left":
            return f"A complaint went to {_ref(body['to'])}"
        case "merged":
            return f"Closed: {body['says']}"
        case "finding":
            return "Finding: " + finding_words(body)
        case "complaint_ended":
            return f"A household says it is {body['outcome']}"
        case "closed" if body.get("why"):
            return f"Closed: {body['why']}"
        case _:
            return PLAIN.get(event.what, event.what)


def finding_words(body: dict[str, Any]) -> str:
    """Such as "coil volts at relay-2: 0 V, calling"."""
    if body["outcome"] is not None:
        shown = str(body["outcome"]).replace("_", " ")
    else:
        shown = f"{body['value']:g} {body['unit']}"
    call = {True: ", calling", False: ", not calling", None: ""}[body["calling"]]
    return f"{str(body['check']).replace('_', ' ')} at {body['component']}: {shown}{call}"


def _ref(ticket_id: str) -> str:
    return reference(ticket_id)

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
    "acknowledged": "The desk has seen the alert",
    "photo": "A household sent a photo",
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
            return _about_people(event) or PLAIN.get(event.what, event.what)


def _about_people(event: TicketEvent) -> str | None:
    """What happened between us and the households, as far as it needs more than fixed words."""
    body = event.body
    if event.what == "person" and body.get("why") == "does not answer":
        return "A household does not answer; a person may call"
    if event.what == "sender_not_confirmed":
        return f"Sender not confirmed: the phone is not on file for {body['apartment']}"
    if event.what == "sender_confirmed":
        how = "a code" if body["how"] == "code" else "the desk"
        return f"Sender confirmed by {how}: the phone belongs to {body['apartment']}"
    if event.what == "broadcast":
        return f"News sent to {body['texts']} phones"
    return None


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

"""Findings and history of a ticket in words."""

from __future__ import annotations

from typing import Any

from service.store.tables import TicketEvent
from service.usecases.rows.ids import reference
from service.usecases.showing.check_words import check_words
from service.usecases.showing.outcome_words import outcome_words

__all__ = ["finding_words", "history_words"]

PLAIN = {
    "opened": "Opened",
    "closed": "Closed",
    "reopened": "Opened again: the household says it is not right",
    "confirmed": "The household says it is right",
    "came_late": "A text from before the repair came after it",
    "person": "A household wrote something a person has to answer",
    "acknowledged": "The desk has seen the alert",
    "photo": "A household sent a photo",
    "truck_photo": "A technician sent a photo",
    "respond_by": "Must be acted on earlier than before",
    "unmerged": "Opened again: what it was merged into was undone",
    "hold_over": "Back from hold: its date has come",
    "hold_woken": "Off hold: a household tells of something more",
    "hold_lifted": "Off hold at once: a danger was reported",
}


ENDED = {"no_danger": "A report ended: there was no danger, and nothing else was reported"}


def history_words(event: TicketEvent) -> str:
    """One line of history."""
    body = event.body
    match event.what:
        case "joined":
            return _came(body)
        case "left":
            return f"{_who(body)} went to {_ref(body['to'])}{_why(body)}"
        case "merged":
            return f"Closed: {body['says']}"
        case "finding":
            return "Finding: " + finding_words(body)
        case "complaint_ended":
            return ENDED.get(body["outcome"], f"A household says it is {body['outcome']}")
        case "closed" if body.get("why"):
            return f"Closed: {body['why']}"
        case _:
            told = _about_acts(event) or _from_truck(event) or _about_people(event)
            return told or PLAIN.get(event.what, event.what)


def _about_acts(event: TicketEvent) -> str | None:
    """What people did at the desk, and what of it had to give way."""
    if event.what == "act":
        return f"{event.body['by']}: {event.body['says']}"
    if event.what == "unpinned":
        return f"{_who(event.body)} is not pinned any more{_why(event.body)}"
    return None


def _from_truck(event: TicketEvent) -> str | None:
    """What a technician wrote, and what came too late to count."""
    if event.what == "note":
        return f"Note: {event.body['text']}"
    if event.what == "kept_aside":
        return f"A {event.body['kind']} came late. {event.body['why']}"
    return None


_WHY_A_PERSON = {
    "does not answer": "A household does not answer; a person may call",
    "repair failed again": "A repair did not help for the second time; a person may call",
}


def _about_people(event: TicketEvent) -> str | None:
    """What happened between us and the households, as far as it needs more than fixed words."""
    body = event.body
    if event.what == "person":
        return _WHY_A_PERSON.get(str(body.get("why")))
    if event.what == "sender_not_confirmed":
        return f"Sender not confirmed: the phone is not on file for {body['apartment']}"
    if event.what == "sender_confirmed":
        how = "a code" if body["how"] == "code" else "the desk"
        return f"Sender confirmed by {how}: the phone belongs to {body['apartment']}"
    if event.what == "turn_asked":
        return f"Asked {body['apartment']} to turn the thermostat {body['turn']}"
    if event.what == "turn_seen":
        return f"Valve of {body['apartment']}: {body['seen'].replace('_', ' ')}"
    if event.what == "broadcast":
        return f"News sent to {body['texts']} phones"
    return None


def finding_words(body: dict[str, Any]) -> str:
    """Such as "coil volts at relay-2: 0 V, calling"."""
    if body["outcome"] is not None:
        shown = outcome_words(str(body["outcome"]))
    else:
        shown = f"{body['value']:g} {body['unit']}"
    call = {True: ", calling", False: ", not calling", None: ""}[body["calling"]]
    return f"{check_words(str(body['check']))} at {body['component']}: {shown}{call}"


def _came(body: dict[str, Any]) -> str:
    if not body["from"]:
        return "Complaint" + (f" from {body['home']}" if body.get("home") else "")
    return f"{_who(body)} came from {_ref(body['from'])}{_why(body)}"


def _who(body: dict[str, Any]) -> str:
    return f"The complaint of {body['home']}" if body.get("home") else "A complaint"


def _why(body: dict[str, Any]) -> str:
    return f": {body['why']}" if body.get("why") else ""


def _ref(ticket_id: str) -> str:
    return reference(ticket_id)

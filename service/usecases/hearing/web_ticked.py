"""What came with a form counts as it stands, whatever is made of the words beside it.

A tenant's page sends forms, and so does the desk for whoever calls.
"""

from __future__ import annotations

from dataclasses import replace

from rules.asking.conversation import Heard
from rules.model import Kind
from rules.reading import Reading
from service.store.tables import InboxMessage
from service.usecases.rows.form_fields import form_fields

__all__ = ["as_ticked", "event_of_form"]

_SAYS_NOTHING = frozenset({Heard.OTHER, Heard.UNREADABLE, Heard.HELP, Heard.STATUS})


def as_ticked(message: InboxMessage, reading: Reading) -> Reading:
    """The reading with all kinds that were ticked."""
    ticked = _ticked(message)
    return replace(reading, kinds=tuple(dict.fromkeys((*ticked, *reading.kinds))))


def event_of_form(message: InboxMessage, event: Heard) -> Heard:
    """The event of a form that reports: whoever sends it has something to report, in any words."""
    if _ticked(message):
        return Heard.COMPLAINT
    return Heard.COMPLAINT if _reports(message) and event in _SAYS_NOTHING else event


def _ticked(message: InboxMessage) -> tuple[Kind, ...]:
    known = {kind.value: kind for kind in Kind}
    listed = form_fields(message).get("kinds")
    names = listed if isinstance(listed, list) else []
    return tuple(known[name] for name in names if name in known)


def _reports(message: InboxMessage) -> bool:
    return "kinds" in form_fields(message)

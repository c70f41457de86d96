"""What people at the desk type into the forms of acts, as values; and what was wrong with it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from service.errors import ChangedError, ConflictError, EndswitchError, InvalidError, PointedError

__all__ = ["ActProblem", "local_time", "problem_of", "version_of"]


# Fields as a person calls them, where their own name is none.
_FIELDS = {
    "apartment": "the apartment",
    "at": "the time",
    "building": "the building",
    "en": "the English text",
    "es": "the Spanish text",
    "found_by": "who found so",
    "name": "the name of who was there",
    "phone": "the phone",
    "reason": "the reason",
    "text": "the text",
    "to": "the name",
    "until": "the date",
    "words": "what they say",
}


@dataclass(frozen=True, slots=True)
class ActProblem:
    """Why an act was not done, in which form, and what was typed, so that nothing is typed twice."""

    form: str  # the act: "hold"
    message: str
    status: int
    field_id: str  # where to put it right
    kept: dict[str, str] = field(default_factory=dict)
    changed: bool = False  # the ticket is not as the person had seen it


def local_time(text: str, timezone: str, pointer: str) -> datetime:
    """The instant of a date and time as a field of the browser sends it, in the building's zone.

    Raises:
        InvalidError: it is none.
    """
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        at = None
    if at is None or at.tzinfo is not None:
        wrong = PointedError(pointer, "is missing or not complete")
        raise InvalidError("Choose a date and a time.", (wrong,))
    return at.replace(tzinfo=ZoneInfo(timezone)).astimezone(UTC)


def version_of(text: str) -> int:
    """The version of the ticket as the person saw it; a form without one has seen nothing."""
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else 0


def problem_of(form: str, error: EndswitchError, kept: dict[str, str]) -> ActProblem:
    """An error of an act as something to show beside its form."""
    pointed = next(iter(error.errors), None)
    where = pointed.pointer.strip("/").split("/")[-1] if pointed else ""
    message = error.message[:1].upper() + error.message[1:]
    if pointed and isinstance(error, InvalidError):
        message = (
            f"{message.rstrip('.')}: {_FIELDS.get(where, where.replace('_', ' '))} {pointed.detail}"
        )
    if not message.endswith("."):
        message += "."
    if isinstance(error, ConflictError):
        where = ""
    field_id = f"{form}-{where}" if where else form
    changed = isinstance(error, ChangedError)
    return ActProblem(form, message, error.status, field_id, kept, changed=changed)

"""What the pages and the API show, as frozen values: no session, no ORM row reaches a template."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from rules.parts import is_needed
from service.usecases.rows.act_views import ActLine, ComplaintLine, OtherTicket
from service.usecases.rows.repair_views import (
    ClosedOut,
    ClosingReading,
    PastVisit,
    ToldBefore,
    TurnHome,
)

__all__ = [
    "AccessTold",
    "AlertLine",
    "ApartmentMark",
    "BuildingDrawing",
    "CheckLine",
    "HistoryLine",
    "LoadLine",
    "PhotoLine",
    "QueueRow",
    "QueueView",
    "Reason",
    "SuspectLine",
    "TicketView",
    "WhyLine",
]


@dataclass(frozen=True, slots=True)
class AccessTold:
    """What a household wrote of getting in; in whose language, as far as that is known."""

    apartment: str
    text: str
    language: str | None


@dataclass(frozen=True, slots=True)
class Reason:
    """One rule that sets a respond-by time."""

    rule: str
    source: str
    at: datetime


@dataclass(frozen=True, slots=True)
class SuspectLine:
    """A fault of a component with its probability and the apartments it would explain.

    ``of_part`` is the chance that the component has any fault, also one that is not listed.
    """

    fault: str
    says: str
    component: str
    probability: float
    of_part: float
    explains: tuple[str, ...]
    repair: str
    temporary: str
    caution: str


@dataclass(frozen=True, slots=True)
class CheckLine:
    """One measurement, in the order to make it."""

    check: str
    component: str
    do: str
    healthy: str
    tells: str
    minutes: float
    place: str  # "apartment", "boiler_room", "outside"
    before: str
    caution: str
    unit: str | None  # the unit its reading is entered in; None = answered in words
    outcomes: tuple[str, ...]  # the words, healthy first, when it is answered in words
    needs_call_state: bool  # the reading depends on whether the thermostat calls


@dataclass(frozen=True, slots=True)
class LoadLine:
    """A part to put on the truck."""

    part: str
    says: str
    quantity: int
    chance_used: float
    homes_waiting: float  # where it is needed and not there

    @property
    def needed(self) -> bool:
        """Whether it goes on before all else; what is rarer goes on if there is room."""
        return is_needed(self.chance_used, self.homes_waiting)

    @property
    def is_for_many(self) -> bool:
        """Whether it goes on first only because several homes would wait for it."""
        return self.needed and not is_needed(self.chance_used, 1)


@dataclass(frozen=True, slots=True)
class WhyLine:
    """One piece of evidence for (positive weight) or against (negative) the first suspects."""

    says: str
    message: str | None
    fault: str
    weight: float
    quote: str | None = None
    language: str | None = None


@dataclass(frozen=True, slots=True)
class HistoryLine:
    """Something that happened to the ticket."""

    at: datetime
    what: str


@dataclass(frozen=True, slots=True)
class ApartmentMark:
    """One apartment in the drawing.

    ``state`` is one of explained (reported, and the first suspect would explain it), reported,
    predicted (the first suspect would trouble it, nobody there has written), elsewhere (reported,
    on another ticket), silent, unreachable.
    """

    apartment: str
    floor: int
    line: str
    loop: str
    transformer: str | None
    state: str
    words: str  # the same in words: "reported too cold", "would be cold too, silent", ...
    detail: str = ""  # the last room temperature told, or the other ticket's short form
    ticket: str | None = None  # the other ticket, when it is on one
    pump: str | None = None  # a circulator of its own
    relay: str | None = None  # that circulator's relay


@dataclass(frozen=True, slots=True)
class BuildingDrawing:
    """The building in section: floors of apartments, the plant below, the suspected component marked."""

    building: str
    name: str
    apartments: tuple[ApartmentMark, ...]
    # (loop, circulator or None where every home has its own or none is needed, relay, source)
    loops: tuple[tuple[str, str | None, str | None, str], ...]
    transformers: tuple[str, ...]
    sources: tuple[str, ...]
    suspected: str | None  # component id of the first suspect
    suspected_on: str | None = None  # its loop, where it is a riser
    cascades: tuple[tuple[str, tuple[str, ...]], ...] = ()  # (cascade, its boilers)


@dataclass(frozen=True, slots=True)
class PhotoLine:
    """A photo that a household sent with its report."""

    photo: str
    apartment: str
    at: datetime
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class QueueRow:
    """One line of the queue."""

    ticket: str
    reference: str  # short form people can say, "T-7F3K"
    building: str
    building_name: str
    timezone: str
    danger: bool
    respond_by: datetime
    reason: str
    homes: tuple[str, ...]
    kinds: tuple[str, ...]
    first_suspect: str | None  # the leading fault of the likeliest component
    first_component: str | None
    probability: float | None  # that the component has any of its faults
    unknown: float  # share left for "something else"
    opened_at: datetime
    state: str
    unconfirmed: tuple[str, ...] = ()  # homes whose sender is not known to live there
    version: int = 1  # what an act on the ticket has to name
    assigned_to: str | None = None
    held_until: datetime | None = None
    hold_reason: str | None = None
    merged_into: str | None = None  # where a closed ticket's complaints went
    pinned: tuple[str, ...] = ()  # homes that a person has pinned to it
    of_fault: float | None = None  # the leading fault's own share of `probability`
    caller: str = ""  # where no home is known, how the phone ends: "ends in 42"


@dataclass(frozen=True, slots=True)
class AlertLine:
    """Something the desk has to see and acknowledge."""

    alert: int
    what: str
    danger: bool
    at: datetime  # when it was raised last
    since: datetime  # and for the first time
    ticket: str | None
    reference: str
    place: str = ""  # the home and the building it is about: "2B, 9 Quarry Street"
    apartment: str | None = None
    building_name: str = ""


@dataclass(frozen=True, slots=True)
class QueueView:
    """The queue, most pressing first, and when it was made."""

    now: datetime
    rows: tuple[QueueRow, ...]
    unread_texts: int
    alerts: tuple[AlertLine, ...] = ()
    timezone: str = "UTC"  # of what is of no one building, such as when it was made


@dataclass(frozen=True, slots=True)
class TicketView:
    """A ticket with everything its page shows."""

    row: QueueRow
    now: datetime
    scope: str
    component: str
    reasons: tuple[Reason, ...]
    suspects: tuple[SuspectLine, ...]
    checks: tuple[CheckLine, ...]
    load: tuple[LoadLine, ...]
    tools: tuple[str, ...]  # for its checks, in their order
    why: tuple[WhyLine, ...]
    cautions: tuple[str, ...]
    findings: tuple[str, ...]  # readings so far, in words
    history: tuple[HistoryLine, ...]
    drawing: BuildingDrawing
    fault_choices: tuple[tuple[str, str, str], ...]  # (fault, component, says) for the close form
    part_choices: tuple[tuple[str, str], ...]  # (part, says)
    closed_at: datetime | None
    closed_cause: str | None
    to_confirm: tuple[tuple[str, str], ...] = ()  # (complaint, apartment) of unknown senders
    photos: tuple[PhotoLine, ...] = ()
    turns: tuple[TurnHome, ...] = ()  # homes that may be asked to turn their thermostat
    closing: tuple[ClosingReading, ...] = ()  # readings to make again when it is mended
    closed_out: ClosedOut | None = None
    complaints: tuple[ComplaintLine, ...] = ()
    others: tuple[OtherTicket, ...] = ()  # open tickets of the same building
    acts: tuple[ActLine, ...] = ()  # newest first
    respond_by_reason: str | None = None  # of the person who has set the time
    respond_by_name: str | None = None  # and who that is
    access: tuple[str, ...] = ()  # how to get in, from the building file
    access_told: tuple[AccessTold, ...] = ()  # and as the households wrote it
    past: tuple[PastVisit, ...] = ()  # the last visits on this branch and in its homes
    told_before: tuple[ToldBefore, ...] = ()  # homes to which visits went in vain for the same
    notes: tuple[str, ...] = ()  # contradictions, coincidence, suspects that no answer tells apart
    entry: tuple[str, ...] = ()  # what comes before going in, where a danger was told

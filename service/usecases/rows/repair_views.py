"""What the pages about repairs show, as frozen values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

__all__ = [
    "ClosedOut",
    "ClosingReading",
    "ComponentView",
    "InstallLine",
    "LifeView",
    "PastTicket",
    "PastVisit",
    "ReadingLine",
    "Suspicion",
    "ToldBefore",
    "TurnHome",
]


@dataclass(frozen=True, slots=True)
class TurnHome:
    """A complaining home that may be asked to turn its thermostat, and what came of the last time."""

    complaint: str
    apartment: str
    why_not: str | None  # why it cannot be asked now
    not_from_afar: str | None  # why only somebody at the valve may ask for it now
    ask: int | None = None  # the last turn asked for
    direction: str = ""  # down, up
    watched: bool = False
    over: bool = True
    says: tuple[str, ...] = ()  # where it stands, a sentence each
    stroke_ends_at: datetime | None = None  # when a healthy valve has moved


@dataclass(frozen=True, slots=True)
class ClosingReading:
    """A reading that the close-out asks for again: what was found, to be held against what is now."""

    check: str
    component: str
    says: str  # "Coil volts at relay-2"
    before: str  # in words; empty when it is still to be told
    unit: str | None
    outcomes: tuple[str, ...]
    calling: bool | None


@dataclass(frozen=True, slots=True)
class ClosedOut:
    """What a ticket shows of its repair; while it is open only photos."""

    right: str  # whether the first suspect was right, in words; empty if no cause was named
    photos: tuple[tuple[str, datetime, int, int], ...]  # (id, at, width, height)
    component: str | None  # the component with its page
    has_label: bool  # a part was fitted: there is a label to print
    fitted: tuple[str, ...] = ()  # the parts that went in, in words
    note: str = ""  # what the technician wrote; for the desk, never kept on phones


@dataclass(frozen=True, slots=True)
class InstallLine:
    """One part that went in, and how long it lasted, in years, if it is out again."""

    part: str
    installed_on: date
    ticket: str | None  # None: stated in the building file
    reference: str
    lasted_years: float | None
    failed: bool


@dataclass(frozen=True, slots=True)
class PastTicket:
    """A ticket about a component, with what it turned out to be."""

    ticket: str
    reference: str
    opened_at: datetime
    closed_at: datetime | None
    cause: str
    note: str
    right: str  # whether the first suspect was right, in words; empty if nothing is known


@dataclass(frozen=True, slots=True)
class PastVisit:
    """What a technician found at a place before, and what went in; no note and no name."""

    at: datetime
    ticket: str
    reference: str
    component: str
    cause: str
    fitted: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ToldBefore:
    """That a home reports the same again after visits that found nothing; what the last one read."""

    apartment: str
    says: str
    last_at: datetime
    measured: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Suspicion:
    """An open ticket that suspects a component."""

    ticket: str
    reference: str
    opened_at: datetime
    first: bool  # whether the likeliest suspect is a fault of it
    probability: float  # of any of its faults


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """A technician's reading of a component."""

    at: datetime
    says: str
    after_repair: bool


@dataclass(frozen=True, slots=True)
class LifeView:
    """How long parts of this kind last, by the tables and by what was seen."""

    stated_median_years: float
    median_years: float
    seen_failed: int
    seen_working: int
    chance_this_year: float | None  # None: nobody knows how old this one is


@dataclass(frozen=True, slots=True)
class ComponentView:
    """One component's page: no names, no numbers."""

    building: str
    building_name: str
    timezone: str
    now: datetime
    component: str
    kind: str
    place: str
    serves: tuple[tuple[str, tuple[str, ...]], ...]  # (what it does for them, the homes)
    fed_by: tuple[tuple[str, str], ...]  # (what it gets, the component it comes from)
    installed: date | None
    age_years: float | None
    life: LifeView | None  # None: nothing that one fits anew
    installs: tuple[InstallLine, ...]
    suspected: tuple[Suspicion, ...]  # likeliest first
    tickets: tuple[PastTicket, ...]
    readings: tuple[ReadingLine, ...]
    photos: tuple[tuple[str, datetime, int, int], ...]  # (id, at, width, height)

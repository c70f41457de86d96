"""Value types shared by all rooms of ``rules``: ids, words of the trade, temperatures, evidence.

Everything is frozen: a diagnosis is a function of these values and of nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Literal, NewType

__all__ = [
    "Answered",
    "ApartmentId",
    "BuildingId",
    "Care",
    "CheckId",
    "ComponentId",
    "EmitterHeat",
    "Evidence",
    "Fact",
    "FaultId",
    "Found",
    "HourlyWeather",
    "Household",
    "Intent",
    "Kind",
    "Language",
    "NeighborSaid",
    "Noise",
    "PartId",
    "Reported",
    "RoomRead",
    "Rooms",
    "Temperature",
    "TopicId",
    "Visited",
]

BuildingId = NewType("BuildingId", str)
ApartmentId = NewType("ApartmentId", str)
ComponentId = NewType("ComponentId", str)
FaultId = NewType("FaultId", str)
CheckId = NewType("CheckId", str)
TopicId = NewType("TopicId", str)
PartId = NewType("PartId", str)


class Language(StrEnum):
    """The language a text is written in; ``mixed`` needs a phrase of each."""

    EN = "en"
    ES = "es"
    MIXED = "mixed"


class Intent(StrEnum):
    """What a tenant wants with one text."""

    COMPLAINT = "complaint"
    ANSWER = "answer"
    STATUS_QUESTION = "status_question"
    RESOLVED = "resolved"
    CANCEL = "cancel"
    WANT_HUMAN = "want_human"
    STOP = "stop"
    START = "start"
    HELP = "help"
    OTHER = "other"


class Kind(StrEnum):
    """What is wrong, in the tenant's terms."""

    TOO_COLD = "too_cold"
    TOO_HOT = "too_hot"
    NO_HOT_WATER = "no_hot_water"
    NOISE = "noise"
    LEAK = "leak"
    GAS_SMELL = "gas_smell"
    CO_ALARM = "co_alarm"
    SMOKE = "smoke"
    ELECTRICAL = "electrical"
    OTHER = "other"


class Noise(StrEnum):
    """What a noise sounds like."""

    BANG = "bang"
    GURGLE = "gurgle"
    TICK = "tick"
    HUM = "hum"
    HISS = "hiss"
    RUMBLE = "rumble"
    OTHER = "other"


class Care(StrEnum):
    """Why somebody in the home is at more risk from cold or heat."""

    INFANT = "infant"
    CHILD = "child"
    OVER65 = "over65"
    PREGNANT = "pregnant"
    MEDICAL = "medical"


class EmitterHeat(StrEnum):
    """How the radiator or baseboard feels to the hand."""

    HOT = "hot"
    LUKEWARM = "lukewarm"
    COLD = "cold"


class Rooms(StrEnum):
    """Whether the whole home is affected or part of it."""

    ALL = "all"
    SOME = "some"


@dataclass(frozen=True, slots=True)
class Temperature:
    """A temperature in the unit it was given in."""

    value: float
    unit: Literal["F", "C"]

    @property
    def fahrenheit(self) -> float:
        """The same temperature in degrees Fahrenheit."""
        return self.value if self.unit == "F" else self.value * 9 / 5 + 32


@dataclass(frozen=True, slots=True)
class Household:
    """Somebody who would tell us: an apartment whose people can be reached by text.

    Silence counts as evidence only from apartments that have one.
    """

    apartment: ApartmentId
    care: frozenset[Care] = frozenset()


@dataclass(frozen=True, slots=True)
class HourlyWeather:
    """Outdoor temperature at one instant, observed or forecast."""

    at: datetime
    outdoor_f: float


@dataclass(frozen=True, slots=True)
class Reported:
    """A household said what is wrong."""

    apartment: ApartmentId
    kinds: frozenset[Kind]
    noise: Noise | None = None


@dataclass(frozen=True, slots=True)
class Answered:
    """A household answered a question; ``means`` is one of that question's answer values."""

    apartment: ApartmentId
    topic: TopicId
    means: str


@dataclass(frozen=True, slots=True)
class RoomRead:
    """What the thermostat (or another thermometer) in a home reads and is set to, in F."""

    apartment: ApartmentId
    room_f: float | None = None
    set_f: float | None = None


@dataclass(frozen=True, slots=True)
class Found:
    """A technician's check of one component: a value with its unit, or an outcome in words."""

    check: CheckId
    component: ComponentId
    value: float | None = None
    unit: str | None = None
    calling: bool | None = None
    outcome: str | None = None


@dataclass(frozen=True, slots=True)
class NeighborSaid:
    """A household said of another home of its building that it has the same trouble, or has not.

    Or of itself, when it is asked whether a repair has helped.
    """

    apartment: ApartmentId
    other: ApartmentId
    kind: Kind
    same: bool


@dataclass(frozen=True, slots=True)
class Visited:
    """A technician was at a home for what it reports again, and found nothing; how much it measured."""

    apartment: ApartmentId
    readings: int


Fact = Reported | Answered | RoomRead | NeighborSaid | Found | Visited


@dataclass(frozen=True, slots=True)
class Evidence:
    """One fact, when it was learned, and the message or finding it came from."""

    source: str
    at: datetime
    fact: Fact

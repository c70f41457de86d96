"""What reading a text yields: observations, each with the place in the text it came from."""

from __future__ import annotations

from dataclasses import dataclass

from rules.model import (
    Care,
    EmitterHeat,
    Intent,
    Kind,
    Language,
    Noise,
    Rooms,
    Temperature,
    TopicId,
)

__all__ = ["Answer", "Place", "Reading", "Span"]


@dataclass(frozen=True, slots=True)
class Span:
    """Characters ``start`` to ``end`` of the original text and what they were read as."""

    start: int
    end: int
    what: str


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer to the question asked; ``means`` is one of its answer values or "unknown"."""

    topic: TopicId
    means: str


@dataclass(frozen=True, slots=True)
class Place:
    """Where somebody says they live: the apartment as a door shows it, and the other words."""

    apartment: str | None
    words: str


@dataclass(frozen=True, slots=True)
class Reading:
    """Everything read from one text; what it does not say is None or empty.

    ``language_words`` counts the words that only its language knows, ``bare`` says that the text is
    nothing but a number, a yes, a no or the like.
    """

    language: Language
    language_words: int
    intent: Intent
    kinds: tuple[Kind, ...]
    danger: bool
    danger_kinds: tuple[str, ...]
    room_temp: Temperature | None
    setpoint: Temperature | None
    noise: Noise | None
    care: tuple[Care, ...]
    emitter: EmitterHeat | None
    window_open: bool | None
    thermostat_blank: bool | None
    rooms: Rooms | None
    answer: Answer | None
    bare: bool
    place: Place | None
    spans: tuple[Span, ...]
    oven_in_use: bool
    language_wish: str | None

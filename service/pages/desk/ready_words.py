"""Sentences that the desk sends to many, ready in both languages, so that nobody types them at night.

Each is true whatever the trouble is, and promises only what the dispatcher has just decided.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

__all__ = ["READY_WORDS", "ReadyWords"]


@dataclass(frozen=True, slots=True)
class ReadyWords:
    """One sentence or two, as they are sent."""

    en: str
    es: str


READY_WORDS: Mapping[str, ReadyWords] = MappingProxyType(
    {
        "today": ReadyWords(
            "We know of the heating trouble in your building. A technician comes today.",
            "Sabemos del problema de calefacción en su edificio. Hoy viene un técnico.",
        ),
        "tomorrow": ReadyWords(
            "We know of the heating trouble in your building. A technician comes tomorrow.",
            "Sabemos del problema de calefacción en su edificio. Mañana viene un técnico.",
        ),
        "inside": ReadyWords(
            "A technician works on the heating in your building and may ring at your door.",
            "Un técnico trabaja en la calefacción de su edificio y puede tocar a su puerta.",
        ),
        "part": ReadyWords(
            "The heating in your building waits for a part. We write again when it is here.",
            "La calefacción de su edificio espera una pieza. Le escribimos cuando llegue.",
        ),
    }
)

"""What a heat law asks for, as a page shows it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, time

from rules.urgency.heat_law import LawText, texts_in_force

__all__ = ["LawView", "LawWindowView", "laws_of"]


@dataclass(frozen=True, slots=True)
class LawWindowView:
    """The least that a home has to have in some hours; F. Over midnight, ``ends`` is the earlier."""

    starts: time
    ends: time | None  # None: midnight at the end of the day
    floor_f: float
    outdoor_below_f: float | None


@dataclass(frozen=True, slots=True)
class LawView:
    """One text, with where it was read and when."""

    name: str
    season: tuple[tuple[int, int], tuple[int, int]]  # first and last (month, day)
    windows: tuple[LawWindowView, ...]  # none: it asks for no temperature
    ceiling_f: float | None  # the heating may not push a room above it
    source: str
    as_of: str


def laws_of(heat_rule: str | None, days: Iterable[date]) -> tuple[LawView, ...]:
    """The texts of a rule that are in force on some of these days, each once."""
    texts: dict[LawText, None] = {}
    for day in sorted(set(days), reverse=True):
        texts |= dict.fromkeys(texts_in_force(heat_rule, day))
    return tuple(
        LawView(
            text.name,
            text.season,
            tuple(
                LawWindowView(w.starts, w.ends, w.floor_f, w.outdoor_below_f) for w in text.windows
            ),
            text.ceiling_f,
            text.source,
            text.as_of,
        )
        for text in texts
    )
